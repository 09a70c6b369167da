"""What an earlier board was refused for does not stand against the next one."""

from __future__ import annotations

import asyncio
from pathlib import Path

from fake_board import BoardOnTerminal
from tuyere.engine.engine import Engine


def test_a_fresh_hello_clears_what_was_refused(tmp_path: Path) -> None:
    async def scene(port: str) -> None:
        engine = Engine(tmp_path, port=port, forecaster=())
        engine.board.intake.refused = engine.board.refused = "of an earlier board"
        task = asyncio.create_task(engine.run())
        async with asyncio.timeout(20):
            while engine.board.link.state != "open":
                await asyncio.sleep(0.05)
        assert (
            engine.board.intake.refused
            == engine.board.refused
            == engine.facts().refused
            == engine.facts().unstored
            == ""
        )
        engine.stop()
        await asyncio.wait_for(task, 20)

    board = BoardOnTerminal()
    try:
        asyncio.run(scene(board.port))
    finally:
        board.close()
