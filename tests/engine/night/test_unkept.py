"""Meat in the pit is never in the care of nobody: a fan off, a trip, a fading fire. Readings are invented."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from hearth.core import fields
from tuyere.cook import care, faults
from tuyere.cook.care import Care, Need
from tuyere.cook.from_rows import urgent_first
from tuyere.cook.snapshot import Alarm, Cycle, Snapshot
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.conditions import COLD_FOR, HOT_FOR, Condition, Facts, conditions
from tuyere.text import Reader, Said, render

NOW = 1_700_000_000_000
HOUR = 3_600_000
ALDER = Need(1, "Alder", 69.0, by=NOW + HOUR)
GONE = Need(1, "Alder", 20.0, by=NOW - HOUR, past=True)
AT_REST = [
    Cycle(pit=118, state="off"),
    Cycle(pit=118, state="burnout", reason="cook_over"),
    Cycle(pit=118, state="off", reason="not_resumed", resume="refused"),
]


def words(said: Said) -> str:
    return render(said, Reader("F"))


def facts(cycle: Cycle, *needs: Need, now: int = NOW, **changes: Any) -> Facts:
    care_ = Care(list(needs), now=now)
    return Facts(**{"now": now, "cooking": True, "silent": 1.0, "beat": 1.0, "arrived": True, "meat_on": NOW - 5 * HOUR,
                    "cycle": cycle, "care": care_, **changes})  # fmt: skip


def standing(found: Facts) -> dict[str, Condition]:
    return {condition.code: condition for condition in conditions(found)}


@pytest.mark.parametrize("cycle", AT_REST, ids=lambda cycle: f"{cycle.state} {cycle.reason}")
def test_a_fan_off_with_meat_in_the_pit_is_urgent(cycle: Cycle) -> None:
    there = standing(facts(cycle, ALDER))[care.UNKEPT]
    assert there.level == "urgent" and there.after == 0
    assert "food safety asks for a decision by" in words(there.why) and "in 1 h" in words(there.why)
    said = " ".join(words(check) for check in there.checks)
    assert "start (s)" in said and "oven" in said and "throw it away" in said
    assert care.UNKEPT not in standing(facts(cycle))


def test_a_trip_and_a_fading_fire_say_it_themselves() -> None:
    for trip in faults.TRIPS:
        there = standing(facts(Cycle(pit=118, state="tripped", trip=trip, reason=f"tripped_{trip}"), ALDER))
        [found] = [one for one in there.values() if words(one.what).startswith("Tripped")]
        assert "Alder, 156 F: food safety asks for a decision by" in words(found.why) and care.UNKEPT not in there
        checks = [words(check) for check in found.checks]
        assert any("start (s)" in check for check in checks) and any("oven" in check for check in checks)
        assert not any("Mind the meat" in check for check in checks)  # said by its own readings now
    fading = standing(facts(Cycle(pit=118, state="fading"), ALDER))["fading"]
    assert "food safety asks for a decision by" in words(fading.why) and any(
        "oven" in words(check) for check in fading.checks
    )


def test_its_time_over_rings_again_whatever_the_board_does() -> None:
    for cycle in [
        *AT_REST,
        Cycle(pit=118, state="fading"),
        Cycle(pit=118, state="tripped", trip="fan"),
        Cycle(pit=118, state="climbing", fan=1.0),
    ]:
        there = standing(facts(cycle, GONE))[care.PAST]
        assert there.level == "urgent" and words(there.checks[0]) == "Throw it away"
    assert care.PAST not in standing(facts(AT_REST[0], ALDER))


@pytest.mark.parametrize(
    "cycle",
    [
        Cycle(state="off"),
        Cycle(state="burnout", reason="cook_over"),
        Cycle(state="manual", fan=0.3, reason="by_hand"),
        Cycle(state="climbing", fan=1.0, reason="below_band"),
        Cycle(state="holding", fan=0.5, reason="below_band"),
        Cycle(state="opened", fan=0.3, reason="opened_told"),
        Cycle(state="fading", fan=1.0, reason="fire_fading"),
        Cycle(state="tripped", trip="fan", reason="tripped_fan"),
    ],
    ids=lambda cycle: cycle.state,
)
def test_too_cool_and_too_hot_are_alarms_in_every_state_of_the_board(cycle: Cycle) -> None:
    needs = [ALDER] if care.unkept(cycle) else []
    cycle.pit = cycle.low - 10.5
    cool = standing(facts(cycle, *needs))["too_cool"]
    assert cool.level == "urgent" and cool.after == COLD_FOR
    cycle.pit = cycle.high + 5.5
    hot = standing(facts(cycle, *needs))["too_hot_fed" if cycle.fan else "too_hot"]
    assert hot.level == "urgent" and hot.after == HOT_FOR
    cycle.pit = cycle.low
    assert not {"too_cool", "too_hot", "too_hot_fed"} & standing(facts(cycle, *needs)).keys()


def test_too_cool_is_of_meat_and_of_a_pit_that_has_been_warm() -> None:
    cold = Cycle(pit=60, state="off")
    assert "too_cool" not in standing(facts(cold))  # nothing in it needs a fire
    climb = Cycle(pit=60, state="climbing", fan=1.0)
    young = {"arrived": False, "meat_on": NOW - HOUR + 1}
    assert "too_cool" not in standing(facts(climb, **young))
    assert "too_cool" in standing(facts(climb, arrived=False, meat_on=NOW - HOUR))
    assert "too_cool" not in standing(facts(climb, arrived=False, meat_on=0))
    empty = facts(Cycle(pit=60, state="holding"))
    empty.care.empty = True
    assert "too_cool" not in standing(empty)


def test_what_doubts_the_reading_or_names_the_heat_itself_is_not_said_twice() -> None:
    for reason in ("probe_doubted", "still_open"):
        there = standing(facts(Cycle(pit=60, state="opened" if reason == "still_open" else "fading", reason=reason)))
        assert "too_cool" not in there and len(there) == 1
    for trip in ("fire", "fell"):
        cold = Cycle(pit=60, state="tripped", trip=trip, reason=f"tripped_{trip}")
        assert list(standing(facts(cold, ALDER))) == [f"trip_{trip}"]
    for trip in ("hot", "flare", "runaway"):
        hot = Cycle(pit=200, state="tripped", trip=trip, reason=f"tripped_{trip}")
        assert list(standing(facts(hot, ALDER))) == [f"trip_{trip}"]


class Book:
    """The logbook's side of alarms."""

    def __init__(self) -> None:
        self.raised: list[str] = []
        self.changes: list[tuple[int, dict[str, int]]] = []

    def add(self, cook: int | None, raised: int, level: str, code: str, *said: Any) -> int:
        self.raised.append(code)
        return len(self.raised)

    def change(self, id: int, **fields: int) -> None:
        self.changes.append((id, fields))


