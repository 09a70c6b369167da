"""What the user's own earlier nights make of the next one's forecast."""

from __future__ import annotations

import math
from typing import Any

import finish_kit as kit
import msgspec
import pytest
from tuyere.forecast import clouds, exchange, finish, own, shade
from tuyere.forecast.finish import Finish
from tuyere.forecast.prior import Belief
from tuyere.sim import compiled


def night(hours: float, cook: int = 1, **changed: Any) -> exchange.Earlier:
    piece = exchange.KnownPiece(id=1, mass=5.5)
    given = {"pit_c": 128.0, "wrap_h": 6.5, "altitude": 0.0, "shade_h": 0.0, **changed}
    return exchange.Earlier(cook=cook, piece=piece, hours=hours, **given)


def ten(*_: Any, belief: Belief, **__: Any) -> list[float]:
    """Slow meat takes 10 h, quick meat 7."""
    return [10.0 if belief is clouds.USUAL[0].belief else 7.0] * 3


def test_a_few_nights_move_a_belief_a_little_and_many_move_it_more() -> None:
    usual = clouds.USUAL[0].belief
    assert own.Own(ten).beliefs([]) == clouds.USUAL
    taken = []
    for n in (1, 4, 40):
        slow, _ = own.Own(ten).beliefs([night(12.0, cook=i) for i in range(n)])
        less = slow.belief.intake[0] / usual.intake[0]
        assert less == pytest.approx(slow.belief.conduction[0] / usual.conduction[0])
        taken.append(less)
        assert less == pytest.approx(1.2 ** (-1.4 * n / (own.WEIGHT + n)))
    assert taken[0] > taken[1] > taken[2]


def test_quick_nights_speak_for_quick_meat_and_slow_ones_against_it() -> None:
    def odds(hours: float, cooks: int = 3) -> float:
        slow, quick = own.Own(ten).beliefs([night(hours, cook=i) for i in range(cooks)])
        return quick.odds - slow.odds

    before = clouds.USUAL[1].odds - clouds.USUAL[0].odds
    assert odds(7.0) > before + 2.0 > before > odds(10.0) + 2.0
    assert odds(70**0.5) == pytest.approx(before)  # as far from the one as from the other


def test_pieces_of_a_cook_count_as_one_and_slips_as_nothing() -> None:
    found = own.paces(
        [night(8.0), night(12.5), night(9.0, cook=2), night(30.0, cook=3), night(0.0, cook=4)], lambda _: 10.0
    )
    assert found == pytest.approx([1.0, 0.9])

    def refuses(_: exchange.Earlier) -> float:
        raise ValueError

    assert own.paces([night(9.0)], refuses) == []


@pytest.mark.skipif(not compiled.available(), reason="takes a minute without numba")
def test_a_piece_of_a_slow_belief_takes_so_much_longer_and_tonights_range_moves() -> None:
    one = exchange.KnownPiece(id=1, mass=5.5)
    usual = clouds.USUAL[0].belief
    hours = [sorted(finish.before(one, 128.0, belief=some))[100] for some in (usual, usual.slower(1.25))]
    assert hours[1] / hours[0] == pytest.approx(1.25, abs=0.06)
    known = kit.known(30)
    slow = [night(13.5, cook=i) for i in range(6)]
    plain, moved = (Finish().ahead(some)[0].finish for some in (known, msgspec.structs.replace(known, earlier=slow)))
    assert plain is not None and moved is not None and moved.likely > plain.likely + 60 * kit.MINUTE


def test_a_slow_bark_of_ones_own_moves_the_first_window() -> None:
    assert shade.own_pace([], "packer") == shade.PACE
    slow = [night(0.0, cook=i, shade_h=10.0) for i in range(3)]
    times = 10.0 * shade.PACE / 8.0
    assert shade.own_pace(slow, "packer") == pytest.approx(shade.PACE * math.exp(-0.5 * math.log(times)))
    assert shade.own_pace(slow, "ribs") == shade.own_pace([night(0.0, shade_h=30.0)], "packer") == shade.PACE
    one = kit.ada(exchange.Note(kit.ON + 240 * kit.MINUTE, "shade", 4.0))
    known = kit.known(250, piece=one)
    usual, later = (
        shade.window(msgspec.structs.replace(known, earlier=some), known.pieces[0])[0] for some in ([], slow)
    )
    assert usual is not None and later is not None and later.likely > usual.likely + 10 * kit.MINUTE
