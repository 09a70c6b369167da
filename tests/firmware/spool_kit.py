"""What the tests of the store share: a night of records, a flash whose power can be cut. Runs on any interpreter."""

import array
import binascii
import struct

from cases.kit import Dice as EvenDice
from hearth.core import Memory, Now, Out, Settings, cycle, fields, programme
from hearth.link import messages
from hearth.store.block import LONGEST, Block, Expansion

CORE = b"the core"
BLOCK = 4096
PAGE = 256  # programmed at once


class Dice(EvenDice):
    """Those of the portable cases, with noise."""

    def noise(self, size):
        """About normal, with a standard deviation of `size`: the sum of twelve even draws has one of 1."""
        return (sum([self.roll(0, 1000) for _ in range(12)]) - 6000) * size / 1000


def draw(now, dice):
    """Put numbers from all over their ranges into `now`."""
    for i in range(len(Now.TABLE)):
        setattr(now, Now.NAMES[i][0], dice.roll(Now.TABLE[i][3], Now.TABLE[i][4]))


class Boot:
    """A board's boot in small: makes the records as `hearth.loop` does, and hands the spool what it needs."""

    def __init__(self, spool, number=7, seed=1, records=None):
        self.settings, self.memory, self.now, self.out = Settings(), Memory(), Now(), Out()
        self.dice = Dice(seed)
        self.spool, self.number, self.settings_number = spool, number, 0
        self.at = 0
        self.records = [] if records is None else records
        self.flashed = 0  # records that `write` has come back for
        self._form = "<" + self.now.FORM[1:] + self.out.FORM[1:]
        programme.enter(self.settings, self.memory, 0)
        spool.begin(number, 0, 0, 0, self.memory, self.settings)
        self.state(messages.BOOTED)

    def state(self, cause, changed=False):
        """A state record."""
        at = self.at + self.dice.roll(1, 9)
        body = struct.pack(messages.STATE_HEAD, cause, CORE) + self.memory.pack() + self.settings.pack()
        self.records.append(self._head(messages.STATE, at) + body)
        self.spool.state(cause, at, self.settings_number, self.memory.pack() + self.settings.pack(), changed)

    def cycle(self):
        """A cycle with the inputs that stand in `now`."""
        self.at += self.now.dt
        cycle(self.settings, self.now, self.memory, self.out)
        values = self.now.values() + self.out.values()
        self.records.append(self._head(messages.CYCLE, self.at) + struct.pack(self._form, *values))
        self.spool.cycle(self.now, self.out, self.at)

    def write(self):
        """What the loop does after the fan is set."""
        if self.spool.due():
            self.spool.write()
            self.flashed = len(self.records)

    def fill(self, blocks=1, writes=True):
        """Cycles with wild inputs until the spool has opened so many new blocks; the loop writes when one is due."""
        part = self.spool._block
        for _ in range(blocks):
            first = part.first
            while part.first == first:
                draw(self.now, self.dice)
                self.cycle()
                if writes:
                    self.write()

    def change(self):
        """Orders for the loop: other settings and another programme."""
        self.settings_number += 1
        self.settings.gain = self.dice.roll(100, 900)
        rows = [[11000, 12500, 1, self.dice.roll(1, 500)], [12000, 13000, 0, 0]]
        programme.load(self.settings, self.memory, rows, self.dice.roll(0, 1), self.dice.roll(0, 1))
        self.state(messages.CHANGED, True)

    def _head(self, kind, at):
        return struct.pack(messages.HEAD, kind, self.number, len(self.records), at, self.settings_number)


class Night(Boot):
    """A held pit with everything fitted that makes noise: three meat probes, air, supply, a fan that is counted."""

    def __init__(self, spool, number=7, seed=1, records=None):
        super().__init__(spool, number, seed, records)
        self.pit, self.heat = 20.0, 0.0
        self.now.order = fields.ORDER_START

    def step(self):
        """One period with its readings."""
        now, noise = self.now, self.dice.noise
        duty = self.out.duty / 10000
        hour = self.at / 3600000
        self.heat += (duty - self.heat) / 150  # the fire answers in 5 min, the pit in 20: "common practice, no source"
        self.pit += (20 + 330 * self.heat - self.pit) / 600
        now.dt = 2000 + self.dice.roll(-3, 3)
        now.pit = int((self.pit + noise(0.15)) * 128) * 100 // 128  # the converter's steps of 1/128 C
        now.meat_1 = self._thermistor(5 + 88 * hour / (hour + 5))
        now.meat_2 = self._thermistor(5 + 88 * hour / (hour + 6))
        now.meat_3 = self._thermistor(5 + 88 * hour / (hour + 7))
        now.ambient = self._thermistor(12 + 6 * (hour % 24 - 12) * (hour % 24 - 12) / 144)
        now.supply = 12000 - int(250 * duty) + int(noise(15))
        now.turns = int(3000 * duty + noise(20)) if duty else 0
        self.cycle()
        now.order = 0
        if self.memory.cycles % 1800 == 0:
            self.state(messages.HOURLY)
        self.write()

    def _thermistor(self, celsius):
        return int((celsius + self.dice.noise(0.05)) * 20) * 5  # steps of an ADC of 12 bits: about 0.05 C


