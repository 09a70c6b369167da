"""The trend kept in slots: nothing vanishes, pieces of any cut give the same, gaps stay gaps."""

from __future__ import annotations

from itertools import pairwise
from math import inf

import pytest
from fake_source import trend
from hypothesis import given, settings
from hypothesis import strategies as st
from tuyere.chart.history import LINES, SLOTS, History
from tuyere.cook.snapshot import Trend

FIELDS = ("at", "pit", "fan", "low", "high", "meat_1", "meat_2", "meat_3")


def part(whole: Trend, a: int, b: int) -> Trend:
    return Trend(cook=whole.cook, last=b, **{name: getattr(whole, name)[a:b] for name in FIELDS})


def slots_by_hand(whole: Trend, width: int, start: int, column: list[float | None]) -> dict[int, tuple[float, float]]:
    out: dict[int, tuple[float, float]] = {}
    for at, value in zip(whole.at, column, strict=True):
        if value is not None:
            low, high = out.get((at - start) // width, (inf, -inf))
            out[(at - start) // width] = (min(low, value), max(high, value))
    return out


@pytest.fixture(scope="module")
def cook() -> Trend:
    return trend(3.0, gap=(1.5, 1.6))


@given(cuts=st.lists(st.integers(0, 5220), max_size=6), single=st.booleans())
@settings(max_examples=15, deadline=None)
def test_any_cut_gives_the_slots_counted_by_hand(cook: Trend, cuts: list[int], single: bool) -> None:
    history = History()
    edges = sorted({0, *(c for c in cuts if c < len(cook.at)), len(cook.at)})
    if single:
        edges = sorted({*edges, 1, 2, 3})
    for a, b in pairwise(edges):
        history.add(part(cook, a, b))
    assert history.cycles == len(cook.at)
    for level in history.levels:
        for line, column in enumerate((cook.pit, cook.meat_1, cook.meat_2, cook.meat_3)):
            wanted = slots_by_hand(cook, level.width, history.start, column)
            found = {
                i: (level.lowest[line][i], level.highest[line][i])
                for i in range(level.count)
                if level.lowest[line][i] <= level.highest[line][i]
            }
            assert found == wanted
        assert sum(level.fan_count) == len(cook.at)
        assert sum(level.fan_sum) == pytest.approx(sum(cook.fan))


def test_a_spike_of_one_cycle_is_in_every_level(cook: Trend) -> None:
    spiked = part(cook, 0, len(cook.at))
    spiked.pit[1234] = 260.0
    history = History()
    history.add(spiked)
    assert [max(level.highest[0]) for level in history.levels] == [260.0] * 3


def test_the_band_of_a_slot_is_that_of_its_last_cycle() -> None:
    both = Trend(
        cook=1,
        last=2,
        at=[8000, 9000],
        pit=[100.0, 100.0],
        fan=[0.1, 0.2],
        low=[110.0, 115.0],
        high=[120.0, 125.0],
        meat_1=[None, None],
        meat_2=[None, None],
        meat_3=[None, None],
    )
    history = History()
    history.add(both)
    assert all((level.low[-1], level.high[-1]) == (115.0, 125.0) for level in history.levels)


def test_a_clock_that_steps_back_before_the_start_makes_room() -> None:
    history = History()
    history.add(
        Trend(
            cook=1,
            last=1,
            at=[1_000_000],
            pit=[50.0],
            fan=[1.0],
            low=[121.1],
            high=[135.0],
            meat_1=[None],
            meat_2=[None],
            meat_3=[None],
        )
    )
    history.add(
        Trend(
            cook=1,
            last=2,
            at=[100_000],
            pit=[20.0],
            fan=[1.0],
            low=[121.1],
            high=[135.0],
            meat_1=[None],
            meat_2=[None],
            meat_3=[None],
        )
    )
    assert (history.first, history.end) == (100_000, 1_000_000)
    for level in history.levels:
        assert level.lowest[0][(100_000 - history.start) // level.width] == 20.0
        assert level.lowest[0][(1_000_000 - history.start) // level.width] == 50.0


def test_another_cook_starts_afresh_and_no_reading_is_no_value(cook: Trend) -> None:
    history = History()
    history.add(part(cook, 0, 100))
    other = Trend(
        cook=2,
        last=7,
        at=[5_000_000],
        pit=[None],
        fan=[0.0],
        low=[121.1],
        high=[135.0],
        meat_1=[None],
        meat_2=[None],
        meat_3=[None],
    )
    assert history.add(other) == 1
    assert (history.cook, history.cycles, history.last) == (2, 1, 7)
    assert all(min(history.levels[0].lowest[line]) == inf for line in range(LINES))


def test_slots_fold_into_each_other_without_rest() -> None:
    assert all(coarse % fine == 0 for fine, coarse in pairwise(SLOTS))
