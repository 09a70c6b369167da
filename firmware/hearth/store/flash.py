"""All that a board keeps on its flash: settings, the law's memory, how often it has started, its last words, the spool.

Nothing here raises for what the flash does: `health` says it in bits of `now.board`, and the board goes on without.

Guard: flash unwritable
    cause: worn or damaged flash
    evidence: the write fails
    clears: a write that succeeds
    does: holds the pit, keeps 12 min in RAM
    bounds: none
    reads: The board cannot store anything
    tests: test_stored, test_twin_faults
"""

import os
import struct

from ..core import fields, orders, resume
from . import kept
from .spool import Spool

LIMIT = 1100 * 1024  # bytes of the spool: two days; of a stock Pico's 1,408 KB the firmware takes some 180
MOST_STARTS = 5  # power-ups in a row that did not last until `settled`
STARTS = "<H"
RAN = "<II"  # boot, the sequence that it had come to
MOST_RAN = 8  # boots of which that is kept
MOST_CYCLES = 0xFFFFFF  # the bits of a cycle's number that outlive a restart by the watchdog


class Flash:
    """What stands in `folder`; with None nothing is kept, and every power-up starts from the defaults."""

    def __init__(self, folder, core):
        """`core`: the first 8 bytes of the core's hash."""
        self._folder = folder
        self._core = core
        self._bits = 0
        self._settled = False
        self.forgot = False  # the law's memory was there at this start, and damaged
        self.spool = None
        self.ran = []  # (boot, sequence), oldest first: what earlier boots are known to have come to
        if folder is not None:
            self._path = folder.rstrip("/") + "/kept-"
            self.spool = Spool(folder.rstrip("/") + "/spool", LIMIT, core)

    @property
    def health(self):
        """Bits of `now.board`."""
        bits = self._bits
        if self.spool:
            bits |= fields.BOARD_FLASH if self.spool.broken else 0
            bits |= fields.BOARD_FULL if self.spool.full else 0
        return bits

    def count_start(self):
        """At power-up: too many starts in a row that did not last mean a supply or a program that fails."""
        starts = 1
        body = self._load("starts")
        if body and len(body) == struct.calcsize(STARTS):
            starts = min(65535, struct.unpack(STARTS, body)[0] + 1)
        if starts > MOST_STARTS:
            self._bits |= fields.BOARD_RESTARTS
        self._save("starts", struct.pack(STARTS, starts))

    def keep_ran(self, boot, sequence):
        """How far this boot has come: after a power cut the next one can say what was lost at the least."""
        body = b""
        for earlier, came_to in self.ran:
            body += struct.pack(RAN, earlier, came_to)
        self._save("ran", body + struct.pack(RAN, boot, sequence))

    def read_ran(self):
        """How far the boots before this one are known to have come, into `ran`."""
        body = self._load("ran") or b""
        size = struct.calcsize(RAN)
        found = [struct.unpack(RAN, body[i : i + size]) for i in range(0, len(body) // size * size, size)]
        self.ran = found[-(MOST_RAN - 1) :]

    def settled(self):
        """The board has run for a while: this start was a good one."""
        if not self._settled:
            self._settled = True
            self._bits &= ~fields.BOARD_RESTARTS
            self._save("starts", struct.pack(STARTS, 0))

    def read_settings(self, settings):
        """Fill in the stored settings; returns their number. Damaged ones mean the defaults and a bit that trips."""
        body = self._load("settings")
        if body is None:
            return 0
        found = type(settings)()
        try:
            number = kept.take_settings(body, found)
            if orders.fit(found):
                settings.set_values(found.values())
                return number
        except kept.Damaged:
            pass
        self._bits |= fields.BOARD_SETTINGS
        return 0

    def keep_settings(self, settings, number):
        """Store settings that have been accepted."""
        if self._save("settings", kept.pack_settings(settings, number)):
            self._bits &= ~fields.BOARD_SETTINGS

    def read_memory(self, memory, finished, most):
        """Fill in the law's memory from before the power went, woken; False if there is none to be trusted.

        A damaged one also sets `forgot`: the board stays off, and the host says why.

        finished: the number of the last finished cycle (its low 24 bits) if the board knows it and that the outage was
        short, else -1. The cycles that have passed since the memory was written, `most` at the most, are made up for.
        """
        body = self._load("memory")
        try:
            if body is None or kept.take_checkpoint(body, self._core, memory) is None:
                return False
        except kept.Damaged:
            self.forgot = True
            return False
        resume.wake(memory)
        held = memory.resume == fields.RESUME_PENDING
        if held:
            self._bits |= fields.BOARD_CUT
        missed = (finished - memory.cycles) & MOST_CYCLES
        if finished >= 0 and missed <= most:  # else it was written long ago, and a flash that fails kept it
            self._bits |= fields.BOARD_SHORT
            memory.cycles = memory.cycles + missed & 1073741823
            memory.phase_cycles = min(1073741823, memory.phase_cycles + missed) if held else memory.phase_cycles
        return True

    def keep_memory(self, boot, at, memory):
        """Store the law's memory, every ten minutes and whenever something changed that a restart must know."""
        self._save("memory", kept.pack_checkpoint(self._core, boot, at, memory))

    def keep_words(self, text):
        """The program fails: leave word for the next start."""
        self._save("words", text.encode()[:1000])

    def take_words(self):
        """What the last program said as it failed, once; "" if nothing."""
        body = self._load("words")
        if body is None:
            return ""
        try:
            os.remove(self._path + "words")
        except OSError:
            self._bits |= fields.BOARD_FLASH
        return body.decode()

    def _load(self, name):
        if self._folder is None:
            return None
        try:
            return kept.load(self._path + name)
        except kept.Damaged:
            if name == "settings":
                self._bits |= fields.BOARD_SETTINGS
            elif name == "memory":
                self.forgot = True
            return None

    def _save(self, name, body):
        if self._folder is None:
            return False
        if kept.save(self._path + name, body):
            self._bits &= ~fields.BOARD_FLASH
            return True
        self._bits |= fields.BOARD_FLASH
        return False
