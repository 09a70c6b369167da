"""The physical numbers of meat and wrap with their units, and the spread of each.

Fitted numbers are marked "fit". They were fitted together, with the equations of `slab`, to these cooks:
- a small brisket in a wet 107 C chamber that stayed near 67 C for about 6 h (G. Blonder 2011, web note);
- two briskets side by side at 107-121 C (Texas A&M, Camp Brisket 2013, web note): one was put in foil after 4 h and
  reached 91 C after 9 h; the bare one was level near 60 C until 6 h and reached 91 C after 13 h;
- yields of whole briskets: 59.3 % at 85 C and 56.0 % at 90 C, each held for 3 h (Kerth et al., Meat Muscle Biol.,
  n = 96);
- common practice, no source: 10-14 h at 121-135 C with a wrap, 12-20 h at 107 C; foil is quicker than paper, and paper
  is quicker than bare.
The air, humidity and masses of those cooks are partly guesses. Single numbers may therefore be wrong together.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, fields, replace


@dataclass(frozen=True)
class Parameters:
    """The numbers of one piece. The defaults are the middle of the known range.

    A resistance to vapour is the reciprocal of `water.transfer`, in 1 / (kg/m2s). For comparison: the air at a bare
    surface has 290 at 5 W/m2K.
    """

    convection: float = 5.2  # W/m2K; natural convection alone gives 4.5-5.4 (Churchill-Chu, computed); fit
    emissivity: float = 0.76  # reduced by the view of grate and neighbours; meat alone 0.74-0.9; fit
    foil_emissivity: float = 0.05  # outside of foil; new foil has 0.04-0.1 (from memory)
    gap: float = 60.0  # W/m2K between wrap and meat; assumed
    paper: float = 100.0  # resistance to vapour of dry paper; assumed
    greased: float = 6000.0  # the same of paper soaked with fat; fit
    grease_s: float = 3600.0  # s, time constant of the soaking; fit
    foil: float = 1e5  # the same of foil with its folds; assumed
    crust: float = 250.0  # the same of a full bark; fit
    crust_s: float = 7200.0  # s, time constant with which bark follows the dryness below it; fit
    wetted: float = 0.2  # kg/kg dry: water activity of a surface is 1 - exp(-water / this); fit
    seep: float = 8e-10  # m2/s, diffusivity of water in meat; fit
    drip: float = 0.2  # share of the juice at the surface that runs off; assumed
    soak: float = 0.8  # share of that juice that paper draws off; fit
    juice_s: float = 1500.0  # s, time constant with which meat releases juice; fit
    # The share of its raw water that meat holds at t C: a logistic from 1 to hold_least, with a straight fall above the
    # middle of the logistic. The fall also stands for melted fat. The form is the water-holding capacity of beef by
    # R. van der Sman (2007: middle 65.6 C, width 4 K; from memory). The numbers are fitted.
    hold_least: float = 0.535
    hold_middle: float = 64.0  # C
    hold_width: float = 4.0  # K
    hold_fall: float = 0.006  # 1/K
    run_off: float = 1.25  # water at a surface, as a multiple of its raw water, above which it runs off; assumed
    shrink: float = 0.6  # area lost per volume lost, as shares: muscle shrinks along its fibres; fit

    def __post_init__(self) -> None:
        for one in fields(self):
            value = getattr(self, one.name)
            if not value > 0.0:
                raise ValueError(f"The meat's {one.name} must be more than 0, not {value!r}.")
        if max(self.emissivity, self.foil_emissivity, self.hold_least, self.drip, self.soak) > 1.0:
            raise ValueError("The meat's emissivities, hold_least, drip and soak are shares: at most 1.")

    def drawn(self, r: random.Random, width: float = 1.0) -> Parameters:
        """Parameters drawn for one piece: each of SPREAD times e^(width s g), g Gaussian, limited to +-2.5."""
        off = {name: min(2.5, max(-2.5, r.gauss(0.0, 1.0))) for name in SPREAD}
        changed = {name: getattr(self, name) * math.exp(width * SPREAD[name] * g) for name, g in off.items()}
        changed["emissivity"] = min(1.0, changed["emissivity"])
        return replace(self, **changed)


# Standard deviation of the logarithm between pieces and cooks; our judgement, no source. Mass, thickness, composition
# and start are not here: the cook knows them better, see `PieceOfMeat`.
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
