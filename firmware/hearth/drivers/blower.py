"""A two-wire 12 V blower behind a low-side switch: demand in, duty out."""

FULL = 10000


class Blower:
    """`pwm` takes a duty of 0..65535 by duty_u16. Below `slowest` the fan is pulsed by the period.

    slowest: 0.01 %, the least duty at which the fan turns.
    """

    def __init__(self, pwm, slowest=1500):
        self._pwm = pwm
        self._slowest = slowest
        self._credit = 0  # demand not yet given, while pulsing
        self.set(0)

    def set(self, demand):
        """Drive `demand`, 0..10000, until the next call; returns the duty given, 0..10000."""
        demand = 0 if demand < 0 else FULL if demand > FULL else demand
        duty = demand
        if demand == 0:
            self._credit = 0
        elif demand < self._slowest:
            self._credit += demand
            duty = self._slowest if self._credit >= self._slowest else 0
            self._credit -= duty
        self._pwm.duty_u16(duty * 65535 // FULL)
        return duty
