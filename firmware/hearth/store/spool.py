"""The spool: records on the board's flash for as long as no host keeps them.

Every record also goes into an open block in RAM (`block.py`). A full block whose records the host has not kept is
appended to the newest segment file (`segments.py`); a segment is deleted whole when the host has kept all of it, one a
cycle. Past the limit the oldest segment goes. A power cut takes what is in RAM: never more than the open block.

Measured with littlefs on MicroPython (tests/firmware/spool_flash.py), no host, everything fitted that makes noise: 24 h
are 43,200 cycles of 12 bytes, in 145 blocks of 4 KB, 593 KB. With a checkpoint every 10 min they cost some 240
erases, 0.7 for each of the 322 blocks of flash that the firmware leaves, and littlefs spreads them. At 100,000 erases
a block (typical of NOR flash, from memory) and one such cook a week that is over 2,500 years. While a host keeps the
records nothing is written but checkpoints.

Guard: flash full
    cause: the host was away for more than a day
    evidence: no room for a block, at the write
    clears: the host keeps what is held
    does: the oldest records go, and the gap is reported
    bounds: none
    reads: The store of records is full
    tests: test_spool, test_twin_guards
"""

from . import block
from .segments import CORE, TORN, Segments

MOST = 300  # records in RAM alone: ten minutes, less than the ring
SOON = 256  # bytes left in a block that is due to be written: cycles enough to wait for a pulse to end
MOST_LOST = 32  # runs remembered
ENOSPC = 28
CHECK, FULL, FLASH = "check", "full", "flash"


