"""A two-wire 12 V blower: its 12 V by the same switch as a four-wire fan's, and a low-side switch that is pulsed.

Either switch stops it. Its drain tells whether both obey.
"""

from ..core.fields import FAN_FED, FAN_FINE, FAN_NOT_TURNING, FAN_OUT, FAN_SHORTED, FULL
from .sense import BLOWER


class Blower:
    """`pwm` takes a duty of 0..65535 by duty_u16; `switch` is called with 1 to feed the blower; `drain` is a
    `sense.Drain`. Made, it is off."""

    turns = -1  # nothing counts them

    def __init__(self, pwm, switch, drain):
        self._pwm = pwm
        self._switch = switch
        self._drain = drain
        self.set(0)

    def set(self, duty):
        """Drive `duty`, 0.01 %, until the next call; what is out of range is cut off."""
        duty = 0 if duty < 0 else FULL if duty > FULL else duty
        self._duty = duty
        self._pwm.duty_u16(duty * 65535 // FULL)
        self._switch(1 if duty else 0)

    @property
    def least(self):
        """The lowest supply that the last look has seen, mV."""
        return self._drain.least

    def anew(self):
        """A person has seen to it: what only a driven fan can show is to be shown again."""
        self._drain.cut = False

    def watch(self, supply, ms):
        """Once a cycle, before the next duty: a FAN_ code. `supply` in mV; `ms` since the last call plays no part.

        At rest it is looked at before it is fed, and then fed for the look alone, some 1 ms of 2 s: no air, even
        behind a low-side switch that is shorted.
        """
        drain = self._drain
        if not self._duty:
            drain.look_unfed(supply, BLOWER)
        if drain.fed:
            return FAN_FED
        self._switch(1)
        drain.judge(self._duty, supply)
        self._switch(1 if self._duty else 0)
        if drain.grounded:
            return FAN_SHORTED
        if drain.empty:
            return FAN_OUT
        return FAN_NOT_TURNING if drain.cut else FAN_FINE
