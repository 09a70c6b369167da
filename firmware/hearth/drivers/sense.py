"""What the fan's own wires tell: the voltage at the blower's switch, and the turns of a fan that counts them.

The drain of the low-side switch hangs on the fan's 12 V by the blower, and by 100 k besides. So it shows four things:
the supply with a blower that is fed, a third of it where no blower is plugged in, nothing where its switch is shorted;
and something while the 12 V are switched off, which means that their switch is shorted.

Guard: low-side switch shorted
    cause: a failed switch of a two-wire fan, or its wires touch ground
    evidence: no supply at the drain while it is fed and its switch is off; 18-24 s
    clears: a person: acknowledge, then start, once the drain is right
    does: trips; the 12 V are taken away too
    bounds: fan_after
    reads: The fan's wires are shorted
    tests: case_faults, test_drivers_fans, test_twin_faults, test_twin_guards

Guard: fan's plug out
    cause: the plug of a two-wire fan is out, a broken wire, a fan of the other kind
    evidence: a third of the supply at the drain while it is fed and its switch is off; 18-24 s
    clears: a person: acknowledge, then start, once the drain is right
    does: trips
    bounds: fan_after
    reads: The fan's plug is out
    tests: case_faults, test_drivers_fans, test_twin_faults, test_twin_guards

Guard: switch of the fan's 12 V shorted
    cause: a failed switch in the 12 V of either fan
    evidence: looked at before the fan is fed, with the fan at rest: 12 V where none should be, three times in a row;
        24-30 s
    clears: a person: acknowledge, then start, once the 12 V go off
    does: trips; the blower's own switch, or the speed wire held low, keeps the fan off
    bounds: fan_after
    reads: The fan's 12 V do not go off
    tests: case_faults, test_drivers_fans, test_twin_faults, test_twin_guards
"""

from .supply import FULL_SCALE_MV, millivolts

_SAMPLES = 8
_APART_US = 131  # with a pulse of 1 ms at least one sample falls into every fifth of it
_TURNOVER = (1 << 30) - 1  # stays a small integer
_NEEDS_MV = 6000  # with less supply the drain tells nothing
_IN_A_ROW = (
    3  # looks that must agree: a motor that runs down, or its capacitor, shows a voltage of its own for a moment
)
BLOWER, NO_BLOWER = 2, 4  # part of the supply at the drain from which on the 12 V are there: by the motor, by 100 k


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
        self._calm = self._live = 0
        self.fed = False  # 12 V although they are switched off: their switch is shorted
        self.grounded = False  # ground where the supply should stand: the low-side switch is shorted
        self.empty = False  # a third of the supply: no blower is plugged in
        self.cut = False  # the supply where ground should be: the switch does not conduct

    def look_unfed(self, supply, part):
        """Look while both switches are off and the fan rests: the 12 V are there from `supply` / `part` mV on."""
        live = supply >= _NEEDS_MV and millivolts(self._read()) > supply // part
        self._live = min(_IN_A_ROW, self._live + 1) if live else 0
        self.fed = self._live == _IN_A_ROW

    def judge(self, duty, supply):
        """Look at a steady `duty`, 0.01 %, under `supply` mV; what this duty cannot show stays as it was."""
        self._calm = 0 if duty > 5000 else min(_IN_A_ROW, self._calm + 1)
        if supply < _NEEDS_MV:
            self.grounded = self.empty = self.cut = False
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
        if self._calm == _IN_A_ROW:
            high = millivolts(high)
            self.grounded = high < supply // 5
            self.empty = not self.grounded and high < supply // 2
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
