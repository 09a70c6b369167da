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

from tuyere.cook import earlier, yields
from tuyere.cook.earlier import Night
from tuyere.forecast import exchange
from tuyere.measures import percent
from tuyere.meat.cuts import CUTS
from tuyere.plan.draws import forecaster
from tuyere.plan.practice import PRACTICE
from tuyere.text import Said

if TYPE_CHECKING:
    from tuyere.logbook import Logbook
    from tuyere.logbook.rows import Event, PieceRow

WEIGHT = {"yield": 4.0, "pace": 4.0, "bark": 3.0}  # of what is usual, in cooks
TRUSTED = (0.5, 2.0)  # a pace, or a bark over the usual, outside of this is a slip of the notes
YIELDS = (0.25, 0.85)


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


def usual(night: Night) -> float:
    """The hours that such a night takes by the forecast, the middle of its draws. ValueError for no piece of meat."""
    before = forecaster().before
    from tuyere.forecast import own

    return own.usual(msgspec.convert(night, exchange.Earlier, from_attributes=True), before)


def learn(
    book: Logbook,
    forecast: Callable[[Night], float] | None = None,
    altitude: Callable[[int], float] = lambda _: 0.0,
) -> Learnt:
    """Read the latest real cooks. forecast: as `usual`, None for no pace. altitude(cook): where that was, m."""
    cooked: dict[str, list[float]] = {}
    paces: list[float] = []
    barks: list[float] = []
    for cook in earlier.cooks(book):
        events, parts = book.events.of(cook.id), book.pieces.of(cook.id)
        weighed: dict[str, list[float]] = {}
        for piece in earlier.whole(parts):
            if (share := _yield(piece, parts, events)) is not None:
                weighed.setdefault(piece.cut or "packer", []).append(share)
        for cut, shares in weighed.items():
            cooked.setdefault(cut, []).append(statistics.fmean(shares))
        nights = earlier.of(book, cook, altitude(cook.id))
        shades = [ratio for night in nights if (ratio := _bark(night)) is not None]
        if shades:
            barks.append(statistics.geometric_mean(shades))
        if forecast is not None:
            ratios = [ratio for night in nights if (ratio := _ratio(night, forecast)) is not None]
            if ratios:
                paces.append(statistics.geometric_mean(ratios))
    return Learnt(
        {cut: pull(PRACTICE[cut].cooked, own, "yield") for cut, own in cooked.items() if cut in PRACTICE},
        pull(1.0, paces, "pace", log=True),
        pull(1.0, barks, "bark", log=True),
    )


def _yield(piece: PieceRow, pieces: Sequence[PieceRow], events: Sequence[Event]) -> float | None:
    """Carved over what went on, if all that was carved of it was weighed."""
    weighed = yields.carved(yields.parts(piece, pieces), events)
    share = weighed / piece.mass if weighed and piece.mass else 0.0
    return share if YIELDS[0] <= share <= YIELDS[1] else None


def _bark(night: Night) -> float | None:
    """Hours to shade 8 over those usual for its cut; None where they are not known, or a slip."""
    usual_h = PRACTICE.get(night.piece.cut, PRACTICE["packer"]).shade_h
    return _trusted(night.shade_h / usual_h)


def _ratio(night: Night, forecast: Callable[[Night], float]) -> float | None:
    """The hours it took over the forecast's hours for such a night; None if there is nothing to compare, or a slip."""
    if not night.hours:
        return None
    try:
        hours = forecast(night)
    except ValueError:  # a piece of an unknown cut teaches nothing
        return None
    return _trusted(night.hours / hours) if hours else None


def _trusted(ratio: float) -> float | None:
    return ratio if TRUSTED[0] <= ratio <= TRUSTED[1] else None
