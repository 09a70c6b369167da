"""What the forecast of a piece says, and what it answers to a piece that cannot be."""

from __future__ import annotations

import finish_kit as kit
import msgspec
import pytest
from rendered import words
from tuyere.forecast import exchange
from tuyere.forecast.finish import Finish


def asked(known: exchange.Known) -> exchange.PieceAhead:
    return Finish(kit.MEMBERS).ahead(known)[0]


def test_on_the_plateau_it_says_so_with_the_water_and_the_choices() -> None:
    said = words(asked(kit.known(330, kit.probes(wrap_min=2000), piece=kit.ada(wrap_with="foil"))).words)
    assert "of the flat has gone" in said and "dried off" in said
    assert "Wrapping it in foil now would save" in said
    assert "C hotter, within its band, would save" in said


def test_a_slow_rise_is_called_the_drying_plateau() -> None:
    read = kit.probes(wrap_min=2000, pit=107.0)
    slow = next(i for i in range(240, 900) if read[i] > 60.0 and read[i] - read[i - 60] < 2.0)
    said = asked(kit.known(slow, read, pit=107.0, piece=kit.ada(wrap_with=""))).words
    assert words(said[0]).startswith("On the drying plateau") and "g of water an hour" in words(said[0])


def test_at_its_target_it_says_feel_and_forecasts_no_finish() -> None:
    read = kit.probes()
    found = asked(kit.known(kit.there(read) + 10, read, piece=kit.ada(kit.wrapped())))
    assert found.finish is None and "feel it now" in words(found.words[0])


def test_high_up_a_target_may_never_come() -> None:
    known = kit.known(200, kit.probes())
    known.altitude = 1800.0  # water boils near 94 C (ISO 2533)
    found = asked(known)
    assert found.finish is None or found.finish.likely > known.now
    assert any("may never come" in words(said) for said in found.words)
    assert any(words(said).startswith("Lower the target") for said in found.words)


def test_a_probe_near_the_surface_is_noticed_early_and_one_in_the_middle_is_not() -> None:
    shallow = words(asked(kit.known(90, kit.probes(off_m=0.021))).probe_words)
    assert "mid-thickness" in shallow and "note that the probe was seated" in shallow
    assert asked(kit.known(90, kit.probes())).probe_words == ""
    night = kit.known(90, kit.probes(off_m=0.021))
    assert words(Finish(kit.MEMBERS, choices=False).place(night, night.pieces[0])) == shallow


def test_a_probe_in_fat_lags_and_is_noticed() -> None:
    lagging = tuple(5.0 + 0.1 * (c - 5.0) for c in kit.probes())
    assert "fat" in asked(kit.known(120, lagging)).probe_words
    # half frozen, injected or folded meat reads like this, in a seat that is right
    slow = tuple(5.0 + 0.5 * (c - 5.0) for c in kit.probes())
    assert asked(kit.known(120, slow)).probe_words == ""


def test_a_range_of_the_first_hour_says_that_it_is_the_usual_one() -> None:
    said = [words(asked(kit.known(m, kit.probes())).words[0]) for m in (30, 240)]
    assert said[0].startswith("So far the range is mostly what such pieces usually take")
    assert not said[1].startswith("So far")
    blind = asked(kit.known(240, piece=kit.ada(probe=0)))
    assert "reading by hand narrows it" in words(blind.words[0])


def test_a_probe_that_follows_the_lid_is_out_of_the_meat() -> None:
    read = list(kit.probes())
    known = kit.known(90, tuple(c - 1.3 * max(0, 6 - abs(i - 66)) for i, c in enumerate(read)))
    known.columns.pit[60:73] = [128.0 - 9.0 * max(0, 6 - abs(i - 66)) for i in range(60, 73)]
    assert "metal" in asked(known).probe_words


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"cut": "flat", "mass": 3.0, "flat": 0.20}, "20 cm thick"),
        ({"mass": -1.0}, "weighs -1.0 kg"),
        ({"start": 80.0}, "80.0 C"),
        ({"target": 400.0}, "400.0 C"),
        ({"cut": "horse"}, "Unknown cut"),
    ],
)
def test_a_piece_that_cannot_be_is_answered_in_one_sentence(changed: dict[str, object], says: str) -> None:
    known = kit.known(30, piece=msgspec.structs.replace(kit.ada(), **changed))
    found = asked(known)
    assert found.finish is None and len(found.words) == 1
    assert says in words(found.words[0]) and words(found.words[0]).startswith("No forecast: ")


def test_what_is_not_in_the_heat_has_no_finish() -> None:
    for changed in ({"place": "box"}, {"place": "carved"}, {"on_at": 0}):
        found = asked(kit.known(30, piece=msgspec.structs.replace(kit.ada(), **changed)))
        assert found.finish is None and not found.at
