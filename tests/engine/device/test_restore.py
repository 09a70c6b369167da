"""What a board that restarted is told again: only what differs, and never a start."""

from __future__ import annotations

from typing import Any

import pytest
from rendered import words
from tuyere.cook.snapshot import Cycle
from tuyere.engine.device.latest import Readout
from tuyere.engine.device.restore import AT_ONCE, Stood

ROWS = [[12110, 13500, 0, 0], [10700, 11800, 2, 9500], [12110, 13500, 0, 0]]


def readout(rows: Any = ROWS, settings: Any = None, **cycle: Any) -> Readout:
    made = Readout()
    made.rows, made.settings = rows, settings or {}
    made.cycle = Cycle(**{"state": "holding", "low": 121.1, "high": 135.0, **cycle})
    return made


def stood(**changes: Any) -> Stood:
    return Stood(**{"board": "b", "settled": 7, "rows": ROWS, "row": 0, "low": 12110, "high": 13500, **changes})


def names(orders: list[Any]) -> list[str]:
    return [name for name, _, _ in orders]


def test_a_board_that_kept_everything_is_told_nothing() -> None:
    assert stood().programme_lost(readout()) == []
    assert stood(settings={"gain": 350}).settings_lost("b", readout(settings={"gain": 350, "reset": 9})) == []


def test_a_band_set_by_hand_is_told_again() -> None:
    [(name, arguments, said)] = stood(low=11000, high=12000).programme_lost(readout())
    assert (name, arguments, words(said)) == ("band", {"low": 11000, "high": 12000}, "band 110-120 C")


def test_a_board_that_has_gone_on_by_itself_keeps_its_phase_and_its_band() -> None:
    assert stood(low=11000, high=12000).programme_lost(readout(phase=1, low=107, high=118)) == []


def test_a_board_without_its_programme_gets_rows_phase_and_band() -> None:
    blank = readout(rows=[], state="off")
    assert names(stood(row=1, low=10700, high=11800).programme_lost(blank)) == ["programme", "phase"]
    orders = stood(row=1, low=11000, high=12000).programme_lost(blank)
    assert names(orders) == ["programme", "phase", "band"] and orders[1][1] == {"row": 1}
    assert names(stood().programme_lost(blank)) == ["programme"]
    assert names(stood(row=3).programme_lost(blank)) == ["programme"]  # worked through: a start begins it again
    assert stood(rows=[]).programme_lost(blank) == []


def test_settings_that_differ_go_in_lines_a_board_can_hold_and_those_judged_together_go_first() -> None:
    table = {f"s{i}": i for i in range(40)}
    mine = {**{name: value + 1 for name, value in table.items()}, "pit_limit": 1, "band_low": 2, "no such": 3}
    orders = stood(settings=mine).settings_lost("b", readout(settings={**table, "pit_limit": 0, "band_low": 0}))
    parts = [order[1]["values"] for order in orders]
    assert list(parts[0])[:2] == ["pit_limit", "band_low"] and max(map(len, parts)) <= AT_ONCE
    assert {name: value for part in parts for name, value in part.items()} == {
        name: value for name, value in mine.items() if name != "no such"
    }


def test_what_belongs_to_the_parts_of_one_board_never_goes_to_another() -> None:
    mine, now = {"gain": 400, "converter": 31855, "pit_offset": 120}, {"gain": 350, "converter": 31856, "pit_offset": 0}
    [(_, arguments, _)] = stood(settings=mine).settings_lost("b", readout(settings=now))
    assert arguments["values"] == mine
    [(_, arguments, _)] = stood(settings=mine).settings_lost("other", readout(settings=now))
    assert arguments["values"] == {"gain": 400}


def test_it_follows_the_boot_that_is_settled_and_no_other() -> None:
    last = stood(settled=8)
    last.follow("b", 9, readout(phase=2, low=90, high=95))
    assert (last.row, last.low) == (0, 12110)
    last.follow("b", 8, readout(phase=1, low=107, high=118, settings={"gain": 1}))
    assert (last.row, last.low, last.high, last.settings) == (1, 10700, 11800, {"gain": 1})


def test_a_band_that_was_acknowledged_holds_against_cycles_from_before() -> None:
    last = stood()
    last.acknowledged("band", {"low": 11000, "high": 12000})
    last.follow("b", 7, readout())  # on its way since before the order
    assert (last.low, last.high) == (11000, 12000)
    last.follow("b", 7, readout(low=110, high=120))
    last.follow("b", 7, readout(low=105, high=115))
    assert (last.low, last.high) == (10500, 11500)


def test_it_comes_back_from_the_logbook() -> None:
    last = stood(settings={"gain": 5}, told=(1, 2))
    assert Stood.read(last.text()) == last
    for broken in (None, "", "{", '{"row": "x"}', "[]"):
        assert Stood.read(broken) == Stood()


@pytest.mark.parametrize("state", ["off", "tripped", "burnout"])
def test_at_rest_a_programme_begins_with_its_first_row(state: str) -> None:
    blank = readout(rows=[ROWS[0]], state=state, phase=1)
    assert names(stood(row=1, low=10700, high=11800).programme_lost(blank)) == ["programme", "phase"]
