"""The physical numbers of meat and wrap, in one place, with units; and how far each may be off.

Fits are marked. They were fitted together, on the equations of `slab`, to: a small brisket in a wet 107 C chamber that
stood some 6 h near 67 C (G. Blonder 2011, web note); two briskets side by side at 107-121 C, one in foil after 4 h and
at 91 C after 9 h, one bare, level near 60 C until 6 h and at 91 C after 13 h (Texas A&M, Camp Brisket 2013, web note);
yields of whole briskets of 59.3 % at 85 C and 56.0 % at 90 C, each held 3 h (Kerth et al., Meat Muscle Biol., n = 96);
and common practice, no source: 10-14 h at 121-135 C with a wrap, 12-20 h at 107 C, foil quicker than paper quicker than
bare. Air, humidity and masses of those cooks are partly guesses, so single numbers may be off together.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, fields, replace


@dataclass(frozen=True)
class Parameters:
    """Of one piece; the defaults are the middle of what is known.

    Resistances to vapour are the reciprocal of `water.transfer`: 1 / (kg/m2s). Bare, at 5 W/m2K, the air has 290.
    """

    convection: float = 5.2  # W/m2K; natural alone is 4.5-5.4 (Churchill-Chu, computed); fit
    emissivity: float = 0.76  # with the share of its view that grate and neighbours take; meat 0.74-0.9; fit
    foil_emissivity: float = 0.05  # of foil outside; new foil 0.04-0.1 (from memory)
    gap: float = 60.0  # W/m2K from wrap to meat; assumed
    paper: float = 100.0  # resistance of dry paper; assumed
    greased: float = 6000.0  # of paper soaked with fat; fit
    grease_s: float = 3600.0  # s in which paper soaks; fit
    foil: float = 1e5  # of foil with its folds; assumed
    crust: float = 250.0  # of a full bark; fit
    crust_s: float = 7200.0  # s in which bark follows the dryness below it; fit
    wetted: float = 0.2  # kg/kg dry: water activity of a surface is 1 - exp(-water / this); fit
    seep: float = 8e-10  # m2/s, diffusivity of water towards a drier surface; fit
    drip: float = 0.2  # share of the juice that reaches the surface and runs off; assumed
    soak: float = 0.8  # share of it that a paper draws off; fit
    juice_s: float = 1500.0  # s in which meat gives the juice it cannot hold; fit
    # The share of its raw water that meat at t C holds: a logistic from 1 to hold_least, and a straight fall above the
    # middle of it, which stands for fat that melts out, too. In form the water-holding capacity of beef of R. van der
    # Sman (2007: middle 65.6 C, width 4 K; from memory); numbers fitted.
    hold_least: float = 0.535
    hold_middle: float = 64.0  # C
    hold_width: float = 4.0  # K
    hold_fall: float = 0.006  # 1/K
    run_off: float = 1.25  # times its raw water, above which a surface runs off; assumed
    shrink: float = 0.6  # share of the lost volume that the surface loses, too: muscle shrinks along its fibres; fit

    def __post_init__(self) -> None:
        for one in fields(self):
            value = getattr(self, one.name)
            if not value > 0.0:
                raise ValueError(f"The meat's {one.name} must be more than 0, not {value!r}.")
        if max(self.emissivity, self.foil_emissivity, self.hold_least, self.drip, self.soak) > 1.0:
            raise ValueError("The meat's emissivities, hold_least, drip and soak are shares: at most 1.")

    def drawn(self, r: random.Random, width: float = 1.0) -> Parameters:
        """One piece's own parameters: each of SPREAD off by a factor of e^(width s g), g Gaussian within 2.5."""
        off = {name: min(2.5, max(-2.5, r.gauss(0.0, 1.0))) for name in SPREAD}
        changed = {name: getattr(self, name) * math.exp(width * SPREAD[name] * g) for name, g in off.items()}
        changed["emissivity"] = min(1.0, changed["emissivity"])
        return replace(self, **changed)


# Standard deviation of the logarithm, from piece to piece and cook to cook; judged, no source. Not here: what a cook
# knows better (mass, thickness, composition, start), see `Piece`.
SPREAD: dict[str, float] = {
    "convection": 0.15,
    "emissivity": 0.06,
    "gap": 0.30,
    "greased": 0.40,
    "grease_s": 0.40,
    "foil": 0.30,
    "crust": 0.40,
    "crust_s": 0.40,
    "wetted": 0.25,
    "seep": 0.25,
    "drip": 0.30,
    "juice_s": 0.30,
    "hold_least": 0.05,
    "hold_middle": 0.015,
    "hold_width": 0.15,
    "hold_fall": 0.15,
    "shrink": 0.10,
}
