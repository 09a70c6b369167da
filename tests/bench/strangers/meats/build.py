"""Compiles the generators; without numba they run as they are, some hundred times slower."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

try:
    from numba import njit
except ImportError:  # pragma: no cover
    njit = None

PRESSURE_PA = 101325.0
LATENT = 2.36e6  # J/kg, at 60 C (from memory)
RHO = 1050.0  # kg/m3 of raw meat (common value, no source)


def compiled(**options: Any) -> Callable[[Any], Any]:
    """Decorator: compiled by numba, cached beside the file's other caches."""

    def change(function: Any) -> Any:
        return njit(cache=True, **options)(function) if njit else function

    return change


@compiled()
def magnus(t: float) -> float:
    """Saturation pressure of water at t C, Pa: the Magnus form (Alduchov and Eskridge 1996, from memory)."""
    return 610.94 * math.exp(17.625 * t / (t + 243.04))


@compiled()
def bump(t: float, middle: float, width: float) -> float:
    """A share that passes at `middle` C within +- `width` K, per K: its integral over t is 1."""
    x = (t - middle) / width
    return math.exp(-0.5 * x * x) / (width * 2.5066282746)


@compiled()
def squeezed(t: float) -> float:
    """Share of the raw mass that has been pressed out as juice at t C. Common practice, no source: 25 % at 95 C."""
    return 0.12 / (1.0 + math.exp((58.0 - t) / 4.0)) + 0.15 / (1.0 + math.exp((78.0 - t) / 6.0))
