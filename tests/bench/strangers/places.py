"""Where each number of a cook stands in its flat sequences. Units: C, kg, s, W, J, m unless said.

A pit's own state `x` begins alike in all families; what follows is the family's. `c` are the family's constants.
`y` and `k` are the state and constants of all that is outside the pit: probe, meat, lid, faults, the person.
`e` are events in rows of ROW numbers, `w` the weather in rows of two numbers (air outside C, wind m/s).
"""

# -- x, first of every pit: true air at the grate; heat made, heat gone (outside, into the meat), air to the fire; fuel
X_AIR, X_IN, X_OUT, X_BREATH, X_FUEL, X_OWN = range(6)

# -- y ---------------------------------------------------------------------------------
(
    TIME, DUTY, SHEATH, READING, LID_UNTIL, TOLD, MEAT_AT, SURFACE, CORE, WATER,
    ARRIVED, FOLLOW, LIE, EXTRA, SUPPLY, SPIKE, PRESS_AT, PRESS_EVERY, HANDS, HAND_WAIT, HIGHEST,
    HAND_FAN, HAND_S, DRAUGHT, HUNG, SECOND,
) = range(26)  # fmt: skip
Y_SIZE = 26
# MEAT_AT, ARRIVED: when, -1 before. FOLLOW 1 while the probe lies right; else it heads for the air outside + LIE +
# FOLLOW * the pit's rise over the air outside. EXTRA: air let in besides, as a share of the full fan's. SUPPLY mV, 0 =
# not measured. SPIKE C added to one reading. HANDS: how often the person still acknowledges and starts again after a
# trip. HIGHEST: true air so far, which the events' clock RISEN looks at. HAND_FAN, HAND_S: a fan by hand that is due to
# be ordered, its share and its seconds, 0 s for none. DRAUGHT: of the pit's rise over the air outside, what the air at
# the probe has less. HUNG: 1 while a second probe hangs at the grate, 2 once it is in the meat; SECOND: what it reads.

# -- k ---------------------------------------------------------------------------------
(
    PROBE_S, NOISE, QUANTUM, MEAT_KG, MEAT_M2, MEAT_COLD, BAND_LOW, FULL_AIR, SAG, SECOND_S, SECOND_PLACE,
    NOTED,
) = range(12)  # fmt: skip
K_SIZE = 12
# SAG: volts lost under the full fan. SECOND_S, SECOND_PLACE: the second probe's sheath, and the rise at its place as a
# share of that at the pit's probe. NOTED: kg of meat that the person notes some minutes after it went on, 0 for no note

# -- events: clock, when, kind, two numbers, 1 once done -------------------------------------
E_CLOCK, E_WHEN, E_KIND, E_A, E_B, E_DONE = range(6)
ROW = 6
FROM_START, FROM_MEAT, FROM_ARRIVAL, RISEN = range(4)  # seconds after that; RISEN: once the true air has been at C
LID, MEAT, SLIP, SPIKED, AIR_IN, PRESSES, FUEL_IS, SAGS, BY_HAND, HANGS, LIES_RIGHT = range(1, 12)
# LID seconds, told 0/1; MEAT the same lid, and the meat goes on (only once); SLIP follow, lie; SPIKED C;
# AIR_IN share of the full fan; PRESSES every so many s, the button presses itself; FUEL_IS kg left; SAGS volts;
# BY_HAND share of the fan, seconds; HANGS the second probe at the grate, and the board is told; LIES_RIGHT draught: the
# pit's probe from now on

# -- trace: a row a cycle -----------------------------------------------------------------
T_READING, T_TRUE, T_FAN, T_DUTY, T_STATE, T_REASON, T_LID, T_TRIP, T_MEAT, T_ARRIVED, T_WITNESS = range(11)
TRACE = 11
# T_MEAT 1 once the meat is on; T_ARRIVED 1 once the person has seen the pit arrive, by the reading without its spikes

PERIOD_S = 2.0
WEATHER_S = 10.0
