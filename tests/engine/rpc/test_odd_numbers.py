"""Whatever a client sends for an argument: it is refused in a sentence, or taken; nothing fails."""

from __future__ import annotations

import asyncio
import contextlib
import inspect
import json
import sys
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen, started
from fake_board import BoardOnTerminal
from tuyere import paths
from tuyere.client.protocol import VERSION
from tuyere.cook import faults
from tuyere.cook.errors import Refusal
from tuyere.engine.rpc import server as serve

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
ODD: list[Any] = [
    -1, 0, 2**31, 2**53, 2**62, 2**63, 2**64, -(2**63), 10**40, 0.5, 1e308, -1e308, 5e-324, True, None, "", "x", "1",
    [], {}, [2**70], {"name": 2**70}, "\x1b[2J", "ä" * 5000,
]  # fmt: skip
WORTH = {
    "name": "start", "kind": "said", "id": 1, "minutes": 5, "cook": 1, "after": 0, "low": 120, "high": 130, 
    "share": 0.5, "seconds": 60, "row": 0, "rows": [], "values": {}, "text": "a",
}  # fmt: skip
LEFT = ("stop", "cook_end", "order")  # the first two end the scene, the board answers the third


def test_odd_values_for_every_argument(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def scene() -> None:
        board = BoardOnTerminal()
        async with running(tmp_path, board.port) as engine, attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            await started(client, board)
            board.limit = 20
            await seen(client, lambda s: s.cook is not None and s.cycle is not None)
            await client.call("piece_add", name="flat", mass=4.0)
            said = json.loads(paths.engine_file(tmp_path).read_text())
            reader, writer = await asyncio.open_connection("127.0.0.1", said["port"], limit=8 << 20)

            async def ask(method: str, params: dict[str, Any]) -> dict[str, Any]:
                line = {"jsonrpc": "2.0", "id": 1, "method": method, "params": params}
                writer.write(json.dumps(line).encode() + b"\n")
                answer = json.loads(await asyncio.wait_for(reader.readline(), 30))
                assert isinstance(answer, dict)
                return answer

            await ask("attach", {"version": VERSION, "token": said["token"]})
            failed, asked = [], 0
            for name, method in engine.desk.methods().items():
                parameters = inspect.signature(method).parameters
                needed = {
                    key for key, one in parameters.items() if one.default is one.empty and one.kind != one.VAR_KEYWORD
                }
                if name in LEFT:
                    continue
                keys = (
                    list(parameters)
                    if not any(p.kind == p.VAR_KEYWORD for p in parameters.values())
                    else [*WORTH, "mass"]
                )
                for key in keys:
                    for value in ODD:
                        given = {one: WORTH.get(one, 1) for one in needed} | {key: value}
                        answer = await ask(name, given)
                        asked += 1
                        if answer.get("error", {}).get("code") == serve.INTERNAL:
                            failed.append((name, given, answer["error"]["message"]))
            monkeypatch.setattr(engine.alarms, "level", lambda number: faults.URGENT)  # as while one stands
            for value in ODD:
                answer = await ask("alarm_shelve", {"id": 1, "minutes": value})
                if answer.get("error", {}).get("code") == serve.INTERNAL:
                    failed.append(("alarm_shelve", value, answer["error"]["message"]))
            for order, takes in engine.orders._takes.items():  # as they are turned into the board's units
                for key in inspect.signature(takes).parameters:
                    for value in ODD:
                        asked += 1
                        with contextlib.suppress(Refusal):
                            takes(
                                **{one: WORTH.get(one, 1) for one in inspect.signature(takes).parameters} | {key: value}
                            )
                        assert order
            writer.close()
            assert failed == [] and asked > 500
        board.close()

    asyncio.run(scene())
