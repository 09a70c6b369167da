"""Serving has moved during a cook: what can be done, each choice with its odds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo

import msgspec
from msgspec import Struct, field

from tuyere.cook import say
from tuyere.cook.places import CHILLED, GONE
from tuyere.cook.snapshot import Kitchen
from tuyere.forecast import exchange
from tuyere.meat import regions, safety
from tuyere.meat.hold import PLACES
from tuyere.plan.box import MOST_H, OVEN, hold_hours
from tuyere.plan.draws import forecaster, holder
from tuyere.plan.hot import Heat, Hot, Until, names
from tuyere.plan.joint_odds import all_done, chance, waves
from tuyere.plan.practice import PRACTICE
from tuyere.plan.request import Own
from tuyere.plan.start import carve_begins, must_be_done
from tuyere.plan.times import DAY, HOUR, MINUTE, BadPlan, local, moment, share
from tuyere.plan.timetable_lines import wrapped
from tuyere.plan.under_way import (
    DONE,
    aside,
    awaited,
    in_an_oven,
    is_done,
    is_wrapped,
    left_out,
    own_of,
    read,
    wrapped_now,
)
from tuyere.text import CELSIUS, Clock, Reader, Said, Temperature, band, render, sentences, text

Ahead = Callable[[exchange.Known], list[exchange.PieceAhead]]
UPPER = (129.4, 135.0)  # C, 265-275 F: the upper part of the usual band
LOWER = (107.2, 121.1)  # C, 225-250 F: the usual slower band
FINISH_C = 130.0  # of an oven that finishes what the pit began
BETWEEN = 90 * MINUTE  # from the first wave to the second
SURE = 0.99  # with higher odds nothing has to be quicker
ENOUGH = 0.90  # odds that a slower choice must leave; the default of a plan's start
NARROW = 54  # columns of a page in the narrowest terminal
GAIN = 0.01  # a choice is shown if it raises the odds by this
SOONER = 15 * MINUTE  # or, if no choice is in time, is done this much earlier


class Choice(Struct):
    """A thing to do. odds: ready in time, and hot; likely: when the last piece is done, 0 if that is not known; hold:
    h from the first piece done (or from now) to carving; long: whether that is longer than it keeps hot."""

    name: str
    odds: float
    likely: int
    words: Said
    hold: float = 0.0
    long: bool = False


class Moved(Struct):
    """serve: the new time; done_by: when all pieces must be out, to rest and to be carved; keeps: what a hold that
    begins now lasts, in words; hold: what is not hot until it is carved; best odds first."""

    cook: str
    now: int
    serve: int
    done_by: int
    keeps: str = ""
    hold: list[Said] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)


def choices(
    cook: str, known: exchange.Known, serve: str, oven: bool, ahead: Ahead | None = None, zone: tzinfo | None = None,
    until: Until | None = None, kitchen: Kitchen | None = None,
) -> Moved:  # fmt: skip
    """What can be done in a cook that runs. oven: there is one; kitchen: of the cook, for what oven and pit keep.
    ahead, until: as those of `tuyere.forecast.finish` and `holding`, and these unless given."""
    at = moment(serve, known.now, zone)
    chilled = [p for p in known.pieces if p.place in CHILLED]
    known = msgspec.structs.replace(known, pieces=[p for p in known.pieces if p.place not in GONE and p not in chilled])
    own = {p.id: own_of(p) for p in known.pieces}
    if not own:
        left = f"carved or chilled ({names(chilled)})" if chilled else "carved"
        raise BadPlan(f"All pieces of {cook} are {left}: there is nothing left to move.")
    if not any(p.on_at for p in known.pieces):
        raise BadPlan(f"The meat of {cook} is not on yet: plan again with `tuyere plan --serve ...`.")
    carve = carve_begins(list(own.values()), at)
    hot = Hot.of(known, own, carve, until or holder().until)
    judged = Judged.of(known, own, at, hot, oven, Heat.of(known.limit, kitchen or Kitchen()))
    run: Ahead = ahead or forecaster().ahead
    base = run(known)
    first = judged.as_it_is(base)
    hold = [*left_out(chilled), *hot.words(known, judged.put, judged.heat)]
    found = Moved(cook, known.now, at, judged.by, judged.kept, hold, [first])
    if hot.cold:
        return found
    like = first
    if hot.short:
        like = judged.choice(
            "keep it hot", base, judged.cooled(first.hold) or sentences([ended(said) for said in found.hold])
        )
        found.choices.append(like)
    others = [judged.choice(name, run(changed), words) for name, changed, words in judged.ways(like)]
    if len(own) > 1:
        others.append(judged.waves(base))
    better = [one for one in others if judged.better(one, like)]
    found.choices += sorted(better, key=lambda one: -one.odds)
    return found


@dataclass(frozen=True)
class Judged:
    """What every choice is judged from. by: when all must be out; carve: when carving begins, UTC ms; keeps: h that a
    hold which begins now lasts, `kept` in words."""

    known: exchange.Known
    own: dict[int, Own]
    serve: int
    carve: int
    by: int
    hot: Hot
    oven: bool
    keeps: float
    kept: str
    heat: Heat

    @classmethod
    def of(cls, known: exchange.Known, own: dict[int, Own], serve: int, hot: Hot, oven: bool, heat: Heat) -> Judged:
        """With the hold of all that is not boxed or held yet, in the oven if there is one."""
        place = OVEN if oven else known.hold
        still = [own[p.id] for p in known.pieces if p.place != "box" and not p.held]
        kept_c = heat.kept if place == OVEN else None
        keeps = 0.0
        if still:
            keeps = hold_hours(still, place, known.limit, known.altitude, room=known.room, kept_c=kept_c)
        lasts = f"{keeps:.1f} h or so" if keeps < MOST_H else f"{MOST_H:g} h and more"
        kept = f"{PLACES[place].words.capitalize()} it keeps hot {lasts}." if still else ""
        pieces = list(own.values())
        carve, by = carve_begins(pieces, serve), must_be_done(pieces, serve)
        return cls(known, own, serve, carve, by, hot, oven, keeps, kept, heat)

    def choice(self, name: str, found: Sequence[exchange.PieceAhead], words: Said) -> Choice:
        """All pieces by then, with what is out of the heat and still hot kept so."""
        hold = self._hold(found)
        return Choice(name, all_done(self._each(found, self.by)), self._likely(found), words, hold, self._long(found))

    @property
    def put(self) -> Said:
        """Where a piece that lies in the room is to go, to be hot when it is carved."""
        if self.keeps >= MOST_H:
            return text("put it by then, wrapped, in the oven at {oven}.", oven=self.heat.set_to)
        if self.known.now + round(self.keeps * HOUR) >= self.carve:
            return "box it hot by then, in towels."
        return text(
            "put it by then, wrapped, in an oven at {oven} or in the pit at {held}; a box does not keep it "
            "hot so long.",
            oven=self.heat.set_to,
            held=self.heat.pit_at,
        )

    def cooled(self, hold: float) -> Said:
        """What is done instead of a hold that is too short to be one; else ""."""
        if hold <= MOST_H:
            return ""
        rules = regions.rules(self.known.use, self.known.region)
        return text(
            "{hours} h is too long for a hot hold: cool what is done in flat pieces, and heat it through to {through} "
            "before it is served. {rule} {local}",
            hours=f"{hold:.0f}", through=Temperature(rules.reheat.c or 0.0), rule=rules.cooling.said,
            local=safety.LOCAL,
        )  # fmt: skip

    def as_it_is(self, base: Sequence[exchange.PieceAhead]) -> Choice:
        """Nothing is changed. What is no longer hot when it is carved is not ready."""
        found = self.choice("as it is", base, "Change nothing.")
        if self.hot.cold or self.hot.short:
            found.odds = 0.0
            found.words = sentences([found.words, "What is out of the heat is not hot by then."])
        elif cooled := self.cooled(found.hold):
            found.words = sentences(["Change nothing.", cooled])
        elif found.long:
            found.words = text(
                "Change nothing, and hold the first piece {hours} h. That is too long: leave what is done wrapped in "
                "the pit, at {held} (phase `hold`) once all are, and box it at {time}.",
                hours=f"{found.hold:.1f}", held=self.heat.pit_at,
                time=Clock(self.carve - round(self.keeps * HOUR), day=True),
            )  # fmt: skip
        elif found.hold > 0.5:
            found.words = f"Change nothing, and hold the first piece {found.hold:.1f} h."
        return found

    def better(self, one: Choice, than: Choice) -> bool:
        """Whether it is shown: it is likelier, or sooner if none is in time, or slower so that the hold lasts."""
        if one.odds >= than.odds + GAIN:
            return True
        if than.long and one.hold < than.hold and one.odds >= ENOUGH:
            return True
        return than.odds < GAIN and 0 < one.likely < (than.likely or one.likely + DAY) - SOONER

    def ways(self, like: Choice) -> Iterator[tuple[str, exchange.Known, Said]]:
        """What can be done with what is in the pit: quicker, if anything has to be; slower where the hold is long."""
        known = self.known
        pit = awaited(known)
        if like.odds > SURE:
            warm = all(any(c >= safety.COME_UP_C[1] for c in read(known, p)) for p in pit)  # none is kept lukewarm
            if like.long and warm and known.low > LOWER[0] + 1.0 and not all(is_done(known, p) for p in pit):
                lowered = msgspec.structs.replace(known, low=LOWER[0], high=LOWER[1])
                slower = text("Order the band to {band}: slower, and a shorter hold.", band=band(*LOWER, fives=True))
                yield "band down", lowered, slower
            return
        bare, first = [p for p in pit if not is_wrapped(p)], aside(known)
        if bare:
            words = f"Wrap {names(bare)} now: quicker through the plateau; the bark stays as it is."
            yield "wrap now", wrapped_now(known), words
        if pit and known.low < UPPER[0] - 1.0:
            raised = msgspec.structs.replace(known, low=UPPER[0], high=UPPER[1])
            to = band(*UPPER, fives=True)
            said = text("Order the band to {band}, no higher: above it the bark burns.", band=to)
            yield "band up", raised, sentences([said, *first])
            if bare:
                said = text("Wrap, and raise the band to {band}.", band=to)
                yield "wrap now, band up", wrapped_now(raised), sentences([said, *first])
        if self.oven and pit:
            oven = Temperature(FINISH_C, fives=True)
            said = text("Wrap, and finish in an oven at {oven}: no fire, no fuel, but no smoke either.", oven=oven)
            yield "oven", in_an_oven(known), sentences([said, *first])

    def waves(self, base: Sequence[exchange.PieceAhead]) -> Choice:
        """Half of the pieces at serving, the others 90 min later."""
        own = list(self.own.values())
        half = (len(own) + 1) // 2
        by = self.serve - sum(PRACTICE[o.cut].carve_min for o in own[:half]) * MINUTE
        by -= max(PRACTICE[o.cut].rest_min for o in own) * MINUTE
        odds = waves(self._each(base, by), self._each(base, by + BETWEEN), half)
        words = f"{half} of {len(own)} pieces at the table in time, the others within 90 min after; first done, first "
        found = self.choice("in waves", base, words + "carved.")
        found.odds = odds
        return found

    def _each(self, found: Sequence[exchange.PieceAhead], by: int) -> list[float]:
        """By piece: cold is never ready; out already, or at its target, is done."""
        told = {one.id: one.finish for one in found}
        return [
            0.0 if p.id in self.hot.cold else 1.0 if is_done(self.known, p) else chance(told.get(p.id), by)
            for p in self.known.pieces
        ]

    def _likely(self, found: Sequence[exchange.PieceAhead]) -> int:
        still = {piece.id for piece in self.known.pieces if not is_done(self.known, piece)}
        times = [one.finish.likely if one.finish else 0 for one in found if one.id in still]
        return 0 if 0 in times else max(times, default=self.known.now)

    def _first(self, found: Sequence[exchange.PieceAhead], pieces: Sequence[exchange.KnownPiece]) -> int:
        """When the first of these is done, now if one is; carving if none comes before."""
        if any(is_done(self.known, piece) for piece in pieces):
            return self.known.now
        ids = {piece.id for piece in pieces}
        return min((one.finish.likely for one in found if one.finish and one.id in ids), default=self.carve)

    def _hold(self, found: Sequence[exchange.PieceAhead]) -> float:
        return max(self.carve - self._first(found, self.known.pieces), 0) / HOUR

    def _long(self, found: Sequence[exchange.PieceAhead]) -> bool:
        """Whether a piece that is still to come out is held longer than it keeps hot, or one that is out already."""
        to_come = [piece for piece in self.known.pieces if piece.place not in DONE and not piece.held]
        hours = (self.carve - self._first(found, to_come)) / HOUR
        return bool(self.hot.short or self.hot.cold) or hours > self.keeps < MOST_H or hours > MOST_H


def ended(said: Said) -> Said:
    """With a full stop; what a prompt says has none."""
    return said if say.stopped(render(said, Reader(CELSIUS))) else text("{said}.", said=said)


def page(found: Moved, units: str = "C", zone: tzinfo | None = None, width: int = 80) -> list[str]:
    """The choices as lines of at most `width` columns, NARROW or more. units: F or C."""
    reader = Reader(units.upper(), zone, found.now)
    when = f"{local(found.serve, zone):%a %d %b %H:%M}"
    lines = wrapped(
        f"{found.cook}: serving moves to {when}. All pieces must be out by {local(found.done_by, zone):%a %H:%M}, to "
        f"rest and to be carved; it is {local(found.now, zone):%a %H:%M}. {found.keeps}",
        width,
    )
    for words in (
        *found.hold,
        *(["All but the first choice take that as done."] if found.hold and found.choices[1:] else []),
    ):
        lines += wrapped(render(ended(words), reader), width)
    lines += ["", f"{'choice':18}{'ready':>6}  {'last done':12}{'hold':>7}"]
    for one in found.choices:
        likely = f"{local(one.likely, zone):%a %H:%M}" if one.likely else "may not come"
        hold = f"{one.hold:.1f} h" if one.hold else "none"
        lines.append(f"{one.name:18}{share(one.odds):>6}  {likely:12}{hold:>7}{' too long' * one.long}")
        lines += wrapped(render(one.words, reader), width, "    ", 4)
    return lines
