"""No geometry: a skin that takes heat and dries out of a store of water, and a chain of lags from skin to middle.

The store is drawn so that the plateau lasts what is wanted, 2 to 6 h bare. A second, quicker path past part of the
chain stands for seams, bone or a thin place. The last part of the rise is slowed by collagen that takes up heat.
"""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np

from strangers.meats.build import bump, compiled
from strangers.meats.piece import Meat, pace_of

LAGS = 5
DT = 60.0
# A pace: time constant of the whole piece towards the pit (h), hours that the plateau adds, share of the cooling left
# under paper at 95 C.
PACES = {"fast": (2.5, 3.2, 0.20), "usual": (3.0, 4.6, 0.25), "slow": (3.5, 6.0, 0.28)}


def cook(meat: Meat, r: random.Random, pit: Any) -> tuple[Any, float]:
    """The probe each minute in `pit` ([minutes, 3]: air C, what is seen C, vapour Pa), and the yield at the end."""
    tau, stall, under = pace_of(PACES, meat.pace)
    scale = (meat.mass / 5.5) ** 0.30 * (meat.thick / 0.055) ** 0.5
    c = np.array([
        3600.0 * tau * scale * math.exp(r.gauss(0.0, 0.10)),
        3600.0 * min(6.5, max(2.0, stall * math.exp(r.gauss(0.0, 0.22)))) * (1.0 + 1.5 * meat.injected),
        600.0 * scale * scale * math.exp(r.gauss(0.0, 0.25)) / meat.share_through,
        r.uniform(64.0, 72.0), r.uniform(0.0, 0.25), under * math.exp(r.gauss(0.0, 0.30)),
        r.uniform(3.0, 9.0), r.uniform(0.04, 0.07), abs(meat.off),
    ])  # fmt: skip
    out = np.empty(len(pit))
    evaporated = _cook(c, meat.start, meat.ice, pit, meat.wrap_min, meat.wrap, out)
    return out, 0.76 - 0.17 * evaporated


@compiled()
def _cook(c, start, ice, pit, wrap_min, wrap, out):  # type: ignore[no-untyped-def]
    tau, stall, lag, level, aside, under, set_k, steep, off = (
        c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8],
    )  # fmt: skip
    chain = np.full(LAGS, start)
    skin, store = start, 1.0
    frozen = ice * 70.0  # K of the skin's own heat capacity that melting takes
    for minute in range(len(out)):
        pull = 0.5 * (pit[minute, 0] + pit[minute, 1])
        damp = pit[minute, 2] / 20000.0
        heat = (pull - skin) / tau  # K/s of the whole piece
        full = (pull - level) / tau  # what holds it at its plateau
        wet = math.exp(steep * (skin - level)) * (1.15 - 0.3 * damp)
        dry = min(1.0, 2.5 * store) if store < 0.4 else 1.0
        cool = full * min(wet, 1.3) * dry
        if wrap != 0 and minute >= wrap_min:
            cool *= under * (1.6 if minute - wrap_min < 40 else 1.0) if wrap == 1 else 0.04
            cool *= 1.0 + 0.6 * max(0.0, skin - 80.0) / 15.0
            heat *= 0.92
        elif skin > level:
            cool *= 1.0 + 0.5 * min(1.0, (skin - level) / 25.0)
        store = max(store - 1.0 * cool / full / stall * DT, 0.08)
        rise = (heat - cool) * DT / (1.0 + set_k * 3.0 * bump(skin, 80.0, 7.0))
        if frozen > 0.0 and rise > 0.0:
            melted = min(frozen, 0.8 * rise)
            frozen -= melted
            rise -= melted
        skin += rise
        before = skin
        for i in range(LAGS):
            chain[i] += (before - chain[i]) * DT / (lag + DT)
            before = chain[i]
        middle = (1.0 - aside) * chain[LAGS - 1] + aside * chain[1]
        out[minute] = middle + off * (skin - middle)
    return 1.0 - store
