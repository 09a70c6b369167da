"""Members laid out, seated and led ahead: what each part does by itself, without a night."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import finish_kit as kit
import numpy as np
import pytest
from rendered import words
from tuyere.forecast import __main__ as worker
from tuyere.forecast import cooling, ensemble, exchange, prior, update
from tuyere.forecast.finish import Finish
from tuyere.forecast.piece_night import Course
from tuyere.meat import piece_slots as at

HOUR = 3_600_000


def test_a_piece_without_a_name_has_one() -> None:
    assert prior.checked(exchange.KnownPiece(id=1)).name == "The piece"


def test_members_are_seated_where_their_tips_are() -> None:
    rows = prior.cloud(8, 1)
    made = prior.members(kit.ada(), rows)
    seated = made.q[:, [at.PROBE_LOW, at.PROBE_SHARE]].copy()
    assert (made.tip > 0.0).all() and len(np.unique(seated, axis=0)) > 1
    prior.seat(made, made.tip)
    assert (made.q[:, [at.PROBE_LOW, at.PROBE_SHARE]] == seated).all()


def test_a_pit_ahead_goes_on_from_what_it_reads() -> None:
    there, held = (ensemble.pit_ahead(400, 180, 128.0, last, 1, 0.0).mean(axis=0) for last in (110.0, None))
    assert there[0] == pytest.approx(110.0, abs=1.0) and held[0] == pytest.approx(128.0, abs=1.0)
    assert there[-1] == pytest.approx(held[-1], abs=1.0)


def test_what_is_wrapped_is_not_wrapped_again() -> None:
    made = prior.members(kit.ada(), np.zeros((2, len(prior.NAMES))))
    made.m[0, at.WRAP], made.m[0, at.WRAPPED_S] = at.PAPER, 5000.0
    steps = 2 * ensemble.CHUNK
    none = ensemble.Doubt(np.zeros(2), np.zeros(2), 0.0, 1.0)
    ensemble.ahead(made, np.full((2, steps), 128.0), ensemble.Wrap(at.FOIL, np.zeros(2)), none, 95.0, 0.0)
    assert list(made.m[:, at.WRAP]) == [at.PAPER, at.FOIL]
    assert made.m[0, at.WRAPPED_S] >= 5000.0 > made.m[1, at.WRAPPED_S]


def test_a_pit_is_expected_where_it_was_held_of_late() -> None:
    known = kit.known(400)
    known.columns.pit = [124.0] * 270 + [131.0] * 130
    course = Course.of(known, known.pieces[0], update.Seats(kit.ON))
    assert course.level == 131.0


def test_a_wrap_noted_this_moment_counts() -> None:
    known = kit.known(120, piece=kit.ada(kit.wrapped(120), kit.wrapped(60, "foil")))
    course = Course.of(known, known.pieces[0], update.Seats(kit.ON))
    assert sorted(course.wraps) == [(3600.0, at.FOIL), (7200.0, at.PAPER)] and course.wrapped


def test_in_an_oven_nothing_sees_a_fire(monkeypatch: pytest.MonkeyPatch) -> None:
    known = kit.known(60, piece=kit.ada(exchange.Note(kit.ON + 30 * kit.MINUTE, "in_oven"), place="oven"))
    made = prior.members(known.pieces[0], np.zeros((2, len(prior.NAMES))), kind="drum")
    falls = []

    def go(made: prior.Members, air: prior.Array, *_: Any) -> prior.Array:
        falls.append((air.shape[1], list(made.falls)))
        return np.zeros(air.shape)

    monkeypatch.setattr(ensemble, "go", go)
    Course.of(known, known.pieces[0], update.Seats(kit.ON)).past(made)
    assert falls == [(30, [1.0, 1.0]), (30, [0.0, 0.0])]
    made.falls = np.ones(2)
    now = kit.known(60, piece=kit.ada(exchange.Note(kit.ON + 60 * kit.MINUTE, "in_oven"), place="oven"))
    Course.of(now, now.pieces[0], update.Seats(kit.ON)).past(made)  # it goes there this moment
    assert list(made.falls) == [0.0, 0.0]


def test_the_middle_of_the_members_is_the_likely_finish() -> None:
    known = kit.known(60)
    known.done_by = known.now + 10 * HOUR
    both: Any = SimpleNamespace(
        hours=np.array([8.0, 9.0, 10.0, 11.0, 12.0]), weights=np.full(5, 0.2),
        probes=lambda minute: np.full((5, len(minute)), 90.0),
    )  # fmt: skip
    found = exchange.PieceAhead(1)
    Finish._fill(found, known, both)
    assert found.finish == exchange.Range(*(known.now + hours * HOUR for hours in (8, 10, 12)))
    assert found.in_time == 0.6 and set(found.mid) == {90.0}


def test_readings_compared_lie_evenly_over_the_night() -> None:
    read = update.compared(kit.known(600, tuple(5.0 + 0.1 * i for i in range(600))), kit.ada(), update.Seats(kit.ON))
    apart = np.diff(read.minute)
    assert len(read.minute) <= update.MOST + 1 and read.minute[-1] == 600.0
    assert apart.min() >= 21.0 and apart.max() <= 22.0  # 594 min in 28 parts


def told(finish: exchange.Range | None, place: str = "pit") -> list[str]:
    """What the worker adds to a forecast of a piece, and says of the fuel."""
    known = kit.known(60, piece=kit.ada(place=place))
    stub: Any = SimpleNamespace(members=3, ahead=lambda known, wraps: [exchange.PieceAhead(1, finish)])
    found = worker.answer(stub, known)
    return [words(said) for said in found.pieces[0].words]


def test_the_ways_to_hold_it_are_said_in_its_last_hours_and_once_it_is_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cooling, "words", lambda known, one: "ways")
    now = kit.ON + 60 * kit.MINUTE
    soon, later = (exchange.Range(now, now + ahead, now + ahead) for ahead in (cooling.SOON - 1, cooling.SOON))
    assert told(soon) == ["ways"] == told(None, "out") and told(later) == [] == told(None)


def test_a_hold_that_cannot_be_forecast_says_so_and_the_rest_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_: object) -> int:
        raise ValueError("no such box")

    monkeypatch.setattr(cooling, "until", wrong)
    assert told(None) == ["No forecast of the hold: no such box"]


def test_readings_up_to_a_minute_hold_those_of_that_minute() -> None:
    read = update.Read(np.array([170.0, 180.0, 190.0]), np.array([50.0, 51.0, 52.0]), np.full(3, update.READ_C))
    early = read.until(180.0)
    assert early.minute.tolist() == [170.0, 180.0] and early.c.tolist() == [50.0, 51.0] and len(early.sd) == 2
