"""Writes `tests/tune/tune_told.json`: what the tuner's parts say and reckon of made-up nights, answers and cookers.

Run it with `python tests/tune/tune_told.py` after a change of the room. The diff says what is told otherwise than
before; look at each. Nothing here is rehearsed: whole nights of true cookers are in the tests beside it.
"""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from hearth.core import Settings, fields
from tuyere.text import Reader, render, said_of
from tuyere.tune import Cooker, Member, Night, in_words, marks, sensitivity, smoother, strength
from tuyere.tune.cooker import Spread
from tuyere.tune.night import lids_of, stretches
from tuyere.tune.rehearsed import Came
from tuyere.tune.search import Found, Score
from tuyere.tune.sensitivity import Answer

search: Any = importlib.import_module("tuyere.tune.search")  # the package has a function of that name
PAGE = Path(__file__).with_name("tune_told.json")
HOUR = 3600.0
Telling = Iterator[tuple[str, Callable[[], Any]]]


def short(value: Any) -> Any:
    """The same with floats of five digits, and no arrays."""
    if isinstance(value, np.ndarray):
        value = value.tolist()
    if isinstance(value, dict):
        return {name: short(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [short(one) for one in value]
    return float(f"{value:.5g}") if isinstance(value, float | np.floating) else value


def said(some: Sequence[Any]) -> list[str]:
    return [render(one, Reader("C")) for one in some]


def night(hours: float = 8.0, **more: Any) -> Night:
    """Climbs for an hour, then swings in its band; the fan leads it by six minutes."""
    seconds = np.arange(0.0, hours * HOUR, 10.0)
    swing = np.sin(seconds / 400.0)
    pit = np.where(seconds < HOUR, 20.0 + 108.0 * seconds / HOUR, 128.0 + 2.0 * swing)
    fan = np.where(seconds < HOUR, 1.0, 0.2 + 0.05 * np.sin((seconds + 360.0) / 400.0))
    return Night(seconds, more.pop("pit_c", pit), more.pop("fan", fan), **more)


def answer(lift: float = 60.0, late: float = 100.0, falls: float = 0.0) -> Answer:
    """A pit that begins to rise after `late` s, by `lift` C for the whole fan; it may sink first."""
    times = np.arange(1, 541) * 10.0
    rise = lift * (1.0 - np.exp(-np.maximum(times - late, 0.0) / 900.0))
    return Answer(10.0, rise - falls * np.exp(-times / 60.0))


def cooker(*answers: Answer, **more: Any) -> Cooker:
    members = [Member([], [], np.zeros(1), 1.0 / len(answers), "drum", answers=[one, one]) for one in answers]
    return Cooker(members, **more)


def nights() -> Telling:
    """A night by periods and minutes, whole and in part, and what is no night."""
    lids = [(4 * HOUR, 120.0, True), (6 * HOUR, 60.0, False)]
    gap = night().pit_c.copy()
    gap[1000:1030] = np.nan
    kinds: dict[str, dict[str, Any]] = {
        "plain": {}, "short": {"hours": 2.0}, "with lids": {"openings": lids}, "of known air": {"outside_c": 5.0},
        "of changing air": {"outside_c": np.linspace(20.0, 0.0, 2880)}, "with a gap": {"pit_c": gap},
        "doubted": {"doubted": [(5 * HOUR, HOUR)]}, "of another band": {"band_c": (100.0, 110.0)},
        "with meat": {"meat_on_s": 2 * HOUR}, "never there": {"pit_c": np.full(2880, 60.0)},
        "begun warm": {"pit_c": np.full(2880, 127.0)}, "with an experiment": {"tried": [(5 * HOUR, 2400.0)]},
    }  # fmt: skip
    for name, more in kinds.items():
        yield name, partial(taken, **more)
    x = np.arange(0.0, HOUR * 2, 10.0)
    wrong: dict[str, tuple[Any, ...]] = {
        "one reading less": (x, x[:-1], x * 0), "not rising": (x * 0, x, x * 0),
        "too short": (x[:20], x[:20], x[:20] * 0),
        "too long": (x * 1000, x, x * 0), "in per cent": (x, x, x * 0 + 20.0), "mostly missing": (x, x * np.nan, x * 0),
        "of other air": (x, x, x * 0, (), x[:-1]), "a lid of less than nothing": (x, x, x * 0, ((60.0, -1.0, True),)),
        "a lid of no time": (x, x, x * 0, ((60.0, 0.0, True),)),
    }  # fmt: skip
    for name, given in wrong.items():
        yield f"refused, {name}", partial(refused, *given)
    yield "openings of a record", recorded


def taken(**more: Any) -> dict[str, Any]:
    made = night(**more)
    part = made.first(0.6)
    data = smoother.data(made, 2.0 / 3.0)
    air = made.outside_cycles()
    seen = marks.of(made)
    return short({  # type: ignore[no-any-return]
        "cycles": made.cycles, "in band": made.in_band(), "tried": [made.tried_s, part.tried_s],
        "first part": [part.cycles, len(part.openings)], "air": None if air is None else air[::3600],
        "pit": np.nan_to_num(made.pit_cycles()[::1200], nan=-1.0), "fan": made.fan_cycles()[::1200],
        "fitted": [data.until, data.climb, data.middle, int(data.there.sum()), float(data.loose.sum()),
                   float(data.nudge.sum()), float(np.nansum(data.fed))],
        "marks": None if seen is None else np.nan_to_num(seen, nan=-99.0),
        "says little": said(in_words.says_little(Cooker([]), [made])),
    })  # fmt: skip


def refused(*given: Any) -> str:
    try:
        return f"taken: {Night(*given).cycles} cycles"
    except ValueError as wrong:
        return render(said_of(wrong), Reader("C"))


def recorded() -> Any:
    hold, lid = fields.HOLDING, fields.OPENED
    state = np.array([hold, hold, lid, lid, hold, hold, lid, hold, lid])
    reason = np.array([0, 0, fields.OPENED_TOLD, 0, 0, 0, 0, 0, fields.OPENED_TOLD])
    seconds = np.arange(9) * 2.0
    return short([lids_of(seconds, state, reason), stretches(seconds, state == hold)])


def cookers() -> Telling:
    """What is said of a cooker and its proposal."""
    both = [Spread("delay", 60.0, 80.0, 100.0, 0.7), Spread("lift", 3.0, 4.0, 5.0, 0.6)]
    of = {
        "known": cooker(answer(), spreads=both), "with nothing told": cooker(answer()),
        "held otherwise": cooker(answer(), held=0.96, was_held=0.9),
        "held nearly so": cooker(answer(), held=0.949, was_held=0.9),
        "backwards": cooker(answer(), answer(-10.0), fits=False),
        "hardly backwards": cooker(*[answer()] * 5, answer(-10.0)),
        "misfit": cooker(answer(), misfit_c=13.1, lead=0.3, fits=False),
        "at the edge": cooker(answer(), misfit_c=13.0, lead=0.4, spreads=both),
        "led": cooker(answer(), lead=0.41, fits=False),
    }  # fmt: skip
    for name, one in of.items():
        yield name, partial(told_of, one)
    good, poor, swings = Score(0.97, ms=1.5), Score(0.93, ms=1.5), Score(0.90, ms=1.5)
    founds = {
        "better": (Found(Settings(), Settings(), poor, good, gain=0.02, error=0.005), {}, 0.0),
        "hardly better": (Found(Settings(), Settings(), poor, good, gain=0.0039, error=0.001), {}, 0.0),
        "perhaps better": (Found(Settings(), Settings(), poor, good, gain=0.02, error=0.011), {"tried_s": 600.0}, 0.0),
        "no margin": (Found(Settings(), Settings(), poor, Score(0.97, ms=1.63), gain=0.02), {}, 0.0),
        "losers": (Found(Settings(), Settings(), poor, good, gain=0.02), {"tried_s": 599.0}, 0.16),
        "few losers": (Found(Settings(), Settings(), poor, good, gain=0.02), {}, 0.15),
        "of pits that swing": (Found(Settings(), Settings(), swings, good, gain=0.02), {"was_held": 0.96}, 0.0),
        "unexplained": (Found(Settings(), Settings(), poor, good, gain=0.0), {"fits": False}, 0.2),
    }  # fmt: skip
    for name, (found, more, losers) in founds.items():
        yield f"proposal, {name}", partial(spoken, found, cooker(answer(), **more), losers)
    yield "spreads by their answers", spread


def told_of(one: Cooker) -> Any:
    found = [in_words.fits(one), in_words.backwards(one), in_words.differs(one)]
    return [*found, *said(in_words.says_little(one, [night()]))]


def spoken(found: Found, one: Cooker, losers: float) -> Any:
    return said(search.reasons(found, one, losers))


def spread() -> Any:
    each = [0.5, 1.0, 2.0, 8.0], [0.1, 0.2, 0.3, 0.4]
    return short([in_words.quantiles(*each), *(in_words.told("lift", low, 20.0) for low in (2.0, 2.2, 5.0, 20.0))])


def answers() -> Telling:
    """Answers to the fan, their margins with some settings, and the gains that keep them."""
    of = {"usual": answer(), "late": answer(late=400.0), "strong": answer(200.0), "weak": answer(5.0),
          "sinks first": answer(falls=3.0), "none": answer(0.0)}  # fmt: skip
    for name, one in of.items():
        yield name, partial(margin, one)
    yield "of all", partial(limits, [of[name] for name in ("usual", "late", "strong")])


def margin(one: Answer) -> Any:
    at = one.at()
    kinds = [Settings(), search.made(Settings(), gain=1500), search.made(Settings(), gain=60, lead=20, reset=5000)]
    loops = [sensitivity.margins(at, settings) for settings in kinds]
    return short({
        "delay": one.delay_s, "steepest": one.steepest, "at": np.abs(at[::40]), "angle": np.angle(at[::40]),
        "loops": [[loop.ms, loop.delay_s] for loop in loops],
        "gains": sensitivity.gains(at[None, :], 1500.0, 80.0, 4000.0),
    })  # fmt: skip


def limits(some: list[Answer]) -> Any:
    every, base = np.array([one.at() for one in some]), Settings()
    worst, r = sensitivity.worst(every, base), np.random.RandomState(3)
    inside = search.within(search.made(base, gain=2000), every, 1500.0)
    near = search.beside(base, every, r, 900.0)
    one = cooker(*some)
    return short({
        "worst": [worst.ms, worst.delay_s], "within": None if inside is None else inside.gain,
        "drawn": [[x.gain, x.reset, x.lead] for x in search.drawn(base, every, 4, r, 900.0)],
        "beside": None if near is None else [near.gain, near.reset, near.lead],
        "trip limits": search.trip_limits(one.members, base),
    })  # fmt: skip


def parts() -> Telling:
    """Nights compared, members weighed, marks regressed."""
    yield "nights of candidates", compared
    yield "members", weighed
    yield "marks", partial(regressed, tries=False)
    yield "marks, with an experiment", partial(regressed, tries=True)


def compared() -> Any:
    rows = [
        [Came(0.97, 1.0, 50.0, 2.0, 3.0, 0), Came(0.95, 4.0, 60.0, None, 2.0, 0), Came(0.9, 3.1, None, 5.0, 1.0, 0)],
        [Came(0.96, 3.0, 50.0, 2.0, 3.0, 0), Came(0.96, 3.0, 60.0, None, 2.0, 1), Came(0.96, 0.0, None, 5.0, 1.0, 0)],
        [Came(0.99, 0.0, 50.0, 2.0, 3.0, 0)],
    ]
    who, every = [0, 1, 0], np.array([answer().at(), answer(late=300.0).at()])
    running = search.Rehearsals(cooker(answer(), answer(), answer()), 2, 9, lambda *_: None, lambda: False)
    score = search.score(rows[0], np.array(who), Settings(), every)
    return short([
        [[search.worth(came) for came in row] for row in rows], [search.cost(row, who) for row in rows],
        search.cost([], who), search.ranked(rows, who), vars(score), search.median([]), search.median([None, 3.0, 4.0]),
        [running.pair(i) for i in range(6)],
    ])  # fmt: skip


def weighed() -> Any:
    r, minutes = np.random.RandomState(4), 40
    pit = 128.0 + r.standard_normal(minutes)
    loose = np.ones(minutes)
    loose[10:14] = smoother.LID_TIMES
    data = smoother.Data(pit, loose, minutes - 5, 3)
    paths = smoother.Paths(128.0 + 2.0 * r.standard_normal((8, minutes)), 0.05 * r.standard_normal((8, minutes)),
                           np.log(np.arange(16.0).reshape(8, 2) + 2.0))  # fmt: skip
    rest = smoother.measure([paths], [data])
    cost = smoother.misfit([paths], [data], rest)
    moved = smoother.moved(
        r.standard_normal((8, 3)), [paths], [data], rest, np.random.RandomState(5), np.linspace(0.0, 2.0, 8)
    )
    tempered = [smoother.tempered(cost, count) for count in (2.0, 4.0, 7.5)]
    return short([
        rest.size, rest.step, smoother.unexplained([paths], [data]), cost, tempered, moved,
        smoother.answered([paths, paths.pick(np.arange(8)[::-1])]), smoother.rms([np.full(3, np.nan)]),
        smoother.rms([data.rest(paths.pit[0])]),
    ])  # fmt: skip


def regressed(tries: bool) -> Any:
    r, count = np.random.RandomState(6), 120
    rows = r.standard_normal((count, len(marks.NAMES)))
    lifts, delays = 1.5 + rows[:, 0] * 0.5 - rows[:, 3] * 0.2, 4.5 + rows[:, 2] * 0.3 + 0.1 * rows[:, 0]
    own = len(marks.NAMES) - len(strength.tried.NAMES)
    rows[: count // 4, own:] = np.nan
    seen = rows[-1] + 0.1
    seen[1] = np.nan
    if not tries:
        seen[own:] = np.nan
    found = strength.Taught(rows, lifts, delays).tell(seen)
    return short({
        "lift": [found.mean, found.sd, found.shown, *found.lift_c], "delay": found.delay_s, "together": found.together,
        "aims": found.aims(5), "aimed": found.aimed(np.array([3.0, 1.0, 2.0])), "means": found.means,
        "apart": found.apart(found.aims(3), found.means),
    })  # fmt: skip


PARTS = {"nights": nights, "cookers": cookers, "answers": answers, "parts": parts}


if __name__ == "__main__":
    page = {part: {name: told() for name, told in tellings()} for part, tellings in PARTS.items()}
    PAGE.write_text(json.dumps(page, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