class Spool:
    """What a folder holds, and the block that is being filled. Nothing here raises for what the flash does.

    `full`: the oldest records had to go. `dropped`: records that went so, or could not be written. `lost`: runs of
    records that are gone, (boot, first, next, cause), until the host has kept something later of that boot; the
    cause is CORE (another core's: expand them with that one), TORN, CHECK (a cycle comes out otherwise now), FULL or
    FLASH (not written). `bytes_written`: since power-up.
    """

    def __init__(self, folder, limit, core):
        """`limit`: bytes on flash. `core`: the first 8 bytes of the core's hash."""
        self._limit = max(1, limit // block.BLOCK)
        self._block = block.Block(core)
        self._whole = block.Expansion(core)
        self._reads = 0
        self._kept = 0  # sequence of this boot that the host has not kept yet
        self.full = False
        self.dropped = self.bytes_written = 0
        self.lost = []
        self._files = Segments(folder, self._whole)
        for segment in self._files.all:
            if segment.cause == CORE:
                self._lose(segment.boot, segment.first, segment.next, CORE)

    @property
    def broken(self):
        """True when the flash could not be read or written, until it could be again."""
        return self._files.broken

    # -- filling ------------------------------------------------------------------

    def begin(self, boot, sequence, at, number, memory, settings):
        """A boot's first record will be `sequence`. Memory and settings are the loop's own, read again for each block.

        at: board time, ms. number: of the settings in force.
        """
        self._memory, self._settings, self._number = memory, settings, number
        self._kept = sequence
        self._block.open(boot, sequence, at, number, memory, settings)

    def cycle(self, now, out, at):
        """A cycle was recorded at board time `at`; the memory stands as it left it."""
        self._block.cycle(now, out, at)
        self._make_room(block.LONGEST)

    def state(self, cause, at, number, body, changed):
        """A state was recorded: `body`, memory and settings packed. `changed`: something besides `core.cycle` has
        touched them, or the number."""
        self._number = number
        if changed:
            self._make_room(block.CHANGE)
            if self._records() == 0:  # nothing before it in this block: let that open with the change
                self._reopen()
                changed = False
        self._block.state(cause, at, number, body, changed)
        self._make_room(block.LONGEST)

    def due(self):
        """True when the block should be written: right after the fan is set, with no pulse pending."""
        return self._waits() and (self._records() >= MOST or self._block.room() < SOON)

    def write(self):
        """Bring the open block to flash if it holds a record that the host has not kept, and open the next one.

        Slow: an erase of flash. Also before a release, when the rest of the block would be lost. A block that
        gets quite full before the loop calls this is written on the spot.
        """
        if self._waits():
            self._block.close()
            self._append()
        self._reopen()

    def kept(self, boot, sequence):
        """The host has all records of that boot up to and including `sequence` on its disk."""
        for segment in self._files.all:
            if segment.boot == boot and segment.next <= sequence + 1:
                segment.kept = True  # `tidy` deletes it: each costs the time of a write
                self.full = False
        self.lost = [run for run in self.lost if run[0] != boot or run[2] > sequence + 1]
        if boot == self._block.boot:
            self._kept = max(self._kept, min(sequence + 1, self._block.next))
            if not self._waits() and (self._records() >= MOST // 2 or self._block.room() < block.ROOM // 2):
                self._reopen()  # nothing in it is wanted: while a host keeps up no block is ever written

    def tidy(self):
        """Delete a segment that the host has kept; True if there was one, and False at once if there was none."""
        for segment in self._files.all:
            if segment.kept:
                self._files.delete(segment)
                return True
        return False

    def crowded(self):
        """True when a change of settings or programme would have the open block written first."""
        return self._records() > 0 and self._block.room() < block.CHANGE + block.LONGEST

    # -- reading --------------------------------------------------------------------

    def runs(self):
        """[(boot, first, next), ...] of what can be read, oldest boot first, the open block included."""
        parts = [segment for segment in self._files.all if not segment.cause and not segment.kept]
        if self._records() > 0:
            parts.append(self._block)
        found: list = []
        for part in parts:
            if found and found[-1][0] == part.boot and found[-1][2] == part.first:
                found[-1] = (part.boot, found[-1][1], part.next)
            else:
                found.append((part.boot, part.first, part.next))
        return found

    def read(self, boot, sequence):
        """Yield the records of a boot from `sequence` on as the loop made them, or from the first one after it.

        Yields b"" where it had to read a block, or run a cycle, before the first record asked for: one step never takes
        more than one block or one cycle of the law. A block that is torn, or whose cycles come out otherwise now, is
        passed over and said in `lost`. One reader at a time: a new one ends the one before.
        """
        mine = self._reads = self._reads + 1
        whole = self._whole
        begun = False
        number = i = -1  # the block on flash looked at last; between two looks segments may come, grow and go
        while True:
            segment = self._after(boot, sequence, number, i)
            if segment is not None:
                number, i = segment.number, i + 1 if segment.number == number else 0
                if not self._files.take(segment, i) or whole.boot != boot or whole.next <= sequence:
                    yield b""
                    if self._reads != mine:
                        return
                    continue
            elif not self._take_open(boot, sequence):
                return
            if begun and whole.first > sequence:
                self._lose(boot, sequence, whole.first, TORN)
            begun = True
            sequence = max(sequence, whole.first)
            while self._step():
                if whole.sequence < sequence:
                    yield b""
                else:
                    sequence += 1
                    yield whole.record()
                if self._reads != mine:
                    return
            if sequence < whole.next:
                self._lose(boot, sequence, whole.next, CHECK)
                sequence = whole.next

    def _step(self):
        """One record further in `_whole`, also where the open block has grown since it was loaded."""
        part, whole = self._block, self._whole
        if whole.step():
            return True
        if not whole.ours or (part.boot, part.first) != (whole.boot, whole.first) or part.next == whole.next:
            return False
        whole.grow(part)
        return whole.step()

    def _take_open(self, boot, sequence):
        """Have the block that is being filled in `_whole`, if it holds this record or a later one of the boot."""
        part, whole = self._block, self._whole
        if part.boot != boot or part.next <= max(sequence, part.first):
            return False
        part.close()
        whole.buffer[:] = part.image
        return whole.take(part.used)

    def _after(self, boot, sequence, number, i):
        """The first segment with a record of this boot from `sequence` on, and a block past the `i`-th of `number`."""
        for segment in self._files.all:
            if segment.boot != boot or segment.next <= sequence or segment.cause or segment.kept:
                continue
            if segment.number > number or (segment.number == number and segment.blocks > i + 1):
                return segment
        return None

    # -- small matters ----------------------------------------------------------------

    def _append(self):
        """Append the block, giving up the oldest segments where there is no room."""
        while self._files.held() >= self._limit and self._drop():
            pass
        while True:
            try:
                self.bytes_written += self._files.append(self._block)
                return
            except OSError as problem:
                if problem.errno != ENOSPC or not self._drop():
                    self._files.broken = True
                    self._give_up(self._block, FLASH)
                    return

    def _drop(self):
        """Give up the oldest segment; False if there is none."""
        if not self._files.all:
            return False
        oldest = self._files.all[0]
        if not oldest.kept:
            self.full = True
            if not oldest.cause:
                self._give_up(oldest, FULL)
        self._files.delete(oldest)
        return True

    def _records(self):
        return self._block.next - self._block.first

    def _waits(self):
        return self._kept < self._block.next and self._records() > 0

    def _make_room(self, size):
        if self._block.room() < size:
            self.write()

    def _reopen(self):
        part = self._block
        part.open(part.boot, part.next, part.at, self._number, self._memory, self._settings)

    def _give_up(self, part, cause):
        self.dropped += part.next - part.first
        self._lose(part.boot, part.first, part.next, cause)

    def _lose(self, boot, first, after, cause):
        for known in self.lost:
            if known[0] == boot and known[1] <= first and after <= known[2]:
                return
        self.lost.append((boot, first, after, cause))
        if len(self.lost) > MOST_LOST:
            self.lost.pop(0)
