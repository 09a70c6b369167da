"""MAX31855: a type K thermocouple on SPI. The chip takes the couple for a straight line; here it is put right.

Bits as in the public datasheet (19-5793): D31:18 couple, 1/4 C; D17 always 0; D16 any fault; D15:4 chip, 1/16 C; D3
always 0; D2 short to the supply, D1 to ground, D0 open. It makes indicated = cold + voltage / (41.276 uV/C) of the
voltage, so that is undone, the cold junction's own voltage added, and the sum looked up in the type K table (NIST SRD
60, ITS-90). Whole numbers; straight lines between the table's points, 10 C apart, are within 0.03 C from 0 to 500 C.
"""

from ..core.fields import (
    COLD_JUNCTION,
    PROBE_FROZEN,
    PROBE_OPEN,
    PROBE_RANGE,
    PROBE_SHORT,
    PROBE_SILENT,
    PROBE_TO_SUPPLY,
)

_FIRST = -60  # C, where the table begins
_TABLE = (  # 0.1 uV, every 10 C from -60 to 530 C
    -22428, -18894, -15269, -11561, -7775, -3919, 0, 3969, 7981, 12033,
    16118, 20231, 24365, 28512, 32666, 36819, 40962, 45091, 49199, 53284,
    57345, 61383, 65402, 69406, 73400, 77391, 81385, 85386, 89399, 93427,
    97472, 101534, 105613, 109709, 113821, 117947, 122086, 126236, 130396, 134566,
    138745, 142931, 147126, 151327, 155536, 159750, 163971, 168198, 172431, 176669,
    180911, 185158, 189409, 193663, 197921, 202181, 206443, 210706, 214971, 219236,
)  # fmt: skip

_FAULTS = ((0x01, PROBE_OPEN), (0x02, PROBE_SHORT), (0x04, PROBE_TO_SUPPLY))
_COLDEST, _HOTTEST = -40 * 16, 85 * 16  # cold junction, 1/16 C


def voltage(sixteenths):
    """Temperature in 1/16 C -> voltage of a type K couple against 0 C, 0.1 uV."""
    i = max(0, min(len(_TABLE) - 2, sixteenths // 160 - _FIRST // 10))
    over = sixteenths - (_FIRST + 10 * i) * 16
    return _TABLE[i] + ((_TABLE[i + 1] - _TABLE[i]) * over + 80) // 160


def temperature(tenths):
    """Voltage in 0.1 uV -> temperature, 0.01 C; past the table's ends the last line goes on."""
    i = 0
    while i < len(_TABLE) - 2 and tenths >= _TABLE[i + 1]:
        i += 1
    step = _TABLE[i + 1] - _TABLE[i]
    return (_FIRST + 10 * i) * 100 + ((tenths - _TABLE[i]) * 1000 + step // 2) // step


def correct(indicated, cold):
    """What the chip indicates and its own temperature, 1/16 C -> true temperature of the couple, 0.01 C."""
    return temperature((indicated - cold) * 10319 // 400 + voltage(cold))


class Max31855:
    """`spi` (mode 0, up to 5 MHz) needs readinto; `select(0)` selects the chip, `select(1)` lets go.

    The same 32 bits for `stays` readings are PROBE_FROZEN: a quiet couple may well stand still by its 1/4 C, but in a
    chip that lives its own temperature moves too, by its 1/16 C (common practice, no source).
    """

    def __init__(self, spi, select, stays=150):
        self._spi = spi
        self._select = select
        self._in = bytearray(4)
        self._before = bytearray(4)
        self._stays = stays
        self._same = 0  # readings that were as the one before
        self._fresh = True  # up to 0.2 s after power-up the chip has converted nothing
        select(1)

    def read(self):
        """(temperature in 0.01 C, faults as PROBE_ bits). With a fault the temperature means nothing."""
        self._before, self._in = self._in, self._before
        data = self._in
        self._select(0)
        self._spi.readinto(data)
        self._select(1)
        self._same = min(self._stays, self._same + 1) if data == self._before else 0
        told = data[3] & 7
        # Bits that are always 0, a fault bit that contradicts the faults, an empty answer: that was not the chip.
        if data[1] & 2 or data[3] & 8 or (data[1] & 1) != (1 if told else 0) or not any(data):
            self._fresh = True
            return 0, PROBE_SILENT
        if self._fresh:
            self._fresh = False
            return 0, PROBE_SILENT
        hot = (data[0] << 8 | data[1]) >> 2
        cold = (data[2] << 8 | data[3]) >> 4
        if hot & 0x2000:
            hot -= 0x4000
        if cold & 0x800:
            cold -= 0x1000
        faults = 0
        for bits, fault in _FAULTS:
            if told & bits:
                faults |= fault
        if not _COLDEST <= cold <= _HOTTEST:
            return 0, faults | COLD_JUNCTION
        if faults:
            return 0, faults
        true = correct(hot * 4, cold)
        if self._same == self._stays:
            return true, PROBE_FROZEN
        return true, 0 if -5000 <= true <= 50000 else PROBE_RANGE
