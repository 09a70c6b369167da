"""The search: a cooker whose gain is plainly wrong is given a better one; one that is held well is left alone."""

from __future__ import annotations

import importlib
from typing import Any

import numpy as np
import pytest
import tune_kit
from hearth.core import Settings
from tuyere.sim.outside import Outside
from tuyere.text import BadValue, Reader, render
from tuyere.tune import Cooker, Member, answers, candidates, search
from tuyere.tune.rehearsed import Came, came, rehearse, turned
from tuyere.tune.search import Found, Rehearsals, Score, cost, made, reasons, worth

search_room = importlib.import_module("tuyere.tune.search")  # the package has a function of that name


def true_cooker(kind: str, seed: int) -> Cooker:
    """An ensemble of one: the truth itself."""
    night, _ = tune_kit.recorded(kind, seed, 6.0)
    world = Outside(kind, seed, hours=1.0)
    row = [one.row(world.constants[one.places[0]]) for one in candidates.COOKER]
    row += [one.row(world.state[one.places[0]]) for one in candidates.NIGHT] + [0.0] * len(candidates.REST)
    member = Member(world.state, world.constants, np.array(row), 1.0, kind)
    (member.answers,) = answers.of_members(night, [member])
    return Cooker([member], tried_s=1800.0)


def test_a_gain_far_too_low_is_found_out_and_mended() -> None:
    bad: Any = Settings()
    bad.gain, bad.reset = 30, 7000
    found = search(true_cooker("drum", 4), 400, 1, bad)
    assert found.better and not found.why
    assert found.gain > 0.02 and found.after.in_band > found.before.in_band + 0.02
    assert found.after.ms <= 1.62
    assert found.settings.gain > 60
    assert found.settings.wrong() is None


def test_settings_that_hold_well_are_left_alone() -> None:
    cooker = true_cooker("drum", 4)
    first = search(cooker, 400, 1)
    again = search(cooker, 400, 2, first.settings)
    if not again.better:
        assert again.why and again.changes == {}
    assert again.gain < 0.01


@pytest.mark.parametrize(("tried_s", "most"), [(0.0, 30.0), (900.0, search_room.GAIN[1])])
def test_no_gain_is_raised_without_an_experiment(monkeypatch: pytest.MonkeyPatch, tried_s: float, most: float) -> None:
    """A held night shows the fan weaker than it is: what the law does hides what the fan does."""
    bad: Any = Settings()
    bad.gain, bad.reset = 30, 7000
    seen: list[Any] = []
    monkeypatch.setattr(search_room, "rounds", lambda running, listed, base, *rest: seen.extend(listed) or base)
    monkeypatch.setattr(search_room, "judged", lambda *_: None)
    cooker = true_cooker("drum", 4)
    cooker.tried_s = tried_s
    search(cooker, 300, 1, bad)
    gains = [one.gain for one in seen]
    assert max(gains) <= most and (max(gains) > 100) == (most > 30.0)


def test_pits_that_swing_where_the_real_one_did_not_propose_nothing() -> None:
    found = Found(Settings(), Settings(), Score(in_band=0.70), Score(in_band=0.95, ms=1.4), gain=0.25, error=0.01)
    cooker = Cooker([], was_held=0.96)
    assert [why for why in reasons(found, cooker, 0.0) if "swing where it did not" in render(why, Reader())]
    cooker.was_held = 0.72
    assert not reasons(found, cooker, 0.0)


