"""A block of the spool: 4 KB of records that can be read without any other block.

    magic, CRC-32 of all that follows it, length                     `FRAME`
    boot, first sequence, records, board time, settings number, core `OPENING`
    Memory, Settings                                                 as they stood before the first record
    one entry a record

A cycle's record is all inputs and all that was decided. The law is a plain function of whole numbers, so the inputs
are enough: `Expansion` runs the cycle again and has the same bits. An entry of a cycle is

    tag        varint; bit 0 is 0, bit 1 the first field of Now that changed, and so on; the bit past the last field:
               the board's time is not the last cycle's plus `now.dt`
    changes    of each such field, zigzag varint: against the cycle before, in a block's first one against the defaults
    check      the low 16 bits of the CRC-32 of Out's bytes

and that of a state record

    tag        varint; bit 0 is 1, bit 1: something outside the law changed memory or settings, then the cause
    time       zigzag varint, against the last cycle
    body       check over the bytes of Memory and Settings; after a change settings number and those bytes themselves

Varints are little-endian groups of 7 bits (as in Protocol Buffers), zigzag puts the sign into bit 0.
The layout of the records is that of the core named in the block: another core's blocks cannot be expanded.
"""

import binascii
import struct

from ..core import Memory, Now, Out, Settings, cycle
from ..link import messages

BLOCK = 4096
ROOM = BLOCK - 16  # the rest is littlefs's own, see `spool.capacity`
MAGIC = b"S1"
FRAME = "<2sIH"
OPENING = "<IIHQH8s"
OPENS = struct.calcsize(FRAME)
BODY = OPENS + struct.calcsize(OPENING)
LONGEST = 16 + 5 * len(Now().values())  # bytes of any entry but that of a change
CHANGE = LONGEST + len(Memory().pack()) + len(Settings().pack())  # and of that


def check(data):
    """16 bits over bytes."""
    return binascii.crc32(data) & 65535


class Block:
    """The block that is being filled: one buffer, made once. `open` it before the first record."""

    def __init__(self, core):
        self.image = bytearray(BLOCK)
        self._core = core
        self.boot = self.first = self.next = 0
        self.used = 0

    def open(self, boot, sequence, at, number, memory, settings):
        """Begin again with record `sequence`; `at` is the board's time in the last cycle, ms."""
        self.boot = boot
        self.first = self.next = sequence
        self.at = at
        self._last = Now().values()
        struct.pack_into(OPENING, self.image, OPENS, boot, sequence, 0, at, number, self._core)
        self.used = BODY
        self._put_bytes(memory.pack())
        self._put_bytes(settings.pack())

    def close(self):
        """Write count, length and CRC into the image; more records may still follow."""
        struct.pack_into("<H", self.image, OPENS + 8, self.next - self.first)
        struct.pack_into("<H", self.image, 6, self.used)
        crc = binascii.crc32(memoryview(self.image)[6 : self.used])
        struct.pack_into("<2sI", self.image, 0, MAGIC, crc)

    def room(self):
        """Bytes left."""
        return ROOM - self.used

    def cycle(self, now, out, at):
        """Add a cycle; there must be room for LONGEST."""
        last = self._last
        values = now.values()
        tag = 0
        bit = 2
        for i in range(len(values)):
            if values[i] != last[i]:
                tag |= bit
            bit <<= 1
        drift = at - self.at - now.dt
        if drift:
            tag |= bit
        self._put(tag)
        for i in range(len(values)):
            if values[i] != last[i]:
                self._put_signed(values[i] - last[i])
        if drift:
            self._put_signed(drift)
        self._put_check(out.pack())
        self._last = values
        self.at = at
        self.next += 1

    def state(self, cause, at, number, body, changed):
        """Add a state record of `body`, memory and settings packed; there must be room for LONGEST, or CHANGE if
        `changed`."""
        self._put(1 | (2 if changed else 0) | cause << 2)
        self._put_signed(at - self.at)
        if changed:
            self._put(number)
            self._put_bytes(body)
        else:
            self._put_check(body)
        self.next += 1

    def _put(self, number):
        while number > 127:
            self.image[self.used] = number & 127 | 128
            self.used += 1
            number >>= 7
        self.image[self.used] = number
        self.used += 1

    def _put_signed(self, number):
        self._put(number * 2 if number >= 0 else -number * 2 - 1)

    def _put_bytes(self, data):
        self.image[self.used : self.used + len(data)] = data
        self.used += len(data)

    def _put_check(self, data):
        number = check(data)
        self.image[self.used] = number & 255
        self.image[self.used + 1] = number >> 8
        self.used += 2


