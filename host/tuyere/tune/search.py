"""Settings for a cooker: the best in rehearsed nights among those that stay far from swinging on every member.

All candidates are rehearsed on the same members in the same nights (common random numbers), the poorer ones are left
out and the rest get more nights (successive halving: Karnin, Koren and Somekh, ICML 2013); around the best of the first
round more are drawn. The last one is rehearsed beside the settings that stand now, on nights that chose nothing. Only
a gain that those show beyond doubt is proposed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from hearth.core import Settings

from tuyere.sim.step_response import fit
from tuyere.text import BadValue, Said, Share, text
from tuyere.tune import sensitivity, worlds
from tuyere.tune.cooker import Cooker, Member
from tuyere.tune.in_words import HELD_APART
from tuyere.tune.limits import limits
from tuyere.tune.rehearsed import Came, rehearse

Array = Any  # a numpy array of float64
Progress = Callable[[float, str], None]
RANGES = {"reset": (300.0, 5400.0), "lead": (20.0, 300.0)}  # in units of the field table
GAIN = (40.0, 2000.0)
TUNED = ("gain", *RANGES)
OVER_C, OVER_COST = 3.0, 0.01  # a first arrival further over costs this part of the share for each C beyond
TRIP_COST = 0.2
SHARES = {"first": 0.18, "near": 0.12, "second": 0.14, "third": 0.14, "last": 0.42}  # of all nights
FIRST, NEAR, SECOND, THIRD = 36, 16, 12, 4  # candidates of each round
LEAST_NIGHTS = 200
LEAST_GAIN = 0.004  # of the share: less is not worth a change
WORSE = 0.003  # a member that loses more than this is one too many where they weigh more than LOSERS
LOSERS = 0.15
SURE = 2.0  # standard errors
LIMITS_PART = 0.2  # a trip limit that differs by less than this part of it stays
TRIED_S = 600.0  # an experiment of this length shows how strongly the fan works; without one no gain is raised
FIT_S = 2400.0


@dataclass
class Score:
    """What some settings come to over the nights that chose nothing. in_band_low: 10 % of the nights are below it;
    worst: the mean share of the worst member; back_min: median; over_c: the highest first arrival above the band;
    arrival_min: median; turns: of the fan's direction, an hour; ms, delay_s: margins of the worst member."""

    in_band: float = 0.0
    in_band_low: float = 0.0
    worst: float = 0.0
    arrival_min: float | None = None
    back_min: float | None = None
    over_c: float = 0.0
    turns: float = 0.0
    trips: int = 0
    ms: float = 0.0
    delay_s: float = 0.0
    by_member: list[float] = field(default_factory=list)  # mean share of each


