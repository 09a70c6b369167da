"""A port on which one thing fails, each in turn: what its user hears, and that every line that was opened is closed."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Any

import pytest
import serial
from tuyere.link import port as ports
from tuyere.link.port import Port

WITHIN = 10
IO = OSError(5, "Input/output error")
GONE = FileNotFoundError(2, "No such file or directory")


class Line:
    """An open line whose `fails` raise what they name, once each; it brings b"here" first, then nothing."""

    def __init__(self, fails: dict[str, Exception]) -> None:
        self.fails = dict(fails)
        self.written: list[bytes] = []
        self.closed = 0
        self._brings = [b"here"]
        self.tried = threading.Event()  # a write, whatever became of it
        self._never = threading.Event()

    def _ask(self, what: str) -> None:
        if what in self.fails:
            raise self.fails.pop(what)

    @property
    def in_waiting(self) -> int:
        self._ask("in_waiting")
        return len(self._brings[0]) if self._brings else 0

    def read(self, size: int) -> bytes:
        if self._brings:
            return self._brings.pop(0)[:size]
        self._ask("read")
        self._never.wait(0.01)
        return b""

    def write(self, data: bytes) -> None:
        try:
            self._ask("write")
            self.written.append(data)
        finally:
            self.tried.set()

    def close(self) -> None:
        self.closed += 1
        self._ask("close")


class Scene:
    """A port before lines that fail as they are told, the last of which does not."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *fails: dict[str, Exception]) -> None:
        self.calls: list[tuple[str, Any]] = []
        self.lines: list[Line] = []
        self._fails, self._news = [*fails, {}], asyncio.Event()
        self.may_look = threading.Event()
        monkeypatch.setattr(ports, "RETRY", 0.0)
        monkeypatch.setattr(serial, "serial_for_url", self._opened)
        self.port = Port(self._where, self._heard("open"), self._heard("data"), self._heard("close"))

    def _heard(self, what: str) -> Callable[[Any], None]:
        def heard(argument: Any) -> None:
            self.calls.append((what, argument))
            self._news.set()

        return heard

    def _where(self) -> str:
        assert self.may_look.wait(WITHIN)
        if "where" in self._fails[0]:
            raise self._fails.pop(0)["where"]
        return "/dev/ttyX"

    def _opened(self, name: str, **how: Any) -> Line:
        fails = self._fails.pop(0) if len(self._fails) > 1 else self._fails[0]
        if "open" in fails:
            raise fails["open"]
        self.lines.append(Line(fails))
        return self.lines[-1]

    async def until(self, count: int) -> None:
        """So many words have come."""
        self.may_look.set()
        async with asyncio.timeout(WITHIN):
            while len(self.calls) < count:
                self._news.clear()
                await self._news.wait()

    async def end(self) -> list[tuple[str, Any]]:
        await self.port.close()
        assert [line.closed for line in self.lines] == [1] * len(self.lines)
        return self.calls


OPEN, HERE = ("open", "/dev/ttyX"), ("data", b"here")
NO_PORT = "there is no port {}now: plug the board in, or name another with --port"
FAILURES: dict[str, tuple[dict[str, Exception], list[tuple[str, Any]]]] = {
    "looking": ({"where": IO}, [("close", "[Errno 5] Input/output error")]),
    "looking, without words": ({"where": RuntimeError()}, [("close", "RuntimeError")]),
    "looking, where nothing is": ({"where": GONE}, [("close", NO_PORT.format(""))]),
    "opening": ({"open": IO}, [("close", "[Errno 5] Input/output error")]),
    "opening what is not there": ({"open": GONE}, [("close", NO_PORT.format("/dev/ttyX "))]),
    "counting what waits": ({"in_waiting": IO}, [OPEN, ("close", "[Errno 5] Input/output error")]),
    "reading": ({"read": IO}, [OPEN, HERE, ("close", "[Errno 5] Input/output error")]),
    "reading what is not there": ({"read": GONE}, [OPEN, HERE, ("close", NO_PORT.format("/dev/ttyX "))]),
    "reading, then closing": ({"read": IO, "close": RuntimeError("again")},
                              [OPEN, HERE, ("close", "[Errno 5] Input/output error")]),
}  # fmt: skip


@pytest.mark.parametrize("failing", FAILURES)
def test_what_fails_is_said_and_the_port_is_opened_again(failing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    fails, told = FAILURES[failing]

    async def scene() -> list[tuple[str, Any]]:
        made = Scene(monkeypatch, fails)
        await made.until(len(told) + 2)
        return await made.end()

    assert asyncio.run(scene()) == [*told, OPEN, HERE]


@pytest.mark.parametrize(
    ("closing", "words"), [({}, ""), ({"close": IO}, "[Errno 5] Input/output error"), ({"close": GONE}, NO_PORT)]
)
def test_a_write_that_fails_has_the_port_opened_again(
    closing: dict[str, Exception], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def scene() -> list[tuple[str, Any]]:
        made = Scene(monkeypatch, {"write": IO, **closing})
        await made.until(2)
        made.port.write(b"12345")
        await made.until(5)
        made.port.write(b"now")
        await asyncio.to_thread(made.lines[1].tried.wait, WITHIN)
        assert made.port.dropped == 5 and made.lines[1].written == [b"now"]
        return await made.end()

    assert asyncio.run(scene()) == [OPEN, HERE, ("close", words.format("/dev/ttyX ")), OPEN, HERE]


def test_a_write_that_takes_too_long_is_dropped_and_the_port_stays_open(monkeypatch: pytest.MonkeyPatch) -> None:
    async def scene() -> list[tuple[str, Any]]:
        made = Scene(monkeypatch, {"write": serial.SerialTimeoutException("Write timeout")})
        await made.until(2)
        for data in (b"12345", b"now"):
            made.lines[0].tried.clear()
            made.port.write(data)
            await asyncio.to_thread(made.lines[0].tried.wait, WITHIN)
        assert made.port.dropped == 5 and made.lines[0].written == [b"now"]
        return await made.end()

    assert asyncio.run(scene()) == [OPEN, HERE]


def test_nothing_is_written_where_no_port_is_open(monkeypatch: pytest.MonkeyPatch) -> None:
    async def scene() -> None:
        made = Scene(monkeypatch)
        made.port.write(b"to nobody")
        await made.until(2)
        made.port.write(b"")
        made.port.write(b"now")
        await asyncio.to_thread(made.lines[0].tried.wait, WITHIN)
        await made.end()
        assert made.lines[0].written == [b"now"] and made.port.dropped == 0

    asyncio.run(scene())


def test_a_loop_that_has_ended_ends_the_port(monkeypatch: pytest.MonkeyPatch) -> None:
    loop = asyncio.new_event_loop()
    loop.close()
    monkeypatch.setattr(serial, "serial_for_url", lambda name, **how: Line({}))
    port = Port(lambda: "/dev/ttyX", lambda name: None, lambda data: None, lambda words: None, loop)
    port._threads[0].join(WITHIN)
    assert not port._threads[0].is_alive()
    asyncio.run(port.close())
