"""The engine's door: handshake, JSON-RPC errors, clients that misbehave."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
from tuyere.client.client import Client, EngineError
from tuyere.client.protocol import VERSION
from tuyere.cook.errors import Refusal
from tuyere.engine.rpc import server as serve
from tuyere.engine.rpc.server import Server

WITHIN = 10


class Raw:
    """A client that says what it likes."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.reader, self.writer = reader, writer

    async def say(self, line: bytes | dict[str, Any]) -> None:
        self.writer.write(line if isinstance(line, bytes) else json.dumps({"jsonrpc": "2.0", **line}).encode() + b"\n")
        with contextlib.suppress(ConnectionError):
            await self.writer.drain()

    async def hear(self) -> dict[str, Any] | None:
        with contextlib.suppress(ConnectionError):
            line = await asyncio.wait_for(self.reader.readline(), WITHIN)
            return json.loads(line) if line else None
        return None


async def echo(**params: Any) -> Any:
    return params


async def no() -> Any:
    raise Refusal("not today")


async def broken() -> Any:
    raise ZeroDivisionError("oh")


async def needs(what: int) -> Any:
    return what


async def mistaken(what: int) -> Any:
    return needs(what, what)  # type: ignore[call-arg]  # a TypeError of ours, not of the caller's


@contextlib.asynccontextmanager
async def door(
    home: Path, news: Any = lambda screen: [("snapshot", {"now": 1})]
) -> AsyncIterator[tuple[Server, list[str]]]:
    told: list[str] = []
    methods = {"echo": echo, "no": no, "broken": broken, "needs": needs, "mistaken": mistaken}
    server = Server(home / "engine.json", methods, news, told.append)
    await server.start()
    try:
        yield server, told
    finally:
        await server.close()


async def connect(server: Server) -> Raw:
    return Raw(*await asyncio.open_connection("127.0.0.1", server.port, limit=8 << 20))


async def attach(server: Server) -> Raw:
    raw = await connect(server)
    await raw.say({"id": 1, "method": "attach", "params": {"version": VERSION, "token": server.token}})
    answer = await raw.hear()
    assert answer and answer["result"]["version"] == VERSION
    return raw


@pytest.mark.parametrize(
    "first",
    [
        b"GET / HTTP/1.1\r\nHost: x\r\n\r\n",
        b"\n\xff\xfe\x00\n",
        b"[" * 4000 + b"\n",
        {"id": 1, "method": "echo"},
        {"id": 1, "method": "attach", "params": {"version": 1, "token": "wrong"}},
        {"id": 1, "method": "attach", "params": {"version": 1, "token": 5}},
        {"id": 1, "method": "attach"},
    ],
)
def test_without_the_token_there_is_one_error_and_the_door_shuts(tmp_path: Path, first: Any) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await connect(server)
            await raw.say(first)
            answer = await raw.hear()
            assert answer is not None and answer["error"]["code"] < 0
            assert await raw.hear() is None
            assert not server.screens

    asyncio.run(scene())


