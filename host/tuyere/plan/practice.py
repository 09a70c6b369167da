"""What is usual for each cut before your own cooks say more: yields, rest, carving, portions.

Common practice, no source, unless a line says otherwise. The user's own cooks pull these numbers, see `learnt`.
"""

from __future__ import annotations

from dataclasses import dataclass

from tuyere.cook.carving import REST_AND_CARVE
from tuyere.forecast.shade import LEAD_LEAST, LEAD_MOST, PACE


@dataclass(frozen=True)
class Practice:
    """Of a cut. trim: share of what was bought that is cut off before; cooked: carved meat as a share of what went on
    (bone is no meat); rest_min: least rest; carve_min, trim_min: for one piece; shade_h: hours bare to shade 8."""

    trim: float
    cooked: float
    rest_min: int
    carve_min: int
    trim_min: int
    shade_h: float


SHADE_8_H = 8.0 / PACE  # of a brisket: a wrap at 6-7 h, and the lead
# Whole brisket: trim loss 20-30 %; cooked 59.3 % at 85 C and 56.0 % at 90 C, each with 3 h (Kerth et al., Meat Muscle
# Biol.), taken on in a straight line to 95-97 C gives 52-53 %. Together 40 % of what was bought.
PRACTICE: dict[str, Practice] = {
    "packer": Practice(0.25, 0.53, *REST_AND_CARVE["packer"], 30, SHADE_8_H),
    "flat": Practice(0.12, 0.53, *REST_AND_CARVE["flat"], 15, 7.0),
    "point": Practice(0.15, 0.53, *REST_AND_CARVE["point"], 15, 7.5),
    "pork shoulder": Practice(0.05, 0.55, *REST_AND_CARVE["pork shoulder"], 10, 7.75),
    "beef ribs": Practice(0.08, 0.42, *REST_AND_CARVE["beef ribs"], 15, 7.0),
    "chuck": Practice(0.05, 0.54, *REST_AND_CARVE["chuck"], 10, 6.5),
    "pork ribs": Practice(0.08, 0.45, *REST_AND_CARVE["pork ribs"], 10, 4.5),
    "lamb shoulder": Practice(0.08, 0.42, *REST_AND_CARVE["lamb shoulder"], 10, 6.0),
}
PORTION_G = 180.0  # cooked, a person; 150-230 g
REST_MOST_H = 4.0  # 1-4 h at 60-65 C
PORTION_LEAST_G = 150.0  # less is a small portion
THAW_KG_DAY = 2.25  # of one piece in a fridge, a day: 2-2.5 kg
NAMES = (  # invented, in the order of the pieces
    "Alder", "Bramble", "Clover", "Dogwood", "Elder", "Fern", "Gorse", "Hazel", "Ivy", "Juniper", "Larch", "Maple",
    "Nettle", "Oak", "Pine", "Quince", "Rowan", "Sorrel", "Thistle", "Willow", "Yarrow", "Aspen", "Birch", "Cedar",
)  # fmt: skip
PREHEAT_MIN = 75  # from lighting to the band with thin smoke; a heavy cooker takes longer
PREHEAT = {"ceramic": 100, "cabinet": 90}
HELD_WIDE = 10.0  # K, the band of a pit that only keeps wrapped pieces hot
ROUND_MIN = 10  # hands on, lid open a part of it
WRAP_MIN = 8  # a piece
SPRITZ_FROM_H, PAN_EVERY_H, FUEL_EVERY_H = 3, 3, 4  # as the rounds of a running cook
LEAD_MIN = (LEAD_LEAST, LEAD_MOST)  # time from the wrap to the wanted shade: colour deepens under paper
