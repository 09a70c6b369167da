"""The port over a pseudo-terminal, a socket and RFC 2217: bytes both ways, and opened again when lost."""

from __future__ import annotations

import asyncio
import contextlib
import os
import socket
import threading
from collections.abc import Callable
from typing import Any

import pytest
import serial
from fake_board import Terminal
from serial import rfc2217
from tuyere.link import port as ports
from tuyere.link.port import Port

WITHIN = 10
EVERY = bytes(range(256)) * 20


class Calls:
    """What a port has said, to be waited for."""

    def __init__(self) -> None:
        self.said: list[tuple[str, Any]] = []
        self.data = bytearray()
        self._news = asyncio.Event()

    def port(self, where: Callable[[], str | None]) -> Port:
        return Port(where, lambda name: self._add("open", name), self._bytes, lambda words: self._add("close", words))

    async def until(self, wanted: Callable[[], Any]) -> None:
        async with asyncio.timeout(WITHIN):
            while not wanted():
                self._news.clear()
                await self._news.wait()

    def names(self) -> list[str]:
        return [name for name, _ in self.said]

    def _add(self, name: str, what: Any) -> None:
        self.said.append((name, what))
        self._news.set()

    def _bytes(self, data: bytes) -> None:
        self.data += data
        self._news.set()


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports, "RETRY", 0.02)


def test_every_byte_passes_a_pseudo_terminal_both_ways() -> None:
    async def scene() -> None:
        terminal, calls = Terminal(), Calls()
        port = calls.port(lambda: terminal.name)
        await calls.until(lambda: calls.said)
        written = 0
        while written < len(EVERY):  # as a board writes: as much as goes
            written += terminal.write(EVERY[written:])
            await calls.until(lambda: len(calls.data) == written)  # noqa: B023
        assert bytes(calls.data) == EVERY
        port.write(EVERY[:1024])
        came = b""
        while len(came) < 1024:
            came += await asyncio.to_thread(lambda: (terminal.wait(1), terminal.read())[1])
        assert came == EVERY[:1024]
        await port.close()
        terminal.close()

    asyncio.run(scene())


def test_it_waits_for_a_port_says_why_and_opens_it_again() -> None:
    async def scene() -> None:
        first, second, calls = Terminal(), Terminal(), Calls()
        names: list[str | None] = [None, "/nowhere/at/all", first.name]
        now: list[str | None] = [None]
        port = calls.port(lambda: names.pop(0) if names else now[0])
        await calls.until(lambda: "open" in calls.names())
        assert calls.names() == ["close", "close", "open"] and "/nowhere" in calls.said[1][1]
        assert calls.said[0] == ("close", "")  # there was no port to say anything of
        now[0] = second.name
        first.close()
        await calls.until(lambda: calls.names().count("open") == 2)
        second.write(b"here")
        await calls.until(lambda: bytes(calls.data) == b"here")
        await port.close()
        second.close()

    asyncio.run(scene())


def test_a_port_that_another_program_holds_is_named_so() -> None:
    async def scene() -> None:
        terminal, calls = Terminal(), Calls()
        with contextlib.closing(serial.Serial(terminal.name, exclusive=True)):
            port = calls.port(lambda: terminal.name)
            await calls.until(lambda: calls.said)
            assert calls.said[0] == ("close", "another program has the port open: close it there")
            await port.close()
        terminal.close()

    asyncio.run(scene())


def test_a_board_that_does_not_read_blocks_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports, "WRITE_WAIT", 0.1)

    async def scene() -> None:
        terminal, calls = Terminal(), Calls()
        port = calls.port(lambda: terminal.name)
        await calls.until(lambda: calls.said)
        for _ in range(400):
            port.write(b"x" * 4096)  # a pseudo-terminal holds some 4 KB
        assert port.dropped > 0  # the line to the writer is bounded too
        os.write(terminal.master, b"still heard")
        await calls.until(lambda: bytes(calls.data) == b"still heard")
        await port.close()
        terminal.close()

    asyncio.run(scene())


