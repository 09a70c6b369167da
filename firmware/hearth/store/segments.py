"""Segment files: up to 16 blocks of one boot each, in a folder, named by a growing number in eight hex digits."""

import os

from .block import BLOCK
from .kept import put

BLOCKS = 16  # in a segment
CORE, TORN = "core", "torn"


def capacity(i):
    """Bytes of a file that its `i`-th block of flash holds: littlefs keeps ctz(i) + 1 pointers of 4 bytes in it.

    (Its DESIGN.md, "CTZ skip-lists".) An append that ends where the block of flash ends costs one erase; after any
    other one the next append copies that block, which costs a second: 0.03-0.4 s each, with the processor stopped.
    """
    pointers = 0
    if i:
        pointers = 1
        while i & 1 == 0:
            pointers += 1
            i >>= 1
    return BLOCK - 4 * pointers


class Segment:
    """One file. `cause` says why it cannot be read, if so."""

    def __init__(self, number, boot, first):
        self.number = number
        self.boot = boot
        self.first = first  # sequence of its first record
        self.next = first  # past that of its last
        self.blocks = 0
        self.cause = ""
        self.kept = False  # the host has all of it: to be deleted


class Segments:
    """The folder's segments, oldest first in `all`. `whole` is the block expansion that blocks are read into."""

    def __init__(self, folder, whole):
        self._folder = folder
        self._whole = whole
        self._open = None  # the one that is appended to, made in this power-up
        self._number = 0  # of the next one
        self.all = []
        self.broken = False  # the flash could not be read or written
        self._scan()

    def held(self):
        """Blocks in all segments."""
        return sum([segment.blocks for segment in self.all])

    def take(self, segment, i):
        """Read a segment's `i`-th block into `whole`; False if it is not whole."""
        try:
            with open(self._path(segment.number), "rb") as file:
                file.seek(sum([capacity(j) for j in range(i)]))
                return self._whole.take(file.readinto(self._whole.buffer))
        except OSError:
            self.broken = True
            return False

    def append(self, part):
        """Append a closed block; how many bytes went. Raises OSError, with nothing changed that was there before."""
        segment = self._open
        if segment is None or segment.blocks >= BLOCKS:
            while self._is_there(self._number):  # the folder could not be listed at power-up
                self._number += 1
            segment = Segment(self._number, part.boot, part.first)
            self._number += 1
        size = capacity(segment.blocks)
        try:
            put(self._path(segment.number), "ab", memoryview(part.image)[:size])
        except OSError:
            self._open = None  # it may end in half a block now
            if segment.blocks == 0:
                self._remove(segment)
            raise
        if segment.blocks == 0:
            self.all.append(segment)
            self._open = segment
        segment.blocks += 1
        segment.next = part.next
        self.broken = False
        return size

    def delete(self, segment):
        """Delete a segment's file."""
        self.all.remove(segment)
        if segment is self._open:
            self._open = None
        if not self._remove(segment):
            self.broken = True

    def _path(self, number):
        return "%s/%08x" % (self._folder, number)

    def _is_there(self, number):
        try:
            os.stat(self._path(number))
            return True
        except OSError:
            return False

    def _remove(self, segment):
        try:
            os.remove(self._path(segment.number))
            return True
        except OSError:
            return False

    def _scan(self):
        """Find what earlier power-ups left; files of other names are let alone."""
        try:
            names = sorted(os.listdir(self._folder))
        except OSError:
            names = []
            try:
                os.mkdir(self._folder)
            except OSError:
                self.broken = True
        for name in names:
            try:
                number = int(name, 16)
            except ValueError:
                continue
            if self._path(number) == "%s/%s" % (self._folder, name):
                self._number = number + 1
                try:
                    self._find(number, os.stat(self._path(number))[6])
                except OSError:
                    self.broken = True

    def _find(self, number, size):
        segment = Segment(number, 0, 0)
        while segment.blocks < BLOCKS and capacity(segment.blocks) <= size:
            size -= capacity(segment.blocks)
            segment.blocks += 1
        if not segment.blocks:  # a cut came between its making and its first block
            os.remove(self._path(number))
            return
        whole = self._whole
        segment.cause = TORN
        for i in range(segment.blocks):
            if self.take(segment, i):
                segment.boot, segment.first, segment.next = whole.boot, whole.first, whole.next
                segment.cause = "" if whole.ours else CORE
                break
        for i in range(segment.blocks - 1, -1, -1):
            if segment.cause != TORN and self.take(segment, i):
                segment.next = whole.next
                break
        self.all.append(segment)
