"""An eighth of a brick: heat in three dimensions, and one characteristic drying curve for its whole surface.

The surface holds a shell of water that the inside feeds. While the shell is wetter than critical it evaporates like
free water, below that by a power of its wetness (the characteristic drying curve of van Meel, 1958; from memory).
Convection and radiation are separate. A wrap has air of its own between it and the meat, whose vapour it lets through.
"""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np

from strangers.meats.build import LATENT, RHO, bump, compiled, magnus, squeezed
from strangers.meats.piece import Meat, pace_of

N = 5
DT = 30.0
# A pace: convection W/m2K, emissivity, vapour film kg/m2 s Pa, and the rate at which the inside feeds the shell, 1/s.
PACES = {
    "fast": (4.4, 0.68, 1.0e-8, 0.6e-5),
    "usual": (3.5, 0.61, 1.2e-8, 0.95e-5),
    "slow": (2.9, 0.55, 1.4e-8, 1.3e-5),
}


def cook(meat: Meat, r: random.Random, pit: Any) -> tuple[Any, float]:
    """The probe each minute in `pit` ([minutes, 3]: air C, what is seen C, vapour Pa), and the yield at the end."""
    air_h, shine, vapour, feed = pace_of(PACES, meat.pace)
    c = np.array([
        air_h * math.exp(r.gauss(0.0, 0.10)), shine * math.exp(r.gauss(0.0, 0.05)),
        vapour * math.exp(r.gauss(0.0, 0.18)), feed * math.exp(r.gauss(0.0, 0.35)),
        r.uniform(0.9, 2.0), r.uniform(1.2, 2.0), math.exp(r.gauss(0.0, 0.08)) * 0.47 * meat.share_through,
        1.0e-9 * math.exp(r.gauss(0.0, 0.3)), 15e3 * math.exp(r.gauss(0.0, 0.3)), 0.10 + 0.4 * meat.fat,
        0.70 * (1.0 + 0.6 * meat.injected),
    ])  # fmt: skip
    wide = (meat.mass / RHO / meat.thick / 1.5) ** 0.5
    half = np.array([0.5 * wide * 1.5, 0.5 * wide, 0.5 * meat.thick]) / N
    out = np.empty(len(pit))
    gone = _cook(c, half, meat.start, meat.ice, pit, meat.wrap_min, meat.wrap, abs(meat.off) * (N - 0.5), out)
    return out, 1.0 - gone


@compiled()
def _cook(c, d, start, ice, pit, wrap_min, wrap, tip, out):  # type: ignore[no-untyped-def]
    air_h, shine, vapour, feed, critical, power, k, paper, set_heat, fat, water = (
        c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9], c[10],
    )  # fmt: skip
    t = np.full((N, N, N), start)
    left = np.full((N, N, N), ice)
    lost = np.zeros((N, N, N))
    flow = np.empty((N, N, N))
    volume = (d[0] * d[1] * d[2]) * N**3
    area = (d[0] * d[1] + d[0] * d[2] + d[1] * d[2]) * N * N
    shell, inside = 2.0, water * RHO * volume / area  # kg per m2 of surface
    juice = 0.0
    gone, dripped = 0.0, 0.0
    between = 2000.0  # vapour between meat and wrap, Pa
    size = np.array([d[1] * d[2], d[0] * d[2], d[0] * d[1]])
    for minute in range(len(out)):
        air, seen, vap = pit[minute, 0], pit[minute, 1], pit[minute, 2]
        wrapped = wrap != 0 and minute >= wrap_min
        for _ in range(2):
            wet = min(1.0, max(shell, 0.0) / critical) ** power
            flow[:] = 0.0
            total, by = 0.0, 0.0
            for i in range(N):
                for j in range(N):
                    for n in range(N):
                        here = t[i, j, n]
                        if i < N - 1:
                            q = k * (here - t[i + 1, j, n]) / d[0] * size[0]
                            flow[i, j, n] -= q
                            flow[i + 1, j, n] += q
                        if j < N - 1:
                            q = k * (here - t[i, j + 1, n]) / d[1] * size[1]
                            flow[i, j, n] -= q
                            flow[i, j + 1, n] += q
                        if n < N - 1:
                            q = k * (here - t[i, j, n + 1]) / d[2] * size[2]
                            flow[i, j, n] -= q
                            flow[i, j, n + 1] += q
                        for axis in range(3):
                            if (axis == 0 and i == N - 1) or (axis == 1 and j == N - 1) or (axis == 2 and n == N - 1):
                                outside = vap if not wrapped else between
                                inner = 2.0 * k / d[axis]
                                skin = here
                                e = 0.0
                                for _ in range(3):
                                    a, b = seen + 273.15, skin + 273.15
                                    film = air_h * (air - skin) + shine * 5.67e-8 * (a**4 - b**4)
                                    film_by = air_h + 4.0 * shine * 5.67e-8 * b**3
                                    if wrapped:
                                        film, film_by = 0.82 * film, 0.82 * film_by
                                    p = magnus(skin)
                                    e = vapour * wet * (p - outside)
                                    slope = vapour * wet * p * 0.047
                                    skin += (film - LATENT * e - inner * (skin - here)) / (
                                        film_by + LATENT * slope + inner
                                    )
                                skin = min(skin, 99.5)
                                e = vapour * wet * (magnus(skin) - outside)
                                flow[i, j, n] += inner * (skin - here) * size[axis]
                                total += e * size[axis]
                                by += vapour * wet * size[axis]
            leaves = total
            if wrapped:  # what the meat gives and what the wrap lets through stand in balance
                out_by = (paper if wrap == 1 else 3e-10) * area
                want = (by * between + total + out_by * vap) / (by + out_by) if by + out_by > 0.0 else vap
                between += 0.5 * (min(want, 99000.0) - between)
                leaves = max(out_by * (between - vap), 0.0)
            flux = leaves / area
            fed = feed * max(inside, 0.0) * 0.5
            inside -= fed * DT
            shell += (fed - flux) * DT + 0.45 * juice
            dripped += 0.55 * juice * area
            inside -= juice
            gone += leaves * DT
            if shell > 3.0:
                dripped += (shell - 3.0) * area
                shell = 3.0
            pressed = 0.0
            for i in range(N):
                for j in range(N):
                    for n in range(N):
                        warm = flow[i, j, n] * DT / (d[0] * d[1] * d[2] * RHO)
                        if left[i, j, n] > 0.0 and warm > 0.0:
                            melted = min(left[i, j, n], warm / 230e3)
                            left[i, j, n] -= melted
                            warm -= melted * 230e3
                        here = t[i, j, n]
                        heat = 3250.0 + 110e3 * fat * bump(here, 40.0, 8.0) + set_heat * bump(here, 70.0, 6.0)
                        t[i, j, n] += warm / heat
                        now = squeezed(t[i, j, n])
                        if now > lost[i, j, n]:
                            pressed += (now - lost[i, j, n]) * RHO * d[0] * d[1] * d[2]
                            lost[i, j, n] = now
            juice = pressed / area
        low = min(int(tip), N - 1)
        out[minute] = t[0, 0, low] + (t[0, 0, min(low + 1, N - 1)] - t[0, 0, low]) * (tip - low)
    return (gone + dripped) / (volume * RHO)