def test_a_socket_both_ways_and_again_after_it_was_cut() -> None:
    async def scene() -> None:
        calls = Calls()
        lines: list[socket.socket] = []
        with socket.create_server(("127.0.0.1", 0)) as server:
            url = f"socket://127.0.0.1:{server.getsockname()[1]}"
            port = calls.port(lambda: url)
            for turn in range(2):
                line = (await asyncio.to_thread(server.accept))[0]
                lines.append(line)
                await calls.until(lambda turn=turn: calls.names().count("open") > turn)
                line.sendall(EVERY)  # what comes before pyserial has opened it is thrown away by pyserial
                await calls.until(lambda turn=turn: len(calls.data) == len(EVERY) * (turn + 1))
                port.write(b"to the board")
                assert await asyncio.to_thread(line.recv, 100) == b"to the board"
                line.close()
                await calls.until(lambda turn=turn: calls.names().count("close") > turn)
            await port.close()
        assert bytes(calls.data) == EVERY * 2

    asyncio.run(scene())


def test_rfc_2217() -> None:
    """pyserial's own server side of RFC 2217, with a line that echoes."""
    server = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        line, _ = server.accept()
        echo = serial.serial_for_url("loop://", timeout=0)

        class Connection:
            def write(self, data: bytes) -> None:
                line.sendall(data)

        manager = rfc2217.PortManager(echo, Connection())
        with contextlib.suppress(OSError), line:
            while data := line.recv(1024):
                echo.write(b"".join(manager.filter(data)))
                if waiting := echo.in_waiting:
                    line.sendall(b"".join(manager.escape(echo.read(waiting))))

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()

    async def scene() -> None:
        calls = Calls()
        port = calls.port(lambda: f"rfc2217://127.0.0.1:{server.getsockname()[1]}")
        await calls.until(lambda: "open" in calls.names())
        port.write(b"there and back\xff\x00")
        await calls.until(lambda: bytes(calls.data) == b"there and back\xff\x00")
        await port.close()

    asyncio.run(scene())
    server.close()
    thread.join(WITHIN)


def test_a_peer_at_full_speed_waits_for_the_event_loop_and_the_port_still_closes() -> None:
    async def scene() -> None:
        server = socket.create_server(("127.0.0.1", 0))
        came: list[bytes] = []
        at_once = [0, 0]  # chunks on their way to the loop, and the most

        def flood() -> None:
            peer, _ = server.accept()
            with contextlib.suppress(OSError):
                while True:
                    peer.sendall(b"x" * 65536)

        threading.Thread(target=flood, daemon=True).start()
        port = Port(
            lambda: f"socket://127.0.0.1:{server.getsockname()[1]}", lambda _: None, came.append, lambda _: None
        )
        call = port._loop.call_soon_threadsafe

        def counted(function: Any, *arguments: Any) -> Any:
            at_once[0] += 1
            at_once[1] = max(at_once)
            return call(function, *arguments)

        def taken(data: bytes) -> None:
            at_once[0] -= 1
            came.append(data)

        port._on_data = taken
        port._loop = type("Loop", (), {"call_soon_threadsafe": staticmethod(counted)})()  # type: ignore[assignment]
        async with asyncio.timeout(WITHIN):
            while sum(map(len, came)) < 8 << 20:
                await asyncio.sleep(0)
        assert at_once[1] <= ports.AHEAD + 1  # and the word that it is open
        port.hold(True)
        for _ in range(3):
            await asyncio.to_thread(threading.Event().wait, ports.PATIENCE)
        before = sum(map(len, came))
        await asyncio.to_thread(threading.Event().wait, ports.PATIENCE)
        assert sum(map(len, came)) == before, "read although it was told to hold"
        port.hold(False)
        async with asyncio.timeout(WITHIN):
            while sum(map(len, came)) == before:
                await asyncio.sleep(0)
        port.hold(True)
        async with asyncio.timeout(WITHIN):
            await port.close()
        server.close()

    asyncio.run(scene())


def test_a_closed_port_has_ended_both_of_its_threads_and_says_no_more() -> None:
    async def scene() -> None:
        terminal, calls = Terminal(), Calls()
        port = calls.port(lambda: terminal.name)
        await calls.until(lambda: calls.said)
        before = threading.enumerate()
        await port.close()
        ended = {thread.name for thread in before} - {thread.name for thread in threading.enumerate()}
        assert {"port-read", "port-write"} <= ended and calls.names() == ["open"]
        terminal.close()

    asyncio.run(scene())
