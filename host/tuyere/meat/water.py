"""Water and its vapour, as plain functions of floats that a compiler accepts unchanged.

Saturation pressure: W. Wagner and A. Pruss (1993), the auxiliary equation of IAPWS SR1-86.
Evaporation: the Chilton-Colburn analogy in Stefan's form (vapour blows through still air).
"""

import math

PRESSURE = 101325.0  # Pa
R_VAPOUR = 461.52  # J/kgK
WATER_HEAT = 4180.0  # J/kgK
MOST = 0.985  # limit of the vapour pressure at a surface, as a share of the air's: keeps Stefan's logarithm finite


def saturation(t: float) -> float:
    """Saturation pressure of water vapour at t C, Pa; the critical pressure above the critical point."""
    x = max(0.0, 1.0 - (t + 273.15) / 647.096)
    r = math.sqrt(x)
    x3 = x * x * x
    a = -7.85951783 * x + 1.84408259 * x * r - 11.7866497 * x3
    b = 22.6807411 * x3 * r - 15.9618719 * x3 * x + 1.80122502 * x3 * x3 * x * r
    return 22.064e6 * math.exp((a + b) / (1.0 - x))


def latent(t: float) -> float:
    """Heat of evaporation at t C, J/kg. A parabola through 20, 60 and 100 C, within 0.1 % between them."""
    return 2.49934e6 - 2257.5 * t - 1.71875 * t * t


def vapour(w: float, pressure: float) -> float:
    """Partial pressure of vapour, Pa, in air with w kg of water per kg of dry air at `pressure` Pa."""
    return pressure * w / (0.62198 + w)


def boiling(pressure: float) -> float:
    """Boiling point of water at `pressure` Pa (1 to 400 kPa), C."""
    t = 100.0
    for _ in range(20):
        p = saturation(t)
        slope = p * latent(t) / (R_VAPOUR * (t + 273.15) * (t + 273.15))
        t += (pressure - p) / slope
    return t


def pressure_at(altitude: float) -> float:
    """Pressure of the standard atmosphere (ISO 2533) at `altitude` m (-500 to 5000), Pa."""
    return PRESSURE * (1.0 - 2.25577e-5 * altitude) ** 5.25588


def transfer(h: float, air: float, surface: float) -> float:
    """Mass transfer coefficient of vapour: kg/m2s per unit of the logarithm in Stefan's form.

    h: convection coefficient, W/m2K; temperatures in C. h / hm = rho cp Le^(2/3) (Chilton-Colburn), diffusivity
    1.87e-10 T^2.072 / p[atm] m2/s (Marrero and Mason 1972), air's 1.8797e-5 (T/273.15)^1.8 / p[atm] m2/s for heat,
    all at the film temperature T. With the density of air and the gas law the pressure cancels, and so does most of the
    temperature: (R_air / (cp R_vapour)) Le^(-2/3).
    """
    return h * 2.38944e-4 * (0.5 * (air + surface) + 273.15) ** 0.181333


def wet_flux(h: float, air: float, surface: float, activity: float, pv: float, pressure: float) -> float:
    """Evaporation from a surface at `surface` C into air with a vapour pressure of pv Pa, kg/m2s; at least 0."""
    top = min(activity * saturation(surface), MOST * pressure)
    if top <= pv:
        return 0.0
    return transfer(h, air, surface) * math.log((pressure - pv) / (pressure - top))
