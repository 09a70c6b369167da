"""A two-wire 12 V blower behind a low-side switch: duty in, PWM out. Its drain tells whether the switch obeys."""

from ..core.fields import FAN_FINE, FAN_NOT_TURNING, FAN_SHORTED, FULL


class Blower:
    """`pwm` takes a duty of 0..65535 by duty_u16; `drain` is a `sense.Drain`. Made, it is off."""

    turns = -1  # nothing counts them

    def __init__(self, pwm, drain):
        self._pwm = pwm
        self._drain = drain
        self.set(0)

    def set(self, duty):
        """Drive `duty`, 0.01 %, until the next call; what is out of range is cut off."""
        duty = 0 if duty < 0 else FULL if duty > FULL else duty
        self._duty = duty
        self._pwm.duty_u16(duty * 65535 // FULL)

    def watch(self, supply, ms):
        """Once a cycle, before the next duty: a FAN_ code. `supply` in mV; `ms` since the last call plays no part."""
        self._drain.judge(self._duty, supply)
        if self._drain.grounded:
            return FAN_SHORTED
        return FAN_NOT_TURNING if self._drain.cut else FAN_FINE
