"""Bark: when a piece has its wanted shade, and the window to wrap it, from the two or three shades that were noted.

The shade of a bare piece is taken as a straight line from its going on, a + b t, with a normal prior for a and b and
noted shades that are off by NOISE. So one note leaves a wide window and three a narrow one. The chance that the shade
is reached by t is the chance that the line stands at or above it, in closed form. All numbers: common practice, no
source. Paper stops no browning: what the bare line would gain in `lead` minutes comes under the paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from tuyere.forecast.exchange import Earlier, Known, KnownPiece, Range
from tuyere.text import Clock, Count, Number, Said, text
from tuyere.text import Range as Between

MINUTE, HOUR = 60_000, 3_600_000
PACE, PACE_SD = 8.0 / 7.75, 0.20  # shades an hour; shade 8 after 6 h at one time in ten, after 11 h at another
START_SD = 0.5  # of the line where the piece goes on raw
NOISE = 0.7  # of a noted shade
WANDER = 0.10  # what the line may leave its course by, in an hour after the last note
LEAD_MOST, LEAD_LEAST = 105, 45  # min from the wrap to the wanted shade
LONGEST = 36  # h; a shade that comes later does not come
ODDS = (0.10, 0.50, 0.90)
WEIGHT, TRUSTED = 3.0, (0.5, 2.0)  # of PACE, in cooks; a bark outside of this times the usual is a slip of the notes


class Line:
    """The line as it is known from notes (hours after going on, shade): its mean and spread at any hour."""

    def __init__(self, notes: Sequence[tuple[float, float]], pace: float = PACE) -> None:
        # precision matrix [[p, q], [q, r]] and right side (u, v) of the normal posterior of (a, b)
        p, q, r = START_SD**-2, 0.0, PACE_SD**-2
        u, v = 0.0, pace * PACE_SD**-2
        for t, shade in notes:
            p, q, r = p + NOISE**-2, q + t * NOISE**-2, r + t * t * NOISE**-2
            u, v = u + shade * NOISE**-2, v + t * shade * NOISE**-2
        det = p * r - q * q
        self.saa, self.sab, self.sbb = r / det, -q / det, p / det
        self.a, self.b = self.saa * u + self.sab * v, self.sab * u + self.sbb * v
        self.last = max((t for t, _ in notes), default=0.0)

    def at(self, t: float) -> tuple[float, float]:
        """(mean, standard deviation) of the shade t hours after going on."""
        spread = self.saa + 2.0 * t * self.sab + t * t * self.sbb + (WANDER * max(0.0, t - self.last)) ** 2
        return self.a + self.b * t, math.sqrt(spread)

    def reached(self, wanted: float, odds: float) -> float | None:
        """Hours after going on by which the shade is there with these odds; None if not within LONGEST."""
        z = NormalDist().inv_cdf(odds)

        def short(t: float) -> bool:
            mean, spread = self.at(t)
            return mean - wanted < z * spread

        if short(LONGEST):
            return None
        low, high = 0.0, float(LONGEST)
        while high - low > 1.0 / 120.0:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if short(middle) else (low, middle)
        return high


def own_pace(nights: Sequence[Earlier], cut: str) -> float:
    """Shades an hour before any note: PACE, pulled by the bark of the user's own cooks of that cut. The unit is the
    cook; n of them count n to WEIGHT."""
    by_cook: dict[int, list[float]] = {}
    for night in nights:
        times = night.shade_h * PACE / 8.0
        if night.piece.cut == cut and TRUSTED[0] <= times <= TRUSTED[1]:
            by_cook.setdefault(night.cook, []).append(math.log(times))
    own = [sum(some) / len(some) for some in by_cook.values()]
    return PACE * math.exp(-sum(own) / (WEIGHT + len(own)))


def noted(piece: KnownPiece) -> list[tuple[float, float]]:
    """The shades noted while it lay bare: (hours after going on, shade), oldest first."""
    wrapped = wrapped_at(piece)
    return [
        ((note.at - piece.on_at) / HOUR, note.value)
        for note in piece.notes
        if note.kind == "shade" and note.value is not None and piece.on_at <= note.at
        and (not wrapped or note.at <= wrapped)
    ]  # fmt: skip


def wrapped_at(piece: KnownPiece) -> int:
    """When it was last wrapped, 0 if it lies bare."""
    last = next((note for note in reversed(piece.notes) if note.kind == "wrapped"), None)
    return last.at if last is not None and last.text else 0


def window(known: Known, piece: KnownPiece) -> tuple[Range | None, Said]:
    """(from, best, until) to wrap it, None for no window; and a sentence, "" where there is nothing to say.

    from: LEAD_MOST before the shade at its earliest (10 %); best: `known.lead` before it as likely as not; until:
    LEAD_LEAST before it at its latest (90 %).
    """
    if not piece.on_at or piece.place != "pit":
        return None, ""
    notes, wanted, wrap = noted(piece), piece.wanted_shade, piece.wrap_with or "paper"
    pace = own_pace(known.earlier, piece.cut)
    if (wrapped := wrapped_at(piece)) and notes:
        under = _under(Line(notes, pace), (wrapped - piece.on_at) / HOUR, known.lead)
        said = text(
            "Wrapped at {at}; its shade deepens to about {shade} under the wrap.",
            at=Clock(wrapped), shade=Number(under),
        )  # fmt: skip
        return None, said
    if wrapped or not notes:
        return None, ""
    if notes[-1][1] >= wanted:
        now = max(known.now, piece.on_at + round(notes[-1][0] * HOUR))
        if not piece.wrap_with:
            return None, f"It has its wanted shade, {wanted:g}; it stays bare as planned."
        return Range(now, now, now), f"It has its wanted shade, {wanted:g}: wrap it in {wrap} now."
    line = Line(notes, pace)
    hours = [line.reached(wanted, odds) for odds in ODDS]
    if hours[0] is None:
        return (
            None,
            f"Its shade hardly deepens: {wanted:g} lies more than {LONGEST} h from its start; look at it again.",
        )
    early, likely, late = (piece.on_at + round((LONGEST if h is None else h) * HOUR) for h in hours)
    said = text(
        "Bare, it reaches shade {shade} about {likely} ({range}), judged from {notes}",
        shade=f"{wanted:g}", likely=Clock(likely), range=Between(Clock(early), Clock(late)),
        notes=Count(len(notes), "note"),
    )  # fmt: skip
    if not piece.wrap_with:
        return None, text("{said}; it stays bare as planned.", said=said)
    found = Range(early - LEAD_MOST * MINUTE, likely - round(known.lead * MINUTE), late - LEAD_LEAST * MINUTE)
    found.early, found.late = min(found.early, found.likely), max(found.late, found.likely)
    more = "; another note narrows that" if len(notes) < 3 else ""
    return found, text(
        "{said}{more}. It deepens under {wrap}, so wrap it about {at}.",
        said=said, more=more, wrap=wrap, at=Clock(found.likely),
    )  # fmt: skip


def _under(line: Line, t: float, lead: float) -> float:
    """The shade that a piece wrapped at t comes to: that of the bare line `lead` minutes later."""
    return min(10.0, max(line.at(t)[0], line.at(t + lead / 60.0)[0]))
