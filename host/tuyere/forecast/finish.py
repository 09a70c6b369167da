"""When a piece is done: before the cook, and from the evidence of the night.

Done is what the cook goes by and what can be judged later: its probe reads the target. Whether it is tender then is for
the hand (`tuyere.meat.doneness`: feel before temperature, temperature before the fit of the collagen). A piece without
a probe is taken as one that is probed in the middle.
What is not known of it is drawn: see `prior`. All that is kept between two calls are the clouds, and only to save work:
the same question asked of a fresh `Finish` after a while gets nearly the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import msgspec
import numpy as np

from tuyere.forecast import (
    clouds,
    ensemble,
    exchange,
    explained,
    foretold,
    mixed,
    piece_night,
    prior,
    rise,
    steady,
    update,
)
from tuyere.forecast.clouds import Cloud
from tuyere.forecast.ensemble import Doubt, Run, Wrap
from tuyere.forecast.mixed import Mixed
from tuyere.forecast.own import Own
from tuyere.forecast.piece_night import Course
from tuyere.forecast.prior import Array, Belief, Members
from tuyere.meat import piece_slots as at
from tuyere.meat.doneness import ceiling
from tuyere.meat.water import pressure_at
from tuyere.sim import compiled
from tuyere.text import Said, said_of, text

MINUTE, HOUR = 60_000, 3_600_000
REFIT_MS = 10 * MINUTE  # the cloud is drawn in again this long after the last time, or at once when something is noted
CHOICES = 48  # members that are asked what else could be done
TELLS = 6  # readings from which on a piece tells of the pit to the next one
CURVE = 15  # min between two temperatures ahead
WRAP_SD_C = 3.0
BARK_H = (5.5, 0.8)  # hours that the bark has at least before the wrap: 5-8 h, common practice, no source


def before(
    piece: exchange.KnownPiece, pit_c: float, *, pit_sd: float = 4.0, altitude: float = 0.0, wrap_at_c: float = 68.0,
    wrap_h: float | None = None, members: int = 200, seed: int = 1, belief: Belief = prior.SLOW,
) -> list[float]:  # fmt: skip
    """Hours from meat on to done with no evidence, one a member, sorted; inf for one not done in ensemble.LONGEST_H.

    pit_c, pit_sd: mean of the pit's probe over the cook and its spread. wrap_at_c: the probe's reading at the wrap,
    give or take WRAP_SD_C, but not before BARK_H. wrap_h: hours until a wrap whose time is known.
    ValueError, one sentence, for an impossible piece.
    """
    made = prior.members(piece, prior.cloud(members, seed), pit_c, belief=belief)
    r = np.random.default_rng(seed + 1)
    steps = round(ensemble.LONGEST_H * 3600.0 / ensemble.STEP_S)
    pit = ensemble.pit_ahead(members, steps, pit_c, None, seed + 2, ensemble.OPENINGS_H)
    pit += np.sqrt(max(pit_sd**2 - ensemble.LEVEL_C**2, 0.0)) * r.standard_normal(members)[:, None]
    bark = 3600.0 * np.maximum(BARK_H[0] + BARK_H[1] * r.standard_normal(members), 0.0)
    wrap = Wrap(piece_night.kind(piece.wrap_with), bark, wrap_at_c + WRAP_SD_C * r.standard_normal(members))
    if wrap_h is not None:
        wrap = Wrap(wrap.kind, np.full(members, 3600.0 * wrap_h))
    doubt = Doubt(np.zeros(members), r.standard_normal(members), update.DOUBT_C, update.DOUBT_S)
    run = ensemble.ahead(made, pit, wrap, doubt, piece.target, altitude)
    return [float(hours) for hours in np.sort(run.hours)]


def ahead(known: exchange.Known) -> list[exchange.PieceAhead]:
    """What is to come of each piece, with nothing kept from an earlier question."""
    return Finish().ahead(known)


@dataclass
class Kept:
    """Clouds, when they were drawn in, and from what."""

    clouds: list[Cloud]
    at: int
    facts: bytes


@dataclass
class Finish:
    """Forecasts a cook again and again; keeps each piece's clouds. members: 0 for what this machine can do.
    choices: whether to say what else could be done, half of the work."""

    members: int = 0
    choices: bool = True
    _kept: dict[int, Kept] = field(default_factory=dict)
    _own: Own = field(default_factory=lambda: Own(before))
    _beside: list[Cloud] = field(default_factory=list)  # of the piece asked before, of which the pit has told more

    def ahead(
        self, known: exchange.Known, wraps: dict[int, exchange.Range | None] | None = None
    ) -> list[exchange.PieceAhead]:
        """What is to come of each piece, in their order. wraps: their windows to wrap, from the bark. A piece that
        cannot be forecast has words that say why, and nothing else."""
        found = {}
        self._beside = []
        for one in sorted(known.pieces, key=lambda one: -len(update.readings(known, one)[0])):
            try:
                found[one.id] = self._piece(known, one, (wraps or {}).get(one.id))
            except ValueError as wrong:
                found[one.id] = exchange.PieceAhead(one.id, words=[text("No forecast: {why}", why=said_of(wrong))])
        return [found[one.id] for one in known.pieces]

    def _piece(
        self, known: exchange.Known, one: exchange.KnownPiece, window: exchange.Range | None
    ) -> exchange.PieceAhead:
        found = exchange.PieceAhead(one.id)
        if one.place not in ("pit", "oven") or one.held:
            return found
        prior.checked(one)
        top = ceiling(one.target, pressure_at(known.altitude))
        if top.may_never_come:
            found.words = [top.words, *top.choices]
        if not one.on_at or one.on_at > known.now:
            return found
        seat = update.seats(known, one)
        night = Course.of(known, one, seat)
        read = update.compared(known, one, seat)
        some = self._clouds(known, one, night, read)
        if one.place == "pit" and len(read.c) >= TELLS:
            self._beside = some
        some = sorted(some, key=lambda cloud: -cloud.counts)  # the likeliest first
        cooked = [clouds.through(one, cloud.rows, night, known.cooker, cloud.belief) for cloud in some]
        made = prior.joined([members for members, _ in cooked])
        given = [clouds.picked(probes, read.minute) for _, probes in cooked]
        latest = self._latest(known, one, seat)
        if latest is not None and latest >= one.target:
            found.words.insert(0, explained.reached(latest, one.target))
            found.in_time = 1.0 if known.now <= known.done_by else None
            if not prior.feel(one):
                return found
        r = np.random.default_rng(known.seed + 7 * one.id)
        count = len(made.m)
        e = np.concatenate([update.residual(read, some) for some in given]) if len(read.c) else np.zeros(count)
        doubt = Doubt(e, r.standard_normal(count), update.DOUBT_C, update.DOUBT_S)
        pit = night.pit_ahead(count, known.seed + one.id)
        wrap = night.wrap(count, window, known.seed + 3 * one.id)
        start = made.m.copy()
        run = ensemble.ahead(made, pit, wrap, doubt, one.target, known.altitude)
        carried = rise.ahead(known, one, night, wrap, known.seed + 5 * one.id)
        parts = [
            mixed.Part(len(cloud.rows), share, cloud.belief, mixed.misfit(read, its), rise.soaked(night))
            for cloud, share, its in zip(some, clouds.weights(some), given, strict=True)
        ]
        missed = foretold.miss(known, one, night, count, known.seed + 5 * one.id) if carried else mixed.UNKNOWN
        line = steady.line(known, one, night) if carried else None
        both = mixed.mix(run, carried, parts, known.seed + 9 * one.id, missed, line)
        self._fill(found, known, both)
        first = np.arange(len(some[0].rows))
        made, start = prior.few(made, first), start[first]
        run = Run(run.hours[first], run.probes[first], run.wrapped[first])
        found.words += [words for words in (explained.usual(one, read),) if words]
        found.words += explained.state(known, one, seat, made, start, found)
        if self.choices:
            found.words += self._choices(known, one, night, made, start, pit, wrap, doubt, run)
        if not compiled.available():
            found.words.append(f"The forecast is coarser without numba: it looks at {count} courses.")
        found.probe_words = self._place(known, one, night, read, made, start, some[0])
        return found

    def place(self, known: exchange.Known, one: exchange.KnownPiece) -> Said:
        """What `ahead` says of where its probe is, if it is in a pit, with no forecast: a third of the work."""
        seat = update.seats(known, one)
        night, read = Course.of(known, one, seat), update.compared(known, one, seat)
        likeliest = max(self._clouds(known, one, night, read), key=lambda cloud: cloud.counts)
        made, _ = clouds.through(one, likeliest.rows, night, known.cooker, likeliest.belief)
        return self._place(known, one, night, read, made, made.m, likeliest)

    def _place(
        self, known: exchange.Known, one: exchange.KnownPiece, night: Course, read: update.Read, made: Members,
        m: Array, likeliest: Cloud,
    ) -> Said:  # fmt: skip
        early = read.until(explained.EARLY_MIN)
        unread = self._unread(known, one, night, early)
        return explained.probe(known, one, night.seat, made, m, likeliest.rows, early, unread)

    def _clouds(self, known: exchange.Known, one: exchange.KnownPiece, night: Course, read: update.Read) -> list[Cloud]:
        """The clouds as the readings have drawn them in, from the prior each time."""
        told = msgspec.structs.replace(one, name="", place="", notes=[n for n in one.notes if n.kind in night.TOLD])
        place = (known.altitude, known.cooker, known.seed, known.meat_on, known.earlier)
        facts = msgspec.json.encode((told, place, night.seat.now))
        kept = self._kept.get(one.id)
        if kept is not None and kept.facts == facts and 0 <= known.now - kept.at < REFIT_MS:
            return kept.clouds
        beside = self._beside if one.place == "pit" else []
        some = clouds.drawn(known, one, night, read, self.members, self._own.beliefs(known.earlier), beside)
        self._kept[one.id] = Kept(some, known.now, facts)
        return some

    def _unread(self, known: exchange.Known, one: exchange.KnownPiece, night: Course, early: update.Read) -> Array:
        """What members with no evidence, their tips in the middle, would have read at the same times."""
        if not len(early.c):
            return np.empty((0, 0))
        rows = prior.cloud(min(CHOICES, ensemble.size(self.members)), known.seed * 1000 + one.id)
        rows[:, [prior.COLUMN["tip"], prior.COLUMN["tip_before"]]] = -prior.FAR
        night = replace(night, pit=night.pit[: int(early.minute[-1]) + 1])  # the rest of it tells nothing here
        return clouds.picked(clouds.through(one, rows, night, known.cooker, prior.SLOW)[1], early.minute)

    @staticmethod
    def _latest(known: exchange.Known, one: exchange.KnownPiece, seat: update.Seats) -> float | None:
        ats, values = update.readings(known, one)
        late = [c for when, c in zip(ats, values, strict=True) if when >= max(seat.now, known.now - 5 * MINUTE)]
        return float(np.median(late)) if late else None

    @staticmethod
    def _fill(found: exchange.PieceAhead, known: exchange.Known, both: Mixed) -> None:
        """The finish and the curve."""
        early, likely, late = (float(h) for h in mixed.quantiles(both.hours[:, None], both.weights)[:, 0])
        most = ensemble.LONGEST_H
        if known.done_by:
            found.in_time = round(mixed.odds(both, (known.done_by - known.now) / HOUR), 3)
        if not np.isfinite(likely):
            found.words.append(explained.never(float(both.weights @ np.isfinite(both.hours))))
        else:
            late = min(late, most)
            found.finish = exchange.Range(
                *(known.now + max(1, round(60.0 * h)) * MINUTE for h in (early, likely, late))
            )
        end = min(round(60.0 * most), round(60.0 * (late if np.isfinite(late) else most)) + CURVE)
        minute = np.arange(CURVE, end + 1, CURVE)
        found.at = [known.now + int(i) * MINUTE for i in minute]
        low, mid, high = mixed.quantiles(both.probes(minute), both.weights).round(2)
        found.low, found.mid, found.high = low.tolist(), mid.tolist(), high.tolist()

    @staticmethod
    def _choices(
        known: exchange.Known,
        one: exchange.KnownPiece,
        night: Course,
        made: Members,
        start: Array,
        pit: Array,
        wrap: Wrap,
        doubt: Doubt,
        run: Run,
    ) -> list[Said]:
        """What wrapping now, wrapping later and a pit at the top of its band would save; with the same members."""
        if not np.isfinite(np.median(run.hours)) or np.median(run.hours) < explained.WORTH_H:
            return []
        few = np.arange(min(CHOICES, len(start)))
        own = prior.few(made, few)
        half = Doubt(doubt.e[few], doubt.g[few], doubt.size, doubt.fades)

        def hours(changed: Wrap, hotter: float) -> float:
            """Median of what it takes longer than as planned, h."""
            own.m[:] = start[few]
            there = ensemble.ahead(own, pit[few] + hotter, changed, half, one.target, known.altitude)
            most = ensemble.LONGEST_H
            return float(np.median(np.minimum(there.hours, most) - np.minimum(run.hours[few], most)))

        def at_time(seconds: float) -> Wrap:
            return Wrap(wrap.kind or at.PAPER, np.full(len(few), seconds))

        planned = Wrap(wrap.kind, wrap.seconds[few])
        now = later = None
        if not night.wrapped and one.place == "pit":
            now = hours(at_time(night.now_s), 0.0)
            later = hours(at_time(night.now_s + explained.LATER_H * 3600.0), 0.0)
        room = known.high - night.HEAD - night.level
        hotter = hours(planned, room) if room >= 2.0 and one.place == "pit" else None
        return explained.choices(one, now, later, hotter, room)
