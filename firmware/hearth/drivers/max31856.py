"""MAX31856: a type K thermocouple on SPI, linearised by the chip, with its faults.

Registers and scaling as in the public datasheet (19-7534; the Linux IIO driver agrees): 24 bits signed >> 5 in
1/128 C for the couple. All sixteen registers are read in one go: the ten of the configuration come back as they were
written, or the rest is not believed. That also finds a chip that lost its power, swapped bytes and a stuck line.

Guard: converter silent, wrong or swapped bus data
    cause: a broken wire of the bus, a converter that lost its supply
    evidence: its configuration is read back with each reading; 6 s
    clears: an answer that is right
    does: the fan is off, trips after a minute; set up again each cycle
    bounds: bad_after, bad_trip
    reads: The pit cannot be read: the chip does not answer
    tests: board_cases, test_twin_faults

Guard: cold junction stuck inside its range
    cause: a converter whose own thermometer no longer follows
    evidence: nothing: every value from -40 to 85 C is believed. The reading is wrong by as much as the box is warmer or
        colder than that value, 1 C for 1 C
    clears: -
    does: holds the band by that reading
    bounds: none
    reads: nothing; a second probe beside the pit's shows it, and so does ice and boiling water (`tuyere board check`)
    tests: test_drivers, test_twin_faults

Guard: a lead of the couple on ground or on 3.3 V
    cause: worn insulation, a couple whose junction touches its sheath, a wire that came loose
    evidence: for certain only what holds a lead below ground or more than 0.35 V above the chip's supply: its OVUV bit,
        6 s; it also ends conversions. Between that and the 0.5 to 1.4 V for which its inputs are made, a reading is
        wrong without a bit (data sheet): by some 45 C too cold or 157 C too hot over a lead of 5 ohm. The first is
        called within 20 min as a probe that reads cool, the second within 10 s as a pit over its limit
    clears: as those rows say
    does: as those rows say
    bounds: fall, deep, pit_limit
    reads: what those rows say
    tests: test_drivers, test_twin_faults
"""

from ..core.fields import COLD_JUNCTION, PROBE_OPEN, PROBE_RANGE, PROBE_SHORT, PROBE_SILENT

_WRITE = 0x80
_AUTO = 0x80  # CR0: convert all the time
_OPEN_TEST = 0x10  # CR0: look for an open couple every 16 conversions (leads below 5 kohm)
_HZ50 = 0x01  # CR0: reject 50 Hz; clear for 60 Hz. Only to be changed while nothing is converted
_AVERAGE_4 = 0x20  # CR1
_TYPE_K = 0x03  # CR1

# Registers 01 to 09. Every fault is masked from the chip's pin, which is not connected; the status shows them all the
# same. Cold junction -40..85 C (up to there the chip is accurate), couple -50..500 C (what a record holds) in 1/16 C;
# no offset.
_LIMITS = bytes((_AVERAGE_4 | _TYPE_K, 0xFF, 85, 0x100 - 40, 0x1F, 0x40, 0xFC, 0xE0, 0))

_FAULTS = (
    (0x01, PROBE_OPEN),
    (0x02, PROBE_SHORT),  # over or under voltage: something live holds an input below ground or above the supply
    (0x40 | 0x08 | 0x04, PROBE_RANGE),
    (0x80 | 0x20 | 0x10, COLD_JUNCTION),
)


class Max31856:
    """`spi` (mode 1, up to 5 MHz) needs write and write_readinto; `select(0)` selects the chip, `select(1)` lets go."""

    def __init__(self, spi, select, hertz=50):
        self._spi = spi
        self._select = select
        self._config = bytes((_AUTO | _OPEN_TEST | (_HZ50 if hertz == 50 else 0),)) + _LIMITS
        self._out = bytearray(17)  # the address 0, then clocks
        self._in = bytearray(17)
        self._back = memoryview(self._in)[1:11]
        select(1)
        self.set_up()

    def set_up(self):
        """Write the configuration, at first and after a silence. The first conversion after it is not trusted."""
        self._exchange()
        self._write(bytes((_WRITE, self._in[1] & _HZ50)))  # stop converting, with the filter as it stands
        self._write(bytes((_WRITE, self._config[0] & ~_AUTO)) + self._config[1:])
        self._write(bytes((_WRITE, self._config[0])))
        self._fresh = True

    def read(self):
        """(temperature in 0.01 C, faults as PROBE_ bits). With a fault the temperature means nothing."""
        data = self._in
        self._exchange()
        if self._back != self._config:
            self.set_up()
            return 0, PROBE_SILENT
        if self._fresh:  # nothing has been converted yet: the register holds 0 C, and that is no reading
            self._fresh = False
            return 0, PROBE_SILENT
        faults = 0
        if data[16]:
            for bits, fault in _FAULTS:
                if data[16] & bits:
                    faults |= fault
        raw = data[13] << 11 | data[14] << 3 | data[15] >> 5
        if raw & 0x40000:
            raw -= 0x80000
        return raw * 100 >> 7, faults

    def _exchange(self):
        self._select(0)
        self._spi.write_readinto(self._out, self._in)
        self._select(1)

    def _write(self, data):
        self._select(0)
        self._spi.write(data)
        self._select(1)
