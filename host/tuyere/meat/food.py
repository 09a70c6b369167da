"""Density, heat capacity and conductivity of meat from its composition (Choi-Okos).

Y. Choi and M. Okos (1986), as tabled in the ASHRAE Handbook Refrigeration, "Thermal
properties of foods"; t in C, valid -40..150 C. The handbook gives the slope of
fat's conductivity as -2.7604e-4. Public copies often carry -2.7604e-3, a misprint.
"""

from __future__ import annotations

from typing import NamedTuple

# component: (conductivity W/mK, density kg/m3, heat capacity J/kgK), each as c0 + c1 t + c2 t^2
COMPONENTS: dict[str, tuple[tuple[float, float, float], ...]] = {
    "water": ((0.57109, 1.7625e-3, -6.7036e-6), (997.18, 3.1439e-3, -3.7574e-3), (4176.2, -9.0864e-2, 5.4731e-3)),
    "protein": ((0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.5184, 0.0), (2008.2, 1.2089, -1.3129e-3)),
    "fat": ((0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0.0), (1984.2, 1.4733, -4.8008e-3)),
    "carbohydrate": ((0.20141, 1.3874e-3, -4.3312e-6), (1599.1, -0.31046, 0.0), (1548.8, 1.9625, -5.9399e-3)),
    "ash": ((0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0.0), (1092.6, 1.8896, -3.6817e-3)),
}

LEAN = {"water": 0.740, "protein": 0.215, "fat": 0.034, "ash": 0.011}  # shares by mass, assumed
LEAN_AND_FAT = {"water": 0.650, "protein": 0.185, "fat": 0.155, "ash": 0.010}
FAT_CAP = {"water": 0.180, "protein": 0.050, "fat": 0.767, "ash": 0.003}
COOKED = {"water": 0.580, "protein": 0.290, "fat": 0.120, "ash": 0.010}


class Properties(NamedTuple):
    """A mix at one temperature. `along` and `across` bound the conductivity; `middle` is their geometric mean."""

    density: float  # kg/m3
    heat: float  # J/kgK
    along: float  # W/mK, layers along the heat flow
    across: float  # W/mK, layers across it
    middle: float  # W/mK


def properties(mix: dict[str, float], t: float) -> Properties:
    """Properties of `mix` (shares by mass, summing to 1) at t C. ValueError on an unknown part or a wrong sum."""
    if abs(sum(mix.values()) - 1.0) > 1e-6:
        raise ValueError(f"The shares of a mix must sum to 1; these sum to {sum(mix.values()):g}.")
    volume = heat = 0.0
    parts = []
    for name, share in mix.items():
        if name not in COMPONENTS:
            raise ValueError(f"Unknown part of a food: {name!r}; use one of {', '.join(COMPONENTS)}.")
        k, rho, cp = (c[0] + c[1] * t + c[2] * t * t for c in COMPONENTS[name])
        volume += share / rho
        heat += share * cp
        parts.append((share / rho, k))
    along = sum(v / volume * k for v, k in parts)
    across = 1.0 / sum(v / volume / k for v, k in parts)
    return Properties(1.0 / volume, heat, along, across, (along * across) ** 0.5)
