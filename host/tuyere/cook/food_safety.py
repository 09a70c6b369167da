"""The one rule of food safety: what a piece's readings mean, what must be done, and until when.

Every page asks `decision`, most of them through `look` (the screen and its prompts, `log show`, `plan move`). So all of
them say the same of the same history.

* After it was hot, or out of the heat, meat may be below the hot-hold limit for 2 h in all (USDA, advice to consumers;
  1 h in air above 32.2 C). Then it is thrown away: heating again does not undo what grew. Time that nobody read counts
  too, unless a later reading shows that it stayed hot.
* The come-up counts apart: 10 to 54.4 C within 6 h (USDA FSIS 2021, from memory). Longer, meat that is not whole muscle
  is thrown away, since bacteria are inside it as well. Of whole muscle, whose bacteria are outside, no rule here says
  that it is safe, and the words say so.

The local authority has the last word: the rules that are listed end with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from msgspec import Struct

from tuyere.cook import food_watched
from tuyere.cook.food_history import GAP, HOUR, MINUTE, History, history
from tuyere.cook.food_spells import Columns
from tuyere.cook.food_watched import UP_HIGH, UP_LOW, UP_MS, whole_minutes
from tuyere.cook.noted import Noted
from tuyere.cook.places import GONE
from tuyere.cook.snapshot import Decision, Kitchen
from tuyere.meat import regions, safety
from tuyere.text import Clock, Duration, Length, Said, Temperature, Value, text

# the verdicts of a Decision, the mildest first
COOKING = "cooking"  # in the heat and within its rule, or not on yet
HOT = "hot"  # a reading of the last hour is at the hot-hold limit or above
DOUBT = "doubt"  # hot or in the heat, after a come-up that no rule calls safe
CHILL = "chill"  # it is set out to cool: in the fridge by the rule's time
MEASURE = "measure"  # nobody knows: take its temperature now
HEAT = "heat"  # below the limit, for less than the rule: heat it through at once, or throw it away
THROW_AWAY = "throw_away"  # past the rule
VERDICTS = (COOKING, HOT, CHILL, DOUBT, MEASURE, HEAT, THROW_AWAY)
ASKS = (DOUBT, MEASURE, HEAT, THROW_AWAY)  # those that ask somebody to do something

KEPT, UNDER_WAY, LATE, UNKNOWN = range(4)  # a come-up and its rule
ELSEWHERE = regions.rules()  # of a place that is not known
ASK = HOUR  # a hot reading counts as present for this time; common practice, no source


def decision(had: History, name: str, intact: bool, room: float = 20.0, rules: regions.Rules = ELSEWHERE) -> Decision:
    """What has to be done with a piece, by its history until `had.now`. intact: whole muscle; room: air where it lies,
    C; rules: of its place. ValueError for a room that is no number."""
    allowed = round(safety.left_out_hours(room) * HOUR)
    left = allowed - had.counted
    up = _come_up(had)
    if left <= 0:
        return _past(had, name, allowed, rules)
    if up == LATE and not intact:
        return Decision(THROW_AWAY, 0, had.up_from, _slow(had, name, intact, up, rules), rules.come_up.said)
    past = _by(had, KEPT if intact else up, left)  # of whole muscle a slow come-up is a doubt, and no more
    found = _at_present(had, name, up, allowed, past, rules)
    found.by = _by(had, up, left)
    if up == LATE or (up == UNKNOWN and not intact):
        found.said += _slow(had, name, intact, up, rules)
        if found.verdict in (COOKING, HOT):
            found.verdict, found.why = DOUBT, rules.come_up.said
    return found


def _at_present(had: History, name: str, up: int, allowed: int, by: int, rules: regions.Rules) -> Decision:
    """Within the rules so far: what its last reading shows, or that it is unknown. by: when it must be thrown away."""
    last, limit, why = had.last, Temperature(had.limit), rules.left_out.said
    if last is not None and last[1] < had.limit and (had.hot or had.out):
        return Decision(HEAT, by, had.since, [_heat(had, name, last, by, rules)], why)
    if last is not None and last[1] >= had.limit and (had.now - last[0] <= ASK or not had.out):
        fresh = had.now - last[0] <= ASK
        return Decision(HOT if fresh else COOKING, by, had.since, _been_below(had, allowed), why)
    if had.out:
        since = had.since or had.out
        said = text(
            "Take the temperature of {name}: it was not read since {since}, and may have cooled. At {limit} or "
            "above it is hot still; below, heat it through to {through} at once; past {by} it must be thrown away",
            name=name, since=Clock(since), limit=limit, by=Clock(by),
            through=Temperature(rules.reheat.c or safety.REHEATED_C),
        )  # fmt: skip
        return Decision(MEASURE, by, since, [said], why)
    if up == UNKNOWN and not had.up_to:
        said = text(
            "Take the temperature of {name}: no reading shows that it came to {high} within {time}",
            name=name, high=UP_HIGH, time=Duration(UP_MS / 1000.0),
        )  # fmt: skip
        return Decision(MEASURE, by, last[0] if last else had.on_at, [said], rules.come_up.said)
    return Decision(COOKING, by, 0, [], rules.come_up.said)


def _come_up(had: History) -> int:
    """Whether its come-up kept its rule."""
    if had.up_to and had.up_to - had.up_from <= UP_MS:
        return KEPT
    read_now = not had.up_to and had.up_last and had.now - had.up_last <= GAP
    if had.up_last and had.up_last - (had.up_from if read_now else _up_seen_from(had)) >= UP_MS:
        return LATE  # where its probe came later, it is taken to have gone on cold
    return UNKNOWN if had.up_to or had.now - had.up_from >= UP_MS else UNDER_WAY


def _up_seen_from(had: History) -> int:
    """The latest that its come-up can have begun."""
    return had.up_from if had.up_seen else had.read[0][0]


def _by(had: History, up: int, left: int) -> int:
    """Until when something must be done if nothing changes; 0 if nothing must be done yet."""
    found, last = [], had.last
    if had.since:
        found.append(had.now + left)
    elif last is not None and last[1] >= had.limit and (had.out or had.fall):
        fall = round((last[1] - had.limit) / had.fall * HOUR) if had.fall else 0
        found.append(max(last[0], had.out) + left + fall)
    elif had.out:
        found.append(had.now + left)
    if up == UNDER_WAY:
        found.append(had.up_from + UP_MS)
    return min(found, default=0)


def _past(had: History, name: str, allowed: int, rules: regions.Rules) -> Decision:
    """It was below the limit, or not shown to be above it, for longer than the rule."""
    limit, rule = Temperature(had.limit), Duration(allowed / 1000.0)
    since = Clock(had.since) if had.since else None
    if had.known or (had.last is not None and had.last[1] < had.limit):
        template = "Throw {name} away: it was below {limit} for {time}; the rule allows {rule}"
        said = [text(template, name=name, limit=limit, time=whole_minutes(had.counted), rule=rule)]
    elif since is not None:
        said = [
            text(
                "Throw {name} away: no reading since {since} shows that it stayed at {limit} or above; the rule allows "
                "{rule}",
                name=name, since=since, limit=limit, rule=rule,
            ),
            text(
                "Only a reading of {limit} or more in its middle, taken before it is heated again, would show that it "
                "stayed hot",
                limit=limit,
            ),
        ]  # fmt: skip
    else:
        template = "Throw {name} away: for {time} no reading shows that it was at {limit} or above; the rule allows "
        said = [text(template + "{rule}", name=name, time=whole_minutes(had.counted), limit=limit, rule=rule)]
    return Decision(THROW_AWAY, 0, had.since, [*said, *_undone(rules)], rules.left_out.said)


def _slow(had: History, name: str, intact: bool, up: int, rules: regions.Rules) -> list[Said]:
    """Its come-up took longer than the rule, or nobody knows that it did not, and what to do with the meat.

    That the bacteria of whole muscle are outside: see `safety.NOT_INTACT`. That some people are harmed by less: FDA
    Food Code, highly susceptible populations, from memory.
    """
    values: dict[str, Value] = {"name": name, "low": UP_LOW, "high": UP_HIGH, "rule": Duration(UP_MS / 1000.0)}
    if up == UNKNOWN:
        said = text(
            "No rule calls {name} safe: it is not whole muscle, and no reading shows that it went from {low} to {high} "
            "within {rule}. Throw it away if in doubt",
            **values,
        )
        return [said, *_undone(rules)]
    values["took"] = whole_minutes(had.up_to - _up_seen_from(had) if had.up_to else had.up_last - had.up_from)
    there = "it took {took} from {low} to {high}"
    so_far = there if had.up_to else "it is not at {high} {took} after {low}"
    if not intact:
        said = text("Throw {name} away: it is not whole muscle, and " + so_far + "; the rule allows {rule}", **values)
        return [said, *_undone(rules)]
    return [
        text("No rule calls {name} safe: " + so_far + ", and the rule allows {rule}", **values),
        "Whole muscle carries its bacteria outside, where it was hot long before: ask your local authority, or throw "
        "it away if in doubt, and never serve it to small children, the old, the pregnant or the ill",
        *_undone(rules),
    ]


def _undone(rules: regions.Rules) -> list[Said]:
    return [rules.toxins.said, safety.LOCAL]


def _heat(had: History, name: str, last: tuple[int, float], by: int, rules: regions.Rules) -> Said:
    values: dict[str, Value] = {"name": name, "heat": Temperature(last[1]), "at": Clock(last[0]), "by": Clock(by)}
    if not had.hot:
        template = "{name} was at {heat} at {at}, and nothing heats it: get it into the heat at once, the fire lit "
        return text(template + "again or an oven; past {by} it must be thrown away", **values)
    return text(
        "{name} was at {heat} at {at}, below {limit}: heat it through to {through} at once; past {by} it must be "
        "thrown away",
        limit=Temperature(had.limit), through=Temperature(rules.reheat.c or safety.REHEATED_C), **values,
    )  # fmt: skip


def _been_below(had: History, allowed: int) -> list[Said]:
    if had.known < MINUTE:
        return []
    template = "It was below {limit}, or not shown to be above, for {time} in all; the rule allows {rule}"
    return [
        text(
            template, limit=Temperature(had.limit), time=whole_minutes(had.counted), rule=Duration(allowed / 1000.0)
        )
    ]  # fmt: skip


def ended(found: Decision) -> Decision:
    """The same for a carved piece, or a cook that is over: without the actions that are no longer possible."""
    return found if found.verdict in (DOUBT, THROW_AWAY) else Decision()


def _chill(found: Decision, name: str, now: int, rules: regions.Rules) -> Decision:
    """The same for a piece that is meant to get cold: it must be in the fridge before the rule's time is over.

    Shallow portions, not covered tightly until they are cold: USDA, advice to consumers on leftovers, from memory.
    """
    if found.verdict not in (COOKING, HOT, MEASURE, HEAT):
        return found
    words = text(
        "Put {name} in the fridge by {by}, cut into portions of {thick} at most; past that it must be thrown away",
        name=name, by=Clock(found.by or now), thick=Length(0.05),
    )  # fmt: skip
    return Decision(CHILL, found.by, found.since, [words], rules.left_out.said)


class Meat(Protocol):
    """What is needed of a piece, of a screen or of the logbook."""

    id: int
    name: str
    mass: float | None
    probe: int
    place: str
    held: bool
    on_at: int
    intact: bool
    target: float


class Looked(Struct):
    """All that is said of one piece's safety. safe: what to do and what its readings come to, in sentences; done:
    whether it is done, as far as its probe can say; rules: those that it calls for."""

    decision: Decision
    safe: list[Said]
    done: Said
    rules: list[safety.Rule]


def look(
    piece: Meat, columns: Columns, events: Iterable[Noted], now: int, kitchen: Kitchen, over: bool = False
) -> Looked:
    """At a piece of a cook whose readings and events these are, at `now` (UTC ms). over: the cook has ended."""
    if piece.place == "thrown":
        return Looked(Decision(), [], "", [])
    events, asks = list(events), regions.rules(kitchen.use, kitchen.region)
    decided, seen = Decision(), None
    if piece.on_at:
        had = history(
            piece.on_at, piece.id, piece.probe, columns, events, now, asks.limit, piece.place, kitchen.pit_error
        )
        decided = decision(had, piece.name, piece.intact, kitchen.room, asks)
        if piece.probe:
            read = columns.meats[piece.probe - 1]
            seen = food_watched.watched(piece.on_at, piece.id, columns.at, read, events, had.moved, had.spoiled)
    if over or piece.place in GONE:
        decided = ended(decided)
    elif piece.place == "cooling":
        decided = _chill(decided, piece.name, now, asks)
    safe: list[Said] = list(decided.said)
    done: Said = ""
    if seen is not None:
        safe += food_watched.words(seen, piece.intact, decided.verdict not in (HEAT, THROW_AWAY))
        done = "" if piece.held else food_watched.verdict(seen, piece.target)
    found = food_watched.rules(seen, piece.intact, piece.mass, asks, kitchen.use == "trade")
    if piece.place in ("box", "out") or piece.held:
        found.append(asks.hold)
    if decided.verdict in (CHILL, MEASURE, HEAT, THROW_AWAY) or piece.place == "out":
        found.append(asks.left_out)
    return Looked(decided, safe, done, found)


def listed(found: Iterable[safety.Rule]) -> list[Said]:
    """Each rule once, with its source; the last line is for all of them."""
    said: list[Said] = []
    for rule in found:
        if rule.said not in said:
            said.append(rule.said)
    return [*said, safety.LOCAL] if said else []
