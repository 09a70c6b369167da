"""What a service tells the manager that started it: that it is ready, that it lives, that it ends.

The protocol is that of sd_notify(3): lines of NAME=VALUE in one datagram to the Unix socket named by NOTIFY_SOCKET.
WATCHDOG_USEC says how often it must report that it lives; sd_watchdog_enabled(3) advises to do so twice as often. A
process without that socket has no such manager, and all of this does nothing.
"""

from __future__ import annotations

import contextlib
import os
import socket
from collections.abc import MutableMapping

OFTEN = 3.0  # times in the span after which the manager gives up; the manual asks for 2


class Notifier:
    """One process's line to its manager. Never raises: a manager that does not listen must not end a night."""

    def __init__(self, address: str = "", watchdog: float = 0.0) -> None:
        """`address` as in NOTIFY_SOCKET, "" for no manager; `watchdog` in s, 0 if nobody waits for signs of life."""
        self.address = address
        self.watchdog = watchdog if address else 0.0
        self._socket: socket.socket | None = None
        self._alive_at: float | None = None
        self._status = ""

    @classmethod
    def from_environment(cls, environment: MutableMapping[str, str] | None = None) -> Notifier:
        """As the manager asks for it; the variables are taken out, since they are not for our children."""
        said = os.environ if environment is None else environment
        address, span, pid = (said.pop(name, "") for name in ("NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"))
        ours = not pid or pid == str(os.getpid())
        return cls(address, int(span) / 1e6 if ours and span.isascii() and span.isdigit() else 0.0)

    def ready(self) -> None:
        """Everything is up."""
        self._send("READY=1")

    def status(self, words: str) -> None:
        """One line for a person who asks the manager; sent when it changes."""
        line = " ".join(words.split())
        if line != self._status:
            self._status = line
            self._send(f"STATUS={line}")

    def alive(self, now: float) -> None:
        """Call it often with steady seconds; the manager hears it as often as it wants to."""
        if self.watchdog and (self._alive_at is None or now - self._alive_at >= self.watchdog / OFTEN):
            self._alive_at = now
            self._send("WATCHDOG=1")

    def stopping(self) -> None:
        """The process ends now, on purpose."""
        self._send("STOPPING=1")

    def close(self) -> None:
        """Close the socket."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _send(self, line: str) -> None:
        if not self.address.startswith(("/", "@")) or not hasattr(socket, "AF_UNIX"):
            return
        with contextlib.suppress(OSError, ValueError):
            if self._socket is None:
                self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | getattr(socket, "SOCK_CLOEXEC", 0))
                self._socket.setblocking(False)
            # "@" stands for the zero byte that begins a name outside of the file system
            where = "\0" + self.address[1:] if self.address.startswith("@") else self.address
            self._socket.sendto(line.encode("utf-8", "replace"), where)
