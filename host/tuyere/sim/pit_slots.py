"""Where each number of the pit stands in its flat sequences: state `s`, constants `p`, events `e`, weather `w`.

Units: C, kg, s, W, J, m unless said. Flat floats, so that one kernel serves CPython and compilers alike.
"""

# -- state ---------------------------------------------------------------------------
(
    NOW, FAN, BED, METAL, GAS, WALL_1, WALL_2, WALL_3, PAN, PAN_KG, HUMIDITY, LIT, UNLIT, ASH, GLOW, REACH,
    PROBE, READING, NOISE_SEED,
    AMBIENT, WIND, UNEVEN,
    OPEN_UNTIL, ARRIVED, MEAT_ON, TOLD, PROBE_OFF, PROBE_NEAR, FAULTS, BRIDGE_S, BRIDGE_TO, OPENINGS, LOOK_AT,
    DUE, GAS_SUM, RAD_SUM, AIR_SUM, BURN_SUM, PAN_SUM, PAN_RATE, MEAT_G, MEAT_GT, MEAT_R, MEAT_RT, VAPOUR_RATE,
    IN_J, OUT_J, AIR_IN, BED_AIR, BURN_W, DRAUGHT_PA, NOTED,
) = range(52)  # fmt: skip
STATE = 52
# HUMIDITY kg water per kg dry air; REACH share of the bed the air reaches; READING what the probe says, with noise;
# UNEVEN the bed's slow irregularity (0 = even); DUE seconds since the slow part; *_SUM integrals since then;
# MEAT_G, MEAT_GT convection to the meat, W/K, and that times the surface temperature; MEAT_R, MEAT_RT by radiation;
# PROBE_OFF 0 while the probe is in its place, else the share of the gas it still feels, the rest being PROBE_NEAR, C;
# LOOK_AT when the script is looked at next; AIR_IN, BED_AIR kg/s. NOTED kg of cold meat that the cook has noted, -1 for
# one who notes none.

# -- constants -----------------------------------------------------------------------
(
    SUBSTEP, SLOW, VOLUME_J, WALL_AREA, INSIDE_H, LAYER_1, LAYER_2, LAYER_3, BETWEEN_12, BETWEEN_23,
    OUTSIDE_H, WIND_H, OUTSIDE_E,
    HEIGHT, LOW_M2, HIGH_M2, WIND_FACE, BED_SHARE,
    FAN_FULL, FAN_DEAD, FAN_BEND, ASH_HALF, ASH_SHARE,
    STOICH, HEAT_PER_AIR, REACTIVE, USE_MOST, COVER_HALF, AIR_HALF, GLOW_S, REACT_C, REACT_W, SPREAD, DIE_S, UNLIT_HALF,
    BED_J, BED_AREA, BED_HALF, BED_FLOOR, SHARE_METAL, SHARE_PAN, STREAM_METAL, PREHEAT, METAL_J, METAL_G, METAL_WALL,
    OPEN_FLOW, OPEN_BED, OPEN_WALL,
    PAN_M2, PAN_J, PAN_H, PROBE_S, PROBE_RAD, NOISE_C, QUANTUM, PROBE_RAD_METAL, MEAT_RAD_METAL,
    ARRIVAL_C, MEAT_AFTER, MEAT_WAIT, MEAT_TOLD, MEAT_OPEN, OUT_OPEN, AMBIENT_W, AIR_PA, BOILS, LATER,
) = range(68)  # fmt: skip
PROBES = 3  # meat probes, in the first pieces
PIECES = 6  # as many as lie in one pit
FELT = LATER + PIECES
PARAMETERS = FELT + PIECES
# LATER and those that follow it, one for each piece: s after the first meat at which it goes on. FELT and those that
# follow it: s after the first meat before which nobody feels it, so that it stays in though it is done.
# PROBE_RAD_METAL, MEAT_RAD_METAL the share of hot metal in what each of them sees; the rest is wall.
# OUT_OPEN s that the lid is up when a done piece comes out, 0 = none ever does; AIR_PA the air's pressure, as meat and
# pan feel it; BOILS where water boils then, C.

# -- events: rows of EVENT numbers -------------------------------------------------------
E_CLOCK, E_AT, E_KIND, E_A, E_B, E_DONE = range(6)  # clock 0: from the start; 1: from the meat going on
EVENT = 6
(
    OPENING, WRAPPING, REFUEL, BRIDGE, SETTLING, PROBE_FALLS, PROBE_FAULT, PAN_FILL, ASH_KNOCK, MEAT_OUT, LEAK,
    SPRITZ,
) = range(1, 13)  # fmt: skip
# OPENING a seconds, b 1 = told; WRAPPING a = 0 bare 1 paper 2 foil, b the piece, 0 = all; REFUEL a kg, b lit share;
# BRIDGE a share of the bed lost, b seconds to form; SETTLING ends a bridge, a kg of fuel that falls in lit;
# PROBE_FALLS a as PROBE_OFF, b C as PROBE_NEAR, 0 = the air outside; PROBE_FAULT a = bits; PAN_FILL a kg;
# ASH_KNOCK a share knocked out;
# MEAT_OUT a the piece, 0 = all; LEAK a cm2 of low leak added, b cm2 of high leak; SPRITZ a kg on each bare piece.

# -- weather: rows of WEATHER numbers, one every WEATHER_S seconds ---------------------------
W_AMBIENT, W_WIND, W_UNEVEN = range(3)
WEATHER = 3
WEATHER_S = 10.0
LOOK_S = 10.0  # the script is looked at this often