def test_nothing_is_rehearsed_for_long_where_no_settings_are_within_the_margins(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nights: list[Any] = []
    monkeypatch.setattr(search_room, "drawn", lambda *_: [])
    monkeypatch.setattr(search_room, "within", lambda *_: None)
    monkeypatch.setattr(search_room, "judged", lambda *given: nights.append(given[-1]))
    search(true_cooker("drum", 4), 2000)
    assert nights == [search_room.LEAST_NIGHTS]


def test_it_is_said_that_no_settings_keep_the_margins_and_what_an_experiment_would_tell() -> None:
    found = Found(Settings(), Settings(), Score(in_band=0.95), Score(in_band=0.95, ms=4.0))
    said = [render(why, Reader()) for why in reasons(found, Cooker([]), 0.0)]
    assert len(said) == 2 and "keep their distance" in said[0] and "--experiment" in said[1]
    assert len(reasons(found, Cooker([], tried_s=1200.0), 0.0)) == 1


def test_a_cooker_whose_answer_is_not_known_is_refused() -> None:
    cooker = true_cooker("drum", 4)
    cooker.members[0].answers = []
    with pytest.raises(BadValue, match="never held its band"):
        search(cooker, 400)
    with pytest.raises(BadValue, match="at least 200"):
        search(true_cooker("drum", 4), 50)


def test_a_model_that_does_not_fit_proposes_nothing() -> None:
    bad: Any = Settings()
    bad.gain, bad.reset = 30, 7000
    cooker = true_cooker("drum", 4)
    cooker.fits = False
    found = search(cooker, 200, 1, bad)
    assert not found.better and found.settings.values() == bad.values()


def test_a_stop_ends_it_with_the_best_so_far() -> None:
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 60

    found = search(true_cooker("drum", 4), 400, 1, stop=stop)
    assert found.stopped and found.nights < 400


def test_the_same_night_is_the_same_for_all_settings() -> None:
    cooker = true_cooker("drum", 4)
    member = cooker.members[0]
    assert rehearse(member, 7, Settings(), 3.0) == rehearse(member, 7, Settings(), 3.0)
    assert rehearse(member, 7, Settings(), 3.0) != rehearse(member, 8, Settings(), 3.0)
    assert rehearse(member, 7, Settings(), 3.0) != rehearse(member, 7, made(Settings(), gain=100), 3.0)


def test_members_come_as_often_as_they_weigh() -> None:
    cooker = true_cooker("drum", 4)
    one = cooker.members[0]
    heavy, light = Member(one.s, one.p, one.row, 0.75, "drum"), Member(one.s, one.p, one.row, 0.25, "drum")
    running = Rehearsals(Cooker([heavy, light]), 1, 1, lambda part, what: None, lambda: False)
    who = [running.pair(i)[0] for i in range(200)]
    assert who.count(1) == pytest.approx(50, abs=3)
    assert len({running.pair(i)[1] for i in range(200)}) == 200


def test_poor_members_count_double_and_far_arrivals_cost() -> None:
    good, poor = Came(0.98, 0.0, 40.0, 2.0, 3.0, 0), Came(0.80, 0.0, 40.0, 2.0, 3.0, 0)
    assert cost([good, poor], [0, 1]) == pytest.approx((0.98 + 2.0 * 0.80) / 3.0)
    assert worth(Came(0.9, 5.0, 40.0, None, 0.0, 0)) == pytest.approx(0.88)
    assert worth(Came(0.9, 0.0, 40.0, None, 0.0, 2)) == pytest.approx(0.7)


def test_turns_are_counted_where_the_fan_changes_its_way() -> None:
    fan = np.repeat([0.2, 0.3, 0.4, 0.3, 0.31, 0.2, 0.5], 30)
    assert turned(fan) == 2
    assert turned(np.full(300, 0.2)) == 0


def test_a_night_is_counted_as_the_rehearsal_counts_it() -> None:
    from tuyere.sim.rehearse import Rehearsal, summarise

    _, trace = tune_kit.recorded("drum", 4, 8.0)
    usual = Rehearsal("drum", 4, 8.0)
    summarise(usual, trace.ravel())
    mine = came(trace, 121.1, 135.0)
    assert mine.in_band == pytest.approx(usual.in_band, abs=1e-3)
    assert mine.over_c == pytest.approx(usual.over_c)
    assert mine.arrival_min == pytest.approx(usual.arrival_min)
    assert mine.back_min == pytest.approx(usual.back_min, abs=0.1)


def test_each_round_adds_nights_that_were_not_run_before_and_ranks_by_all(monkeypatch: pytest.MonkeyPatch) -> None:
    module = search_room
    ran: list[int] = []
    seen: set[tuple[int, int]] = set()

    class Nights:
        stopped = False

        def run(self, listed: list[Settings], places: list[int]) -> list[list[float]]:
            ran.extend(places if listed else [])
            return [[0.0] * len(places) for _ in listed]

        def pair(self, place: int) -> tuple[int, int]:
            return place, 0

    def weighed(row: list[float], who: list[int]) -> float:
        seen.add((len(row), len(who)))
        return 0.0

    monkeypatch.setattr(module, "cost", weighed)
    monkeypatch.setattr(module, "beside", lambda *_: None)
    many = [Settings() for _ in range(module.FIRST)]
    module.rounds(Nights(), many, Settings(), np.zeros(1), 2000, None, 800.0)
    assert sorted(ran) == list(range(len(ran))) and len(seen) == 3
    assert all(nights == counted for nights, counted in seen)
