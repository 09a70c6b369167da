"""The head of the chain outside of the logbook: a small file beside it, so that a lost end of the file is noticed.

The file has two places of one line each, written in turn, so that a write that was cut short leaves the other one.
It is written after each commit without waiting for the disk: it may be behind the logbook, never ahead of it.
"""

from __future__ import annotations

import contextlib
import os
import zlib
from pathlib import Path

import msgspec

from tuyere import paths
from tuyere.logbook.digests import Head, Link

PLACE = 256  # bytes


def path_of(logbook: Path) -> Path:
    """The file."""
    return logbook.with_name(logbook.name + ".head")


def read(logbook: Path) -> Head | None:
    """The newest sound head beside a logbook, None if there is none."""
    try:
        data = path_of(logbook).read_bytes()[: 2 * PLACE]
    except OSError:
        return None
    found = []
    for at in (0, PLACE):
        check, _, body = data[at : at + PLACE].rstrip().partition(b" ")
        if body and check == b"%08x" % zlib.crc32(body):
            with contextlib.suppress(msgspec.DecodeError):
                found.append(msgspec.json.decode(body, type=Head))
    return max(found, key=lambda head: head.turn, default=None)


class HeadFile:
    """Written by the owner of the logbook."""

    def __init__(self, logbook: Path, book: bytes, turn: int) -> None:
        self._path, self._book, self._turn = path_of(logbook), book.hex(), turn

    def write(self, link: Link) -> None:
        """Put down the newest link. A disk that refuses does not matter: the head is then behind."""
        self._turn += 1
        head = Head(self._book, self._turn, link.id, link.last_record, link.last_entry, link.records, link.digest.hex())
        body = msgspec.json.encode(head)
        line = (b"%08x " % zlib.crc32(body) + body).ljust(PLACE - 1) + b"\n"
        with contextlib.suppress(OSError):
            handle = os.open(self._path, os.O_WRONLY | os.O_CREAT | getattr(os, "O_BINARY", 0), paths.PRIVATE)
            try:
                os.lseek(handle, self._turn % 2 * PLACE, os.SEEK_SET)
                os.write(handle, line)
            finally:
                os.close(handle)
