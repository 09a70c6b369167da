"""Runs the page: uvicorn with bounds on connections and on how long a request may take to arrive."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
from collections import Counter
from pathlib import Path
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from tuyere.web.site import Site

ARRIVE_WITHIN = 10.0  # s for the head and body of a request
CONNECTIONS, CONNECTIONS_EACH = 256, 64  # in all, and from one address
HEAD = 8192  # bytes
GONE_AFTER = 20_000  # ms that a peer may leave what was sent to it unread; then its connection is closed
CLOSE_WITHIN = 3  # s


class Bounded(H11Protocol):
    """A connection that cannot be held open by a request that never ends."""

    _open: Counter[str] = Counter()
    each = CONNECTIONS_EACH

    def connection_made(self, transport: Any) -> None:
        """Refuse one too many."""
        peer = transport.get_extra_info("peername")
        self._peer = str(peer[0]) if peer else ""
        self._late: asyncio.TimerHandle | None = None
        Bounded._open[self._peer] += 1
        super().connection_made(transport)
        if Bounded._open[self._peer] > self.each or Bounded._open.total() > CONNECTIONS:
            transport.abort()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._arrived()
        Bounded._open[self._peer] -= 1
        if not Bounded._open[self._peer]:
            del Bounded._open[self._peer]
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """A part of a request, or all of it."""
        super().data_received(data)
        if self.conn.their_state in (h11.IDLE, h11.SEND_BODY):  # the rest of a request is still to come
            self._wait()
        else:
            self._arrived()

    def _wait(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(ARRIVE_WITHIN, self.transport.abort)

    def _arrived(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None


def listen(address: str, port: int) -> socket.socket:
    """A listening socket. OSError if the address is not this computer's or the port is taken."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    found = socket.socket(family, socket.SOCK_STREAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if hasattr(socket, "TCP_USER_TIMEOUT"):  # Linux; connections inherit it
            found.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, GONE_AFTER)
        found.bind((address, port))
        found.listen(128)
    except OSError:
        found.close()
        raise
    found.setblocking(False)
    return found


class Serving:
    """The page while it is served: `run` until `stop`. each: connections from one address. ssl.SSLError (an OSError) if
    certificate and key do not fit."""

    def __init__(
        self, site: Site, sock: socket.socket, *, cert: Path | None = None, key: Path | None = None,
        each: int = CONNECTIONS_EACH,
    ) -> None:  # fmt: skip
        self._site, self._socket = site, sock
        config = uvicorn.Config(
            site.app, http=type("Bounded", (Bounded,), {"each": each}), ws="none",
            lifespan="off", log_config=None, access_log=False, server_header=False,
            date_header=True, h11_max_incomplete_event_size=HEAD, timeout_keep_alive=15, proxy_headers=False,
            timeout_graceful_shutdown=CLOSE_WITHIN,
            ssl_certfile=str(cert) if cert else None, ssl_keyfile=str(key) if key else None,
        )  # fmt: skip
        config.load()
        logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)  # `Site` keeps what fails in a file
        self._server = _Server(config)

    async def run(self) -> None:
        """Follow the engine and serve."""
        follow = asyncio.create_task(self._site.hub.follower.run())
        try:
            await self._server.serve(sockets=[self._socket])
        finally:
            follow.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await follow

    def stop(self) -> None:
        """End the streams, then the server."""
        self._site.close()
        self._server.should_exit = True


class _Server(uvicorn.Server):
    """Signals belong to the command."""

    @contextlib.contextmanager
    def capture_signals(self) -> Any:
        yield
