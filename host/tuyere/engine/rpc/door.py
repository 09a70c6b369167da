"""How much an unknown client may take: few connections, short lines, little time."""

from __future__ import annotations

import asyncio
from typing import Protocol

FIRST = 4096  # bytes in the first message, which holds the token
LONGEST = 1 << 20  # bytes in a message of a client that is known
STRANGERS = 16  # connections that have not shown the token
SCREENS = 64  # connections that have
GREET_WITHIN = 10.0  # s for the first message
PORTION = 1 << 15  # bytes read at a time; twice as many may wait in the reader


class TooLong(Exception):
    """A line is longer than it may be."""


class Lines:
    """Lines of a stream, each bounded. The reader itself must have the limit PORTION."""

    def __init__(self, reader: asyncio.StreamReader) -> None:
        self._reader = reader
        self._buffer = bytearray()

    async def next(self, longest: int) -> bytes:
        """The next line with its end, b"" at the end of the stream; TooLong if it has more than `longest` bytes."""
        looked = 0
        while (end := self._buffer.find(b"\n", looked)) < 0:
            if len(self._buffer) > longest:
                raise TooLong
            looked = len(self._buffer)
            data = await self._reader.read(PORTION)
            if not data:
                return b""
            self._buffer += data
        if end > longest:
            raise TooLong
        line = bytes(self._buffer[: end + 1])
        del self._buffer[: end + 1]
        return line


class Client(Protocol):
    """A connection."""

    attached: bool

    def drop(self) -> None:
        """Close it at once."""


class Door:
    """Who is connected without having shown the token. One too many takes the place of the one that waits longest."""

    def __init__(self) -> None:
        self._strangers: dict[int, Client] = {}

    def came(self, client: Client) -> None:
        """Somebody has connected."""
        self._strangers = {key: one for key, one in self._strangers.items() if not one.attached}
        if len(self._strangers) >= STRANGERS:
            self._strangers.pop(next(iter(self._strangers))).drop()
        self._strangers[id(client)] = client

    def left(self, client: Client) -> None:
        """A connection has ended."""
        self._strangers.pop(id(client), None)
