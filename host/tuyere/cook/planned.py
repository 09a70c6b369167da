"""The plan for the next cook: one file in the data folder. `tuyere plan` writes it, the engine reads it.

The file holds the whole plan. A cook takes the part that is defined here. Times are UTC in whole ms, 0 for "not".
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import msgspec
from msgspec import Struct, field

from tuyere import paths
from tuyere.meat import safety

EARLY = 6 * 3_600_000  # ms before the fire is to be lit from which a cook that begins takes the plan


class Phase(Struct):
    """A row of the programme: its band in C, and its end as `hearth.core.fields` has it (minutes or C)."""

    name: str
    low: float
    high: float
    end_kind: int = 0
    end_value: float = 0.0
    purpose: str = ""  # of programme.PURPOSES
    clock: str = ""  # "06:00": it ends at this time of day; the minutes are counted when it begins


class PlannedPiece(Struct, kw_only=True):
    """A piece as it goes on. mass: trimmed, kg; flat, point: thickness, m, None as the cut has it; start, target: C."""

    name: str
    cut: str = "packer"
    mass: float = 0.0
    flat: float | None = None
    point: float | None = None
    start: float = 5.0
    intact: bool = True
    target: float = 95.5
    probe: int = 0  # 1..3, 0 for none
    wrap_with: str = "paper"
    on: int = 0  # when it goes on, UTC ms; 0: with the plan's first
    wrap_at: int = 0  # when it is wrapped, UTC ms; 0: it stays bare
    feel_at: int = 0  # from when on it is felt, and taken out once done; 0: at any time
    done: list[int] = field(default_factory=list)  # when its batch may be, 10, 50 and 90 %, UTC ms; none: not known
    pit: int = 1  # the number of its cooker


class Filling(Struct):
    """The basket of a cooker is filled up: UTC ms, kg of charcoal, the number of the cooker."""

    at: int
    mass: float
    pit: int = 1


class Kitchen(Struct):
    """Cooker, place and hot hold; fields and values as in `tuyere.cook.kitchen`."""

    cooker: str = ""
    altitude: float = 0.0
    hold: str = "box"
    vented: float = 10.0  # min
    room: float = 20.0  # C where the box stands
    use: str = "home"
    region: str = "other"
    oven_lowest: float | None = None  # C
    oven_error: float = safety.KEEPS_BY  # K
    pit_error: float = safety.PIT_ERROR  # K


class Planned(Struct):
    """What a cook that is begun takes from its plan."""

    name: str
    light: int
    on: int
    serve: int
    pieces: list[PlannedPiece] = field(default_factory=list)
    phases: list[Phase] = field(default_factory=list)
    kitchen: Kitchen = field(default_factory=Kitchen)
    sleep: str = ""  # of the cook, '23:00-06:00' or 'none'; "" in a plan of before it was kept
    fillings: list[Filling] = field(default_factory=list)


def path(home: Path) -> Path:
    """The plan's file in the data folder."""
    return home / "plan.json"


def write(home: Path, plan: bytes) -> None:
    """Store a plan, whole or not at all; it replaces the one before."""
    beside = home / "plan.json.new"
    with open(beside, "wb", opener=paths.private) as out:
        out.write(plan)
        out.flush()
        os.fsync(out.fileno())
    os.replace(beside, path(home))


def due(home: Path, now: int) -> Planned | None:
    """The kept plan if it is for this day or night: from 6 h before its fire is lit until it is served."""
    found = to_come(home, now)
    return found if found is not None and found.light - EARLY <= now else None


def to_come(home: Path, now: int) -> Planned | None:
    """The kept plan if it is not served yet."""
    try:
        found = msgspec.json.decode(path(home).read_bytes(), type=Planned)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return None
    return found if now < found.serve and found.pieces else None


def mark(plan: Planned) -> str:
    """What tells this plan from every other."""
    return hashlib.sha256(msgspec.json.encode(plan)).hexdigest()[:12]
