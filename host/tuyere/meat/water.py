"""Water and its vapour: plain functions of floats that a compiler can take as they stand.

Saturation pressure: W. Wagner and A. Pruss (1993), the auxiliary equation of IAPWS SR1-86.
Evaporation: the Chilton-Colburn analogy in Stefan's form (vapour blows through still air).
"""

import math

PRESSURE = 101325.0  # Pa
R_VAPOUR = 461.52  # J/kgK


def saturation(t: float) -> float:
    """Pressure of saturated vapour over water at t C, Pa; above the critical point the critical pressure."""
    x = max(0.0, 1.0 - (t + 273.15) / 647.096)
    r = math.sqrt(x)
    x3 = x * x * x
    a = -7.85951783 * x + 1.84408259 * x * r - 11.7866497 * x3
    b = 22.6807411 * x3 * r - 15.9618719 * x3 * x + 1.80122502 * x3 * x3 * x * r
    return 22.064e6 * math.exp((a + b) / (1.0 - x))


def latent(t: float) -> float:
    """Heat of evaporation at t C, J/kg. A parabola through 20, 60 and 100 C, within 0.1 % between."""
    return 2.49934e6 - 2257.5 * t - 1.71875 * t * t


def vapour(w: float, pressure: float) -> float:
    """Partial pressure (Pa) of vapour in air with w kg of water to the kg of dry air."""
    return pressure * w / (0.62198 + w)


def transfer(h: float, air: float, surface: float, pressure: float) -> float:
    """How fast vapour leaves: kg/m2s for one unit of the logarithm in Stefan's form.

    h: convection coefficient, W/m2K; temperatures in C. h / hm = rho cp Le^(2/3), diffusivity
    1.87e-10 T^2.072 / p[atm] m2/s (Marrero and Mason 1972), all at the film temperature.
    """
    film = 0.5 * (air + surface) + 273.15
    rho = pressure / (287.05 * film)
    alpha = 1.8797e-5 * (film / 273.15) ** 1.8 * 101325.0 / pressure
    d = 1.87e-10 * film**2.072 * 101325.0 / pressure
    hm = h / (rho * 1010.0 * (alpha / d) ** 0.6667)
    return hm * pressure / (R_VAPOUR * film)


def wet_flux(h: float, air: float, surface: float, activity: float, pv: float, pressure: float) -> float:
    """Evaporation in kg/m2s from a surface at `surface` C into air whose vapour pressure is pv Pa; never below 0."""
    top = activity * saturation(surface)
    top = min(top, 0.985 * pressure)
    if top <= pv:
        return 0.0
    return transfer(h, air, surface, pressure) * math.log((pressure - pv) / (pressure - top))
