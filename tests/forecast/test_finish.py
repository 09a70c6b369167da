"""The finish from the evidence of a night."""

from __future__ import annotations

import finish_kit as kit
import msgspec
import numpy as np
import pytest
from tuyere.forecast import exchange, piece_night, prior, update
from tuyere.forecast.finish import Finish
from tuyere.sim import compiled, cookers

fast = pytest.mark.skipif(not compiled.available(), reason="takes a minute without numba")


def asked(known: exchange.Known, finish: Finish | None = None) -> exchange.PieceAhead:
    return (finish or Finish(kit.MEMBERS)).ahead(known)[0]


@fast
def test_the_range_narrows_and_holds_the_truth() -> None:
    read, one = kit.probes(), kit.ada(kit.wrapped())
    true = kit.there(read)
    widths = []
    for minutes in (60, 240, true - 60):
        found = asked(kit.known(minutes, read, piece=one)).finish
        assert found is not None and found.early <= found.likely <= found.late
        widths.append(found.late - found.early)
        left = [(t - kit.ON) / kit.MINUTE - true for t in (found.early, found.late)]
        assert left[0] <= 20 and left[1] >= -10  # minutes; outside a tenth of the time is right
    assert widths[2] < 0.5 * min(widths[:2])
    assert widths[2] < 90 * kit.MINUTE


@fast
def test_the_curve_begins_at_the_probe_and_ends_near_the_target() -> None:
    read = kit.probes()
    found = asked(kit.known(420, read, piece=kit.ada(kit.wrapped())))
    assert found.at[0] == kit.ON + 435 * kit.MINUTE
    assert abs(found.mid[0] - read[435]) < 1.5
    assert found.mid[-1] == pytest.approx(kit.TARGET, abs=1.5)
    assert all(low <= mid <= high for low, mid, high in zip(found.low, found.mid, found.high, strict=True))
    assert len(found.at) == len(found.low) == len(found.mid) == len(found.high)


@fast
def test_evidence_of_a_slow_piece_moves_the_finish() -> None:
    read = kit.probes()
    slow = tuple(5.0 + 0.8 * (c - 5.0) for c in read)
    usual, late = (asked(kit.known(200, some)).finish for some in (read, slow))
    assert usual is not None and late is not None
    assert late.likely > usual.likely + 30 * kit.MINUTE


@fast
def test_a_question_asked_again_within_minutes_keeps_the_cloud_and_a_note_draws_it_anew() -> None:
    read, finish = kit.probes(), Finish(kit.MEMBERS)
    asked(kit.known(300, read), finish)
    first = finish._kept[1].clouds
    asked(kit.known(303, read), finish)
    assert finish._kept[1].clouds is first
    asked(kit.known(304, read, piece=kit.ada(kit.wrapped(302))), finish)
    assert finish._kept[1].clouds is not first


@fast
def test_same_known_same_answer_also_from_a_fresh_start() -> None:
    known = kit.known(240, kit.probes())
    assert asked(known) == asked(known)


@fast
def test_a_noted_wrap_brings_the_finish_nearer_than_none() -> None:
    read = kit.probes(wrap_min=2000)
    bare = asked(kit.known(370, read, piece=kit.ada(wrap_with=""))).finish
    paper = asked(kit.known(370, read, piece=kit.ada(kit.wrapped(365)))).finish
    assert bare is not None and paper is not None
    assert paper.likely < bare.likely


@fast
def test_a_wrap_or_an_oven_noted_just_now_counts_as_one_noted_a_minute_ago() -> None:
    read = kit.probes(wrap_min=2000)
    now, before = (asked(kit.known(370, read, piece=kit.ada(kit.wrapped(m)))).finish for m in (370, 367))
    assert now is not None and before is not None
    assert abs(now.likely - before.likely) < 15 * kit.MINUTE
    moved = [
        kit.ada(kit.wrapped(m), exchange.Note(kit.ON + m * kit.MINUTE, "in_oven"), place="oven") for m in (370, 367)
    ]
    now, before = (asked(kit.known(370, read, piece=one)).finish for one in moved)
    assert now is not None and before is not None
    assert abs(now.likely - before.likely) < 25 * kit.MINUTE


@fast
def test_another_band_counts_from_the_moment_it_holds() -> None:
    known = kit.known(300, kit.probes())
    usual = asked(known).finish
    known.low, known.high = 129.0, 140.0  # ordered, and not yet in any reading
    hotter = asked(known).finish
    assert usual is not None and hotter is not None
    assert hotter.likely < usual.likely - 10 * kit.MINUTE
    known.columns.low[-40:], known.columns.high[-40:] = [129.0] * 40, [140.0] * 40
    known.columns.pit[-40:] = [137.0] * 40
    held = piece_night.Course.of(known, known.pieces[0], update.seats(known, known.pieces[0]))
    assert held.level == 137.0


@fast
def test_a_probe_that_comes_late_or_is_moved_counts_from_then_on() -> None:
    read = kit.probes()
    late = tuple(60.0 if i < 120 else c for i, c in enumerate(read))  # it lay elsewhere before
    one = kit.ada(exchange.Note(kit.ON + 120 * kit.MINUTE, "probe_seated"))
    known = kit.known(300, late, piece=one)
    seat = update.seats(known, known.pieces[0])
    assert seat == update.Seats(kit.ON + 120 * kit.MINUTE)
    assert update.compared(known, one, seat).minute[0] >= 120 + update.SETTLED
    assert asked(known).finish is not None


