"""Rows read from the pages of a file that SQLite may refuse. Format: https://www.sqlite.org/fileformat2.html

Only leaf pages of tables are read, wherever they lie: the pages above them may be damaged. Rows of the write-ahead log
count too (section 4 of that page), up to its last commit.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tuyere.logbook.row_format import values, varint

LEAF = 0x0D  # of a table, section 1.6
FRAME = 24  # bytes before each page of the log
LOG_HEAD = 32
USUAL = 4096

Row = tuple[int, list[Any]]  # rowid, values


class Pages:
    """The pages of a file as they were after the last commit."""

    def __init__(self, path: Path) -> None:
        self._file = open(path, "rb")  # noqa: SIM115
        head = self._file.read(100)
        size = int.from_bytes(head[16:18], "big")
        size = 65536 if size == 1 else size
        self.size = size if head[:16] == b"SQLite format 3\x00" and size >= 512 and not size & size - 1 else USUAL
        self._usable = self.size - (head[20] if self.size == size and len(head) > 20 and head[20] < 64 else 0)
        self._most = self._usable - 35  # bytes of a cell that lies in its page as a whole
        self._log = self._of_log(path.with_name(path.name + "-wal"))
        self._file.seek(0, 2)
        self.count = max([-(-self._file.tell() // self.size), *self._log])

    def __enter__(self) -> Pages:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def _of_log(self, path: Path) -> dict[int, bytes]:
        """Pages of the log up to its last commit. Frames of an earlier round have other salts."""
        try:
            data = path.read_bytes()
        except OSError:
            return {}
        if len(data) < LOG_HEAD or int.from_bytes(data[8:12], "big") != self.size:
            return {}
        whole: dict[int, bytes] = {}
        since: dict[int, bytes] = {}
        for at in range(LOG_HEAD, len(data) - FRAME - self.size + 1, FRAME + self.size):
            number, commit = struct.unpack_from(">II", data, at)
            if data[at + 8 : at + 16] != data[16:24] or not number:
                break
            since[number] = data[at + FRAME : at + FRAME + self.size]
            if commit:
                whole.update(since)
                since = {}
        return whole

    def page(self, number: int) -> bytes:
        """A page, counted from 1; b"" if there is none."""
        if (found := self._log.get(number)) is not None:
            return found
        self._file.seek((number - 1) * self.size)
        return self._file.read(self.size)

    def rows(self, newest: int | None = None) -> Iterator[Row]:
        """Rows of all tables, in the order of the pages; only of the last `newest` pages and the log, if given."""
        first = 1 if newest is None else max(1, self.count - newest + 1)
        early = sorted(number for number in self._log if number < first)
        for number in [*early, *range(first, self.count + 1)]:
            yield from self._leaf(self.page(number), 100 if number == 1 else 0)

    def _leaf(self, page: bytes, at: int) -> Iterator[Row]:
        if len(page) < self.size or page[at] != LEAF:
            return
        (count,) = struct.unpack_from(">H", page, at + 3)
        for i in range(min(count, (self.size - at - 8) // 2)):
            (cell,) = struct.unpack_from(">H", page, at + 8 + 2 * i)
            try:
                yield self._cell(page, cell)
            except (IndexError, ValueError, struct.error):  # damaged: the others of the page may be whole
                continue

    def _cell(self, page: bytes, at: int) -> Row:
        length, at = varint(page, at)
        rowid, at = varint(page, at)
        if length <= self._most:
            payload = page[at : at + length]
        else:
            local = self._local(length)
            payload = page[at : at + local]
            payload += self._overflow(int.from_bytes(page[at + local : at + local + 4], "big"), length - local)
        if len(payload) != length:
            raise ValueError("a cell reaches beyond its page")
        return rowid, values(payload)

    def _local(self, length: int) -> int:
        """Bytes that lie in its page, of a cell that is longer than that; section 1.6."""
        least = (self._usable - 12) * 32 // 255 - 23
        rest = least + (length - least) % (self._usable - 4)
        return rest if rest <= self._most else least

    def _overflow(self, number: int, length: int) -> bytes:
        parts: list[bytes] = []
        seen = set()
        while length > 0 and number and number not in seen:
            seen.add(number)
            page = self.page(number)
            number = int.from_bytes(page[:4], "big")
            parts.append(page[4 : min(self._usable, 4 + length)])
            length -= len(parts[-1])
        return b"".join(parts)
