"""Tables used by the kernel and by the text about it: lethality and the collagen fit."""

# Minutes for a 6.5-log reduction of Salmonella in cooked beef: USDA FSIS, Compliance Guidelines for Cooked Beef,
# Roast Beef, and Cooked Corned Beef (Appendix A, 1999; we read a reprint). One entry per degree from 130 to 157 F; from
# 158 F on the reduction is immediate. LETHAL_7_MIN is the same for 7 logs.
LETHAL_F = tuple(range(130, 158))
LETHAL_MIN = (
    112.0, 89.0, 71.0, 56.0, 45.0, 36.0, 28.0, 23.0, 18.0, 15.0, 12.0, 9.0, 8.0, 6.0, 5.0, 4.0,
    169 / 60, 134 / 60, 107 / 60, 85 / 60, 67 / 60, 54 / 60, 43 / 60, 34 / 60, 27 / 60, 22 / 60, 17 / 60, 14 / 60,
)  # fmt: skip
LETHAL_7_MIN = (
    121.0, 97.0, 77.0, 62.0, 47.0, 37.0, 32.0, 24.0, 19.0, 15.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0,
    182 / 60, 144 / 60, 115 / 60, 91 / 60, 72 / 60, 58 / 60, 46 / 60, 37 / 60, 29 / 60, 23 / 60, 19 / 60, 15 / 60,
)  # fmt: skip
LETHAL_C = tuple((f - 32) / 1.8 for f in LETHAL_F)

# Dissolving of collagen: rate at COLLAGEN_T C, 1/s, and activation energy, J/mol. A fit, see `doneness`.
COLLAGEN_T = 85.0
COLLAGEN_K = 1.0e-4
COLLAGEN_E = 180e3
