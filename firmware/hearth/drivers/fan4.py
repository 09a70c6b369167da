"""A four-wire 12 V fan: 25 kHz through an open-collector transistor, supply switched, turns counted.

Intel, "4-Wire Pulse Width Modulation Controlled Fans", rev 1.3: 25 kHz, pulled up inside the fan, so that an undriven
wire means full speed. The transistor inverts: a high pin is a low wire. Off is two things, each of which stops the fan
by itself: the supply taken away, and the wire held low. The second asks for a fan that stands still at 0 %
(`tuyere board check` sees to that). On the board a resistor from the fan's own 12 V holds the wire low while nobody
drives the pin.

Guard: fan stuck off
    cause: blades that are blocked, a plug that is out, a switch that does not conduct
    evidence: four-wire: no turns; two-wire (`sense.py`): the drain stays at the supply; 18-24 s of a driven fan
    clears: a person: acknowledge, then start; it is looked at again
    does: trips
    bounds: fan_after
    reads: The fan does not turn
    tests: case_faults, test_drivers_fans, test_twin_guards

Guard: fan stuck on
    cause: a switch that conducts though it is off
    evidence: four-wire: at 240 1/min or more though off, for longer than a large one runs down; 32 s. Draught turns a
        fan slower than that
    clears: a person: acknowledge, then start, once it stands
    does: trips; the supply is switched off, and its speed wire is held low
    bounds: fan_after
    reads: The fan does not stop
    tests: case_faults, test_drivers_fans, test_twin_guards
"""

from ..core.fields import FAN_FED, FAN_FINE, FAN_NOT_STOPPING, FAN_NOT_TURNING, FULL
from .sense import NO_BLOWER
from .supply import FULL_SCALE_MV

_STILL = 3  # cycles with duty and without turns
_LATE = 8  # cycles, 16 s, still running without supply; large ones take 10 s to run down (common practice, no source)
# Draught turns a fan that is off: at 15 1/min where it was seen. A fan that is fed runs at 300 1/min at the least: the
# slowest usual ones have 1,000 1/min at full speed, and 30 % of it is the lowest that Intel's paper lets a fan ask for.
_ASKED = 500  # 0.01 %: at less a fan may stand still, and `tuyere board check` sees that it does
_TURNS = 60  # 1/min: slower than this a driven fan does not turn
_RUNS = 240  # 1/min: slower than this a fan that is off does not run


class Fan4:
    """`pwm` takes duty_u16, `switch` is called with 1 to feed the fan, `tach` is a `sense.Tach`, `drain` a
    `sense.Drain`. Made, it is off."""

    least = FULL_SCALE_MV  # it runs on direct current, which any reading of the supply sees

    def __init__(self, pwm, switch, tach, drain):
        self._pwm = pwm
        self._switch = switch
        self._tach = tach
        self._drain = drain
        self._still = self._late = 0
        self.turns = 0  # 1/min
        self.set(0)

    def set(self, duty):
        """Drive `duty`, 0.01 %, until the next call; what is out of range is cut off."""
        duty = 0 if duty < 0 else FULL if duty > FULL else duty
        self._duty = duty
        if duty:
            self._pwm.duty_u16((FULL - duty) * 65535 // FULL)
            self._switch(1)
        else:
            self._switch(0)
            self._pwm.duty_u16(65535)  # the wire is low: let go, it would ask for full speed

    def anew(self):
        """A person has seen to it: what only a driven fan can show is to be shown again."""
        self._still = 0

    def watch(self, supply, ms):
        """Once a cycle, before the next duty: a FAN_ code, from the edges of the last `ms`."""
        edges = self._tach.take()
        self.turns = min(20000, edges * 30000 // ms) if ms > 0 else 0
        if self.turns >= _TURNS:
            self._still = 0
        elif self._duty >= _ASKED and supply >= 6000:
            self._still = min(_STILL, self._still + 1)
        self._late = min(_LATE, self._late + 1) if self.turns >= _RUNS and not self._duty else 0
        if self._late >= _LATE:
            return FAN_NOT_STOPPING
        if not self._duty:
            self._drain.look_unfed(supply, NO_BLOWER)
        if self._drain.fed:
            return FAN_FED
        return FAN_NOT_TURNING if self._still >= _STILL else FAN_FINE
