"""What the user's own real cooks say: yield, pace and bark, pulled together with what is usual.

The unit is the cook. Shrinkage of a normal mean: used = (W usual + n own) / (W + n), where W is the weight of what is
usual in cooks (W = spread between cooks / spread of cooks around a user's own mean, squared; both judged, no source).
Simulated cooks and those of other people never count (`logbook/rows.py: Cook.teaches`).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from tuyere.cook import summary, yields
from tuyere.forecast import exchange
from tuyere.measures import percent
from tuyere.meat.cuts import CUTS
from tuyere.plan.draws import forecaster, usual_c
from tuyere.plan.practice import PRACTICE
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR
from tuyere.text import Said, plain

if TYPE_CHECKING:
    from tuyere.logbook import Logbook
    from tuyere.logbook.rows import Event, PieceRow, Trend

WEIGHT = {"yield": 4.0, "pace": 4.0, "bark": 3.0}  # of what is usual, in cooks
DRAWS = 41
LATEST = 8  # cooks looked at
SHADE_AFTER_H = 2.0  # an earlier note says little about the speed
TRUSTED = (0.5, 2.0)  # a pace, or a bark over the usual, outside of this is a slip of the notes
YIELDS = (0.25, 0.85)
BARK_ENDS = ("wrapped", "divided", "in_oven", "out")  # notes after which no shade tells the pace


class Pull(Struct):
    """One number: as usual, of the user's own cooks (None without any), how many those are, and what is used."""

    usual: float
    own: float | None = None
    cooks: int = 0
    used: float = 0.0


@dataclass
class Learnt:
    """cooked: by cut, carved meat as a share of what went on. pace: hours taken over hours forecast. bark: hours to
    shade 8 over those usual for the cut."""

    cooked: dict[str, Pull] = field(default_factory=dict)
    pace: Pull = field(default_factory=lambda: pull(1.0, [], "pace", log=True))
    bark: Pull = field(default_factory=lambda: pull(1.0, [], "bark", log=True))

    def __post_init__(self) -> None:
        for cut in CUTS:
            self.cooked.setdefault(cut, pull(PRACTICE[cut].cooked, [], "yield"))

    def shares(self) -> dict[str, float]:
        """The yields in use, by cut."""
        return {cut: one.used for cut, one in self.cooked.items()}

    def words(self, cut: str) -> list[Said]:
        """What was learnt, a sentence each, or that nothing was."""
        kept = 1.0 - PRACTICE[cut].trim
        found: list[Said] = []
        if (one := self.cooked[cut]).own is not None:
            own, usual, used = (percent(value * kept) for value in (one.own, one.usual, one.used))
            found.append(f"{_cooks(one, 'yield')}: yield {own} of what was bought, usual {usual}, used {used}.")
        if (one := self.pace).own is not None:
            found.append(
                f"{_cooks(one, 'pace')}: they took {one.own:.2f} of the hours forecast; {one.used:.2f} is used."
            )
        if (one := self.bark).own is not None:
            found.append(
                f"{_cooks(one, 'bark')}: shade 8 came in {one.own:.2f} of the usual hours; {one.used:.2f} is used."
            )
        return found or ["No real cook with notes in the logbook yet: yields, pace and bark are the usual ones."]


def _cooks(one: Pull, what: str) -> str:
    cooks = "cook" if one.cooks == 1 else f"{one.cooks} cooks"
    return f"Your {cooks} (the usual counts as {WEIGHT[what]:g})"


def pull(usual: float, own: Sequence[float], what: str, *, log: bool = False) -> Pull:
    """What is usual and each cook's own, pulled together; by their logarithms if told."""
    if not own:
        return Pull(usual, None, 0, usual)
    to, back = (math.log, math.exp) if log else (float, float)
    mean = statistics.fmean(to(value) for value in own)
    weight = WEIGHT[what]
    used = (weight * to(usual) + len(own) * mean) / (weight + len(own))
    return Pull(usual, back(mean), len(own), back(used))


@dataclass(frozen=True)
class Night:
    """How a piece was cooked: the pit's level by its probe, C; in what and how many hours after it went on it was
    wrapped ("", 0: bare); altitude, m."""

    piece: PieceRow
    pit_c: float
    wrap: str
    wrap_h: float
    altitude: float


