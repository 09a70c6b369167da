"""The engine's server: JSON-RPC 2.0 (jsonrpc.org/specification) over loopback TCP, one message a line.

A client first says `attach` with the token of engine.json and the version it speaks.
Pushed messages are never queued. Each client has a flag for news, and a task that sends
the newest state when the client is ready. A client that stops reading is dropped; the
engine never waits for it.
"""

from __future__ import annotations

import asyncio
import contextlib
import hmac
import json
import os
import secrets
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import msgspec

from tuyere.client.protocol import VERSION
from tuyere.cook.arguments import unfit
from tuyere.cook.errors import Refusal
from tuyere.cook.snapshot import Ended
from tuyere.engine.rpc import door
from tuyere.engine.rpc.door import Lines, TooLong
from tuyere.text import Said

FAREWELL_WITHIN = 1.0  # s for all clients to hear that the engine ends on purpose
LEAVE_WITHIN = 5.0  # s for closing all clients at the end
READ_WITHIN = 15.0  # s a client's line may stay full
ANSWERS = 64  # answers a client may leave unread
PACE = 0.2  # s between snapshots; less than between the engine's pushes, so that each goes out as it was made

PARSE, INVALID, NO_METHOD, BAD_PARAMS, INTERNAL = -32700, -32600, -32601, -32602, -32603
REFUSED, NOT_ATTACHED = -32000, -32001

Method = Callable[..., Awaitable[Any]]


