"""What to buy and have ready, and what to mind: rules with their source, and the usual warnings."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tuyere.meat import safety
from tuyere.meat.cuts import CUTS
from tuyere.meat.doneness import ceiling
from tuyere.meat.water import pressure_at
from tuyere.plan.box import OVEN, boxes
from tuyere.plan.burning import Burning
from tuyere.plan.buying import Amounts
from tuyere.plan.practice import PRACTICE
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Caution, Item
from tuyere.text import CELSIUS, Reader, render, sentences

CO = (
    "Charcoal makes carbon monoxide, a turned-down fire more: never indoors, in a garage or tent, under a roof, nor "
    "a cooker with embers brought inside. Headache or dizziness near it: into the open air, call for help."
)
FIRE = (
    "Away from walls, wood and dry grass; a way to close every vent by hand; a fire you have never slept beside needs "
    "a watched night first. Burning grease: fan off, vents shut, lid shut, no water."
)


def shopping(asked: Asked, own: Sequence[Own], much: Amounts, fuel: Burning, place: str) -> list[Item]:
    """The list, in the order of the cook."""
    words = CUTS[asked.cut].words
    kinds = {piece.cut for piece in own}
    meat = f"{words}, {much.pieces} of {much.bought / much.pieces:.1f} kg" if len(kinds) == 1 and not asked.own else ""
    thaw = max(PRACTICE[piece.cut].days_thaw for piece in own)
    items = [
        Item(f"{much.bought:.1f} kg raw", f"{meat or 'you have them: ' + ', '.join(piece.name for piece in own)}; "
             f"frozen: {thaw:g} day{'s' * (thaw != 1)} in the fridge"),
        Item(f"{fuel.need:.1f} kg charcoal", f"likely burns {fuel.likely:.1f} kg; {_fuel(asked, fuel)}"),
    ]  # fmt: skip
    if fuel.water >= 0.5:
        items.append(Item(f"{math.ceil(fuel.water)} l water for the pan", "with 15 % more; hot when it is filled up"))
    items.append(Item("A spritz bottle", "water and cider vinegar in halves, 0.5 l"))
    if asked.wrap:
        width = "butcher paper, unwaxed, 60 cm wide" if asked.wrap == "paper" else "foil, wide and strong"
        items.append(Item(f"{2 * much.pieces} m {width}", "about 2 m a piece"))
    salt = much.on * 12.0
    items.append(Item(f"{salt:.0f} g salt, as much pepper", "12 g of each a kg"))
    if place != OVEN:
        count = boxes(own)
        items.append(
            Item(f"{count} cool box{'es' * (count > 1)}, towels", "stand them full of hot water for half an hour")
        )
    items.append(Item("A thermometer to read by hand", "checked in ice water and boiling water"))
    return items


def _fuel(asked: Asked, fuel: Burning) -> str:
    have = ""
    if asked.fuel is not None:
        short = fuel.need - asked.fuel
        have = f"; short of it by {short:.1f} kg" if short > 0 else "; what you have is enough"
    refill = "one fill does" if fuel.need <= fuel.fill else f"a fill is about {fuel.fill:.1f} kg: refill on a round"
    return refill + have


def hold_rule(asked: Asked) -> safety.Rule:
    """The hot-hold limit that applies."""
    return safety.hold_limit(asked.use, asked.region)


def cautions(asked: Asked, own: Sequence[Own]) -> list[Caution]:
    """Food first, then air and fire."""
    rule = hold_rule(asked)
    found = [Caution(f"Hot hold: {_words(rule)}", rule.source)]
    seen: list[safety.Rule] = []
    for piece in own:
        seen += [one for one in safety.cautions(piece.intact, piece.mass, asked.use == "trade") if one not in seen]
    found += [Caution(_words(one), one.source) for one in seen]
    cooling = f"Raw meat stays below 5 C until it goes on. {_words(safety.COOLING)}"
    found.append(Caution(cooling, safety.COOLING.source))
    found.append(Caution(_words(safety.PROBE), safety.PROBE.source))
    high = [caution for cut in dict.fromkeys(piece.cut for piece in own) if (caution := _high(asked, cut))]
    found += list({caution.text: caution for caution in high}.values())
    found += [Caution(CO), Caution(FIRE)]
    return found


def _words(rule: safety.Rule) -> str:
    """Metric, as the page turns it."""
    return render(rule.text, Reader(CELSIUS))


def _high(asked: Asked, cut: str) -> Caution | None:
    """Where water boils too early for the target."""
    one = ceiling(_wanted(cut), pressure_at(asked.altitude))
    if not one.may_never_come:
        return None
    said = sentences([one.words, *one.choices, "The plan takes the first of these."])
    return Caution(render(said, Reader(CELSIUS)))


def _wanted(cut: str) -> float:
    low, high = CUTS[cut].target_c
    return (low + high) / 2.0 - 0.5


def band(low: float, high: float) -> str:
    """'121-135 C (250-275 F)'."""
    return f"{low:.0f}-{high:.0f} C ({low * 1.8 + 32.0:.0f}-{high * 1.8 + 32.0:.0f} F)"


def done_words(cut: str, altitude: float) -> str:
    """'95-97 C (203-207 F)', or what is left of it where water boils early."""
    low, high = CUTS[cut].target_c
    if target(cut, altitude) < _wanted(cut):
        low = high = target(cut, altitude)
    f = [str(int(c * 1.8 + 32.0)) for c in (low, high)]  # 203-206 F, as the trade has it
    return f"{low:.0f}-{high:.0f} C ({f[0]}-{f[1]} F)" if low < high else f"{low:.0f} C ({f[0]} F)"


def target(cut: str, altitude: float) -> float:
    """At what a cut is taken out here, C: the middle of its usual targets, lower where water boils early."""
    wanted = _wanted(cut)
    one = ceiling(wanted, pressure_at(altitude))
    return wanted if not one.may_never_come else float(math.floor(one.boils_c - 2.0))
