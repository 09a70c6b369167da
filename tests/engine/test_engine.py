"""Fake board -> engine -> logbook -> client, over a real pseudo-terminal and a real socket."""

from __future__ import annotations

import asyncio
import json
import os
import stat
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from rendered import words
from tuyere import paths
from tuyere.client.client import EngineError
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.engine import engine as engine_module
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook, LogbookBusy


@pytest.fixture
def board() -> Any:
    made = BoardOnTerminal()
    yield made
    made.close()


def test_a_cook_from_the_board_to_the_screen(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            there = await seen(client, lambda s: s.link.state == "open")
            assert there.link.board == "fake-1" and there.link.simulated
            board.limit = 5
            off = await seen(client, lambda s: s.cycle is not None and s.cycle.sequence >= 3)
            assert off.cycle is not None and off.cycle.state == "off" and words(off.words[0]).startswith("Off")
            assert off.cook is None
            board.limit = None
            assert (await client.call("order", name="start")) == {"ok": True, "words": "Holding the band from here on."}
            trends: list[Trend] = []
            held = await seen(client, lambda s: s.cycle is not None and s.cycle.state == "holding", trends)
            assert held.cook is not None and [p.name for p in held.phases] == ["straight through"]
            done = await client.call("order", name="band", low=107, high=118)
            assert done["ok"] and words(done["words"]) == "Band 107-118 C."
            moved = await seen(client, lambda s: s.cycle.low == 107, trends)
            assert moved.cycle is not None and moved.cycle.high == 118
            scored = await seen(client, lambda s: (s.cook.in_band or 0) > 0, trends)
            assert scored.cook.in_band <= 1
            ended = await client.call("cook_end")
            assert ended["ok"]
            last = await seen(client, lambda s: s.cycle.state == "burnout" and s.cook.ended, trends)
            assert last.cook.ended >= last.cook.started
            at = [t for trend in trends for t in trend.at]
            assert at == sorted(set(at)) and len(at) > 1000
            board.limit = 0

    asyncio.run(scene())
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        [cook] = book.cooks.all()
        counts = book.reading.counts(cook.id)
        assert counts.gaps == counts.missing == 0
        assert counts.states >= 1
        assert book.records.expected("fake-1", 7) == book.records.stored("fake-1", 7) > counts.cycles


def test_what_the_probes_show_of_food_safety_reaches_the_screen(tmp_path: Path, board: BoardOnTerminal) -> None:
    put = without_meat(board.board)

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            piece = await client.call("piece_add", name="Alder", mass=5.0, probe=1, intact=False)
            bare = await seen(client, lambda s: s.pieces and s.cycle is not None)
            assert not bare.pieces[0].safe  # it is not on yet: what its probe reads is not of it
            put(True)  # the twin's hands: the engine notes it
            rule = "Not whole muscle: 63 C for 3 min has not been held yet"
            shown = await seen(client, lambda s: any(rule in words(said) for said in s.pieces[0].safe))
            assert "below its target" in words(shown.pieces[0].verdict) and any(
                "Rolled, injected" in words(rule) for rule in shown.rules
            )
            await client.call("note", kind="in_box", piece=piece["id"])
            boxed = await seen(client, lambda s: s.pieces[0].place == "box")
            assert any("Keep it hot at 60 C or above" in words(rule) for rule in boxed.rules)
            await client.call("note", kind="carved", piece=piece["id"])
            carved = await seen(client, lambda s: s.pieces[0].place == "carved")
            assert carved.rules == []
            board.limit = 0

    asyncio.run(scene())


def test_an_engine_that_comes_back_fetches_what_it_missed(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def begin() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            await seen(client, lambda s: s.cook and s.cook.cycles > 300)

    async def again() -> Snapshot:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            there = await seen(client, lambda s: s.link.state == "open" and s.cycle is not None)
            return await seen(client, lambda s: s.cook.cycles > there.cook.cycles + 300 and s.phase_since > 0)

    asyncio.run(begin())
    last = asyncio.run(again())
    board.limit = 0
    assert last.link.missing == 0
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        [cook] = book.cooks.all()
        assert book.reading.counts(cook.id).missing == 0
        sequences = [cycle["sequence"] for cycle in book.reading.cycles(cook.id)]
        assert sequences == sorted(set(sequences))
        assert book.records.stored("fake-1", 7) == book.records.expected("fake-1", 7)


def test_a_second_engine_is_refused(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port):
            with pytest.raises(LogbookBusy):
                Engine(tmp_path)

    asyncio.run(scene())


@pytest.mark.usefixtures("quick_beat")
def test_a_board_that_restarts_is_told_and_followed(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            before = await seen(client, lambda s: s.cook and s.cook.cycles > 200)
            board.restart(8)
            after = await seen(client, lambda s: s.link.boot == 8 and s.cycle is not None and s.alarms)
            assert after.cycle.at > before.cycle.at  # the twin's time goes on
            assert after.cycle.at - before.cycle.at < 3 * 3_600_000
            alarm = next(a for a in after.alarms if "restarted" in a.what)
            assert alarm.level == "urgent"
            assert (await client.call("order", name="start"))["ok"]
            assert (await client.call("alarm_acknowledge", id=alarm.id))["ok"]
            await seen(client, lambda s: all("restarted" not in a.what for a in s.alarms))
            board.limit = 0

    asyncio.run(scene())


def test_notes_change_the_pieces_can_be_dated_back_and_withdrawn(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        put_on = without_meat(board.board)
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            piece = (await client.call("piece_add", name="Alder", cut="packer", mass=6.0, probe=1))["id"]
            await seen(client, lambda s: s.cook.cycles > 200)
            put_on(True)
            snapshot = await seen(client, lambda s: s.pieces and s.cook.meat_on)  # the twin puts its meat on by itself
            assert snapshot.pieces[0].temperature is not None
            assert (snapshot.last_note, {e.by for e in snapshot.events}) == (None, {"board", "twin"})
            board.limit = 0
            shot = await client.snapshot()
            now = shot.now
            await client.call("note", kind="shade", piece=piece, value=5)
            await client.call("note", kind="shade", piece=piece, value=3, at=now - 100_000)
            last = await client.call("note", kind="wrapped", piece=piece, text="foil")
            shown = await client.snapshot()
            assert (shown.pieces[0].shade, shown.pieces[0].wrap) == (5, "foil")
            assert shown.last_note.id == last["id"] and shown.last_note.kind == "wrapped"
            undone = await client.call("note_undo", id=last["id"])
            assert words(undone["words"]).startswith("Withdrawn: wrapped of Alder, ")
            assert (await client.call("note_undo"))["ok"]  # the last one left: the shade that was dated back
            shown = await client.snapshot()
            assert (shown.pieces[0].shade, shown.pieces[0].wrap) == (5, "")
            await client.call("note_undo")
            assert (await client.snapshot()).pieces[0].shade is None
            with pytest.raises(EngineError, match="no note to withdraw"):
                await client.call("note_undo")
            with pytest.raises(EngineError, match="no note 1 by a person"):  # what the board did stays
                await client.call("note_undo", id=1)
            with pytest.raises(EngineError, match=r"has passed.*still to come"):
                await client.call("note", kind="said", text="soon", at=now + 10**7)
            with pytest.raises(EngineError, match=r"before this cook began.*give a later time"):
                await client.call("note", kind="spritzed", at=now - 3 * 86_400_000)
            with pytest.raises(EngineError, match="no time"):
                await client.call("note", kind="spritzed", at=17)
            with pytest.raises(EngineError, match=r"5\.5 is not whole"):
                await client.call("note", kind="shade", piece=piece, value=5.5)
            with pytest.raises(EngineError, match="no event"):
                await client.call("note", kind="sung")
            with pytest.raises(EngineError, match="no piece"):
                await client.call("note", kind="shade", piece=99, value=3)

    asyncio.run(scene())


def test_orders_that_cannot_be_are_refused_in_words(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            for bad in (
                {"name": "band", "low": 130, "high": 131},
                {"name": "band", "low": "hot", "high": 131},
                {"name": "band", "low": 100},
                {"name": "fan", "share": 2, "seconds": 5},
                {"name": "fan", "share": 0.5, "seconds": 901},
                {"name": "jump"},
                {"name": "programme", "phases": []},
                {"name": "settings", "values": {"gain": 1e9}},
            ):
                with pytest.raises(EngineError):
                    await client.call("order", **bad)
            answer = await client.call("order", name="opened")
            assert not answer["ok"]
            assert words(answer["words"]) == "Not done: the board is not holding the band just now."
            with pytest.raises(EngineError, match="no cook"):
                await client.call("cook_end")
            phases = [{"name": "slow", "low": 105, "high": 115, "end_kind": 1, "end_value": 90}]
            assert (await client.call("order", name="programme", phases=phases))["ok"]
            shown = await seen(client, lambda s: s.phases)
            assert words(shown.phases[0].end) == "after 1 h 30 min"
            board.limit = 0

    asyncio.run(scene())


def test_the_door_file_is_for_its_owner_only_and_goes_with_the_engine(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port):
            file = paths.engine_file(tmp_path)
            assert stat.S_IMODE(os.stat(file).st_mode) == 0o600
            assert set(json.loads(file.read_text())) == {"port", "token", "pid", "version"}
        assert not file.exists()

    asyncio.run(scene())


def test_a_port_that_vanishes_is_looked_for_again(tmp_path: Path) -> None:
    link = tmp_path / "board"
    first = BoardOnTerminal(boot=7)
    link.symlink_to(first.port)

    async def scene() -> None:
        async with running(tmp_path / "home", str(link)), attached(tmp_path / "home") as client:
            await seen(client, lambda s: s.link.state == "open")
            link.unlink()
            first.close()
            await seen(client, lambda s: s.link.state in ("lost", "searching"))
            second = BoardOnTerminal(boot=9)
            try:
                link.symlink_to(second.port)
                await seen(client, lambda s: s.link.state == "open" and s.link.boot == 9)
            finally:
                second.close()

    asyncio.run(scene())


def test_a_trip_needs_a_person_and_does_not_start_the_fan(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            await seen(client, lambda s: s.cycle and s.cycle.state == "holding")
            board.board.faults = 1
            tripped = await seen(client, lambda s: any(a.what.startswith("Tripped") for a in s.alarms))
            assert tripped.cycle.fan == 0 and words(tripped.words[0]).startswith("Tripped")
            alarm = next(a for a in tripped.alarms if a.what.startswith("Tripped"))
            assert "broken wire" in words(alarm.why) and alarm.checks
            assert words((await client.call("order", name="start"))["words"]).startswith(
                "Not done: the board has tripped"
            )
            early = await client.call("alarm_acknowledge", id=alarm.id)
            assert "still there" in words(early["words"])
            board.board.faults = 0
            await seen(client, lambda s: s.cycle.pit is not None)
            late = await client.call("alarm_acknowledge", id=alarm.id)
            assert "stays off" in words(late["words"])
            off = await seen(
                client, lambda s: s.cycle.state == "off" and not any(a.code.startswith("trip_") for a in s.alarms)
            )
            assert off.cycle.fan == 0
            # acknowledging keeps no meat warm
            assert off.cook.meat_on and "meat_unkept" in [a.code for a in off.alarms]
            assert (await client.call("order", name="start"))["ok"]
            board.limit = 0

    asyncio.run(scene())


@pytest.mark.usefixtures("quick_beat")
def test_a_board_that_lost_its_memory_goes_on_in_the_same_phase(tmp_path: Path, board: BoardOnTerminal) -> None:
    phases = [{"name": name, "low": low, "high": low + 12} for name, low in (("smoke", 120), ("wrapped", 108))]

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("cook_start", name="test")
            await client.call("order", name="programme", phases=phases)
            await client.call("order", name="start")
            assert (await client.call("order", name="phase"))["words"] == "Phase: wrapped."
            await seen(client, lambda s: s.cycle.phase == 1)
            board.restart(8)
            await seen(client, lambda s: s.link.boot == 8 and s.cycle and s.cycle.state == "off")
            assert (await client.call("order", name="start"))["ok"]
            on = await seen(client, lambda s: s.cycle.phase == 1)
            assert (on.cycle.low, on.cycle.high) == (108, 120)
            assert [p.name for p in on.phases] == ["smoke", "wrapped"]
            board.limit = 0

    asyncio.run(scene())


def test_a_new_cycle_does_not_wait_for_the_next_look_at_the_time(
    tmp_path: Path, board: BoardOnTerminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            there = await seen(client, lambda s: s.link.state == "open")
            monkeypatch.setattr(engine_module, "TICK", 3600.0)
            await asyncio.sleep(0.3)  # the look that began before: none follows it by itself
            board.limit = 3
            shown = await seen(client, lambda s: s.cycle is not None and s.cycle.sequence >= 2)
            assert there.cycle is None and shown.link.state == "open"
            board.limit = 0

    asyncio.run(scene())
