"""74HC4051: eight analog channels to one pin of the ADC, chosen by three select lines.

The common pin keeps the charge of the last channel for a moment, so the first reading after a change is thrown away.
Channel 7 carries a known resistor under the same pull-up, 4 to 6 are grounded. As long as 7 reads what it must, 5 and
6 read nothing, and 0 to 3 do not read just what 4 to 7 do, pull-up voltage, multiplexer and ADC work and no select line
is stuck at either level; then the probes can be believed.

Guard: meat probes or multiplexer read nonsense
    cause: a select line that is stuck, a short on the board
    evidence: a reference resistor and grounded channels, one check of four a cycle, 8 s
    clears: checks that pass
    does: pieces without a reading
    bounds: none
    reads: No reading
    tests: board_cases, test_twin_guards
"""

REFERENCE = 7
REFERENCE_OHMS = 10000
_SETTLE_US = 50  # the switch takes 0.1 us; the rest is for the ADC pin to take the charge of the channel
_OFF_BY = 65535 // 50  # 2 % of full scale: two resistors of 1 % are off by 0.4 % at most, another channel by more


class Mux:
    """`selects`: three pins, lowest bit first, called with a level; `adc` has read_u16; `series`: the pull-ups, ohm."""

    def __init__(self, selects, adc, sleep_us, series):
        self._one, self._two, self._four = selects
        self._read = adc.read_u16
        self._sleep_us = sleep_us
        self._checks = ((REFERENCE, 65535 * REFERENCE_OHMS // (REFERENCE_OHMS + series)), (5, 0), (6, 0))
        self._passed = [False, True, True, True]  # the last outcome of each, and of the highest line
        self._next = 0

    def read(self, channel):
        """Counts of a channel 0..7, 0..65535: the mean of four readings."""
        self._one(channel & 1)
        self._two(channel >> 1 & 1)
        self._four(channel >> 2 & 1)
        self._sleep_us(_SETTLE_US)
        read = self._read
        read()
        return (read() + read() + read() + read() + 2) // 4

    def sound(self):
        """Once a cycle: makes the next of four checks in turn; True while all four have come out well."""
        i = self._next
        if i < 3:
            channel, expected = self._checks[i]
            self._passed[i] = self._reads(channel, expected)
        else:  # a highest line stuck up shows ground, ground, ground and the known resistor for the probes
            known = self._reads(3, self._checks[0][1])
            self._passed[3] = not (known and self._reads(0, 0) and self._reads(1, 0) and self._reads(2, 0))
        self._next = (i + 1) & 3
        return all(self._passed)

    def _reads(self, channel, expected):
        return abs(self.read(channel) - expected) <= _OFF_BY
