"""The twin's serial line: a raw pseudo-terminal, and a TCP port for those who reach it as `socket://`."""

from __future__ import annotations

import contextlib
import os
import select
import socket
import tty

ROOM = 4096  # bytes for the host that may wait here


class Line:
    """One host at a time talks to the board through here; nothing in it blocks.

    Both ends of the pseudo-terminal stay open here, so that a host may come and go as with a cable.
    """

    def __init__(self, *, tcp: bool = False) -> None:
        self._near, self._far = os.openpty()
        tty.setraw(self._far)
        tty.setraw(self._near)
        os.set_blocking(self._near, False)
        self.path = os.ttyname(self._far)
        self._server = socket.create_server(("127.0.0.1", 0)) if tcp else None
        if self._server:
            self._server.setblocking(False)
        self.tcp = f"socket://127.0.0.1:{self._server.getsockname()[1]}" if self._server else ""
        self._peer: socket.socket | None = None
        self._going = b""

    @property
    def room(self) -> int:
        """Bytes that `send` would take now."""
        return max(0, ROOM - len(self._going))

    def send(self, data: bytes) -> None:
        """Bytes for the host; what it does not take now waits."""
        self._going += data
        self._flush()

    def wait(self, seconds: float, *others: int) -> bytes:
        """Bytes from the host; waits for them until the time is over, or one of the other descriptors can be read."""
        reads: list[int | socket.socket] = [self._near, *others]
        if self._server:
            reads.append(self._server)
        if self._peer:
            reads.append(self._peer)
        ready, _, _ = select.select(reads, [], [], max(0.0, seconds))
        came = b""
        for end in ready:
            if end is self._server:
                self._welcome()
            elif end is self._peer:
                came += self._from_peer()
            elif end == self._near:
                with contextlib.suppress(BlockingIOError):
                    came += os.read(self._near, 4096)
        self._flush()
        return came

    def close(self) -> None:
        """Close the line, as pulling the cable does."""
        os.close(self._near)
        os.close(self._far)
        for end in (self._peer, self._server):
            if end:
                end.close()

    def _welcome(self) -> None:
        assert self._server
        if self._peer:
            self._peer.close()
        self._peer, _ = self._server.accept()
        self._peer.setblocking(False)
        self._going = b""

    def _from_peer(self) -> bytes:
        assert self._peer
        try:
            data = self._peer.recv(4096)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self._peer.close()
            self._peer = None
        return data

    def _flush(self) -> None:
        while self._going:
            try:
                sent = self._peer.send(self._going) if self._peer else os.write(self._near, self._going)
            except BlockingIOError:
                return
            except OSError:
                self._peer = None
                return
            self._going = self._going[sent:]
