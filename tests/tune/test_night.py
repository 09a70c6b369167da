"""What a night takes and refuses, and how it is laid out."""

from __future__ import annotations

import numpy as np
import pytest
from tuyere.text import BadValue
from tuyere.tune import Night
from tuyere.tune.night import lids_of, stretches

SECONDS = np.arange(0.0, 7200.0, 10.0)


def night(**changes: object) -> Night:
    """Two hours at 120 C, with changes."""
    given: dict[str, object] = {
        "seconds": SECONDS, "pit_c": np.full(len(SECONDS), 120.0), "fan": np.full(len(SECONDS), 0.2), **changes,
    }  # fmt: skip
    return Night(**given)  # type: ignore[arg-type]


def test_a_coarse_record_is_held_from_row_to_row() -> None:
    fan = np.linspace(0.0, 1.0, len(SECONDS))
    one = night(fan=fan)
    assert one.cycles == 3595
    assert one.fan_cycles()[:6] == pytest.approx([fan[0]] * 5 + [fan[1]])


def test_a_gap_and_a_doubted_stretch_have_no_reading() -> None:
    keep = (SECONDS < 3000.0) | (SECONDS > 3600.0)
    count = int(keep.sum())
    one = night(seconds=SECONDS[keep], pit_c=np.full(count, 120.0), fan=np.full(count, 0.2), doubted=[(5000.0, 100.0)])
    pit, at = one.pit_cycles(), one.times()
    assert np.isnan(pit[(at > 3052.0) & (at < 3609.0)]).all() and np.isfinite(pit[at < 3050.0]).all()
    assert np.isnan(pit[(at >= 5000.0) & (at < 5100.0)]).all() and np.isfinite(pit[at >= 5100.0]).all()


def test_the_air_outside_is_one_number_or_a_row() -> None:
    assert night().outside_cycles() is None
    assert night(outside_c=8.0).outside_cycles()[100] == 8.0
    row = np.linspace(10.0, 0.0, len(SECONDS))
    row[5] = np.nan
    found = night(outside_c=row).outside_cycles()
    assert np.isfinite(found).all() and found[0] > found[-1]


def test_in_band_is_counted_as_everywhere() -> None:
    pit = np.where(SECONDS < 3600.0, 100.0, np.where(SECONDS < 5400.0, 125.0, 140.0))
    assert night(pit_c=pit).in_band() == pytest.approx((5400.0 - 4200.0) / (7190.0 - 4200.0), abs=0.01)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"fan": np.full(len(SECONDS), 20.0)}, "divide percents by 100"),
        ({"fan": np.zeros(3)}, "one of each for every time"),
        ({"seconds": SECONDS[::-1]}, "must rise"),
        ({"seconds": SECONDS / 10.0}, "30 min"),
        ({"pit_c": np.full(len(SECONDS), np.nan)}, "missing"),
        ({"outside_c": np.zeros(3)}, "another length"),
        ({"openings": [(100.0, -1.0, True)]}, "length is 0 or more"),
    ],
)
def test_what_is_no_night_is_refused_with_what_to_do(change: dict[str, object], word: str) -> None:
    with pytest.raises(BadValue, match=word):
        night(**change)


def test_openings_are_read_from_the_boards_state() -> None:
    seconds = np.arange(10) * 2.0
    state = np.array([3, 3, 4, 4, 4, 3, 3, 4, 3, 3])
    reason = np.array([10, 10, 6, 6, 6, 10, 10, 7, 10, 10])
    assert lids_of(seconds, state, reason) == [(4.0, 6.0, True), (14.0, 2.0, False)]
    assert stretches(seconds, np.zeros(10, bool)) == []
