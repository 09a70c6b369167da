"""What a forecast says of a piece in words, at the edges where it begins and ends to say it."""

from __future__ import annotations

import numpy as np
import pytest
from rendered import words
from tuyere.forecast import exchange, update
from tuyere.forecast.explained import about, behind, choices, follows, never, reached, rising

ON = 1_800_000_000_000
MINUTE = 60_000
PIECE = exchange.KnownPiece(id=1, probe=1, on_at=ON)


def read(
    minutes: list[float], c: list[float], pit: list[float | None] | None = None, now: float = 60
) -> exchange.Known:
    """A probe that was read at these minutes after the piece went on."""
    at = [ON + round(minute * MINUTE) for minute in minutes]
    columns = exchange.Columns(at=at, pit=pit or [128.0] * len(at), meats=[list(c), [], []])
    return exchange.Known(now=ON + 60 * MINUTE, pieces=[PIECE], columns=columns)


@pytest.mark.parametrize(
    ("minutes", "found"),
    [
        ([40, 45, 50, 55, 60], 6.0),  # 0.1 C a minute
        ([40, 47, 53, 60], None),  # too few
        ([41, 45, 50, 55, 60], None),  # too short
        ([19, 40, 45, 50, 60], None),  # the first is too old
        ([20, 40, 45, 50, 60], 6.0),
    ],
)
def test_a_rise_takes_five_readings_over_half_of_the_last_forty_minutes(
    minutes: list[float], found: float | None
) -> None:
    rise = rising(read(minutes, [60.0 + 0.1 * minute for minute in minutes]), PIECE, update.Seats(ON))
    assert rise == (None if found is None else pytest.approx(found, abs=1e-6))


def test_what_a_probe_read_while_it_was_being_seated_is_no_rise() -> None:
    minutes = [26.0, 36.0, 40.0, 50.0, 60.0]
    night = read(minutes, [60.0] * 5)
    assert rising(night, PIECE, update.Seats(ON + 20 * MINUTE)) == pytest.approx(0.0, abs=1e-6)
    assert rising(night, PIECE, update.Seats(ON + 21 * MINUTE)) is None


def test_a_choice_is_worth_a_sentence_from_ten_minutes_on() -> None:
    ten, less = 10.0 / 60.0, 9.9 / 60.0
    bare = exchange.KnownPiece(id=1, wrap_with="")
    assert [words(said) for said in choices(PIECE, -ten, ten, -ten, 5.0)] == [
        "Wrapping it in paper now would save about 10 min against a wrap by its bark.",
        "Wrapping it 1 h 30 min from now would cost about 10 min against a wrap by its bark.",
        "Holding the pit 5 C hotter, within its band, would save about 10 min.",
    ]
    assert choices(PIECE, less, -less, -less, 5.0) == [] == choices(PIECE, None, None, ten, 5.0)
    (said,) = choices(bare, 2.0, None, None, 5.0)
    assert words(said) == "Wrapping it in paper now would cost about 2 h against leaving it bare."


def test_times_are_said_to_five_minutes_and_never_as_none() -> None:
    assert [words(about(minutes)) for minutes in (0.0, 7.4, 7.6, 80.0)] == ["5 min", "5 min", "10 min", "1 h 20 min"]


def test_there_and_never() -> None:
    assert words(reached(95.0, 95.5)) == (
        "Its probe reads 95 C, its target of 96 C: feel it now; done when a probe slides in."
    )
    assert words(never(0.25)) == (
        "In 75 % of the courses it may take from here its probe never reads the target: wrap it, hold the pit "
        "higher within its band, or go by feel from 90 C on."
    )


@pytest.mark.parametrize(
    ("begin", "apart", "fall", "cooler", "found"),
    [
        (20, 5, 15.0, 2.5, True),
        (19, 5, 15.0, 2.5, False),  # just seated
        (20, 7, 15.0, 2.5, False),  # too slow for an opened lid
        (20, 5, 14.9, 2.5, False),  # the pit fell less
        (20, 5, 15.0, 2.4, False),  # and the meat no more than meat may
    ],
)
def test_a_tip_in_the_air_falls_with_the_pit(begin: int, apart: int, fall: float, cooler: float, found: bool) -> None:
    night = read([begin, begin + apart], [60.0, 60.0 - cooler], [128.0, 128.0 - fall])
    assert follows(night, PIECE) is found


@pytest.mark.parametrize(
    ("last", "readings", "fall", "found"),
    [
        (100, 6, 1.0, True),
        (99, 6, 1.0, False),  # the first heat is hardly in
        (100, 5, 1.0, False),  # too few
        (100, 6, 0.9, False),  # slow meat, but it keeps up
        (100, 6, -1.0, False),  # it catches up
    ],
)
def test_a_tip_in_fat_falls_further_behind(last: int, readings: int, fall: float, found: bool) -> None:
    off_by = np.linspace(-4.5, -4.5 - fall, readings)
    assert behind(np.arange(readings) * 10.0 + last - 10.0 * (readings - 1), off_by) is found
