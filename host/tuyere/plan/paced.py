"""Simulated meat that takes as long as a plan has it.

A plan's hours are those of the forecast, which takes meat to be slower than the simulated meat is. A twin whose meat
were done hours before its plan would rehearse another night.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from tuyere.meat import cooking
from tuyere.meat import piece_slots as at
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat, lay, take_less
from tuyere.meat.water import pressure_at
from tuyere.plan.draws import LONGEST_H, NEVER_S, STEP_S

# Of a simulated pit with six such pieces in it: K by which the air, and what a piece sees, are above what its probe
# reads, and its vapour, kg/kg. Begun with means of rehearsals, 3 to 7 h after lighting; then moved so that the pieces
# of rehearsed cooks with the seeds 2, 4 and 6 were done in 0.95 to 0.98 of the hours drawn for them (medians by kind).
PITS = {
    "upright": (-5.0, -3.5, 0.11),
    "ceramic": (1.0, -11.0, 0.13),
    "drum": (-6.0, -3.0, 0.09),
    "cabinet": (-1.0, 1.0, 0.18),
    "offset": (-6.5, -10.0, 0.07),
}
SHARES, TRIES = (0.15, 2.0), 4  # looked for between these; the hours go about with a power of the share
Z_90 = 1.2816  # standard deviations to the 90 % quantile of a normal number


def drawn_h(r: random.Random, on: int, done: Sequence[int]) -> float:
    """Hours from going on until done, drawn from the times at 10, 50 and 90 %, UTC ms; no further out than these."""
    z = min(max(r.gauss(0.0, 1.0) / Z_90, -1.0), 1.0)
    low, middle, high = ((one - on) / 3_600_000 for one in done)
    return middle + z * (high - middle if z > 0.0 else middle - low)


def held(cooker: str, pit_c: float) -> list[float]:
    """A simulated pit whose probe reads pit_c, for the kernel: its air, what a piece sees (C), its vapour (kg/kg)."""
    if cooker not in PITS:
        raise ValueError(f"Unknown cooker {cooker!r}; choose one of {', '.join(PITS)}.")
    air, seen, vapour = PITS[cooker]
    return [pit_c + air, pit_c + seen, vapour]


def share(
    meat: PieceOfMeat,
    parameters: Parameters,
    hours: float,
    pit: list[float],
    altitude: float,
    wrap: tuple[float, float],
) -> float:
    """The share of the heat with which this piece is done after `hours` in a pit (`held`). wrap: the hours after which
    it is wrapped, and in what (`piece_slots`)."""
    ends = [(one, math.log(_hours(meat, parameters, one, pit, altitude, wrap) / hours)) for one in SHARES]
    for _ in range(TRIES):
        (least, slow), (most, quick) = ends
        if slow <= 0.0 or quick >= 0.0:
            return least if slow <= 0.0 else most
        one = least * (most / least) ** (slow / (slow - quick))
        off = math.log(_hours(meat, parameters, one, pit, altitude, wrap) / hours)
        ends[0 if off > 0.0 else 1] = (one, off)
    return min(ends, key=lambda end: abs(end[1]))[0]


def _hours(
    meat: PieceOfMeat, parameters: Parameters, one: float, pit: list[float], altitude: float, wrap: tuple[float, float]
) -> float:
    m, q = lay([meat], [parameters])
    take_less(q, 0, one)
    rows = round(LONGEST_H * 3600.0 / STEP_S)
    plan = [0.0, wrap[0] * 3600.0, wrap[1], NEVER_S, 1.0]
    cooking.cook(m, q, 1, pit * rows, rows, STEP_S, plan, pressure_at(altitude), rows, [0.0])
    return m[at.DONE_S] / 3600.0 if m[at.DONE_S] > 0.0 else LONGEST_H
