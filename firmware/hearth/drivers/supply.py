"""A voltage above the ADC's range through a divider: the 12 V supply, or the drain of the blower's switch."""

TOP, BOTTOM = 47000, 8200  # ohm; 22.2 V is full scale at a 3.3 V reference
FULL_SCALE_MV = 3300 * (TOP + BOTTOM) // BOTTOM
MOST_MV = 20000  # of a record
_NOTHING_MV = 1000  # below this no 12 V is connected, or it is not measured


def millivolts(counts):
    """ADC counts of 0..65535 -> mV before the divider."""
    return counts * (FULL_SCALE_MV // 10) // 6553  # stays within 2^30; off by 2 mV at most


class Supply:
    """The 12 V supply on an ADC pin; `counts` is one look at it, 0..65535."""

    def __init__(self, adc):
        self.counts = adc.read_u16

    def read(self):
        """mV, 0..20000; 0 when there is none."""
        read = self.counts
        found = millivolts((read() + read() + read() + read()) // 4)
        return min(found, MOST_MV) if found >= _NOTHING_MV else 0