def usual(night: Night) -> float:
    """The hours that such a night takes by the forecast, the middle of its draws. ValueError for no piece of meat."""
    one = night.piece
    own = Own(
        one.name, one.mass or 0.0, one.cut or "packer", one.flat, one.point, 5.0 if one.start is None else one.start,
        one.intact,
    )  # fmt: skip
    known = exchange.KnownPiece(
        id=one.id,
        name=own.name,
        cut=own.cut,
        mass=own.mass,
        flat=own.flat,
        point=own.point,
        start=own.start,
        intact=own.intact,
        target=one.target,
        wrap_with=night.wrap,
    )
    wrap_c = usual_c(own, night.pit_c, night.altitude, night.wrap_h)
    hours = forecaster().before(
        known, night.pit_c, pit_sd=0.0, altitude=night.altitude, wrap_at_c=wrap_c, members=DRAWS
    )
    return float(sorted(hours)[len(hours) // 2])


def learn(
    book: Logbook, forecast: Callable[[Night], float] | None = None, altitude: Callable[[int], float] = lambda _: 0.0
) -> Learnt:
    """Read the latest real cooks. forecast: as `usual`, None for no pace. altitude(cook): where that was, m."""
    cooked: dict[str, list[float]] = {}
    paces: list[float] = []
    barks: list[float] = []
    for cook in [cook for cook in book.cooks.all() if cook.teaches and cook.ended][-LATEST:]:
        events, parts = book.events.of(cook.id), book.pieces.of(cook.id)
        pieces = _as_they_went_on(parts)
        weighed: dict[str, list[float]] = {}
        for piece in pieces:
            if (share := _yield(piece, parts, events)) is not None:
                weighed.setdefault(piece.cut or "packer", []).append(share)
        for cut, shares in weighed.items():
            cooked.setdefault(cut, []).append(statistics.fmean(shares))
        shades = [speed for piece in pieces if (speed := _bark(piece, events)) is not None]
        if shades:
            barks.append(statistics.geometric_mean(shades))
        taken = [(piece, end) for piece in pieces if (end := _done(piece, events))]
        if taken and forecast is not None:
            trend = book.reading.trend(cook.id)
            high = altitude(cook.id)
            ratios = [_ratio(piece, end, trend, events, high, forecast) for piece, end in taken]
            trusted = [ratio for ratio in ratios if TRUSTED[0] <= ratio <= TRUSTED[1]]
            if trusted:
                paces.append(statistics.geometric_mean(trusted))
    return Learnt(
        {cut: pull(PRACTICE[cut].cooked, own, "yield") for cut, own in cooked.items() if cut in PRACTICE},
        pull(1.0, paces, "pace", log=True),
        pull(1.0, barks, "bark", log=True),
    )


def _of(piece: PieceRow, events: Sequence[Event], kind: str) -> list[Event]:
    """Its events of a kind, oldest first."""
    return sorted((e for e in events if e.kind == kind and e.piece == piece.id), key=lambda e: e.at)


def _as_they_went_on(pieces: Sequence[PieceRow]) -> list[PieceRow]:
    """The weighed pieces, each with the mass that it had before anything was divided off."""
    found = [(piece, yields.raw(yields.parts(piece, pieces))) for piece in yields.wholes(pieces)]
    return [msgspec.structs.replace(piece, mass=mass) for piece, mass in found if mass]


def _yield(piece: PieceRow, pieces: Sequence[PieceRow], events: Sequence[Event]) -> float | None:
    """Carved over what went on, if all that was carved of it was weighed."""
    weighed = yields.carved(yields.parts(piece, pieces), events)
    share = weighed / piece.mass if weighed and piece.mass else 0.0
    return share if YIELDS[0] <= share <= YIELDS[1] else None


def _bark(piece: PieceRow, events: Sequence[Event]) -> float | None:
    """Hours to shade 8 by a straight line from raw through its notes, over those usual for its cut. Notes count while
    it lies whole and bare in the pit: a cut face is raw, and what the paper or an oven did is no pace of the bark."""
    ends = [e.at for e in events if e.piece == piece.id and e.kind in BARK_ENDS and e.at > piece.on_at]
    until = min(ends, default=1 << 62)
    notes = [((e.at - piece.on_at) / HOUR, e.value) for e in _of(piece, events, "shade") if e.value and e.at <= until]
    notes = [(hours, shade) for hours, shade in notes if piece.on_at and hours >= SHADE_AFTER_H]
    if not notes:
        return None
    hours = 8.0 * sum(h * h for h, _ in notes) / sum(h * shade for h, shade in notes)
    usual = PRACTICE.get(piece.cut or "packer", PRACTICE["packer"]).shade_h
    return hours / usual if TRUSTED[0] <= hours / usual <= TRUSTED[1] else None


def _done(piece: PieceRow, events: Sequence[Event]) -> int:
    """When it was done; 0 if that is not known, an oven had a part in it, or it was divided before."""
    its = sorted((e for e in events if e.piece == piece.id), key=lambda e: e.at)
    done = summary.done_at(its, piece.on_at) if piece.on_at else 0
    other = any(e.kind in ("in_oven", "divided") and e.at < done for e in its)
    return 0 if other else done


def _ratio(
    piece: PieceRow,
    end: int,
    trend: Trend,
    events: Sequence[Event],
    altitude: float,
    forecast: Callable[[Night], float],
) -> float:
    """The hours it took over the forecast's hours for such a night; 0 if there is nothing to compare."""
    pit = [t for at, t in zip(trend.at, trend.pit, strict=True) if t is not None and piece.on_at <= at <= end]
    if not pit:
        return 0.0
    wrap = next((e for e in _of(piece, events, "wrapped") if piece.on_at < e.at < end), None)
    what, after = (plain(wrap.text) or "paper", (wrap.at - piece.on_at) / HOUR) if wrap is not None else ("", 0.0)
    try:
        hours = forecast(Night(piece, statistics.median(pit), what, after, altitude))
    except ValueError:  # a piece of an unknown cut teaches nothing
        return 0.0
    return (end - piece.on_at) / HOUR / hours if hours and math.isfinite(hours) else 0.0
