"""NTC probes: a thermistor to ground under a pull-up, read as a share of the ADC's own supply.

Beta: 1/T = 1/T25 + ln(R / R25) / Beta. Worked out once, with floats, into a table over the counts; between its points a
straight line is within 0.03 C from -20 to 150 C, and within 0.2 C at 250 C. The 32-bit floats of the board are good for
0.01 C.
"""

import array
from math import log

from ..core.fields import ABSENT

FULL_SCALE = 65535
_BITS = 7  # counts between two points of the table, as a power of two
_OPEN = 65076  # 0.993 of full scale, 142 times the pull-up: nothing plugged in, or a broken wire
_SHORT = 328  # 0.005 of full scale, 1/199 of the pull-up: hotter than 300 C, so a short


class Ntc:
    """A kind of probe: `ohms` at 25 C and `beta` (K); `series`, the pull-up, ohm."""

    def __init__(self, ohms, beta, series):
        cold = 1 / 298.15 - log(ohms) / beta
        series = log(series)
        self._table = array.array("h", bytes(2 * ((FULL_SCALE + 1 >> _BITS) + 1)))
        for i in range(len(self._table)):
            counts = min(max(i << _BITS, _SHORT // 2), FULL_SCALE - _SHORT // 2)
            ln = log(counts / (FULL_SCALE - counts)) + series
            inverse = cold + ln / beta
            # What no probe can be (a wrong set of numbers may give it) is hotter or colder than any.
            kelvin = min(max(1 / inverse, 173.15), 593.15) if inverse > 0 else 593.15
            self._table[i] = int((kelvin - 173.15) * 100 + 0.5) - 10000

    def celsius(self, counts):
        """ADC counts of 0..65535 -> 0.01 C, -5000..30000; ABSENT if open, short or out of that range."""
        if not _SHORT < counts < _OPEN:
            return ABSENT
        i = counts >> _BITS
        found = self._table[i]
        found += (self._table[i + 1] - found) * (counts & (1 << _BITS) - 1) >> _BITS
        return found if -5000 <= found <= 30000 else ABSENT
