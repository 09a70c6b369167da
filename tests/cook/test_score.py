"""Share of time in band, against a count made the slow way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tuyere.score import HOUR, LONGEST, SETTLE, Score

START = 1_700_000_000_000


def fed(pit: list[float | None], meat_on: int = 0, step: int = 60_000) -> Score:
    score = Score(START, meat_on)
    at = [START + i * step for i in range(len(pit))]
    score.add(at, pit, [121.1] * len(pit), [135.0] * len(pit))
    return score


def test_nothing_counts_before_the_first_arrival() -> None:
    assert fed([20.0] * 600).share is None


def test_counts_from_one_hour_or_ten_minutes_after_the_arrival() -> None:
    early = fed([128.0] * 200)
    assert early.since == START + HOUR and early.share == 1.0
    late = fed([20.0] * 90 + [128.0] * 60)
    assert late.since == START + 90 * 60_000 + SETTLE
    on = fed([128.0] * 200, meat_on=START + 30 * 60_000)
    assert on.since == START + 30 * 60_000


def test_meat_dated_back_counts_again() -> None:
    score = fed([128.0] * 30 + [150.0] * 30 + [128.0] * 60)
    assert score.share == 1.0
    score.meat_on(START + 30 * 60_000)
    assert score.share == pytest.approx(60 / 89)  # the first cycle counted closes the time before it


def test_a_gap_counts_neither_way_and_a_bad_reading_counts_as_out() -> None:
    score = Score(START, START)
    score.add([START, START + 2000], [128.0] * 2, [121.1] * 2, [135.0] * 2)
    later = START + 4 * HOUR
    at = [later, later + 2000, later + 4000]
    score.add(at, [128.0, 128.0, None], [121.1] * 3, [135.0] * 3)
    assert score.share == pytest.approx(0.5)


@given(
    st.lists(st.tuples(st.integers(0, 30_000), st.none() | st.floats(100, 150)), min_size=1, max_size=80),
    st.integers(1, 5),
)
def test_equals_the_slow_count_in_any_portions(steps: list[tuple[int, float | None]], cut: int) -> None:
    at, when = [], START
    for step, _ in steps:
        when += step
        at.append(when)
    pit = [value for _, value in steps]
    score = Score(START, START)
    for i in range(0, len(at), cut):
        part = slice(i, i + cut)
        score.add(at[part], pit[part], [121.1] * len(at[part]), [135.0] * len(at[part]))
    arrived = next((t for t, value in zip(at, pit, strict=True) if value is not None and value >= 121.1), None)
    if arrived is None:
        assert score.share is None
        return
    counted = [i for i, t in enumerate(at) if t >= max(START, arrived + SETTLE)][1:]
    spent = sum(min(at[i] - at[i - 1], LONGEST) for i in counted)
    inside = sum(min(at[i] - at[i - 1], LONGEST) for i in counted if pit[i] is not None and 121.1 <= pit[i] <= 135.0)
    assert score.share == (pytest.approx(inside / spent) if spent else None)