@dataclass
class Found:
    """Proposed settings beside those of before. better: the gain is beyond doubt; else `settings` are those of before,
    and `why` says what is missing. gain, error: mean of the paired differences of the share, and its standard error."""

    settings: Settings
    base: Settings
    before: Score
    after: Score
    better: bool = False
    gain: float = 0.0
    error: float = 0.0
    why: list[Said] = field(default_factory=list)
    nights: int = 0
    stopped: bool = False

    @property
    def changes(self) -> dict[str, tuple[int, int]]:
        """name: (before, after) of every setting that differs, in units of the field table."""
        pairs = {name: (getattr(self.base, name), getattr(self.settings, name)) for name, _ in Settings.NAMES}
        return {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        made = {name: asdict(getattr(self, name)) for name in ("before", "after")}
        rest = {name: getattr(self, name) for name in ("better", "gain", "error", "nights", "stopped")}
        return {**made, **rest, "changes": {name: list(pair) for name, pair in self.changes.items()}}


class Rehearsals:
    """Nights of candidates, each kept; on all cores. `stop` is asked between batches."""

    def __init__(self, cooker: Cooker, seed: int, total: int, progress: Progress, stop: Callable[[], bool]) -> None:
        self.members, self.seed, self.total = cooker.members, seed, total
        self.progress, self.stop = progress, stop
        self.done = 0
        self.stopped = False
        weights = np.array([one.weight for one in self.members])
        self._ends = np.cumsum(weights / weights.sum())

    def pair(self, number: int) -> tuple[int, int]:
        """(member, night) of a place: members as often as they weigh, by the golden ratio's steps, so that any run of
        places has them so; each place its own night."""
        where = (0.5 + number * 0.6180339887498949) % 1.0
        return int(np.searchsorted(self._ends, where)), self.seed * 100000 + number

    def run(self, listed: Sequence[Settings], places: Sequence[int]) -> list[list[Came]]:
        """Every candidate at every place."""
        jobs = [(settings, *self.pair(place)) for settings in listed for place in places]
        begun = self.done

        def one(job: tuple[Settings, int, int]) -> Came | None:
            if self.stopped or self.stop():
                self.stopped = True
                return None
            settings, member, night = job
            return rehearse(self.members[member], night, settings)

        def told(done: int) -> None:
            self.done = begun + done
            self.progress(min(1.0, self.done / self.total), "rehearsing nights")

        made = worlds.each(one, jobs, told)
        size = len(places)
        return [[came for came in made[i * size : (i + 1) * size] if came is not None] for i in range(len(listed))]


def worth(came: Came) -> float:
    """The share in band less what a first arrival far over and a trip cost."""
    return came.in_band - OVER_COST * max(0.0, came.over_c - OVER_C) - TRIP_COST * (came.trips > 0)


def cost(rows: Sequence[Came], who: Sequence[int]) -> float:
    """Of one candidate: its mean worth, the poorer half of the members counted double; higher is better."""
    by: dict[int, list[float]] = {}
    for came, member in zip(rows, who, strict=False):
        by.setdefault(member, []).append(worth(came))
    if not by:
        return -1.0
    means = np.sort([np.mean(values) for values in by.values()])
    weights = np.ones(len(means))
    weights[: (len(means) + 1) // 2] = 2.0
    return float(np.average(means, weights=weights))


def search(
    cooker: Cooker,
    nights: int = 2000,
    seed: int = 1,
    settings: Settings | None = None,
    progress: Progress = lambda part, what: None,
    stop: Callable[[], bool] = lambda: False,
) -> Found:
    """The best settings for a cooker, searched with `nights` rehearsed nights, beside `settings` (None: the defaults).

    stop: asked between nights; True ends the search with the best so far. BadValue for a cooker whose answer to its
    fan is not known, or too few nights.
    """
    base = settings or Settings()
    if nights < LEAST_NIGHTS:
        raise BadValue(f"A search takes at least {LEAST_NIGHTS} rehearsed nights, not {nights}.")
    every = np.array([one.at() for member in cooker.members for one in member.answers])
    if not len(every):
        raise BadValue(
            "The night never held its band for an hour, so how this cooker answers its fan is not known; record a "
            "night that does, or run `tuyere tune --experiment` while the band is held."
        )
    one: Any = base
    most = GAIN[1] if cooker.tried_s >= TRIED_S else min(GAIN[1], float(one.gain))
    progress(0.0, "preparing the rehearsals")
    worlds.cook()
    running = Rehearsals(cooker, seed, nights, progress, stop)
    r = np.random.RandomState(seed)
    listed = [one for one in (within(base, every, most), base) if one is not None]
    listed += drawn(base, every, FIRST - len(listed), r, most)
    if len(listed) == 1:  # no others keep their distance from swinging on every member
        return judged(running, base, base, cooker, every, LEAST_NIGHTS)
    chosen = rounds(running, listed, base, every, nights, r, most)
    return judged(running, chosen, base, cooker, every, nights)


def rounds(
    running: Rehearsals, listed: list[Settings], base: Settings, every: Array, nights: int, r: Any, most: float
) -> Settings:
    """The best of the candidates, by halving and one round of drawing near the best."""
    first = max(4, int(SHARES["first"] * nights / FIRST))
    places = list(range(first))
    rows = running.run(listed, places)
    who = [running.pair(place)[0] for place in places]
    order = ranked(rows, who)
    near = [beside(listed[order[i % 4]], every, r, most) for i in range(NEAR)]
    more = [one for one in near if one is not None]
    listed, rows = listed + more, rows + running.run(more, places)
    for name, keep in (("second", SECOND), ("third", THIRD)):
        order = ranked(rows, who)[:keep]
        listed, rows = [listed[i] for i in order], [rows[i] for i in order]
        count = max(4, int(SHARES[name] * nights / keep))
        fresh = list(range(len(places), len(places) + count))
        places += fresh
        rows = [a + b for a, b in zip(rows, running.run(listed, fresh), strict=True)]
        who = [running.pair(place)[0] for place in places]
        if running.stopped:
            break
    return listed[ranked(rows, who)[0]]


def ranked(rows: Sequence[Sequence[Came]], who: Sequence[int]) -> list[int]:
    """Places of the candidates, the best first."""
    most = max(len(row) for row in rows)
    return sorted(range(len(rows)), key=lambda i: -cost(rows[i], who) if len(rows[i]) == most else 1.0)


def made(base: Settings, **numbers: float) -> Settings:
    """Settings like `base` with some numbers."""
    one: Any = Settings()
    one.set_values(base.values())
    for name, value in numbers.items():
        setattr(one, name, round(value))
    return one


def within(base: Settings, every: Array, most: float) -> Settings | None:
    """The same settings, their gain within the margins; None where no gain is, or they are already."""
    one: Any = base
    span = sensitivity.gains(every, one.reset, one.lead, one.filter)
    if span is None or span[0] <= one.gain <= span[1]:
        return None
    return made(base, gain=min(most, span[1], max(span[0], one.gain)))


def drawn(base: Settings, every: Array, count: int, r: Any, most: float) -> list[Settings]:
    """Candidates all over their ranges, each within its margins; the logarithms evenly."""
    one: Any = base
    found: list[Settings] = []
    for _ in range(8 * count):
        numbers = {name: float(np.exp(r.uniform(np.log(low), np.log(high)))) for name, (low, high) in RANGES.items()}
        part = r.uniform()
        span = sensitivity.gains(every, numbers["reset"], numbers["lead"], one.filter)
        if span is None:
            continue
        low, high = np.log(np.clip(span, GAIN[0], most))
        low = max(low, high - np.log(8.0))  # far below its margin a gain only lets the pit drift
        found.append(made(base, gain=np.exp(low + part * (high - low)), **numbers))
        if len(found) == count:
            break
    return found


def beside(best: Settings, every: Array, r: Any, most: float) -> Settings | None:
    """A candidate near another one, within its margins."""
    one: Any = best
    numbers = {
        name: float(np.clip(getattr(one, name) * np.exp(r.normal(0.0, 0.3)), low, high))
        for name, (low, high) in RANGES.items()
    }
    span = sensitivity.gains(every, numbers["reset"], numbers["lead"], one.filter)
    if span is None:
        return None
    return made(
        best, gain=float(np.clip(one.gain * np.exp(r.normal(0.0, 0.3)), *np.clip(span, GAIN[0], most))), **numbers
    )


def judged(running: Rehearsals, chosen: Settings, base: Settings, cooker: Cooker, every: Array, nights: int) -> Found:
    """The chosen settings, with this cooker's trip limits, beside the base on nights that chose nothing."""
    stopped = running.stopped
    running.stopped, running.stop = False, lambda: False
    chosen = made(chosen, **trip_limits(cooker.members, base))
    count = 24 if stopped else max(40, int(SHARES["last"] * nights / 2))
    places = list(range(50000, 50000 + count))
    before, after = running.run([base, chosen], places)
    who = np.array([running.pair(place)[0] for place in places])
    gains = np.array([worth(b) - worth(a) for a, b in zip(before, after, strict=True)])
    means = {int(i): float(gains[who == i].mean()) for i in np.unique(who)}
    weights = {i: cooker.members[i].weight for i in means}
    found = Found(chosen, base, score(before, who, base, every), score(after, who, chosen, every), stopped=stopped)
    found.nights = running.done
    found.gain = float(gains.mean())
    found.error = float(gains.std(ddof=1) / np.sqrt(len(gains)))
    losers = sum(weights[i] for i in means if means[i] < -WORSE) / sum(weights.values())
    found.why = reasons(found, cooker, losers)
    found.better = not found.why
    if not found.better:
        found.settings = made(base)
    return found


def reasons(found: Found, cooker: Cooker, losers: float) -> list[Said]:
    """What speaks against the proposal; empty where nothing does."""
    why: list[Said] = []
    if not cooker.fits:
        why.append("The model does not explain this night, so nothing is concluded from it.")
    if cooker.was_held is not None and found.before.in_band < cooker.was_held - HELD_APART:
        why.append(
            text(
                "With the present settings these pits stand in the band {held} of the rehearsed nights, and the real "
                "one stood there {was} of its own: they swing where it did not.",
                held=Share(found.before.in_band, 1), was=Share(cooker.was_held, 1),
            )
        )  # fmt: skip
    if found.after.ms > sensitivity.MOST_MS + 0.02:
        why.append("No settings keep their distance from swinging on every pit that explains this night.")
    elif found.gain < LEAST_GAIN or found.gain < SURE * found.error:
        why.append(
            text(
                "No settings held the band clearly better in the rehearsed nights: {gain} more of the time, give or "
                "take {error}.",
                gain=Share(found.gain, 1), error=Share(SURE * found.error, 1),
            )
        )  # fmt: skip
    if losers > LOSERS:
        why.append(text("On {share} of the pits that explain this night they held it worse.", share=Share(losers)))
    if why and cooker.fits and cooker.tried_s < TRIED_S:
        why.append(
            "An experiment tells more of this cooker, and without one no gain above the present one is tried: run "
            "`tuyere tune --experiment` while the band is held."
        )
    return why


def score(rows: Sequence[Came], who: Array, settings: Settings, every: Array) -> Score:
    """Nights of some settings as a score."""
    shares = np.array([one.in_band for one in rows])
    by = [float(shares[who == i].mean()) for i in np.unique(who)]
    margin = sensitivity.worst(every, settings)
    return Score(
        float(shares.mean()), float(np.quantile(shares, 0.1)), min(by),
        median([one.arrival_min for one in rows]), median([one.back_min for one in rows]),
        max(one.over_c for one in rows), float(np.mean([one.turns for one in rows])), sum(one.trips for one in rows),
        margin.ms, margin.delay_s, by,
    )  # fmt: skip


def median(values: Sequence[float | None]) -> float | None:
    """Of those there are; None of none."""
    there = [value for value in values if value is not None]
    return float(np.median(there)) if there else None


def trip_limits(members: Sequence[Member], base: Settings) -> dict[str, int]:
    """Trip limits that follow from all members' answers, the most patient of each; only those that differ clearly."""
    rows: list[dict[str, int]] = []
    for member in members:
        for one in member.answers:
            count = int(FIT_S / one.step_s)
            every = max(1, int(20.0 / one.step_s))
            times = (np.arange(count) + 1.0) * one.step_s
            try:
                rows.append(limits(fit(times[::every].tolist(), one.rise[:count:every].tolist(), 1.0)))
            except ValueError:
                continue
    found = {}
    for name in rows[0] if rows else ():
        value, now = max(row[name] for row in rows), getattr(base, name)
        if abs(value - now) > LIMITS_PART * now:
            found[name] = value
    return found