def test_another_version_is_told_what_to_do(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await connect(server)
            await raw.say({"id": 1, "method": "attach", "params": {"version": 99, "token": server.token}})
            answer = await raw.hear()
            assert answer and "version" in answer["error"]["message"]

    asyncio.run(scene())


def test_errors_have_the_codes_of_json_rpc(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, told):
            raw = await attach(server)
            for said, code in (
                (b"{not json}\n", -32700),
                (b'{"method": "echo", "id": 1}\n', -32600),
                (b"[1, 2]\n", -32600),
                ({"id": 1, "method": 5}, -32600),
                ({"id": 1, "method": "unknown"}, -32601),
                ({"id": 1, "method": "echo", "params": [1]}, -32602),
                ({"id": 1, "method": "needs", "params": {"else": 1}}, -32602),
                ({"id": 1, "method": "needs"}, -32602),
                ({"id": 1, "method": "subscribe", "params": {"else": 1}}, -32602),
                ({"id": 1, "method": "mistaken", "params": {"what": 1}}, -32603),
                ({"id": 1, "method": "broken"}, -32603),
                ({"id": 1, "method": "no"}, -32000),
            ):
                await raw.say(said)
                answer = await raw.hear()
                assert answer is not None and answer["error"]["code"] == code, said
            assert any("ZeroDivisionError" in line for line in told)
            await raw.say({"method": "echo"})  # a notification is not answered
            await raw.say({"id": "x", "method": "echo", "params": {"a": 1}})
            assert await raw.hear() == {"jsonrpc": "2.0", "id": "x", "result": {"a": 1}}

    asyncio.run(scene())


def test_a_message_too_long_ends_the_conversation(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await attach(server)
            await raw.say(b"x" * (serve.door.LONGEST + 100) + b"\n")
            answer = await raw.hear()
            assert answer is None or "longer" in answer["error"]["message"]

    asyncio.run(scene())


def test_a_client_that_does_not_read_is_dropped_and_the_others_are_served(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serve, "READ_WITHIN", 0.3)
    monkeypatch.setattr(serve, "PACE", 0.01)
    big = [("snapshot", {"now": 1, "words": ["x" * 4_000_000]})]

    async def scene() -> None:
        async with door(tmp_path, lambda screen: big) as (server, _):
            deaf = await attach(server)
            await deaf.say({"id": 2, "method": "subscribe", "params": {}})
            other = await attach(server)
            async with asyncio.timeout(WITHIN):
                while len(server.screens) > 1:
                    server.changed()
                    await other.say({"id": 3, "method": "echo", "params": {}})
                    assert await other.hear() is not None
            assert len(server.screens) == 1 and server.left is None

    asyncio.run(scene())


def test_a_client_with_more_answers_waiting_than_are_kept_is_dropped(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            await attach(server)
            (screen,) = server.screens
            for _ in range(serve.ANSWERS + 1):
                assert not screen._leaving
                screen._answer(b"x\n")
            assert screen._leaving

    asyncio.run(scene())


def test_snapshots_are_not_queued(tmp_path: Path) -> None:
    asked: list[int] = []

    def news(screen: Any) -> list[tuple[str, Any]]:
        asked.append(1)
        return [("snapshot", {"n": len(asked)})]

    async def scene() -> None:
        async with door(tmp_path, news) as (server, _):
            raw = await attach(server)
            await raw.say({"id": 2, "method": "subscribe", "params": {"trend_after": 0}})
            assert (await raw.hear() or {})["result"] == {"ok": True}
            for _ in range(1000):
                server.changed()
            assert (await raw.hear() or {})["params"] == {"n": 1}
            assert len(asked) == 1  # a thousand changes at once are one snapshot

    asyncio.run(scene())


def test_the_last_to_leave_is_noticed(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await attach(server)
            assert server.ever and server.left is None
            await raw.say({"id": 2, "method": "detach"})
            assert (await raw.hear() or {})["result"] == {"ok": True}
            assert await raw.hear() is None
            async with asyncio.timeout(WITHIN):
                while server.left is None:
                    await asyncio.sleep(0)

    asyncio.run(scene())


def test_a_client_says_when_no_engine_runs_and_when_it_goes(tmp_path: Path) -> None:
    async def scene() -> None:
        with pytest.raises(EngineError, match="no engine is running"):
            await Client.open(tmp_path)
        (tmp_path / "engine.json").write_text('{"port": 1, "token": "left behind"}')
        with pytest.raises(EngineError, match="no engine is running"):
            await Client.open(tmp_path)
        async with door(tmp_path) as (server, _):
            client = await Client.open(tmp_path)
            assert await client.call("echo", a=[1, None]) == {"a": [1, None]}
            with pytest.raises(EngineError, match="not today"):
                await client.call("no")
            await server.close()
            async for _ in client.notifications():
                pass
            with pytest.raises(EngineError, match="gone"):
                await client.call("echo")
            await client.close()

    asyncio.run(scene())


def test_many_connections_without_the_token_are_few_and_a_client_with_it_still_comes_in(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            strangers = [await connect(server) for _ in range(serve.door.STRANGERS * 4)]
            known = await attach(server)
            async with asyncio.timeout(WITHIN):
                while len(server._talks) > serve.door.STRANGERS + 1:
                    await asyncio.sleep(0)
            await known.say({"id": 1, "method": "echo", "params": {}})
            assert await known.hear() is not None
            assert len(server.screens) == 1
            for raw in strangers:
                raw.writer.close()

    asyncio.run(scene())


def test_a_stranger_may_send_little(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await connect(server)
            await raw.say(b"x" * (serve.door.FIRST + 1))  # no end of a line
            answer = await raw.hear()
            assert answer is None or "4 KB" in answer["error"]["message"]
            assert await raw.hear() is None

    asyncio.run(scene())


def test_screens_are_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serve.door, "SCREENS", 2)

    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            screens = [await attach(server) for _ in range(2)]
            raw = await connect(server)
            await raw.say({"id": 1, "method": "attach", "params": {"version": VERSION, "token": server.token}})
            assert "close one of them" in (await raw.hear() or {})["error"]["message"]
            screens[0].writer.close()
            async with asyncio.timeout(WITHIN):
                while len(server.screens) > 1:
                    await asyncio.sleep(0)
            await attach(server)

    asyncio.run(scene())


def test_a_line_in_many_portions_and_many_lines_in_one(tmp_path: Path) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await attach(server)
            text = "x" * 700_000
            await raw.say({"id": 1, "method": "echo", "params": {"a": text}})
            assert (await raw.hear() or {})["result"] == {"a": text}
            line = json.dumps({"jsonrpc": "2.0", "id": 2, "method": "echo", "params": {}}).encode() + b"\n"
            await raw.say(line * 20)
            for _ in range(20):
                assert (await raw.hear() or {})["result"] == {}

    asyncio.run(scene())


@pytest.mark.parametrize("number", [-1, 1 << 62, 1 << 63, 10**300, 1.5, None, "1", True])
def test_a_trend_after_no_record_that_can_be_is_refused(tmp_path: Path, number: Any) -> None:
    async def scene() -> None:
        async with door(tmp_path) as (server, _):
            raw = await attach(server)
            await raw.say({"id": 1, "method": "subscribe", "params": {"trend_after": number}})
            assert (await raw.hear() or {})["error"]["code"] == serve.REFUSED

    asyncio.run(scene())
