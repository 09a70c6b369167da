"""MAX31856: a type K thermocouple on SPI, with its faults.

Registers and scaling as in the public datasheet (19-4000; the Linux IIO driver agrees):
24 bits signed >> 5 in 1/128 C for the couple, 16 bits signed >> 2 in 1/64 C for the cold junction.
"""

from ..core.fields import COLD_JUNCTION, PROBE_OPEN, PROBE_RANGE, PROBE_SHORT, PROBE_SILENT

_CR0 = 0x00
_CR1 = 0x01
_MASK = 0x02
_LTCB = 0x0C  # three bytes of couple temperature, then the fault status
_WRITE = 0x80

_AUTO = 0x80  # convert all the time
_OPEN_TEST = 0x10  # look for an open couple every 16 conversions
_HZ50 = 0x01  # reject 50 Hz; clear for 60 Hz
_TYPE_K = 0x03
_AVERAGE_4 = 0x20

_FAULTS = (
    (0x01, PROBE_OPEN),
    (0x02, PROBE_SHORT),
    (0x40 | 0x08 | 0x04, PROBE_RANGE),
    (0x80 | 0x20 | 0x10, COLD_JUNCTION),
)


class Max31856:
    """`spi` needs write and write_readinto, `select` is called with 0 to select the chip and 1 to let go."""

    def __init__(self, spi, select, hertz=50):
        self._spi = spi
        self._select = select
        self._out = bytearray(5)
        self._in = bytearray(5)
        self._cr0 = _AUTO | _OPEN_TEST | (_HZ50 if hertz == 50 else 0)
        select(1)
        self.set_up()

    def set_up(self):
        """Write the configuration; also after the chip has been silent."""
        for register, value in (
            (_CR0, self._cr0 & ~_AUTO),
            (_CR1, _AVERAGE_4 | _TYPE_K),
            (_MASK, 0xFF),
            (_CR0, self._cr0),
        ):
            self._select(0)
            self._spi.write(bytes((register | _WRITE, value)))
            self._select(1)
        self._fresh = True

    def read(self):
        """(temperature in 0.01 C, faults as PROBE_ bits). With a fault the temperature means nothing."""
        if self._registers(_CR0, 1)[1] != self._cr0:  # wrong or no answer: never a reading
            self.set_up()
            return 0, PROBE_SILENT
        if self._fresh:  # nothing has been converted yet: the register holds 0 C, and that is no reading
            self._fresh = False
            return 0, PROBE_SILENT
        data = self._registers(_LTCB, 4)
        faults = 0
        for bits, fault in _FAULTS:
            if data[4] & bits:
                faults |= fault
        raw = data[1] << 16 | data[2] << 8 | data[3]
        if raw & 0x800000:
            raw -= 0x1000000
        return (raw >> 5) * 100 >> 7, faults

    def _registers(self, first, count):
        out = memoryview(self._out)[: count + 1]
        got = memoryview(self._in)[: count + 1]
        for i in range(count + 1):
            out[i] = first if i == 0 else 0
        self._select(0)
        self._spi.write_readinto(out, got)
        self._select(1)
        return got
