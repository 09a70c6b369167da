"""A programme goes to the board as one, with the phase in force where it belongs, and the log says who sent it."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen, started
from fake_board import BoardOnTerminal
from hearth.core import fields
from rendered import words
from tuyere.client.client import Client, EngineError

SMOKE = {"name": "smoke", "low": 107, "high": 121, "purpose": "bark"}
WRAPPED = {"name": "wrapped", "low": 121, "high": 135, "end_kind": fields.END_MEAT_1, "end_value": 95}
KEEP = {"name": "keep", "low": 70, "high": 80, "purpose": "hold"}


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    yield made
    made.close()


async def begun(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    board.limit = None
    await client.call("order", name="start")
    await seen(client, lambda s: s.cycle and s.cycle.state in ("climbing", "holding"))


def names(shot: Any) -> list[str]:
    return [phase.name for phase in shot.phases]


def test_the_phase_in_force_keeps_its_time_when_others_move(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begun(client, board)
            answer = await client.call(
                "order", name="programme", phases=[SMOKE, WRAPPED, KEEP], row=1, afresh=True, who="Robin"
            )
            assert answer["ok"], answer
            first = await seen(client, lambda s: names(s) == ["smoke", "wrapped", "keep"] and s.cycle.phase == 1)
            assert first.cycle.low == 121 and [p.purpose for p in first.phases] == ["bark", "", "hold"]
            later = await seen(client, lambda s: s.cycle.sequence > first.cycle.sequence + 50)
            await client.call("order", name="programme", phases=[WRAPPED, KEEP], row=0)
            moved = await seen(client, lambda s: names(s) == ["wrapped", "keep"] and s.cycle.phase == 0)
            assert moved.cycle.low == 121 and moved.phase_since == later.phase_since
            said = [words(event.text) for event in moved.events if event.kind == "programme_set"]
            assert said[1].startswith(
                "smoke 107-121 C, ends by hand; wrapped 121-135 C, ends when probe 1 reaches 95 C"
            )
            assert said[1].endswith(", Robin") and not said[0].endswith("Robin")
            board.limit = 0

    asyncio.run(scene())


def test_what_the_board_would_refuse_is_not_sent(tmp_path: Path, board: BoardOnTerminal) -> None:
    hot = {"name": "hot", "low": 140, "high": 158}

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begun(client, board)
            was = (await client.snapshot()).phases
            for phases, more, why in (
                ([SMOKE, hot], {}, "hot: its band goes up to 158 C, and with this board's limits none may go above"),
                ([SMOKE], {"row": 1}, "no row 1"),
                ([SMOKE, {**WRAPPED, "clock": "7 pm"}], {}, "wrapped: 7 pm is no time of day"),
                ([SMOKE, {**WRAPPED, "clock": "07:00"}], {}, "wrapped ends at 07:00, but nobody knows when it begins"),
                ([{**SMOKE, "purpose": "fun"}], {}, "no purpose 'fun'"),
                ([SMOKE] * 9, {}, "1 to 8 phases"),
            ):
                with pytest.raises(EngineError, match=why):
                    await client.call("order", name="programme", phases=phases, **more)
            assert (await client.snapshot()).phases == was
            board.limit = 0

    asyncio.run(scene())


def test_an_end_at_a_time_of_day_is_counted_again_after_a_rest(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begun(client, board)
            await client.call("order", name="programme", phases=[{**SMOKE, "clock": "06:00"}, KEEP], row=0, afresh=True)
            shot = await seen(client, lambda s: names(s) == ["smoke", "keep"])
            ends = shot.phase_since + shot.phases[0].end_value * 60_000
            await client.call("order", name="stop")
            stopped = await seen(client, lambda s: s.cycle.state == "off")
            rested = await seen(client, lambda s: s.cycle.sequence > stopped.cycle.sequence + 1800)  # 1 h
            board.limit = board.cycles  # it waits while the order is under way
            await seen(client, lambda s: s.cycle.sequence >= board.cycles)  # the host knows how late it is there
            await started(client, board)
            board.limit = None
            on = await seen(client, lambda s: s.cycle.state != "off" and s.phase_since >= rested.cycle.at)
            assert abs(on.phase_since + on.phases[0].end_value * 60_000 - ends) <= 10 * 60_000
            assert on.phases[0].end_value < shot.phases[0].end_value - 50
            board.limit = 0

    asyncio.run(scene())


def test_programmes_are_kept_by_name_for_any_screen(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await client.call("programme_keep", name="mine", phases=[SMOKE, KEEP])
            kept = await client.call("programmes")
            assert next(iter(kept)) == "straight through" and [p["name"] for p in kept["mine"]] == ["smoke", "keep"]
            await client.call("programme_drop", name="mine")
            assert "mine" not in await client.call("programmes")
            with pytest.raises(EngineError, match="is not kept"):
                await client.call("programme_drop", name="mine")

    asyncio.run(scene())
