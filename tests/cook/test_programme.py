"""Programmes: what the board will refuse, ends at a time of day, and those that are kept by name."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from hearth.core import Settings, fields
from hearth.core import programme as board
from hypothesis import given
from hypothesis import strategies as st
from rendered import words
from tuyere.cook import kept_programmes, programme
from tuyere.cook.snapshot import Phase

MINUTE = 60_000


@pytest.fixture(autouse=True)
def _in_utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def at(clock: str, day: int = 13) -> int:
    return round(datetime.fromisoformat(f"2026-06-{day}T{clock}:00+00:00").timestamp() * 1000)


def test_what_is_kept_goes_to_the_board_and_back() -> None:
    for phases in kept_programmes.given().values():
        made = programme.counted(phases, 0, at("22:30"), at("22:30"))
        assert programme.phases(programme.rows(made), programme.texts(made)) == made
        assert programme.wrong(made) == "" and board.wrong(programme.rows(made), 15500) == ""


def test_no_given_programme_has_a_phase_that_changes_nothing() -> None:
    for phases in kept_programmes.given().values():
        assert not [row for row in range(len(phases)) if programme.idle(phases, row)]
    same = [programme.phase("a", 121.1, 135.0), programme.phase("b", 121.1, 135.0)]
    assert programme.idle(same, 1) and not programme.idle(same, 0)


@pytest.mark.parametrize(
    ("phases", "said"),
    [
        ([], "a programme has 1 to 8 phases, and this one has 0"),
        ([programme.phase("smoke", 121, 122)], "smoke: its band begins at 40 C or above, and is at least 2 C wide"),
        ([programme.phase("hot", 150, 170)], "hot: its band goes up to 170 C, and with this board's limits"),
        ([programme.phase("long", 110, 120, fields.END_AFTER, 6000)], "long: a phase lasts 1 min to 96 h"),
        (
            [programme.phase("meat", 110, 120, fields.END_MEAT_1, 10)],
            "meat: a piece that ends a phase reads 30 C to 120 C",
        ),
    ],
)
def test_what_is_wrong_is_said_with_the_phase(phases: list[Phase], said: str) -> None:
    assert words(programme.wrong(phases)).startswith(said)


def test_the_limits_are_those_of_this_board() -> None:
    phases = [programme.phase("smoke", 107, 121), programme.phase("hot", 121, 140)]
    assert programme.wrong(phases) == ""
    assert "none may go above 130 C" in words(programme.wrong(phases, {"pit_limit": 15000, "rest_above": 1000}))


@given(
    st.integers(3000, 22000), st.integers(0, 9000), st.integers(0, 4), st.integers(0, 13000), st.integers(9000, 17000)
)
def test_what_passes_here_passes_on_the_board(low: int, wide: int, kind: int, value: int, limit: int) -> None:
    from hearth import order_checks
    from hearth.core import orders

    shown = 0.0 if kind == 0 else value / 100 if kind > 1 else float(value)
    phases = [programme.phase("a", low / 100, (low + wide) / 100, kind, shown)]
    settings = Settings()
    settings.pit_limit = limit
    refused = board.wrong(programme.rows(phases), orders.HIGHEST) or order_checks.contradicts(settings, low + wide)
    assert bool(programme.wrong(phases, {"pit_limit": limit})) == bool(refused)


def test_an_end_at_a_time_of_day_is_counted_from_when_the_phase_begins() -> None:
    phases = kept_programmes.given()["low overnight, up at six"]
    [low, day] = programme.counted(phases, 0, at("22:30"), at("22:30"))
    assert (low.end_kind, low.end_value, low.clock) == (fields.END_AFTER, 450.0, "06:00") and day == phases[1]
    assert words(low.end) == "at 06:00"
    [again, _] = programme.counted([low, day], 0, at("22:30"), at("23:00"))  # it runs already: the same end
    assert again.end_value == 450.0
    [late, _] = programme.counted(phases, 0, at("06:00"), at("06:00"))  # the next morning, not none
    assert late.end_value == 24 * 60.0


def test_an_end_at_a_time_of_day_follows_timed_phases_only() -> None:
    clocked = programme.phase("low", 107, 121, fields.END_AFTER, clock="06:00")
    first = programme.phase("first", 121, 135, fields.END_AFTER, 90.0)
    _, low = programme.counted([first, clocked], 0, at("20:30"), at("20:30"))
    assert low.end_value == 480.0
    by_hand = programme.phase("first", 121, 135)
    with pytest.raises(ValueError, match="low ends at 06:00, but nobody knows when it begins: give first a time"):
        programme.counted([by_hand, clocked], 0, at("20:30"), at("20:30"))
    _, low = programme.counted([by_hand, clocked], 1, at("20:30"), at("20:30"))
    assert low.end_value == 570.0
    done, _ = programme.counted(
        [clocked, by_hand], 1, at("20:30"), at("20:30")
    )  # it is over; a jump back needs a number
    assert done.end_value == 570.0


@given(st.lists(st.sampled_from(["", "06:00", "22:15"]), min_size=1, max_size=8), st.integers(0, 3 * 24 * 60))
def test_counted_minutes_end_at_that_time_of_day(clocks: list[str], after: int) -> None:
    since = at("00:00") + after * MINUTE
    phases = [programme.phase("p", 107, 121, fields.END_AFTER, 30.0, clock=clock) for clock in clocks]
    found = programme.counted(phases, 0, since, since)
    for one, start in zip(found, programme.begins(found, 0, since), strict=True):
        assert 1 <= one.end_value <= 24 * 60
        if one.clock:
            end = datetime.fromtimestamp(start / 1000 + one.end_value * 60)
            assert f"{end:%H:%M}" == one.clock


@pytest.mark.parametrize(
    ("typed", "clock"),
    [("6", "06:00"), ("06.30", "06:30"), (" 6:05 ", "06:05"), ("24", ""), ("6:60", ""), ("six", ""), ("²", "")],
)
def test_times_of_day_as_typed(typed: str, clock: str) -> None:
    assert programme.read_clock(typed) == clock


def test_programmes_are_kept_changed_and_dropped(tmp_path: Path) -> None:
    mine = [programme.phase("smoke", 100, 110, purpose=programme.BARK), programme.phase("on", 121, 135)]
    kept_programmes.keep(tmp_path, "  my   own ", mine)
    assert kept_programmes.read(tmp_path)["my own"] == mine
    assert list(kept_programmes.read(tmp_path))[:3] == list(kept_programmes.given())
    kept_programmes.keep(tmp_path, "straight through", mine)
    assert kept_programmes.read(tmp_path)["straight through"] == mine
    kept_programmes.drop(tmp_path, "straight through")
    assert kept_programmes.read(tmp_path)["straight through"] == programme.default()
    with pytest.raises(kept_programmes.Unusable, match="comes with the program"):
        kept_programmes.drop(tmp_path, "straight through")
    with pytest.raises(kept_programmes.Unusable, match="is not kept"):
        kept_programmes.drop(tmp_path, "no such")
    with pytest.raises(kept_programmes.Unusable, match="1 to 60 characters"):
        kept_programmes.keep(tmp_path, " ", mine)


def test_a_file_that_cannot_be_read_is_named_and_left(tmp_path: Path) -> None:
    (tmp_path / kept_programmes.FILE).write_text("{broken")
    with pytest.raises(kept_programmes.Unusable, match=r"programmes\.json cannot be read"):
        kept_programmes.read(tmp_path)
    with pytest.raises(kept_programmes.Unusable):
        kept_programmes.keep(tmp_path, "mine", programme.default())
    assert (tmp_path / kept_programmes.FILE).read_text() == "{broken"
    assert os.listdir(tmp_path) == [kept_programmes.FILE]