class Sums:
    """Stands for a list of many records where memory is short: keeps the CRC-32 of each."""

    def __init__(self, most):
        self.sums = array.array("I", bytes(4 * most))
        self.length = 0

    def __len__(self):
        return self.length

    def append(self, record):
        """Take a record."""
        self.sums[self.length] = binascii.crc32(record)
        self.length += 1

    def same(self, i, record):
        """Whether this is the record number i."""
        return i < self.length and self.sums[i] == binascii.crc32(record)


class Cut(Exception):
    """The power is gone."""


class Flash:
    """NOR flash as a block device of `vfs`: programming clears bits, a page at a time, an erase sets those of 4 KB.

    `left`: programs and erases until the power is cut, or None; the last of them is done by half if `half`.
    """

    def __init__(self, data):
        self.data = data
        self.left = None
        self.half = False
        self.error = 0  # what writing answers instead of being done
        self.erases = [0] * (len(data) // BLOCK)

    def readblocks(self, number, buffer, offset=0):
        start = number * BLOCK + offset
        buffer[:] = memoryview(self.data)[start : start + len(buffer)]

    def writeblocks(self, number, buffer, offset=0):
        if self.error:
            return self.error
        start = number * BLOCK + offset
        for at in range(0, len(buffer), PAGE):
            size = self._power(PAGE)
            if self.data[start + at : start + at + size] != b"\xff" * size:
                raise AssertionError("programmed without an erase")
            self.data[start + at : start + at + size] = memoryview(buffer)[at : at + size]
            self._go_on(size, PAGE)
        return 0

    def ioctl(self, operation, argument):
        if operation == 4:
            return len(self.data) // BLOCK
        if operation == 5:
            return BLOCK
        if operation == 6:
            size = self._power(BLOCK)
            self.data[argument * BLOCK : argument * BLOCK + size] = b"\xff" * size
            self.erases[argument] += 1
            self._go_on(size, BLOCK)
            return 0
        return None

    def _power(self, size):
        """How many of these bytes the power is still there for."""
        if self.left is None:
            return size
        self.left -= 1
        if self.left < 0:
            raise Cut()
        return size // 2 if self.half and self.left == 0 else size

    def _go_on(self, done, size):
        if done < size:
            raise Cut()


def one_block(cycles=90):
    """Fill a block with inputs from all over their ranges and expand it again; the CRC-32 of its image."""
    settings, memory, now, out = Settings(), Memory(), Now(), Out()
    dice = Dice(5)
    block = Block(CORE)
    block.open(4294967295, 2147483647, 12345678901, 65535, memory, settings)
    at, outs = 12345678901, []
    while block.room() >= LONGEST and len(outs) < cycles:
        draw(now, dice)
        at += now.dt + dice.roll(-3, 3)
        cycle(settings, now, memory, out)
        block.cycle(now, out, at)
        outs.append(now.pack() + out.pack())
    block.state(messages.HOURLY, at + 7, 65535, memory.pack() + settings.pack(), False)
    block.close()
    whole = Expansion(CORE)
    whole.buffer[:] = block.image
    assert whole.take(block.used)
    for i in range(len(outs)):
        assert whole.step(), i
        record = whole.record()
        assert record[messages.HEAD_SIZE :] == outs[i]
    assert struct.unpack_from(messages.HEAD, record) == (messages.CYCLE, 4294967295, 2147483647 + i, at, 65535)
    assert whole.step() and whole.record().endswith(memory.pack() + settings.pack())
    assert not whole.step()
    return binascii.crc32(memoryview(block.image)[: block.used])
