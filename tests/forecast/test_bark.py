"""Bark: the window to wrap from noted shades. Paces and lead are common practice, no source; shades are invented."""

from __future__ import annotations

import random

from rendered import words
from tuyere.forecast import shade as bark
from tuyere.forecast.exchange import Known, KnownPiece, Note, Range

HOUR, MINUTE = 3_600_000, 60_000
ON = 1_700_000_000_000


def piece(*shades: tuple[float, float], **changes: object) -> KnownPiece:
    notes = [Note(ON + round(t * HOUR), "shade", shade) for t, shade in shades]
    return KnownPiece(**{"id": 1, "name": "Alder", "on_at": ON, "notes": notes, **changes})  # type: ignore[arg-type]


def window(one: KnownPiece, hours: float = 5.0, **changes: object) -> Range:
    found, words = bark.window(Known(now=ON + round(hours * HOUR), **changes), one)  # type: ignore[arg-type]
    assert found is not None and words
    return found


def width(found: Range) -> int:
    return found.late - found.early


def test_more_notes_narrow_the_window() -> None:
    one, two, three = (window(piece(*[(t, t) for t in (4.0, 5.0, 6.0)[:n]])) for n in (1, 2, 3))
    assert width(one) > width(two) > width(three)
    assert 2 * HOUR < width(three) < 3.2 * HOUR < width(one)  # of which an hour is the lead's own, 45 to 105 min


def test_the_best_lies_the_lead_before_the_shade() -> None:
    found = window(piece((4.0, 4.1), (5.0, 5.2), (6.0, 6.2)), lead=60.0)
    later = window(piece((4.0, 4.1), (5.0, 5.2), (6.0, 6.2)), lead=90.0)
    assert found.likely - later.likely == 30 * MINUTE
    assert found.early <= found.likely <= found.late
    assert abs(found.likely + 60 * MINUTE - (ON + 7.75 * HOUR)) < 20 * MINUTE


def test_fast_bark_is_wrapped_sooner_and_a_wanted_shade_moves_it() -> None:
    fast, slow = window(piece((4.0, 6.0))), window(piece((4.0, 3.0)))
    assert fast.likely + HOUR < slow.likely
    assert window(piece((4.0, 4.0), wanted_shade=7.0)).likely < window(piece((4.0, 4.0))).likely


def test_one_wild_note_does_not_make_the_line() -> None:
    steady = window(piece((3.0, 3.0), (4.0, 4.0), (5.0, 5.0)))
    fallen = window(piece((3.0, 3.0), (4.0, 4.0), (5.0, 4.0)))  # a plain line through the last two never gets there
    assert fallen.likely - steady.likely < 1.5 * HOUR


def test_nothing_before_it_is_on_without_a_note_or_out_of_the_pit() -> None:
    known = Known(now=ON + 5 * HOUR)
    for one in (piece(), piece((4.0, 4.0), on_at=0), piece((4.0, 4.0), place="oven")):
        assert bark.window(known, one) == (None, "")


def test_at_the_wanted_shade_it_is_now() -> None:
    found, words = bark.window(Known(now=ON + 8 * HOUR), piece((7.5, 8.0)))
    assert found == Range(*[ON + 8 * HOUR] * 3) and "now" in words


def test_a_piece_that_stays_bare_has_no_window_but_its_shade_is_said() -> None:
    found, said = bark.window(Known(now=ON + 5 * HOUR), piece((4.0, 4.0), wrap_with=""))
    assert found is None and "stays bare" in words(said) and "shade 8" in words(said)


def test_under_the_wrap_the_shade_deepens() -> None:
    one = piece((4.0, 4.0), (5.0, 5.2), (6.0, 6.3))
    one.notes.append(Note(ON + round(6.2 * HOUR), "wrapped", text="paper"))
    found, said = bark.window(Known(now=ON + 7 * HOUR, lead=90.0), one)
    assert found is None and "deepens to about 8" in words(said)
    one.notes.append(Note(ON + 8 * HOUR, "wrapped", text=""))  # unwrapped again
    assert bark.window(Known(now=ON + 8 * HOUR), one)[0] is not None


def test_the_range_of_the_shade_covers_bark_that_follows_the_same_practice() -> None:
    """Drawn from the room's own spreads: the 10-90 % range holds about 8 in 10, after one note and after three."""
    dice = random.Random(5)
    for count in (1, 3):
        inside = 0
        for _ in range(400):
            a, b = dice.gauss(0.0, bark.START_SD), max(0.4, dice.gauss(bark.PACE, bark.PACE_SD))
            notes = [(t, a + b * t + dice.gauss(0.0, bark.NOISE)) for t in (4.0, 5.0, 6.0)[:count]]
            line = bark.Line(notes)
            early, late = line.reached(8.0, 0.1), line.reached(8.0, 0.9)
            assert early is not None
            inside += early <= (8.0 - a) / b <= (late or 99.0)
        assert 0.74 < inside / 400 < 0.90
