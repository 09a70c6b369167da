"""Helpers of the meat's tests: bare slabs without the parts that a check leaves out, and cooks in a steady pit."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.meat import piece_slots as at
from tuyere.meat.cooking import PLAN, SERIES, cook
from tuyere.meat.food import LEAN_AND_FAT
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat, lay, slab
from tuyere.meat.slab import step
from tuyere.meat.water import PRESSURE

SIGMA = 5.670374419e-8
NEVER = 1e12


def bare_slab(half_m: float, n: int, graded: float, start_c: float = 100.0) -> tuple[list[float], list[float]]:
    """A slab that only conducts: no juice, no evaporation, no diffusion, no shrinking. (m, q), the head first in m."""
    m, q = slab(3.0, 2.0 * half_m, start_c, LEAN_AND_FAT, Parameters(), n=n, graded=graded)
    q[at.CONVECTION], q[at.JUICE_S], q[at.SHRINK] = 0.0, 1e18, 0.0
    for i in range(n):
        q[at.DRY + 2 * n + i] = 0.0
    return [0.0] * at.SLAB + m, q


def conduct(m: list[float], q: list[float], h: float, dt: float, steps: int) -> None:
    """Cool a bare slab in still surroundings at 0 C by h W/m2K."""
    area = q[at.AREA]
    for _ in range(steps):
        heat = -h * area * m[at.SLAB + at.T0] * dt
        step(m, 0, at.SLAB, q, 0, dt, heat, h * area, at.BARE, 0.0, 0.0, 0.0, PRESSURE, 1e9)


def steady(
    air: float = 121.1, seen: float = 113.0, w: float = 0.1, hours: float = 20.0, dt: float = 60.0
) -> list[float]:
    """A pit that does not change, for `cook`."""
    return [air, seen, w] * int(hours * 3600.0 / dt)


def cooked(
    piece: PieceOfMeat,
    pit: Sequence[float],
    *,
    wrap_h: float | None = None,
    wrap: float = at.PAPER,
    bare_h: float | None = None,
    stop: bool = True,
    dt: float = 60.0,
    parameters: Parameters | None = None,
    pressure: float = PRESSURE,
) -> tuple[list[float], list[float], list[float]]:
    """Cook one piece in a pit: (m, q, its probe each step)."""
    m, q = lay([piece], [parameters] if parameters else [])
    rows = len(pit) // SERIES
    plan = [0.0, NEVER if wrap_h is None else wrap_h * 3600.0, wrap, NEVER if bare_h is None else bare_h * 3600.0]
    plan.append(float(stop))
    assert len(plan) == PLAN
    trace = [0.0] * rows
    cook(m, q, 1, pit, rows, dt, plan, pressure, 1, trace)
    return m, q, trace


def hours_to(trace: Sequence[float], c: float, dt: float = 60.0) -> float:
    """When a probe first read c, hours; an assertion where it never did."""
    found = next((i for i, t in enumerate(trace) if t >= c), None)
    assert found is not None, f"never {c} C, at most {max(trace):.1f}"
    return (found + 1) * dt / 3600.0