def test_a_jump_in_the_readings_is_a_new_seat_and_a_steady_rise_is_none() -> None:
    read = list(kit.probes())
    known = kit.known(240, tuple(read))
    assert update.seats(known, known.pieces[0]) == update.Seats(kit.ON)
    jumped = tuple(c if i < 150 else c - 9.0 for i, c in enumerate(read))
    known = kit.known(240, jumped)
    assert update.seats(known, known.pieces[0]) == update.Seats(kit.ON + 151 * kit.MINUTE, kit.ON)
    minutes = update.compared(known, known.pieces[0], update.seats(known, known.pieces[0])).minute
    assert minutes.min() < 100 and not ((minutes > 145) & (minutes < 157)).any()


@fast
def test_readings_by_hand_count_where_there_is_no_probe() -> None:
    read = kit.probes()
    notes = [exchange.Note(kit.ON + m * kit.MINUTE, "hand_reading", read[m]) for m in (180, 240, 300)]
    with_, without = (asked(kit.known(301, piece=kit.ada(*some, probe=0))).finish for some in (notes, []))
    assert with_ is not None and without is not None
    assert with_.late - with_.early < without.late - without.early


def test_the_smoother_finds_what_a_straight_line_was_made_from() -> None:
    # a linear problem with a known answer: readings are 10 + 5 x, x ~ N(0, 1); the posterior mean by Gauss
    r = np.random.default_rng(3)
    rows = prior.cloud(400, 3)
    read = update.Read(np.array([0.0, 100.0, 200.0]), np.array([16.0, 15.0, 16.5]), np.full(3, update.READ_C))
    column = int(r.integers(len(prior.NAMES)))
    found, _ = update.drawn_in(rows, read, lambda some: 10.0 + 5.0 * np.repeat(some[:, [column]], 3, axis=1), 5)
    inverse = np.linalg.inv(update.covariance(read))
    h = np.full(3, 5.0)
    precision = 1.0 + h @ inverse @ h
    mean = h @ inverse @ (read.c - 10.0) / precision
    assert found[:, column].mean() == pytest.approx(mean, abs=0.05)
    assert found[:, column].std() == pytest.approx(precision**-0.5, rel=0.25)
    others = np.delete(found, column, axis=1)
    assert others.std() == pytest.approx(rows.std(), rel=0.05)


def test_a_known_kind_of_cooker_sets_what_the_piece_sees_and_how_that_falls() -> None:
    one, rows = kit.ada(), np.zeros((1, len(prior.NAMES)))
    wide = prior.members(one, rows)
    assert wide.seen[0] - wide.air[0] == pytest.approx(prior.SEEN_C[0]) and wide.falls[0] == 0.0
    assert set(prior.KINDS) == set(cookers.KINDS)
    for kind, (air, seen, level) in prior.KINDS.items():
        made = prior.members(one, rows, kind=kind)
        assert (made.air[0], made.seen[0] - made.air[0]) == pytest.approx((air[0], seen[0]))
        assert made.humid[0] == pytest.approx(level[0]) and made.falls[0] == 1.0
    course_of_it = prior.fall(np.array([0.5, 2.0, 4.5, 8.0, 20.0]), np.zeros(5))
    assert all(np.diff(course_of_it) <= 0.0) and course_of_it[0] > 5.0 and abs(course_of_it[2]) < 0.5
    assert prior.fall(np.array([6.0]), np.ones(1))[0] == pytest.approx(
        prior.fall(np.array([6.0]), np.zeros(1))[0] - prior.WRAPPED_C
    )


@fast
def test_a_pit_of_hot_metal_is_expected_to_be_quicker_than_one_of_warm_walls() -> None:
    known = kit.known(30)
    by_kind = {
        kind: asked(msgspec.structs.replace(known, cooker=kind), Finish(200)).finish for kind in ("drum", "ceramic", "")
    }
    drum, ceramic, unknown = (by_kind[kind] for kind in ("drum", "ceramic", ""))
    assert drum is not None and ceramic is not None and unknown is not None
    assert drum.likely < ceramic.likely - 20 * kit.MINUTE and drum.likely < unknown.likely


@fast
def test_another_kind_of_cooker_draws_the_cloud_anew_and_an_oven_sees_no_coal() -> None:
    read, finish = kit.probes(), Finish(kit.MEMBERS)
    asked(kit.known(300, read), finish)
    first = finish._kept[1].clouds
    asked(msgspec.structs.replace(kit.known(301, read), cooker="drum"), finish)
    assert finish._kept[1].clouds is not first
    moved = kit.ada(kit.wrapped(200), exchange.Note(kit.ON + 250 * kit.MINUTE, "in_oven"), place="oven")
    known = kit.known(300, read, piece=moved)
    seat = update.seats(known, moved)
    made = prior.members(moved, prior.cloud(4, 1), kind="drum")
    piece_night.Course.of(known, moved, seat).past(made)
    assert not made.falls.any()
