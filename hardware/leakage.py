"""The rules on leakage: what flows through a diode or a switch that blocks must not look like something else.

The firmware takes the drain of Q1 for a blower's from half of the supply on, for a shorted switch's below a fifth
(`hearth/drivers/sense.py`). Without a blower only R35, 100 k, holds it at a third: there 10 uA are 0.36 V.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from circuit import Circuit, Part
from hearth.drivers.sense import BLOWER, NO_BLOWER
from stress import AMBIENT, LEAST, OPEN, voltages

BELOW = 0.85  # a voltage that must not be mistaken for the next higher one stays below this share of the limit
SPREAD = 1.04  # two readings compared, each by a divider of 1 % resistors: 4 x 1 % x 47 / 55.2, and the ADC


def leak(of: Mapping[str, Any], celsius: float = AMBIENT) -> float:
    """A through a part that blocks, at most: its logarithm on the line through the two points of its data sheet.

    Taken at the rated voltage, five to twelve times what stands there; no sheet states it for less.
    """
    (cold, low), (hot, high) = of["leaks"]
    return float(low * math.exp(math.log(high / low) * (celsius - cold) / (hot - cold)))


def drain_without_a_blower(
    circuit: Circuit, switch: Part, supply: float = LEAST, celsius: float = AMBIENT
) -> tuple[float, float]:
    """(least, most) V at the drain of a fed and open `switch` with no blower: the switch leaks, or the diode does.

    The lower the supply, the more a leak counts. KeyError if nothing holds the drain.
    """
    drain = switch.pins["D"]
    failed = {p.ref: OPEN for p in circuit.kind("load") if circuit.of(p).get("wires") == 2}
    up = {d.ref: leak(circuit.of(d), celsius) for d in circuit.kind("diode") if d.pins["A"] == drain}
    down = {switch.ref: leak(circuit.of(switch), celsius)}
    least, most = (voltages(circuit, "fed", supply, 2, failed, leaks)[drain] for leaks in (down, up))
    return least, most


def leakage_is_stated(circuit: Circuit) -> Iterator[str]:
    """Each part that blocks at the drain, or keeps the fan's 12 V off, says how much it leaks."""
    for part in _that_count(circuit):
        if "leaks" not in circuit.of(part):
            yield f"{part.ref}: nothing says how much it leaks, and the drain is read past 100 k; choose another type."


def plug_out_is_seen(circuit: Circuit) -> Iterator[str]:
    """In a hot box, with every part as leaky as it may be, a drain without a blower looks like nothing else."""
    if list(leakage_is_stated(circuit)):
        return
    for switch in circuit.kind("nmos"):
        try:
            least, most = drain_without_a_blower(circuit, switch)
        except KeyError:
            yield f"{switch.ref}: without a blower nothing holds its drain; fit R35 and R25."
            continue
        for diode in (d for d in circuit.kind("diode") if d.pins["A"] == switch.pins["D"]):
            if most > LEAST / 2 * BELOW:
                yield (
                    f"{diode.ref}: leaks {leak(circuit.of(diode)) * 1e6:.0f} uA in a box of {AMBIENT:.0f} C, so "
                    f"without a blower the drain stands at {min(most, LEAST):.1f} of {LEAST:.1f} V and looks "
                    "like one; fit a fast silicon diode, no Schottky."
                )
        if least < LEAST / 5 * SPREAD:
            yield (
                f"{switch.ref}: leaks {leak(circuit.of(switch)) * 1e6:.0f} uA in a box of {AMBIENT:.0f} C, so "
                f"without a blower the drain stands at {max(least, 0.0):.1f} of {LEAST:.1f} V and looks shorted."
            )


def resting_supply_is_off(circuit: Circuit) -> Iterator[str]:
    """What leaks through the switch of the fan's 12 V does not look as if it were shorted, a fan plugged in or not."""
    if list(leakage_is_stated(circuit)):
        return
    loads = [p.ref for p in circuit.kind("load") if circuit.of(p).get("wires")]
    for switch in (p for p in circuit.kind("pmos") if p.pins["D"] != "12V_fused"):
        leaks = {switch.ref: leak(circuit.of(switch))}
        for low in circuit.kind("nmos"):
            for wires, part_of in ((2, BLOWER), (4, NO_BLOWER)):
                plugged, out = (
                    voltages(circuit, "rest", LEAST, wires, failed, leaks).get(low.pins["D"], 0.0)
                    for failed in ({}, dict.fromkeys(loads, OPEN))
                )
                if max(plugged, out) > LEAST / part_of * BELOW:
                    yield (
                        f"{switch.ref}: leaks so much that with a fan of {wires} wires at rest the drain stands at "
                        f"{min(max(plugged, out), LEAST):.1f} of {LEAST:.1f} V, as if it were shorted."
                    )


def _that_count(circuit: Circuit) -> list[Part]:
    drains = [p.pins["D"] for p in circuit.kind("nmos")]
    blocks = [d for d in circuit.kind("diode") if d.pins["A"] in drains]
    return [*blocks, *circuit.kind("nmos"), *(p for p in circuit.kind("pmos") if p.pins["D"] != "12V_fused")]


RULES = (leakage_is_stated, plug_out_is_seen, resting_supply_is_off)
