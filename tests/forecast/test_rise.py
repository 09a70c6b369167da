"""The rise carried on, and the forecast of both structures."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import finish_kit as kit
import numpy as np
import pytest
from tuyere.forecast import exchange, foretold, mixed, piece_night, prior, rise, steady, update
from tuyere.forecast.ensemble import NEVER_S, Run, Wrap

PIT = 128.0  # C
COUNT = 160


@cache
def lump(e: float = 8.0) -> tuple[float, ...]:
    """A probe by the equation itself with its middle numbers: from 65 C, wrapped since long; a minute each."""
    k, grows, lasts = (rise.NUMBERS[name][0] for name in ("k", "wrapped", "wrapped_h"))
    found, t = [], 65.0
    for i in range(16 * 60):
        t += (k * (PIT - t) - e * np.exp(grows * (t - 65.0) - i / 60.0 / lasts)) / 60.0
        found.append(float(t))
    return tuple(found)


def carried(read: tuple[float, ...], minutes: int, **changed: object) -> rise.Carried | None:
    one = kit.ada(kit.wrapped(0), **changed)
    known = kit.known(minutes, read, piece=one, pit=PIT)
    night = piece_night.Course.of(known, one, update.seats(known, one))
    return rise.ahead(known, one, night, Wrap(1.0, np.full(COUNT, NEVER_S)), 3)


def whole(run: Run, off: float = 0.0) -> mixed.Mixed:
    """A forecast of one cloud, with no rise carried on."""
    return mixed.mix(run, None, [mixed.Part(len(run.hours), 1.0, prior.SLOW, off)], 1)


def test_its_own_equation_is_carried_to_its_end() -> None:
    read = lump()
    true = kit.there(read)
    for ahead in (240, 60):
        found = carried(read, true - ahead)
        assert found is not None
        early, likely, late = (60.0 * h for h in mixed.quantiles(found.hours[:, None], found.weights)[:, 0])
        assert early < ahead < late
        assert likely == pytest.approx(ahead, abs=0.1 * ahead)
        assert found.weights.sum() == pytest.approx(1.0)


def test_a_quicker_rise_comes_sooner_and_the_way_ahead_goes_on_from_the_reading() -> None:
    slow, quick = (carried(lump(e), 180) for e in (9.0, 7.0))
    assert slow is not None and quick is not None
    assert np.median(quick.hours) < np.median(slow.hours)
    assert np.median(quick.probes[:, 0]) == pytest.approx(lump(7.0)[189], abs=1.0)


def test_the_night_so_far_weighs_the_members() -> None:
    found = carried(lump(), 300)
    assert found is not None and found.told.shape[1] > 5
    best, worst = (found.told.sum(axis=1) >= np.quantile(found.told.sum(axis=1), share) for share in (0.9, 0.1))
    assert found.weights[best].mean() > 2.0 * found.weights[~worst].mean()


def test_nothing_is_carried_without_a_probe_or_when_it_is_silent() -> None:
    assert carried(lump(), 300, probe=0) is None
    silent = tuple(float("nan") if i > 250 else c for i, c in enumerate(lump()))
    one = kit.ada(kit.wrapped(0))
    known = kit.known(300, silent, piece=one)
    known.columns.meats[0] = [None if c is None or np.isnan(c) else c for c in known.columns.meats[0]]
    night = piece_night.Course.of(known, one, update.seats(known, one))
    assert rise.windows(known, one, night) == []


def test_a_rise_across_the_wrap_is_not_measured() -> None:
    one = kit.ada(kit.wrapped(200))
    known = kit.known(400, lump(), piece=one)
    found = rise.windows(known, one, piece_night.Course.of(known, one, update.seats(known, one)))
    assert {window.wrapped for window in found} == {True, False}
    assert all(abs(window.end - rise.WINDOW_MIN / 2.0 - 200.0) >= 45.0 for window in found[1:])


def test_weighted_quantiles_are_those_of_repeated_values() -> None:
    values, times = np.array([3.0, 1.0, 2.0, 9.0]), np.array([3, 4, 2, 1])
    found = mixed.quantiles(values[:, None], times / times.sum())[:, 0]
    assert found.tolist() == np.quantile(np.repeat(values, times), mixed.SHARES, method="inverted_cdf").tolist()


def test_members_that_do_not_fit_the_readings_count_less_and_never_nothing() -> None:
    run = Run(np.full(COUNT, 5.0), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    found = carried(lump(), 300)
    shares = [
        mixed.mix(run, found, [mixed.Part(COUNT, 1.0, prior.SLOW, off)], 1, mixed.MOST).weights[:COUNT].sum()
        for off in (0.0, 1.5, 6.0)
    ]
    assert shares[0] == pytest.approx(prior.SLOW.trusted[0]) and shares[2] == pytest.approx(mixed.LEAST)
    assert shares[0] > shares[1] > shares[2]
    assert len(whole(run, 3.0).hours) == COUNT
    read = update.Read(np.array([10.0, 300.0, 400.0]), np.array([50.0, 60.0, 70.0]), np.ones(3))
    assert mixed.misfit(read, np.tile([90.0, 63.0, 66.0], (5, 1))) == pytest.approx(12.5**0.5)  # the first is long past


def test_members_that_never_end_count_less_and_are_all_there_is_where_none_ends() -> None:
    hours = np.full(COUNT, 5.0)
    hours[: COUNT // 2] = np.inf
    weights = whole(Run(hours, np.full((COUNT, 600), 90.0), np.ones(COUNT))).weights
    assert weights[: COUNT // 2].sum() == pytest.approx(mixed.SELDOM / (1.0 + mixed.SELDOM))
    cold = whole(Run(np.full(COUNT, np.inf), np.full((COUNT, 600), 80.0), np.ones(COUNT)))
    assert (
        cold.weights.sum() == pytest.approx(1.0) and np.isinf(mixed.quantiles(cold.hours[:, None], cold.weights)).all()
    )


def test_each_cloud_has_its_share_and_its_own_trust() -> None:
    run = Run(np.full(COUNT, 5.0), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    beliefs = [replace(prior.SLOW, trusted=(bare, 0.1)) for bare in (0.9, 0.5)]
    parts = [mixed.Part(COUNT - 60, 0.8, beliefs[0], 0.0), mixed.Part(60, 0.2, beliefs[1], 0.0)]
    weights = mixed.mix(run, carried(lump(), 300), parts, 1, mixed.MOST).weights
    assert weights[: COUNT - 60].sum() == pytest.approx(0.72) and weights[COUNT - 60 : COUNT].sum() == pytest.approx(
        0.1
    )
    assert weights.sum() == pytest.approx(1.0)
    alone = mixed.mix(run, None, parts, 1).weights  # with no rise to carry on they are all there is
    assert alone[: COUNT - 60].sum() == pytest.approx(0.8)
    wrapped = [replace(part, soaked=1.0) for part in parts]
    assert mixed.mix(run, carried(lump(), 300), wrapped, 1, mixed.MOST).weights[:COUNT].sum() == pytest.approx(0.1)


def test_in_a_wrap_slow_meat_takes_longer_and_quick_meat_as_long_with_less_doubt() -> None:
    run = Run(np.linspace(4.0, 6.0, COUNT), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    found = {}
    for belief in (prior.SLOW, prior.QUICK):
        for soaked in (0.0, 1.0):
            hours = mixed.mix(run, None, [mixed.Part(COUNT, 1.0, belief, 0.0, soaked)], 1).hours
            found[belief is prior.SLOW, soaked] = float(np.median(hours)), float(np.log(hours).std())
    assert found[True, 1.0][0] == pytest.approx(prior.SLOW.wrapped[0] * found[True, 0.0][0], rel=0.05)
    assert found[True, 1.0][1] > 1.3 * found[True, 0.0][1]
    assert found[False, 1.0] == found[False, 0.0] and found[False, 0.0][1] < found[True, 0.0][1]


def test_a_rise_that_was_foretold_well_is_surer_and_takes_the_place_of_the_meats_members() -> None:
    run = Run(np.full(COUNT, 1.0), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    read = lump()
    carried_on = carried(read, kit.there(read) - 60)
    assert carried_on is not None
    part = [mixed.Part(COUNT, 1.0, prior.SLOW, 0.0)]
    good, bad = (mixed.mix(run, carried_on, part, 1, off) for off in (0.0, 0.6))
    assert good.weights[:COUNT].sum() < 0.8 * bad.weights[:COUNT].sum()
    middle = [float(np.log(one.hours[COUNT:]).std()) for one in (good, bad)]
    assert middle[0] < 0.8 * middle[1]


def missed(read: tuple[float, ...], minutes: int, *notes: exchange.Note) -> float:
    one = kit.ada(*notes)
    known = kit.known(minutes, read, piece=one, pit=PIT)
    return foretold.miss(known, one, piece_night.Course.of(known, one, update.seats(known, one)), COUNT, 3)


def test_what_was_foretold_of_a_lump_came_and_what_was_not_is_a_miss() -> None:
    read = lump()
    assert missed(read, 200, kit.wrapped(0)) < 0.15
    held = read[:140] + (read[139],) * 200  # it stops to rise
    assert missed(held, 200, kit.wrapped(0)) > 0.5
    assert missed(held, 200, kit.wrapped(0)) <= mixed.MOST


def test_of_a_young_night_nothing_was_foretold() -> None:
    assert missed(lump(), 55, kit.wrapped(0)) == mixed.UNKNOWN
    assert missed(tuple(c - 20.0 for c in lump()), 100, kit.wrapped(0)) == mixed.UNKNOWN  # below FROM_C


def test_no_model_is_all_but_sure_of_what_is_hours_away() -> None:
    run = Run(np.full(COUNT, 5.0), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    far = whole(run)
    assert mixed.odds(far, 20.0) == mixed.SURE and mixed.odds(far, 0.5) == pytest.approx(1.0 - mixed.SURE)
    near = mixed.Mixed(np.full(COUNT, 0.2), np.full(COUNT, 1.0 / COUNT), run, None)
    assert mixed.odds(near, 1.0) == 1.0


def test_a_member_of_the_meat_is_less_sure_the_longer_it_still_has() -> None:
    spread = []
    for hours in (1.0, 6.0):
        run = Run(np.full(COUNT, hours), np.full((COUNT, 600), 90.0), np.ones(COUNT))
        spread.append(float(whole(run).hours.std()))
    assert spread[1] == pytest.approx(6.0 * spread[0])


def test_the_note_of_a_foil_takes_more_of_the_drying_than_paper() -> None:
    read = kit.probes(wrap_min=2000)
    hours = []
    for wrap in ("paper", "foil"):
        one = kit.ada(exchange.Note(kit.ON + 360 * kit.MINUTE, "wrapped", text=wrap))
        known = kit.known(362, read, piece=one)
        night = piece_night.Course.of(known, one, update.seats(known, one))
        found = rise.ahead(known, one, night, Wrap(1.0, np.full(COUNT, NEVER_S)), 3)
        assert found is not None
        hours.append(float(np.median(found.hours)))
    assert hours[1] < hours[0]


def straight(c_h: tuple[float, float, float], minutes: int = 600, **changed: object) -> steady.Line | None:
    """The line after three hours of rises, latest last, that end at 85 C."""
    ways = np.concatenate([[0.0], np.cumsum(np.repeat(c_h, 60)) / 60.0])
    read = tuple(np.concatenate([np.full(minutes - 180, 50.0), 85.0 - ways[-1] + ways]).tolist())
    one = kit.ada(kit.wrapped(0), **changed)
    known = kit.known(minutes, read, piece=one, pit=PIT)
    return steady.line(known, one, piece_night.Course.of(known, one, update.seats(known, one)))


def test_a_steady_rise_counts_as_a_line_and_one_that_slows_or_hastens_does_not() -> None:
    even = straight((4.0, 4.0, 4.0), target=95.0)
    assert even is not None and even.hours == pytest.approx(2.5, abs=0.05)
    assert even.share == pytest.approx(steady.SHARE * np.exp(-0.25), abs=0.02)  # 2.5 h to go
    for rises in ((8.0, 6.0, 4.0), (2.0, 3.0, 4.0)):
        other = straight(rises, target=95.0)
        assert other is not None and other.share < 0.05
    assert straight((4.0, 4.0, -0.5)) is None and straight((4.0, 4.0, 4.0), probe=0) is None


def test_bare_meat_has_no_line() -> None:
    read = tuple(50.0 + 4.0 * i / 60.0 for i in range(700))
    one = kit.ada()
    known = kit.known(650, read, piece=one, pit=PIT)
    found = steady.line(known, one, piece_night.Course.of(known, one, update.seats(known, one)))
    assert found is not None and found.share == 0.0


def test_the_line_takes_its_share_of_the_forecast_and_of_the_way_ahead() -> None:
    run = Run(np.full(COUNT, 5.0), np.full((COUNT, 600), 90.0), np.ones(COUNT))
    found = carried(lump(), 300)
    assert found is not None
    with_line, without = (
        mixed.mix(run, found, [mixed.Part(COUNT, 1.0, prior.SLOW, 0.0)], 1, 0.3, line)
        for line in (steady.Line(2.0, 85.0, 5.0, 0.7), None)
    )
    assert with_line.weights[2 * COUNT :].sum() == pytest.approx(0.7)
    assert with_line.weights[: 2 * COUNT] == pytest.approx(0.3 * without.weights)
    ends = with_line.hours[2 * COUNT :]
    assert np.median(ends) == pytest.approx(2.0, rel=0.03) and np.log(ends).std() == pytest.approx(steady.PACE, rel=0.2)
    way = with_line.probes(np.array([60, 600]))[2 * COUNT :]
    assert np.median(way[:, 0]) == pytest.approx(90.0, abs=0.2) and way[:, 1] == pytest.approx(95.0)