class Screen:
    """One client. `wants` is None until it has subscribed, then the record it has the trend up to."""

    def __init__(self, server: Server, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._server = server
        self._lines = Lines(reader)
        self._writer = writer
        self._answers: asyncio.Queue[bytes] = asyncio.Queue(ANSWERS)
        self._wake = asyncio.Event()
        self._leaving = False
        self._sender: asyncio.Task[None] | None = None
        self.attached = False
        self.wants: int | None = None
        self.trend_of = 0  # cook whose trend it has
        self.news = False
        self._unsent = ""  # why the last news could not be made

    def mark(self) -> None:
        """There is something new to see."""
        if self.wants is not None:
            self.news = True
            self._wake.set()

    async def farewell(self, words: str) -> None:
        """Tell this client that the engine ends on purpose. Returns when that has been sent, or the client is gone."""
        if self.attached and not self._leaving and self._sender is not None:
            self._writer.transport.set_write_buffer_limits(0)  # what is sent has left this process
            self._answer(_push("ended", Ended(words)))
            self._leaving = True
            self._wake.set()
            await asyncio.wait({self._sender})

    def drop(self) -> None:
        """Close this client at once."""
        self._leaving = True
        self._wake.set()
        self._writer.transport.abort()

    async def run(self) -> None:
        """Serve it until it leaves."""
        sender = self._sender = asyncio.create_task(self._send())
        try:
            await self._listen()
        finally:
            self._leaving = True
            self._wake.set()
            with contextlib.suppress(asyncio.TimeoutError, Exception):
                await asyncio.wait_for(sender, 1.0)
            self._writer.close()

    async def _listen(self) -> None:
        while not self._leaving:
            try:
                wait, longest = (None, door.LONGEST) if self.attached else (door.GREET_WITHIN, door.FIRST)
                line = await asyncio.wait_for(self._lines.next(longest), wait)
            except TooLong:
                self._answer(_error(None, INVALID, f"a message is longer than {longest >> 10} KB"))
                return
            except (TimeoutError, OSError):
                return
            if not line:
                return
            if line.strip() and not await self._take(line):
                return

    async def _take(self, line: bytes) -> bool:
        """Act on one message; False ends the conversation."""
        try:
            said = msgspec.json.decode(line)
        except (ValueError, RecursionError):
            self._answer(_error(None, PARSE, "this is not JSON"))
            return self.attached
        name = said.get("method") if isinstance(said, dict) else None
        number = said.get("id") if isinstance(said, dict) else None
        if not isinstance(said, dict) or said.get("jsonrpc") != "2.0" or not isinstance(name, str):
            self._answer(
                _error(None, INVALID, 'a request is {"jsonrpc": "2.0", "method": name, "params": {...}, "id": n}')
            )
            return self.attached
        if number is not None and type(number) not in (int, str):
            number = None
        params = said.get("params", {})
        if not isinstance(params, dict):
            self._answer(_error(number, BAD_PARAMS, "parameters go by name"))
            return self.attached
        if name == "detach":
            self._reply(said, number, {"ok": True})
            return False
        if not self.attached:
            return self._attach(said, number, name, params)
        try:
            method = self._subscribe if name == "subscribe" else self._server.methods.get(name)
            if method is None:
                self._answer(_error(number, NO_METHOD, f"there is no method {name!r}"))
                return True
            if wrong := unfit(method, params):
                self._answer(_error(number, BAD_PARAMS, f"{name}: {wrong}"))
                return True
            result = await method(**params)
        except Refusal as error:
            self._answer(_error(number, REFUSED, str(error), error.said))
        except Exception as error:  # a fault in one method must not end the engine
            self._server.log(f"{name}: {error!r}")
            self._answer(_error(number, INTERNAL, f"{name} failed: {error}"))
        else:
            self._reply(said, number, result)
        return True

    def _attach(self, said: dict[str, Any], number: Any, name: str, params: dict[str, Any]) -> bool:
        token = params.get("token")
        if name != "attach":
            self._answer(_error(number, NOT_ATTACHED, "say attach first, with the token of engine.json"))
            return False
        if not isinstance(token, str) or not hmac.compare_digest(token.encode(), self._server.token.encode()):
            self._answer(_error(number, NOT_ATTACHED, "wrong token: read engine.json again"))
            return False
        if params.get("version") != VERSION:
            words = f"the engine speaks version {VERSION}: end it and start it again with the program you have now"
            self._answer(_error(number, NOT_ATTACHED, words))
            return False
        if len(self._server.screens) >= door.SCREENS:
            self._answer(_error(number, NOT_ATTACHED, f"{door.SCREENS} screens are attached: close one of them"))
            return False
        self.attached = True
        self._server.came(self)
        self._reply(said, number, {"version": VERSION, "pid": os.getpid()})
        return True

    async def _subscribe(self, trend_after: int = 0) -> dict[str, Any]:
        if type(trend_after) is not int or not 0 <= trend_after < 1 << 62:
            raise Refusal("trend_after is the number of the last record you have, or 0")
        self.wants, self.trend_of = trend_after, 0
        self.mark()
        return {"ok": True}

    def _reply(self, said: dict[str, Any], number: Any, result: Any) -> None:
        if "id" in said:  # without an id it is a notification, which is not answered
            self._answer(msgspec.json.encode({"jsonrpc": "2.0", "id": number, "result": result}) + b"\n")

    def _answer(self, line: bytes) -> None:
        try:
            self._answers.put_nowait(line)
            self._wake.set()
        except asyncio.QueueFull:
            self.drop()

    async def _send(self) -> None:
        last = 0.0
        loop = asyncio.get_running_loop()
        try:
            while True:
                while not self._answers.empty():
                    await self._push(self._answers.get_nowait())
                if self._leaving:
                    return
                wait = last + PACE - loop.time()
                if self.news and wait <= 0:
                    self.news = False
                    last = loop.time()
                    for name, body in self._news():
                        await self._push(_push(name, body))
                    continue
                self._wake.clear()
                with contextlib.suppress(asyncio.TimeoutError):
                    await asyncio.wait_for(self._wake.wait(), max(wait, 0.01) if self.news else None)
        except (OSError, TimeoutError):
            self.drop()

    def _news(self) -> list[tuple[str, Any]]:
        try:
            return self._server.news(self)
        except Exception as error:  # the next news may work again
            if repr(error) != self._unsent:  # it is tried several times a second
                self._unsent = repr(error)
                self._server.log(f"no news for a screen: {error!r}")
            return []

    async def _push(self, line: bytes) -> None:
        self._writer.write(line)
        await asyncio.wait_for(self._writer.drain(), READ_WITHIN)


class Server:
    """Listens on loopback and keeps engine.json.

    `methods` by name; `news(screen)` gives the (name, struct) pairs to push to a subscriber;
    `log(text)` takes what clients should not see.
    """

    def __init__(
        self,
        file: Path,
        methods: dict[str, Method],
        news: Callable[[Screen], list[tuple[str, Any]]],
        log: Callable[[str], None],
    ) -> None:
        self.methods = methods
        self.news = news
        self.log = log
        self.token = secrets.token_urlsafe(32)
        self.screens: set[Screen] = set()
        self._talks: dict[asyncio.Task[Any], Screen] = {}  # with every client, attached or not
        self.ever = False  # whether a client ever attached
        self.left: float | None = None  # when the last one left, loop time
        self._door = door.Door()
        self._file = file
        self._server: asyncio.Server | None = None
        self.port = 0

    async def start(self) -> None:
        """Listen on a free port of 127.0.0.1 and write the file that says so."""
        self._server = await asyncio.start_server(self._come, "127.0.0.1", 0, limit=door.PORTION)
        self.port = self._server.sockets[0].getsockname()[1]
        body = {"port": self.port, "token": self.token, "pid": os.getpid(), "version": VERSION}
        new = self._file.with_suffix(".new")
        new.unlink(missing_ok=True)
        handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w") as out:
            json.dump(body, out)
        new.replace(self._file)

    async def farewell(self, words: str) -> None:
        """Tell every client that the engine ends on purpose, before it closes."""
        told = [asyncio.create_task(screen.farewell(words)) for screen in self._talks.values()]
        if told:
            await asyncio.wait(told, timeout=FAREWELL_WITHIN)
        for task in told:
            task.cancel()

    async def close(self) -> None:
        """Close all clients, and delete the file if it is still ours."""
        if self._server is not None:
            self._server.close()
        for screen in self._talks.values():
            screen.drop()
        if self._talks:  # an event loop that ends with a conversation open writes a traceback
            await asyncio.wait(set(self._talks), timeout=LEAVE_WITHIN)
        with contextlib.suppress(OSError, ValueError):
            if json.loads(self._file.read_text()).get("token") == self.token:
                self._file.unlink()

    def came(self, screen: Screen) -> None:
        """A client has attached."""
        self.screens.add(screen)
        self.ever, self.left = True, None

    def resend(self) -> None:
        """Times have moved: every subscriber is sent the whole trend again."""
        for screen in self.screens:
            screen.trend_of = 0
            if screen.wants is not None:
                screen.wants = 0
        self.changed()

    def changed(self) -> None:
        """Tell every subscriber that there is news."""
        for screen in self.screens:
            screen.mark()

    async def _come(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        screen = Screen(self, reader, writer)
        task = asyncio.current_task()
        assert task is not None
        self._talks[task] = screen
        self._door.came(screen)
        try:
            await screen.run()
        finally:
            self._door.left(screen)
            del self._talks[task]
            if screen in self.screens:
                self.screens.discard(screen)
                if not self.screens:
                    self.left = asyncio.get_running_loop().time()


def _error(number: Any, code: int, words: str, said: Said | None = None) -> bytes:
    """`message` is the sentence in metric units, `data` the same as typed text where it has measures."""
    error: dict[str, Any] = {"code": code, "message": words}
    if said is not None and not isinstance(said, str):
        error["data"] = said
    return msgspec.json.encode({"jsonrpc": "2.0", "id": number, "error": error}) + b"\n"


def _push(name: str, body: Any) -> bytes:
    return msgspec.json.encode({"jsonrpc": "2.0", "method": name, "params": body}) + b"\n"