class Expansion:
    """A block turned back into its records, one a step, with a buffer and a set of records of its own.

    Fill `buffer`, `take` it, then `step` until False; after each step `record` gives the bytes.
    """

    def __init__(self, core):
        self.buffer = bytearray(BLOCK)
        self._core = core
        self._now, self._memory, self._out, self._settings = Now(), Memory(), Out(), Settings()
        self._form = "<" + self._now.FORM[1:] + self._out.FORM[1:]
        self.boot = self.first = self.next = self.sequence = 0
        self.ours = False  # written by this core: can be expanded

    def take(self, size):
        """Judge the first `size` bytes of the buffer; True if they hold a whole block."""
        view = memoryview(self.buffer)
        if size < BODY:
            return False
        magic, crc, length = struct.unpack_from(FRAME, view, 0)
        if magic != MAGIC or not BODY <= length <= size or binascii.crc32(view[6:length]) != crc:
            return False
        self.boot, self.first, count, self._at, self._number, core = struct.unpack_from(OPENING, view, OPENS)
        self.next = self.first + count
        self.sequence = self.first - 1
        self.ours = core == self._core
        if self.ours:
            self._here = BODY
            self._take_both()
            self._values = Now().values()
        return True

    def grow(self, part):
        """Take what has been added to a block that was taken while it was being filled."""
        self.buffer[:] = part.image
        self.next = part.next

    def step(self):
        """Go on to the next record; False at the end, or where what is decided now is not what was decided then."""
        if not self.ours or self.sequence + 1 >= self.next:
            return False
        tag = self._get()
        self._cause = None
        agrees = self._state(tag) if tag & 1 else self._cycle(tag)
        if not agrees:
            self.ours = False
            return False
        self.sequence += 1
        return True

    def record(self):
        """The bytes of the record that `step` has come to, as the loop made them."""
        kind = messages.CYCLE if self._cause is None else messages.STATE
        head = struct.pack(messages.HEAD, kind, self.boot, self.sequence, self._when, self._number)
        if kind == messages.CYCLE:
            values = self._now.values()
            values.extend(self._out.values())
            return head + struct.pack(self._form, *values)
        body = struct.pack(messages.STATE_HEAD, self._cause, self._core)
        return head + body + self._memory.pack() + self._settings.pack()

    def _cycle(self, tag):
        values = self._values
        for i in range(len(values)):
            tag >>= 1
            if tag & 1:
                values[i] += self._get_signed()
        self._now.set_values(values)
        self._at += self._now.dt
        if tag & 2:
            self._at += self._get_signed()
        self._when = self._at
        cycle(self._settings, self._now, self._memory, self._out)
        return self._get_check() == check(self._out.pack())

    def _state(self, tag):
        self._cause = tag >> 2
        self._when = self._at + self._get_signed()
        if tag & 2:
            self._number = self._get()
            self._take_both()
            return True
        return self._get_check() == check(self._memory.pack() + self._settings.pack())

    def _take_both(self):
        for record in (self._memory, self._settings):
            record.set_values(struct.unpack_from(record.FORM, self.buffer, self._here))
            self._here += struct.calcsize(record.FORM)

    def _get(self):
        number = shift = 0
        while True:
            byte = self.buffer[self._here]
            self._here += 1
            number |= (byte & 127) << shift
            if byte < 128:
                return number
            shift += 7

    def _get_signed(self):
        number = self._get()
        return number >> 1 if number & 1 == 0 else -(number >> 1) - 1

    def _get_check(self):
        here = self._here
        self._here += 2
        return self.buffer[here] | self.buffer[here + 1] << 8
