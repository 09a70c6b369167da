"""A screen that goes says so, unless the engine has gone before."""

from __future__ import annotations

import asyncio
import json

from tuyere.client.client import Client


async def methods_heard(gone: bool) -> list[str]:
    """What a server hears from a client that attaches, is left by the server or not, and closes."""
    heard: list[str] = []
    ended = asyncio.Event()

    async def come(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while line := await reader.readline():
            said = json.loads(line)
            heard.append(said["method"])
            writer.write(json.dumps({"jsonrpc": "2.0", "id": said["id"], "result": {}}).encode() + b"\n")
            if gone or said["method"] == "detach":
                break
        writer.close()
        ended.set()

    server = await asyncio.start_server(come, "127.0.0.1", 0)
    async with server:
        client = Client(*await asyncio.open_connection(*server.sockets[0].getsockname()))
        await client.call("snapshot")
        if gone:
            async for _ in client.notifications():
                pass
        await client.close()
        await ended.wait()
    return heard


def test_a_screen_that_goes_detaches() -> None:
    assert asyncio.run(methods_heard(gone=False)) == ["snapshot", "detach"]


def test_nothing_is_said_to_an_engine_that_has_gone() -> None:
    assert asyncio.run(methods_heard(gone=True)) == ["snapshot"]
