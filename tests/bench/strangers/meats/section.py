"""A section across the grain: heat in two dimensions, a dry crust whose front recedes, fat below.

The half width (symmetric) and the whole thickness are cells. A face cell dries at a front that lies z below the
surface: heat comes through air film and crust, vapour leaves through crust and film. The front recedes by what leaves
and is fed by juice and, while the store lasts, from the inside. The fat cap below slows both. A half-frozen piece melts
in its cells.
"""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np

from strangers.meats.build import LATENT, RHO, bump, compiled, magnus, squeezed
from strangers.meats.piece import Meat, pace_of

NX, NY = 8, 10
DT = 20.0
# A pace: film (convection and radiation, W/m2K), vapour film (kg/m2 s Pa), diffusion through a crust (kg/m s Pa).
PACES = {"fast": (10.6, 1.4e-8, 7.0e-12), "usual": (9.5, 1.9e-8, 8.5e-12), "slow": (8.4, 2.2e-8, 9.0e-12)}


def cook(meat: Meat, r: random.Random, pit: Any) -> tuple[Any, float]:
    """The probe each minute in `pit` ([minutes, 3]: air C, what is seen C, vapour Pa), and the yield at the end."""
    film, vapour, crust = pace_of(PACES, meat.pace)
    c = np.array([
        film * math.exp(r.gauss(0.0, 0.10)), vapour * math.exp(r.gauss(0.0, 0.15)),
        crust * math.exp(r.gauss(0.0, 0.30)), 0.20,
        math.exp(r.gauss(0.0, 0.08)) * (0.46 + 0.1 * meat.injected) * meat.share_through,
        r.uniform(0.002, 0.007), r.uniform(0.5, 0.8),
        1.1e-9 * math.exp(r.gauss(0.0, 0.35)), r.uniform(0.6, 0.9), 0.11 + 0.35 * meat.fat,
        700.0 + 900.0 * meat.injected,
        r.uniform(2.4e-4, 3.4e-4), r.uniform(2.0, 4.0),
    ])  # fmt: skip
    width = 0.5 * (meat.mass / RHO / meat.thick / 1.6) ** 0.5
    out = np.empty(len(pit))
    j = (NY - 1) * min(0.98, max(0.02, 0.5 + 0.5 * meat.off))
    lost = _cook(c, width / NX, meat.thick / NY, meat.start, meat.ice, pit, meat.wrap_min, meat.wrap, j, meat.mass, out)
    return out, 1.0 - lost


@compiled()
def _front(t_was, t_cell, air, vap, film, in_k, crust_r, vapour_r):  # type: ignore[no-untyped-def]
    """Temperature of a front and its evaporation, kg/m2s: heat in = evaporation + conduction, by Newton."""
    heat = 1.0 / (1.0 / film + crust_r)
    t = t_was
    e = 0.0
    for _ in range(3):
        p = magnus(t)
        e = (p - vap) / vapour_r
        slope = p * 17.625 * 243.04 / ((t + 243.04) * (t + 243.04)) / vapour_r
        off = heat * (air - t) - LATENT * e - in_k * (t - t_cell)
        t += off / (heat + LATENT * slope + in_k)
    t = min(t, 99.5)
    return t, (magnus(t) - vap) / vapour_r


@compiled()
def _cook(c, dx, dy, start, ice, pit, wrap_min, wrap, tip, mass, out):  # type: ignore[no-untyped-def]
    film, vapour, crust_d, crust_k, k, cap, share, paper, gap, fat, water, feed, store = (
        c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9], c[10], c[11], c[12],
    )  # fmt: skip
    t = np.full((NX, NY), start)
    frozen = np.full((NX, NY), ice)
    faces = 2 * NX + NY
    z = np.full(faces, 1e-4)
    front = np.full(faces, start + 5.0)
    lost = np.zeros((NX, NY))
    gone = 0.0
    juice_flux = 0.0
    volume = NX * NY * dx * dy
    edge = 2.0 * NX * dx + NY * dy
    flow = np.empty((NX, NY))
    for minute in range(len(out)):
        air, vap = 0.55 * pit[minute, 0] + 0.45 * pit[minute, 1], pit[minute, 2]
        h, extra = film, 0.0
        if wrap != 0 and minute >= wrap_min:
            h = film * (gap if wrap == 1 else 0.9 * gap)
            soaked = 1.0 - math.exp(-(minute - wrap_min) / 50.0)
            extra = (1.0 - 0.7 * (1.0 - soaked)) / paper if wrap == 1 else 1.0 / 4e-10
        for _ in range(3):
            flow[:] = 0.0
            for i in range(NX):
                for j in range(NY):
                    if i < NX - 1:
                        q = k * (t[i, j] - t[i + 1, j]) / dx * dy
                        flow[i, j] -= q
                        flow[i + 1, j] += q
                    if j < NY - 1:
                        q = k * (t[i, j] - t[i, j + 1]) / dy * dx
                        flow[i, j] -= q
                        flow[i, j + 1] += q
            left = 0.0
            fed = share * juice_flux + feed * max(0.0, 1.0 - gone / edge / store)
            for f in range(faces):
                if f < NX:
                    i, j, size, half = f, 0, dx, dy
                elif f < 2 * NX:
                    i, j, size, half = f - NX, NY - 1, dx, dy
                else:
                    i, j, size, half = NX - 1, f - 2 * NX, dy, dx
                resist = z[f] / crust_k
                damp = 1.0 / vapour + z[f] / crust_d + extra
                if f < NX:  # the fat cap
                    resist += cap / 0.20
                    damp += cap / (0.12 * crust_d)
                inner = 2.0 * k / half
                front[f], e = _front(front[f], t[i, j], air, vap, h, inner, resist, damp)
                flow[i, j] += inner * (front[f] - t[i, j]) * size
                z[f] = min(max(z[f] + (e - fed) / water * DT, 1e-4), 0.02)
                left += e * size * DT
            gone += left
            pressed = 0.0
            for i in range(NX):
                for j in range(NY):
                    warm = flow[i, j] * DT / (dx * dy * RHO)  # J/kg
                    if frozen[i, j] > 0.0 and warm > 0.0:
                        melted = min(frozen[i, j], warm / 230e3)
                        frozen[i, j] -= melted
                        warm -= melted * 230e3
                    heat = 3300.0 + 110e3 * fat * bump(t[i, j], 38.0, 7.0) + 12e3 * bump(t[i, j], 66.0, 5.0)
                    t[i, j] += warm / heat
                    now = squeezed(t[i, j])
                    if now > lost[i, j]:
                        pressed += (now - lost[i, j]) * RHO * dx * dy
                        lost[i, j] = now
            juice_flux = pressed / edge / DT
        low = int(tip)
        out[minute] = t[0, low] + (t[0, min(low + 1, NY - 1)] - t[0, low]) * (tip - low)
    whole = 0.0
    for i in range(NX):
        for j in range(NY):
            whole += lost[i, j] * RHO * dx * dy
    return (gone + (1.0 - share) * whole) / (volume * RHO)
