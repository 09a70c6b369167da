"""A two-wire 12 V blower behind a low-side switch: duty in, PWM out."""

FULL = 10000


class Blower:
    """`pwm` takes a duty of 0..65535 by duty_u16. Made, it is off."""

    def __init__(self, pwm):
        self._pwm = pwm
        self.set(0)

    def set(self, duty):
        """Drive `duty`, 0.01 %, until the next call; what is out of range is cut off."""
        duty = 0 if duty < 0 else FULL if duty > FULL else duty
        self._pwm.duty_u16(duty * 65535 // FULL)
