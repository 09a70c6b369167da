"""The pieces of one cooker as the script of a simulated cook: each on and wrapped at its time, the pan filled up on the
rounds. The charcoal of a plan is rehearsed with it, and the twin cooks it."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from tuyere.cook.planned import Planned, PlannedPiece
from tuyere.meat import piece_slots
from tuyere.meat.cuts import cut
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat
from tuyere.plan.draws import AIM
from tuyere.plan.paced import drawn_h, held, share
from tuyere.plan.practice import PAN_EVERY_H
from tuyere.plan.times import HOUR
from tuyere.sim import pit_slots as at
from tuyere.sim.script import Script

WRAPS = {"paper": piece_slots.PAPER, "foil": piece_slots.FOIL}
FILLED_UP = 0.5  # kg of water on each round
PANS = ("upright", "cabinet")  # cookers that usually have one; see `tuyere.sim.cookers`
WRAP_S, FILL_S = (90.0, 180.0), (60.0, 120.0)  # that the lid is up for either: common practice, no source
LIT = 0.1  # share of what is filled up that goes on lit, from a few lit pieces on top: common practice, no source
LONGEST_H, NEVER_H = 72.0, 1e9  # of a script


@dataclass(frozen=True)
class Load:
    """A piece, the hours after the first of its pit at which it goes on, and those after which it is wrapped then; None
    to stay bare."""

    meat: PieceOfMeat
    on_h: float = 0.0
    wrap_h: float | None = None
    wrap: str = "paper"


def script(loads: Sequence[Load], cooker: str, low: float, altitude: float, hours: float, seed: int) -> Script:
    """An ordinary cook of `hours` with these pieces, in a band from `low` C on, at an altitude in m."""
    one = Script.draw(seed, hours)
    one.pieces, one.meats, one.altitude_m = [load.meat for load in loads], [], altitude
    one.later = [load.on_h * 3600.0 for load in loads]
    rows = [one.events[i : i + at.EVENT] for i in range(0, len(one.events), at.EVENT)]
    one.events = [number for row in rows if row[at.E_KIND] != at.WRAPPING for number in row]
    for i, load in enumerate(loads, 1):
        if load.wrap_h is not None:
            one.add(at.WRAPPING, (load.on_h + load.wrap_h) * 3600.0, WRAPS[load.wrap], i)
    one.arrival_c = low
    if cooker in PANS:
        for hour in range(PAN_EVERY_H, int(hours) + 1, PAN_EVERY_H):
            one.add(at.PAN_FILL, hour * 3600.0, FILLED_UP)
    return one


def of_plan(plan: Planned, cooker: str, seed: int) -> Script:
    """The cook of a kept plan: its pieces, which the seed makes quick or slow as likely as the plan has them, are put
    on, wrapped and felt at its times, its probes sit where it has them, and its basket is filled up. The fire is lit at
    the script's start. BadValue for a piece that does not exist, ValueError for more than a pit takes."""
    first = min(piece.on or plan.on for piece in plan.pieces)
    hours = math.ceil(min(max((plan.serve - plan.light) / HOUR, 1.0), LONGEST_H))
    low = plan.phases[0].low if plan.phases else Script.arrival_c
    loads = [_load(piece, plan.on, first) for piece in plan.pieces]
    one = script(loads, cooker, low, plan.kitchen.altitude, hours, seed)
    r, meats = random.Random(f"plan {seed}"), random.Random(f"meat {seed}")
    one.meats = [Parameters().drawn(meats) for _ in one.pieces]
    high = plan.phases[0].high if plan.phases else low
    pit = held(cooker, low + AIM * (high - low))
    for piece, load, meat in zip(plan.pieces, loads, one.meats, strict=True):
        wrap = (NEVER_H, piece_slots.BARE) if load.wrap_h is None else (load.wrap_h, WRAPS[load.wrap])
        its_h = drawn_h(r, piece.on or plan.on, piece.done) if len(piece.done) == 3 else 0.0
        one.shares.append(share(load.meat, meat, its_h, pit, plan.kitchen.altitude, wrap) if its_h > 0.0 else 1.0)
    one.probes = [piece.probe for piece in plan.pieces]
    one.felt = [max(piece.feel_at - first, 0) / 1000.0 for piece in plan.pieces]
    one.meat_after = (first - plan.light) / 1000.0
    for wrap_at in sorted({piece.wrap_at for piece in plan.pieces if piece.wrap_at}):
        one.opening(r, (wrap_at - first) / 1000.0, *WRAP_S)
    for filling in plan.fillings:
        one.opening(r, (filling.at - first) / 1000.0, *FILL_S)
        one.add(at.REFUEL, (filling.at - first) / 1000.0, filling.mass, LIT)
    return one


def _load(one: PlannedPiece, usual: int, first: int) -> Load:
    """A piece of a kept plan. usual: when one without its own time goes on; first: when the first does, UTC ms."""
    on = one.on or usual
    meat = PieceOfMeat(
        one.name, one.cut, one.mass or cut(one.cut).kg[1], one.flat, one.point, one.start, one.intact,
        done_c=one.target,
    )  # fmt: skip
    wrap_h = (one.wrap_at - on) / HOUR if one.wrap_at and one.wrap_with in WRAPS else None
    return Load(meat, (on - first) / HOUR, wrap_h, one.wrap_with)
