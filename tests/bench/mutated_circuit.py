"""How much of what can go wrong in a net list does the rule check see? Every kind of slip, over the whole circuit.

    python tests/bench/mutated_circuit.py [--seed N] [--count N]

Draws `count` slips (100) out of all of them: a part left out, turned round, worth ten times or a tenth, two pins of a
part exchanged, a pin on another net, two nets joined, two legs exchanged in the stock, a rating a tenth of what it is,
another kind of part that fits the holes. A slip that the check says nothing about must be harmless, and HARMLESS says
why; anything else is missed. The rules were written while looking at even seeds; odd ones are reported.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "hardware"))
from circuit import Circuit, Part
from netlist import build
from rules import check

GOOD = build()
OUTSIDE = {"M2", "B1", "B2", "B3", "B4", "B5", "S1", "LS1", "M3", *(p.ref for p in GOOD.kind("test"))}
# A 1N5822, by its data sheet (read): 40 V, 3 A, 0.525 V, 2 mA at 25 C, 20 mA at 100 C.
SCHOTTKY = {
    "type": "1N5822", "volts": 40, "amps": 3, "drop": 0.525, "theta": 40, "junction": 125, "recovers_ns": 0,
    "leaks": [[25, 2e-3], [100, 20e-3]],
}  # fmt: skip
# A 1N5402, by its data sheet (read): 1.2 V, 20 C/W, 5 uA at 25 C, 500 uA at 100 C; recovers in 1.5 us (from memory).
SLOW = {
    "type": "1N5402", "volts": 200, "drop": 1.2, "theta": 20, "junction": 150, "recovers_ns": 1500,
    "leaks": [[25, 5e-6], [100, 500e-6]],
}  # fmt: skip
RATINGS = ("volts", "amps", "watts", "gate_volts", "supplies", "standoff")
Slip = tuple[str, str, Callable[[], Circuit]]  # kind, words, the circuit with it


def slips(draw: random.Random) -> list[Slip]:
    """All slips but the nets that a pin is moved to, which are drawn."""
    found: list[Slip] = []
    nets = GOOD.nets()
    for ref, part in GOOD.parts.items():
        if ref not in OUTSIDE:
            found.append(("left out", ref, lambda ref=ref: GOOD.without(ref)))  # type: ignore[misc]
        if part.value:
            for times in (10.0, 0.1):
                value = part.value * times
                found.append(
                    ("value", f"{ref} x {times:g}", lambda ref=ref, value=value: GOOD.changed(ref, value=value))  # type: ignore[misc]
                )
        for a, b in combinations(part.pins, 2):
            if part.pins[a] == part.pins[b] or ref in OUTSIDE or same_either_way(part):
                continue
            pins = {**part.pins, a: part.pins[b], b: part.pins[a]}
            found.append(("pins exchanged", f"{ref} {a} {b}", lambda ref=ref, pins=pins: GOOD.changed(ref, pins=pins)))  # type: ignore[misc]
        for pin, net in part.pins.items():
            if GOOD.of(part)["kind"] == "test":
                continue
            to = draw.choice([other for other in nets if other != net])
            found.append(
                ("pin moved", f"{ref}.{pin} to {to}", lambda ref=ref, pin=pin, to=to: GOOD.moved(ref, pin, to))  # type: ignore[misc]
            )
    for _ in range(60):
        a, b = draw.sample(nets, 2)
        found.append(("nets joined", f"{a} with {b}", lambda a=a, b=b: joined(a, b)))  # type: ignore[misc]
    for words, other in (("D4 is a Schottky", SCHOTTKY), ("D4 is a slow rectifier", SLOW)):
        found.append(("another part", words, lambda other=other: GOOD.rated("fast_3a", **other)))  # type: ignore[misc]
    for type_, of in GOOD.stock.items():
        for a, b in combinations(of.get("legs", {}), 2):
            legs = {**of["legs"], a: of["legs"][b], b: of["legs"][a]}
            found.append(("legs", f"{type_} {a} {b}", lambda t=type_, legs=legs: GOOD.rated(t, legs=legs)))  # type: ignore[misc]
        for key in RATINGS:
            if isinstance(of.get(key), int | float):
                worse = of[key] / 10
                found.append(("rating", f"{type_} {key} / 10", lambda t=type_, k=key, w=worse: GOOD.rated(t, **{k: w})))  # type: ignore[misc]
    return found


def same_either_way(part: Part) -> bool:
    """A part that has no right way round: turning it is no slip."""
    return GOOD.of(part)["kind"] in ("resistor", "fuse", "ferrite") or part.type in ("ceramic", "jack")


def joined(keep: str, gone: str) -> Circuit:
    """Two nets that touch."""
    parts = {
        ref: replace(part, pins={pin: keep if net == gone else net for pin, net in part.pins.items()})
        for ref, part in GOOD.parts.items()
    }
    return replace(GOOD, parts=parts)


def seen(slip: Slip) -> bool:
    """Whether the check says anything, or cannot even work the circuit out."""
    try:
        return bool(check(slip[2]()))
    except Exception:  # a circuit that makes no sense at all
        return True


HARMLESS: tuple[tuple[str, str, str], ...] = (
    ("value", r"R1 x .*", "anything from 1 to 100 k turns Q2 on"),
    ("value", r"(C2|C8|C13|C18) x 10", "more decoupling than is needed"),
    ("value", r"C4 x 0.1", "1 nF still cleans the edge"),
    ("value", r"C14 x .*", "10 nF to 1 uF steady the supply's reading"),
    ("rating", r"resistor volts .*", "20 V, where 15 V stand at most"),
    ("rating", r"npn (amps|watts) .*", "50 mA and 60 mW, where 10 mA and 1 mW are met"),
    ("rating", r"schottky_small amps .*", "20 mA, where 1 mA is met"),
    ("rating", r"thyristor volts .*", "50 V, where 22.5 V stand at most"),
    ("rating", r"pico supplies .*", "30 mA, where some 20 mA are drawn"),
    ("rating", r"screw_[23] volts .*", "25 V, where 22.5 V stand at most"),
    ("rating", r"screw_3 amps .*", "1 A, where the servo takes 0.9 A"),
)


def why_harmless(slip: Slip) -> str:
    """The reason, or ""."""
    for kind, pattern, reason in HARMLESS:
        if slip[0] == kind and re.fullmatch(pattern, slip[1]):
            return reason
    return ""


def run(seed: int, count: int) -> tuple[int, list[tuple[Slip, str]]]:
    """(seen, [(not seen, why that is harmless or "")])."""
    draw = random.Random(seed)
    everything = slips(draw)
    drawn = everything if count == 0 else draw.sample(everything, min(count, len(everything)))
    missed = [(slip, why_harmless(slip)) for slip in drawn if not seen(slip)]
    return len(drawn) - len(missed), missed


def main() -> None:
    """Print what was seen and what not."""
    parser = argparse.ArgumentParser(description="slips in the circuit, and which of them the rule check sees")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=100, help="how many slips to draw; 0 takes all")
    parser.add_argument("--smoke", action="store_true", help="20 slips: only to see that it works")
    given = parser.parse_args()
    if given.smoke:
        given.count = 20
    caught, missed = run(given.seed, given.count)
    whole = caught + len(missed)
    print(f"seed {given.seed}: {caught} of {whole} slips are seen ({100 * caught / whole:.1f} %)")
    for (kind, words, _), why in missed:
        print(f"  not seen, {'harmless: ' + why if why else 'MISSED'}: {kind}, {words}")
    print("  " + ", ".join(f"{kind} {n}" for kind, n in Counter(slip[0] for slip, _ in missed).items()))


if __name__ == "__main__":
    main()
