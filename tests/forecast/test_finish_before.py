"""The finish beforehand: what is common practice, and what must move it."""

import math
import statistics

import pytest
from tuyere.forecast import exchange, finish, prior
from tuyere.meat import doneness

MEMBERS = 24


def hours(piece: exchange.KnownPiece, pit: float = 128.0, **more: float) -> float:
    return statistics.median(finish.before(piece, pit, members=MEMBERS, **more))


def test_a_packer_takes_what_packers_take_and_the_wrap_counts() -> None:
    # 10-14 h at 121-135 C with a wrap at 5-8 h: common practice, no source; without evidence the middle lies near it
    usual = exchange.KnownPiece(id=1, mass=5.5)
    paper = hours(usual)
    assert 8.0 < paper < 14.0
    assert (
        hours(exchange.KnownPiece(id=1, mass=5.5, wrap_with="foil"))
        < paper
        < hours(exchange.KnownPiece(id=1, mass=5.5, wrap_with=""))
    )


def test_heavier_cooler_and_later_wrapped_pieces_take_longer() -> None:
    usual = exchange.KnownPiece(id=1, mass=4.5)
    assert hours(usual) < hours(exchange.KnownPiece(id=1, mass=8.0))
    assert hours(usual, 135.0) < hours(usual, 121.0)
    assert hours(usual) < hours(usual, wrap_at_c=80.0)


def test_the_same_question_has_the_same_answer_sorted() -> None:
    found = finish.before(exchange.KnownPiece(id=1, mass=5.5), 128.0, members=MEMBERS)
    assert found == sorted(found) == finish.before(exchange.KnownPiece(id=1, mass=5.5), 128.0, members=MEMBERS)
    assert len(found) == MEMBERS


def test_a_pit_that_is_too_cool_never_gets_there_and_that_is_said() -> None:
    found = finish.before(exchange.KnownPiece(id=1, mass=5.5, target=95.0), 91.0, members=MEMBERS)
    assert found[len(found) // 2 :] == [math.inf] * (len(found) - len(found) // 2)


def test_a_lower_target_is_held_until_tender(monkeypatch: pytest.MonkeyPatch) -> None:
    # collagen dissolves by time and temperature (a fit, `tuyere.meat.doneness`): at 87 C it takes some hours
    low, usual = exchange.KnownPiece(id=1, mass=5.5, target=87.0), exchange.KnownPiece(id=1, mass=5.5, target=95.0)
    assert (prior.feel(low), prior.feel(usual)) == (doneness.FEEL, 0.0)
    tender = hours(low, altitude=3000.0)
    monkeypatch.setattr(prior, "LOWER_C", 50.0)
    assert tender > hours(low, altitude=3000.0) + 0.5


def test_what_is_not_weighed_or_measured_is_less_sure() -> None:
    known = finish.before(
        exchange.KnownPiece(id=1, mass=5.5, flat=0.05, start=5.0, wrap_with="foil"), 128.0, members=100
    )
    guessed = finish.before(exchange.KnownPiece(id=1, wrap_with="foil"), 128.0, members=100)
    early, late = 10, 90  # of 100 courses: a course that never comes has no standard deviation
    assert guessed[late] - guessed[early] > known[late] - known[early]


@pytest.mark.parametrize(
    ("piece", "says"),
    [
        (exchange.KnownPiece(id=1, name="Ada", mass=-2.0), "weighs -2.0 kg"),
        (exchange.KnownPiece(id=1, name="Ada", cut="flat", mass=3.0, flat=0.20), "20 cm thick"),
        (exchange.KnownPiece(id=1, name="Ada", cut="horse"), "Unknown cut"),
    ],
)
def test_a_piece_that_cannot_be_is_refused_in_one_sentence(piece: exchange.KnownPiece, says: str) -> None:
    with pytest.raises(ValueError, match=says) as wrong:
        finish.before(piece, 128.0)
    assert "\n" not in str(wrong.value)
