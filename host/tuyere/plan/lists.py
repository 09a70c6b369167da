"""What to buy and have ready, and the warnings: rules with their source, and the usual cautions."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tuyere.meat import regions, safety
from tuyere.meat.cuts import CUTS
from tuyere.meat.doneness import ceiling
from tuyere.meat.water import pressure_at
from tuyere.plan.box import BOX, OVEN, boxes
from tuyere.plan.burning import Burning
from tuyere.plan.buying import Amounts
from tuyere.plan.refuels import lasts
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Caution, Item, Pit
from tuyere.text import Count, Length, Mass, Range, Said, Share, Temperature, Value, Volume, sentences, text

SHEET_M = 2.0  # paper or foil for a piece, m
SALT = 0.012  # of the trimmed mass
CO = (
    "Charcoal makes carbon monoxide, a turned-down fire more: never indoors, in a garage or tent, under a roof, nor "
    "a cooker with embers brought inside. Headache or dizziness near it: into the open air, call for help."
)
FIRE = (
    "Keep it away from walls, wood and dry grass; a way to close every vent by hand; a fire you have never slept "
    "beside needs a watched night first. Burning grease: fan off, vents shut, lid shut, no water."
)


def shopping(
    asked: Asked, own: Sequence[Own], much: Amounts, pits: Sequence[Pit], fuel: Burning, place: str, thaw: int
) -> list[Item]:
    """The list, in the order of the cook. fuel: of all pits; thaw: days in the fridge, from frozen."""
    words = CUTS[asked.cut].words
    kinds = {piece.cut for piece in own}
    meat: Said = ", ".join(piece.name for piece in own)
    if len(kinds) == 1 and not asked.own:
        each = Mass(much.bought / much.pieces)
        meat = text("{words}, {pieces} of {each}", words=words, pieces=much.pieces, each=each)
    raw = text("{mass} raw", mass=Mass(much.bought))
    if asked.own:
        raw = text("your {pieces}, {mass} trimmed", pieces=Count(much.pieces, "piece"), mass=Mass(much.on))
    items = [
        Item(raw,
             text("{meat}; frozen: {days} in the fridge", meat=meat, days=Count(thaw, "day"))),
        Item(text("{mass} charcoal", mass=Mass(fuel.need)),
             text("likely burns {mass}; {fills}", mass=Mass(fuel.likely), fills=_fuel(asked, pits, fuel))),
    ]  # fmt: skip
    if fuel.water >= 0.5:
        water = Volume(float(math.ceil(fuel.water)))
        items.append(Item(text("{water} water for the pan", water=water), "with 15 % more; hot when it is filled up"))
    items.append(Item("a spritz bottle", text("water and cider vinegar in halves, {much}", much=Volume(0.5))))
    if asked.wrap:
        sheet, kind = ("butcher paper", "unwaxed") if asked.wrap == "paper" else ("foil", "strong")
        items.append(
            Item(text("{long} {sheet}", long=Length(SHEET_M * much.pieces), sheet=sheet),
                 text("{kind}, {width} wide, about {long} a piece", kind=kind, width=Length(0.6), long=Length(SHEET_M)))
        )  # fmt: skip
    items.append(
        Item(text("{mass} each of salt and pepper", mass=Mass(SALT * much.on)),
             text("{share} of the trimmed mass of each", share=Share(SALT, 1)))
    )  # fmt: skip
    if place != OVEN:
        count = boxes(own)
        items.append(
            Item(
                f"{count} cool box{'es' * (count > 1)}{', towels' * (place == BOX)}",
                "stand them full of hot water for half an hour",
            )
        )
    items.append(Item("a hand thermometer", "checked in ice water and boiling water"))
    return items


def _fuel(asked: Asked, pits: Sequence[Pit], fuel: Burning) -> Said:
    """What a fill of each cooker does."""
    short = {pit.cooker: pit.fuel.fill for pit in pits if not lasts(pit.light, pit.fuel)}
    said: list[Said] = ["one fill does" if len(pits) == 1 else "one fill of each does"]
    if short:
        said = [
            text("a fill is about {mass}{kind}", mass=Mass(kg), kind=f" ({kind})" * (len(pits) > 1))
            for kind, kg in short.items()
        ]
        said.append("the timetable says when to fill up")
    if asked.fuel is not None:
        lack = fuel.need - asked.fuel
        said.append(text("short of it by {mass}", mass=Mass(lack)) if lack > 0 else "what you have is enough")
    return sentences(said, "; ")


def rules_of(asked: Asked) -> regions.Rules:
    """The food rules that apply."""
    return regions.rules(asked.use, asked.region)


def cautions(asked: Asked, own: Sequence[Own]) -> list[Caution]:
    """Food first, then air and fire."""
    rules = rules_of(asked)
    seen: list[safety.Rule] = [rules.hold, rules.left_out, rules.cooling, rules.reheat, rules.raw]
    for piece in own:
        asks = regions.cautions(rules, piece.intact, piece.mass, asked.use == "trade")
        seen += [one for one in asks if one not in seen]
    found = [Caution(one.text, one.source) for one in seen]
    found.append(Caution(safety.PROBE.text, safety.PROBE.source))
    high: list[Caution] = []
    for cut in dict.fromkeys(piece.cut for piece in own):
        if (caution := _high(asked, cut)) and caution not in high:
            high.append(caution)
    found += high
    found += [Caution(CO), Caution(FIRE)]
    return found


def _high(asked: Asked, cut: str) -> Caution | None:
    """Where water boils too early for the target."""
    one = ceiling(_wanted(cut), pressure_at(asked.altitude))
    if not one.may_never_come:
        return None
    return Caution(sentences([one.words, *one.choices, "The plan takes the first of these."]))


def _wanted(cut: str) -> float:
    low, high = CUTS[cut].target_c
    return (low + high) / 2.0 - 0.5


def done_at(cut: str, altitude: float) -> Value:
    """95-97 C, or what is left of it where water boils early; in F the trade's own 203-206, which is a degree less."""
    low, high = CUTS[cut].target_c
    if target(cut, altitude) < _wanted(cut):
        low = high = target(cut, altitude)
    ends = [Temperature((math.floor(c * 1.8 + 32.0) - 32.0) / 1.8) for c in (low, high)]
    return Range(*ends) if low < high else ends[0]


def target(cut: str, altitude: float) -> float:
    """The target of a cut at this altitude, C: the middle of its usual targets, lower where water boils early."""
    wanted = _wanted(cut)
    one = ceiling(wanted, pressure_at(altitude))
    return wanted if not one.may_never_come else float(math.floor(one.boils_c - 2.0))
