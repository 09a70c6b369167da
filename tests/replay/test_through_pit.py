"""A night through the pit of its cooker: with the true cooker the answer is near the truth; else it says so."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from hearth.core import Settings, fields
from replay_kit import Night as Records
from replay_kit import fill
from tuyere.logbook import Logbook
from tuyere.replay.asked import Asked, of_cook, of_night
from tuyere.sim import compiled, cookers, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import run
from tuyere.tune import candidates
from tuyere.tune.cooker import Cooker, Member
from tuyere.tune.night import Night, lids_of

pytestmark = pytest.mark.skipif(not compiled.available(), reason="needs numba")
HOURS = 5.0
SLOW = {"gain": 120}  # with less this night ends soon after the arrival, and its share is that of a moment


def settings(changed: dict[str, int]) -> Settings:
    made = Settings()
    made.learn = 0  # what was learned before this night is not known, and here it is the pit that is tested
    for name, value in changed.items():
        setattr(made, name, value)
    return made


def simulated(kind: str, seed: int, changed: dict[str, int], meat_on_s: float | None = None) -> Night:
    """A night of a simulated cooker, as a logbook has it. meat_on_s: the meat goes on then, and not after the arrival:
    so a night with other settings has its meat and its lids at the same times."""
    world = Outside(kind, seed, hours=HOURS)
    world.state[at.NOTED] = -1.0  # a night of readings alone has no orders: nobody has noted its meat
    if meat_on_s is not None:
        world.constants[at.ARRIVAL_C], world.constants[at.MEAT_WAIT] = -1e9, 0.0
        world.constants[at.MEAT_AFTER] = meat_on_s
    trace = np.array(run(world, HOURS, settings(changed), compiled.kernel())).reshape(-1, kernel.TRACE)
    seconds = np.arange(len(trace)) * kernel.PERIOD_S
    meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
    weather = np.array(world.weather[at.W_AMBIENT :: at.WEATHER])
    return Night(
        seconds, trace[:, kernel.T_PIT], trace[:, kernel.T_DUTY],
        lids_of(seconds, trace[:, kernel.T_STATE], trace[:, kernel.T_REASON]),
        outside_c=weather[np.minimum((seconds / at.WEATHER_S).astype(int), len(weather) - 1)],
        meat_on_s=float(seconds[meat[0]]) if len(meat) else None, settings=settings(changed),
    )  # fmt: skip


def known(kind: str, seed: int, count: int = 3) -> Cooker:
    """The true cooker, and others near it."""
    s, p = cookers.draw(kind, seed)
    row = [one.row(p[one.places[0]]) for one in candidates.COOKER]
    row += [one.row(s[one.places[0]]) for one in candidates.NIGHT] + [0.0, 0.0, 0.0, 0.0]
    random = np.random.RandomState(1)
    members = []
    for i in range(count):
        near = np.array(row)
        near[: candidates.COOKERS] += 0.02 * i * random.standard_normal(candidates.COOKERS)
        members.append(Member(list(s), list(p), near, 1.0 / count, kind))
    return Cooker(members)


def test_the_room_has_it_for_programs_and_loads_it_only_then(through: Any) -> None:
    from tuyere import replay

    assert replay.through_pit is through.through_pit and replay.Would is through.Would
    with pytest.raises(AttributeError, match="no attribute 'through'"):
        replay.through  # noqa: B018


@pytest.fixture(scope="module")
def through() -> Any:
    from tuyere.replay import played

    return played


def test_with_the_recorded_fan_the_pit_reads_the_record_again(through: Any) -> None:
    recorded = simulated("drum", 2, {})
    members = known("drum", 2).members
    for one, lead in zip(members, through.leads(recorded, members), strict=True):
        found = through.disturbed(recorded, one, lead)
        assert found.read_again_c < 1.0
        assert np.abs(found.noise).max() <= through.NOISE_C and np.abs(found.parts).max() <= through.MOST_K


@pytest.mark.parametrize(("was", "asked"), [({}, SLOW), (SLOW, {})])
def test_other_settings_come_near_the_truth(through: Any, was: dict[str, int], asked: dict[str, int]) -> None:
    recorded = simulated("drum", 2, was)
    truth = simulated("drum", 2, asked, recorded.meat_on_s)
    would = through.through_pit(recorded, settings(asked), cooker=known("drum", 2))
    bands = of_night(recorded)
    before, _ = through.kept(recorded, recorded.pit_cycles(), bands)
    after, _ = through.kept(recorded, truth.pit_cycles(), bands)
    assert abs(before - after) > 0.01, "the two settings must differ for this to test anything"
    truth_is, said = after - before, would.change[1]
    assert said == pytest.approx(truth_is, abs=0.03)
    assert would.change[0] <= truth_is <= would.change[2]
    assert would.answer == (through.BETTER if truth_is > 0.0 else through.WORSE) and not would.cannot_tell
    error = (would.pit_c - truth.pit_cycles())[would.seconds > 5400.0]
    assert np.sqrt(np.nanmean(error**2)) < 4.0
    assert len(would.back_min) == len(recorded.openings)


def test_the_night_s_own_settings_change_nothing(through: Any) -> None:
    """What the model misses falls out: the record itself is what would have been."""
    recorded = simulated("drum", 2, {})
    would = through.through_pit(recorded, settings({}), cooker=known("drum", 2, 1))
    record = recorded.pit_cycles()
    assert np.allclose(would.pit_c, record, atol=1e-9) and would.change[1] == pytest.approx(0.0, abs=1e-9)
    assert would.answer == through.SAME and would.back_min and all(a == b for a, b in would.back_min)


@pytest.mark.parametrize(
    ("members", "answer"),
    [
        ((-0.11, -0.10, -0.08), "worse"),
        ((0.02, 0.03, 0.05), "better"),
        ((-0.004, 0.002, 0.006), "about the same"),
        ((-0.06, 0.01, 0.02), ""),  # they do not agree
        ((-0.01, 0.01, 0.04), ""),
    ],
)
def test_a_range_comes_to_an_answer(through: Any, members: tuple[float, float, float], answer: str) -> None:
    low, middle, high = through._widened(members)
    assert low <= members[0] and middle == members[1] and high >= members[2]
    assert min(middle - low, high - middle) >= through.LEAST_SPREAD - 1e-12
    assert through._answer((low, middle, high)) == answer


def test_heat_that_the_model_lacks_comes_evenly(through: Any) -> None:
    """A law that looks ahead takes a jump of the reading for a rise."""
    recorded = simulated("drum", 2, {})
    (one,) = known("drum", 2, 1).members
    count = recorded.cycles // through.EVERY
    fan, lead, none = recorded.fan_cycles(), np.zeros(count), np.zeros(recorded.cycles)
    parts = np.zeros(count)
    parts[10] = 9.0
    paths = []
    for given in (np.zeros(count), parts):
        made = through.worlds.world(recorded, one.s, one.p, one.row)
        found = np.zeros(recorded.cycles)
        through.kernel().again(*made, fan, lead, given, none, through.EVERY, found)
        paths.append(found)
    more = paths[1] - paths[0]
    begins, ends = 11 * through.EVERY, 12 * through.EVERY
    assert not more[:begins].any() and np.diff(more).max() < 2.0 * 9.0 / through.EVERY
    assert 4.0 < more[ends - 1] <= 9.0


def test_another_band_is_held(through: Any) -> None:
    recorded = simulated("drum", 2, {})
    would = through.through_pit(recorded, settings({}), cooker=known("drum", 2, 1), band_c=(107.0, 118.0))
    late = would.pit_c[would.seconds > 2.0 * 3600.0]
    assert 107.0 < np.median(late) < 118.0 and set(would.low.tolist()) == {107.0}


def test_where_it_cannot_tell_it_says_so(through: Any) -> None:
    recorded = simulated("drum", 2, {})
    strange = known("drum", 2, 1)
    strange.fits, strange.misfit_c = False, 9.0
    assert "No model of a cooker explains" in str(
        through.through_pit(recorded, settings({}), cooker=strange).cannot_tell
    )
    strange.says_little = ["The fan hardly moved.", "By these pits more fan does not warm."]
    assert through.through_pit(recorded, settings({}), cooker=strange).cannot_tell == strange.says_little[1]
    cold = Night(recorded.seconds, np.full(len(recorded.seconds), 40.0), recorded.fan)
    assert "never came into its band" in str(
        through.through_pit(cold, settings({}), cooker=known("drum", 2, 1)).cannot_tell
    )


def test_what_was_asked_is_read_from_the_records(night_of_records: tuple[Path, int]) -> None:
    path, cook = night_of_records
    from tuyere.tune.night import of_cook as as_night

    with Logbook(path) as book:
        recorded = as_night(book, cook)
        found = of_cook(book, cook, recorded)
    codes = [code for _, code, _, _ in found.orders]
    assert codes.count(fields.ORDER_OPENED) == 1 and codes.count(fields.ORDER_FAN) == 1
    assert fields.ORDER_START in codes and codes.count(fields.ORDER_BAND) >= 3
    at_ = [period for period, *_ in found.orders]
    assert all(b > a for a, b in itertools.pairwise(at_)) and at_[-1] < recorded.cycles
    assert (110.0, 125.0) in set(zip(found.low.tolist(), found.high.tolist(), strict=True))
    alone = found.in_band(100.0, 110.0)
    assert [code for _, code, _, _ in alone.orders].count(fields.ORDER_BAND) == 1
    assert isinstance(alone, Asked) and set(alone.high.tolist()) == {110.0}


@pytest.fixture
def night_of_records(night: Records, tmp_path: Path) -> tuple[Path, int]:
    path = tmp_path / "logbook.sqlite"
    return path, fill(path, night)


def test_both_nights_stand_in_one_chart(through: Any) -> None:
    """The lines cross where the record is far below what would have been; the axis has the cook's own clock."""
    from tuyere.cli.both_nights import HEIGHT, chart

    recorded = simulated("drum", 2, {})
    would = through.through_pit(recorded, settings({}), cooker=known("drum", 2, 1), band_c=(107.0, 118.0))
    for utf8 in (True, False):
        drawn = chart(recorded, would, 1_700_000_000_000, 80, "C", utf8)
        assert len(drawn) == HEIGHT and all(len(line) <= 80 for line in drawn)
        assert all(any(name in line for line in drawn) for name in ("would be", "recorded"))
        assert utf8 or all(line.isascii() for line in drawn)
    above = [next(i for i, line in enumerate(drawn) if name in line) for name in ("recorded", "would be")]
    assert above[0] < above[1]


def test_the_answer_is_plain_data(through: Any) -> None:
    from tuyere.cli.replay_pit import data

    recorded = simulated("drum", 2, {})
    found = data(recorded, through.through_pit(recorded, settings({}), cooker=known("drum", 2, 1)))
    back = msgspec.json.decode(msgspec.json.encode(found))
    assert len(back["pit_c"]) == len(back["recorded_pit_c"]) == recorded.cycles and back["members"] == 1
