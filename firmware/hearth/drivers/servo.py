"""A hobby servo on the damper: open as far as the fan is asked for, fully shut at 0.

Guard: damper jammed, or its servo dead
    cause: soot or grease on the flap, stripped gears, a plug that is out
    evidence: nothing: a hobby servo does not tell where it stands. The fire shows what follows: stuck open a leak or a
        runaway, stuck shut a fading fire or none that answers
    clears: -
    does: what those rows say
    bounds: none
    reads: what those rows say; move the flap by hand and watch it at each start
    tests: test_drivers_fans, test_twin_guards
"""

from ..core.fields import FULL

HERTZ = 50
TRAVEL_MS = 600  # end to end under load, slow ones (common practice, no source)
_STEP = 100  # 0.01 %: smaller moves only wear the gears


class Servo:
    """`pwm` takes the pulse by duty_ns; `shut` and `opened` are pulses in us. Made, it shuts the damper."""

    def __init__(self, pwm, shut, opened):
        self._pwm = pwm
        self._shut = shut
        self._span = opened - shut
        self._at = -1
        self.set(0)

    def set(self, demand):
        """Once a cycle: stand where `demand`, 0.01 %, says. One that needs no move is let go: no pulses, no hum."""
        demand = 0 if demand < 0 else FULL if demand > FULL else demand
        if self._at >= 0 and (demand == self._at or (0 < demand < FULL and abs(demand - self._at) < _STEP)):
            self._pwm.duty_ns(0)
            return
        self._at = demand
        self._pwm.duty_ns((self._shut + self._span * demand // FULL) * 1000)
