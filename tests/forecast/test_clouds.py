"""Clouds of quick and slow meat: weighed by the night, and told of by the other pieces in the pit."""

from __future__ import annotations

import finish_kit as kit
import msgspec
import numpy as np
import pytest
from tuyere.forecast import clouds, exchange, prior, update
from tuyere.forecast.clouds import Cloud
from tuyere.forecast.finish import Finish
from tuyere.forecast.piece_night import Course
from tuyere.sim import compiled

fast = pytest.mark.skipif(not compiled.available(), reason="takes a minute without numba")


def drawn(known: exchange.Known, beside: list[Cloud] | None = None, members: int = 120) -> list[Cloud]:
    one = known.pieces[0]
    seat = update.seats(known, one)
    night = Course.of(known, one, seat)
    return clouds.drawn(known, one, night, update.compared(known, one, seat), members, clouds.USUAL, beside or [])


@fast
def test_meat_of_the_report_is_taken_for_quick_and_slower_meat_is_not() -> None:
    read = kit.probes()
    slow = tuple(read[round(0.65 * i)] for i in range(len(read)))  # the same course, half as long again
    before = clouds.weights(drawn(kit.known(0)))
    assert before == pytest.approx([0.85, 0.15])
    assert clouds.weights(drawn(kit.known(300, read)))[1] > 0.7
    assert clouds.weights(drawn(kit.known(300, slow)))[1] < 0.1


def test_weights_sum_to_one_and_no_belief_is_ruled_out_for_good() -> None:
    far = [Cloud(prior.SLOW, np.zeros((2, 2)), -3000.0), Cloud(prior.QUICK, np.zeros((2, 2)), 10.0)]
    found = clouds.weights(far)
    assert found.sum() == pytest.approx(1.0) and 0.0 < found[0] < 1e-9


def test_the_density_is_that_of_a_normal_spread() -> None:
    r = np.random.default_rng(1)
    read = update.Read(np.array([0.0, 600.0]), np.array([60.0, 63.0]), np.full(2, update.READ_C))
    near, far = (60.0 + off + r.standard_normal((4000, 2)) for off in (0.0, 9.0))
    inverse = np.linalg.inv(update.covariance(read) + np.eye(2))
    off = np.array([0.0, 3.0])
    expected = -0.5 * off @ inverse @ off + 0.5 * np.log(np.linalg.det(inverse))
    assert update.density(read, near) == pytest.approx(expected, abs=0.3)
    assert update.density(read, far) < expected - 5.0


@fast
def test_a_piece_begins_from_what_another_tells_of_the_pit() -> None:
    known = kit.known(0)
    alone = drawn(known, members=1200)
    hot = [
        Cloud(cloud.belief, prior.cloud(600, 99) + 2.0, odds) for cloud, odds in zip(alone, (0.0, -50.0), strict=True)
    ]
    found = drawn(known, hot, 1200)
    for name, i in prior.COLUMN.items():
        moved = found[0].rows[:, i].mean() - alone[0].rows[:, i].mean()
        assert moved == pytest.approx(2.0 * clouds.SHARED.get(name, 0.0), abs=0.25)
        assert found[0].rows[:, i].std() == pytest.approx(1.0, abs=0.25)  # it is as unsure of itself as before
    odds = [some[1].counts - some[0].counts for some in (alone, found)]
    assert odds[1] == pytest.approx(odds[0] - clouds.ODDS_MOST)


@fast
def test_a_probed_piece_moves_the_range_of_one_without_a_probe_and_pieces_keep_their_order() -> None:
    blind = msgspec.structs.replace(kit.ada(kit.wrapped()), id=2, probe=0)
    likely = []
    for times in (0.8, 1.0):
        read = tuple(5.0 + times * (c - 5.0) for c in kit.probes())
        known = kit.known(330, read, piece=kit.ada(kit.wrapped()))
        found = Finish(choices=False).ahead(msgspec.structs.replace(known, pieces=[blind, *known.pieces]))
        assert [piece.id for piece in found] == [2, 1] and found[0].finish is not None
        likely.append(found[0].finish.likely)
    assert likely[0] > likely[1] + 10 * kit.MINUTE