def test_acknowledging_silences_it_and_never_clears_it() -> None:
    book = Book()
    alarms = Alarms(book)
    alarms.update(facts(AT_REST[0], ALDER))
    assert book.raised == [care.UNKEPT] and alarms.acknowledge(1, NOW)
    for hours in range(1, 9):
        alarms.update(facts(AT_REST[0], ALDER, now=NOW + hours * HOUR))
    assert book.changes == [(1, {"acknowledged": NOW})] and "too_cool" not in book.raised
    alarms.update(facts(AT_REST[0], GONE, now=NOW + 9 * HOUR))
    assert book.raised == [care.UNKEPT, care.PAST]
    alarms.update(facts(Cycle(pit=100, state="climbing", fan=1.0), now=NOW + 10 * HOUR))  # lit again
    assert (1, {"cleared": NOW + 10 * HOUR}) in book.changes and (2, {"cleared": NOW + 10 * HOUR}) in book.changes


def test_the_time_left_is_that_of_now_not_of_when_it_was_raised() -> None:
    alarms = Alarms(Book())
    alarms.update(facts(AT_REST[0], ALDER))
    kept = Alarm(id=1, raised=NOW, level="urgent", what=care.WHAT, why="of then", checks=[], code=care.UNKEPT)
    other = Alarm(id=2, raised=NOW, level="warning", what="Some records are lost", why="as it was", code="records_lost")
    alarms.update(facts(AT_REST[0], ALDER, now=NOW + HOUR // 2))
    now, same = alarms.fresh([kept, other])
    assert "in 30 min" in words(now.why) and len(now.checks) >= 3 and same == other


def test_it_stands_before_every_other_urgent_alarm() -> None:
    found = [Alarm(id=i, raised=NOW + i, level="urgent", what=code, code=code) for i, code in
             enumerate((care.UNKEPT, "too_cool", care.PAST, "link_lost"))]  # fmt: skip
    found.insert(0, Alarm(id=9, raised=NOW + 9, level="warning", what="w"))
    order = [alarm.code for alarm in sorted(found, key=urgent_first)]
    assert order == [care.PAST, care.UNKEPT, "link_lost", "too_cool", ""]


def test_a_probe_of_a_piece_that_is_out_is_no_fault() -> None:
    lost = Cycle(pit=128, state="holding", fan=0.2, lost=1)
    found = facts(lost, lost_piece="Alder")
    assert "phase_probe_lost" in standing(found)
    found.care.changes = False
    assert standing(found)["meat_probe_lost"].level == "warning"  # no band depends on it
    found.care.probe_out = True
    assert standing(found) == {}
    book = Book()
    alarms = Alarms(book)
    for minutes in range(10):
        alarms.update(facts(lost, now=NOW + minutes * 60_000))
    assert book.raised == ["phase_probe_lost"]
    out = facts(lost, now=NOW + HOUR)
    out.care.probe_out = True
    alarms.update(out)  # nobody has seen it: it was no fault
    assert book.changes == [(1, {"cleared": NOW + HOUR})]


@pytest.fixture
def board() -> Any:
    made = BoardOnTerminal()
    yield made
    made.close()


def test_a_stop_in_the_midst_of_a_cook_is_never_silent(tmp_path: Path, board: BoardOnTerminal) -> None:
    put = without_meat(board.board)

    def said(shot: Snapshot) -> bool:
        return any(alarm.code == care.UNKEPT for alarm in shot.alarms)

    def first(shot: Snapshot) -> None:
        assert words(shot.words[0]).startswith(f"{care.WHAT}: ") and words(shot.words[0]).endswith("fan off")
        assert shot.alarms[0].code == care.UNKEPT and shot.alarms[0].level == "urgent"
        assert words(shot.prompts[0].words).startswith("Light again and start (s), use an oven, or throw it away.")
        assert not [prompt for prompt in shot.prompts if prompt.kind == "phase"]
        assert shot.pieces[0].unlit and not shot.pieces[0].finish_likely and shot.forecasts == []
        assert "depends on the fire" in words(shot.pieces[0].expected[0])

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            await client.call("piece_add", name="Alder", mass=5.0, probe=1)
            await seen(client, lambda s: s.cycle and s.cycle.state == "holding")
            put(True)
            await client.call("note", kind="meat_on")
            await seen(client, lambda s: s.pieces[0].temperature is not None and s.pieces[0].on_at)
            await client.call("order", name="stop")
            stopped = await seen(client, said)
            first(stopped)
            number = stopped.alarms[0].id
            await client.call("alarm_acknowledge", id=number)
            quiet = await seen(client, lambda s: s.alarms and s.alarms[0].acknowledged)
            first(quiet)
            await client.call("order", name="start")
            lit = await seen(client, lambda s: s.cycle.state in ("climbing", "holding") and not said(s))
            assert not lit.pieces[0].unlit
            board.limit = 0

    asyncio.run(scene())


def test_a_phase_follows_its_piece_on_the_board(tmp_path: Path, board: BoardOnTerminal) -> None:
    read, pulled = board.board.read, [False]

    def without_first(now: Any) -> None:
        read(now)
        if pulled[0]:
            now.meat_1 = fields.ABSENT

    board.board.read = without_first
    smoke = {"name": "smoke", "low": 107, "high": 121}
    wrapped = {"name": "wrapped", "low": 121, "high": 135, "end_kind": fields.END_MEAT_1, "end_value": 95}
    keep = {"name": "keep", "low": 70, "high": 80}

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            await client.call("order", name="programme", phases=[smoke, wrapped, keep])
            alder = await client.call("piece_add", name="Alder", mass=5.0, probe=1)
            await client.call("piece_add", name="Bramble", mass=5.0, probe=2)
            await client.call("note", kind="meat_on")
            await client.call("order", name="phase", row=1)
            await client.call("order", name="band", low=118, high=130)  # by hand, and to be kept
            await seen(client, lambda s: s.cycle and s.cycle.phase == 1 and s.cycle.low == 118)
            await client.call("note", kind="out", piece=alder["id"])
            pulled[0] = True
            shot = await seen(client, lambda s: s.phases[1].end_kind == fields.END_MEAT_2)
            assert [phase.name for phase in shot.phases] == ["smoke", "wrapped", "keep"]
            later = await seen(client, lambda s: s.cycle.sequence > shot.cycle.sequence + 300)
            assert (later.cycle.low, later.cycle.high, later.cycle.phase, later.cycle.lost) == (118, 130, 1, 0)
            assert later.alarms == [] and not [p for p in later.prompts if p.kind == "phase"]
            [event] = [event for event in later.events if event.kind == "phase_follows"]
            assert words(event.text) == "wrapped ends when probe 2 reaches 203 F" and event.by == "board"
            board.limit = 0

    asyncio.run(scene())
    assert board.loop.memory.rows[4:8] == [11800, 13000, fields.END_MEAT_2, 9500]
