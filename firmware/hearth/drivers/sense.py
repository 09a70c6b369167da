"""What the fan's own wires tell: the voltage at the blower's switch, and the turns of a fan that counts them.

Guard: switch shorted, or plug out
    cause: a failed switch of a two-wire fan, or its plug
    evidence: no supply at the drain while off; 18-24 s
    clears: a person: acknowledge, then start, once the drain is right
    does: trips; the 12 V are taken away too
    bounds: fan_after
    reads: The fan's wires are shorted, or its plug is out
    tests: case_faults, test_drivers_fans, test_twin_faults, test_twin_guards
"""

from .supply import FULL_SCALE_MV, millivolts

_SAMPLES = 8
_APART_US = 131  # with a pulse of 1 ms at least one sample falls into every fifth of it
_TURNOVER = (1 << 30) - 1  # stays a small integer
_NEEDS_MV = 6000  # with less supply the drain tells nothing
_SPUN_DOWN = 3  # readings after a high duty until the motor's own voltage no longer hides the supply


class Drain:
    """The drain of a low-side switch, through the divider of `supply`: near the supply while the switch is open,
    near ground while it conducts. The supply is looked at in the same moments: a pulse pulls a weak one down, and four
    readings on end may all fall between two pulses."""

    def __init__(self, adc, supply, sleep_us):
        """`supply` gives one look at the supply, counts."""
        self._read = adc.read_u16
        self._supply = supply
        self._sleep_us = sleep_us
        self.least = FULL_SCALE_MV  # the lowest supply of the last look, mV
        self._calm = 0
        self.grounded = False  # ground where the supply should stand: the switch is shorted, or no blower is plugged in
        self.cut = False  # the supply where ground should be: the switch does not conduct

    def judge(self, duty, supply):
        """Look at a steady `duty`, 0.01 %, under `supply` mV; what this duty cannot show stays as it was."""
        self._calm = 0 if duty > 5000 else min(_SPUN_DOWN, self._calm + 1)
        if supply < _NEEDS_MV:
            self.grounded = self.cut = False
            self.least = FULL_SCALE_MV
            return
        read, sleep_us, look = self._read, self._sleep_us, self._supply
        low = high = read()
        least = look()
        for _ in range(_SAMPLES - 1):
            sleep_us(_APART_US)
            counts = read()
            if counts < low:
                low = counts
            elif counts > high:
                high = counts
            least = min(least, look())
        self.least = millivolts(least)
        if self._calm == _SPUN_DOWN:
            self.grounded = millivolts(high) < supply // 4
        if duty >= 2000:
            self.cut = millivolts(low) > supply // 4


class Tach:
    """Two falling edges a turn (Intel, 4-Wire Pulse Width Modulation Controlled Fans, rev 1.3), counted by interrupt.

    `pin` needs irq(handler, trigger, hard).
    """

    def __init__(self, pin, falling):
        self._edges = self._taken = 0
        pin.irq(handler=self._edge, trigger=falling, hard=True)

    def _edge(self, pin):
        self._edges = self._edges + 1 & _TURNOVER  # written here alone: an edge may come amid any other step

    def take(self):
        """Edges since the last call."""
        edges = self._edges
        taken, self._taken = self._taken, edges
        return edges - taken & _TURNOVER
