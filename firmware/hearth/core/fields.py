"""The one field table: every number the board reads, keeps, decides or is set by.

A row is (name, unit, scale, low, high, default, help); a row of MEMORY also says when its number is forgotten.
Values are whole numbers; what a person reads is value / scale in `unit`. From these rows come the record
bytes (`records.py`), the range checks, the host's compiled records, the words in
`tuyere board settings` and the generators in the tests. A name with [n] is a row of n numbers.

Temperatures are hundredths of a degree C, fan demand hundredths of a percent.
"""

PERIOD_MS = 2000  # one cycle; timers in `memory` count cycles
FULL = 10000  # fan demand 100 %
ABSENT = -10000  # a meat or ambient channel without a reading
ROWS = 8  # phases in a programme
ROW = 4  # ints in a phase: low, high, end kind, end value

# -- who has the fan, in `memory.mode` ---------------------------------------------
MODE_OFF, MODE_HAND, MODE_HOLD = range(3)

# -- what stands in `state` ----------------------------------------------------
OFF, MANUAL, CLIMBING, HOLDING, OPENED, FADING, BURNOUT, TRIPPED = range(8)

# -- why the fan does what it does, in `reason` ----------------------------------
(
    NOT_STARTED, BY_HAND, BELOW_BAND, BRAKING, IN_BAND, ABOVE_BAND, OPENED_TOLD, OPENED_FELT,
    RECOVERING, FIRE_FADING, COOK_OVER, READING_BAD, TOO_HOT, TRIPPED_PROBE, TRIPPED_HOT, TRIPPED_SETTINGS,
    LEAKING, STILL_OPEN, TRIPPED_FIRE, TRIPPED_FELL, SUPPLY_LOW, NOT_RESUMED, TRIPPED_FLARE, TRIPPED_RUNAWAY,
    TRIPPED_FAN, TRIPPED_RESTARTS, PROBE_DOUBTED, TRIPPED_SUPPLY, EXPERIMENTING,
) = range(29)  # fmt: skip

# -- faults of the pit channel, in `now.faults` (bits) ---------------------------
PROBE_OPEN, PROBE_SHORT, PROBE_RANGE, PROBE_SILENT, COLD_JUNCTION, PROBE_TO_SUPPLY = 1, 2, 4, 8, 16, 32
# and what core itself finds, in `out.bad`: no reading of a living pit stands still, none is colder than the air
PROBE_FROZEN, PROBE_REVERSED = 64, 128

# -- what the fan's own wires tell, in `now.fan_fault` -----------------------------
FAN_FINE, FAN_NOT_TURNING, FAN_NOT_STOPPING, FAN_SHORTED, FAN_FED, FAN_OUT = range(6)

# -- the board's own health, in `now.board` (bits) ---------------------------------
BOARD_SETTINGS = 1  # the stored settings are damaged: these are the defaults
BOARD_FLASH = 2  # the flash cannot be written
BOARD_FULL = 4  # the spool is full: the oldest records go
BOARD_RESTARTS = 8  # restarted too often in a short time
BOARD_WATCHDOG = 16  # this boot came from the watchdog
BOARD_CUT = 32  # the power was cut while the band was held
BOARD_SHORT = 64  # the outage was short: the board knows it
BOARD_ALONE = 128  # nothing has come from the host for `alone_after`

# -- trips, in `memory.trip` -----------------------------------------------------
(
    NO_TRIP, TRIP_PROBE, TRIP_HOT, TRIP_SETTINGS, TRIP_FIRE, TRIP_FELL, TRIP_FLARE, TRIP_RUNAWAY, TRIP_FAN,
    TRIP_RESTARTS, TRIP_SUPPLY,
) = range(11)  # fmt: skip

# the reason that a trip gives, by its code; NO_TRIP stands for none
REASON_OF_TRIP = (
    NOT_STARTED, TRIPPED_PROBE, TRIPPED_HOT, TRIPPED_SETTINGS, TRIPPED_FIRE, TRIPPED_FELL, TRIPPED_FLARE,
    TRIPPED_RUNAWAY, TRIPPED_FAN, TRIPPED_RESTARTS, TRIPPED_SUPPLY,
)  # fmt: skip

# -- after a power cut, in `memory.resume` -----------------------------------------
NO_RESUME, RESUME_PENDING, RESUME_REFUSED, RESUMED = range(4)

# -- what a second probe beside the pit's says of it, in `out.witness` ---------------
WITNESS_NONE, WITNESS_WAITS, WITNESS_AGREES, WITNESS_PIT_LOW, WITNESS_LOW = range(5)

# -- orders, in `now.order`, with what `first` and `second` mean -------------------
NO_ORDER = 0
ORDER_START = 1  # hold the band from here on
ORDER_STOP = 2  # fan off
ORDER_BAND = 3  # first = low, second = high, 0.01 C
ORDER_FAN = 4  # first = demand 0.01 %, second = seconds; 0 seconds gives the fan back
ORDER_PHASE = 5  # first = row of the programme; one past the last row is the end of the cook
ORDER_OPENED = 6  # first = seconds the opening may last, 0 for the setting
ORDER_ACKNOWLEDGE = 7  # a person has seen the trip
ORDER_LOOKED = 8  # a person has looked at the pit probe, and it is where it belongs
ORDER_WITNESS = 9  # first = meat probe 1..3 that hangs at the grate beside the pit's; 0 = none does any more
ORDER_FORGET = 10  # what was learned of the fire is forgotten: the set gain alone
ORDER_EXPERIMENT = 11  # first = step of the fan, 0.01 %, second = seconds it may last; 0 seconds ends it
ORDER_RELY = 12  # first = who relies on the host, RELIED_BY_NOBODY ...
ORDER_MEAT = 13  # first = cold meat that went on lately, 0.1 kg in all; 0 = none did

# -- who relies on the host, in `memory.relied` -------------------------------------
RELIED_BY_NOBODY, RELIED, UNREACHED = range(3)  # UNREACHED: it calls a person for an alarm, and reaches nobody

# -- answers to an order, in `out.answer` ------------------------------------------
(
    NO_ANSWER,
    ACCEPTED,
    BAND_ORDER,
    OUT_OF_RANGE,
    STANDS_TRIPPED,
    NO_SUCH_PHASE,
    NOT_RUNNING,
    FAULT_STANDS,
    OPENED_ENOUGH,
    NO_READING,
    NOT_STEADY,
) = range(11)

# -- what the pit has not come back from yet, in `memory.lid_since`: nothing, a lid, or what looked like no lid ----
LID, NO_LID = 1, 2

# -- whose word a doubt is, in `memory.doubt`: the air's alone; a trip's or a second probe's ---------------------
BY_AIR, BY_MORE = 1, 2

# -- what was learned last, in `memory.lesson` ---------------------------------------
WHOLE = 1000  # the set gain, 100 %
NO_LESSON, SWUNG, SLUGGISH, CARRIED, UNLEARNED, STRONG = range(6)

# -- when a number of `memory` is forgotten: it then gets its default (bits; `forget.py` is made from them) --
AT_POWER = 1  # power-up: what RAM alone knew
AT_START = 2  # a fresh start: nothing is known of this fire yet
AT_BAND = 4  # another band: what the fire needed for the old one says nothing of this
AT_LOOKED = 8  # a person has looked at the pit probe: what spoke against its reading
AT_ACKNOWLEDGE = 16  # a trip is acknowledged
AT_STOP = 32  # whatever ends the holding: a stop, a trip, the end of the programme
AT_WITNESS = 64  # a witness is hung up or taken away: what was compared

# -- how a phase ends, third number of a programme row -------------------------------
END_BY_HAND, END_AFTER, END_MEAT_1, END_MEAT_2, END_MEAT_3 = range(5)  # minutes for AFTER, 0.01 C for MEAT

NOW = (
    ("dt", "ms", 1, 0, 10000, 2000, "time since the last cycle, bounded by the loop"),
    ("pit", "C", 100, -5000, 50000, 2000, "pit temperature at grate height"),
    ("faults", "bits", 1, 0, 255, 0, "faults of the pit channel"),
    ("meat_1", "C", 100, -10000, 30000, -10000, "first meat probe"),
    ("meat_2", "C", 100, -10000, 30000, -10000, "second meat probe"),
    ("meat_3", "C", 100, -10000, 30000, -10000, "third meat probe"),
    ("ambient", "C", 100, -10000, 12500, -10000, "air outside, in the shade"),
    ("supply", "V", 1000, 0, 20000, 0, "the 12 V supply; 0 where it is not measured"),
    ("turns", "1/min", 1, -1, 20000, -1, "turns of the fan; -1 where they are not counted"),
    ("fan_fault", "code", 1, 0, 5, 0, "what the fan's own wires tell"),
    ("board", "bits", 1, 0, 255, 0, "the board's own health"),
    ("order", "code", 1, 0, 13, 0, "the order taken in this cycle, if any"),
    ("first", "", 1, -100000, 100000, 0, "first number of the order"),
    ("second", "", 1, -100000, 100000, 0, "second number of the order"),
)

OUT = (
    ("fan", "%", 100, 0, 10000, 0, "fan demand"),
    ("duty", "%", 100, 0, 10000, 0, "what the fan is given this cycle: the demand, or a pulse of it"),
    ("state", "code", 1, 0, 7, 0, "how the pit stands"),
    ("reason", "code", 1, 0, 28, 0, "why the fan does what it does"),
    ("trip", "code", 1, 0, 10, 0, "what tripped, if anything"),
    ("bad", "bits", 1, 0, 255, 0, "what is wrong with the pit's reading"),
    ("lost", "", 1, 0, 3, 0, "the meat probe without a reading in a phase that ends by it; 0 none"),
    ("resume", "code", 1, 0, 3, 0, "after a power cut: waiting for a reading, refused, or resumed"),
    ("answer", "code", 1, 0, 10, 0, "what became of the order"),
    ("phase", "", 1, 0, 8, 0, "row of the programme; one past the last is the end of the cook"),
    ("low", "C", 100, 0, 30000, 12110, "bottom of the band in force"),
    ("high", "C", 100, 0, 30000, 13500, "top of the band in force"),
    ("aim", "C", 100, 0, 30000, 13152, "target the law works to now"),
    ("pull", "%", 100, -32000, 32000, 0, "proportional part: how far the pit is from the aim"),
    ("owed", "%", 100, -10000, 10000, 0, "integral part: what the pit has turned out to need"),
    ("brake", "%", 100, -32000, 32000, 0, "derivative part: what the present rise will still bring"),
    ("need", "%", 100, 0, 10000, 0, "feed-forward: what this target is known to need"),
    ("witness", "code", 1, 0, 4, 0, "what a second probe beside the pit's says of it"),
    ("beside", "", 1, 0, 3, 0, "the meat probe that hangs beside the pit's; 0 none"),
    ("differs", "C", 100, -30000, 30000, 0, "the pit's reading less the witness's; 0 without one"),
    ("share", "%", 10, 150, 1500, 1000, "of the set gain, what the law works with"),
    ("lesson", "code", 1, 0, 5, 0, "why it does so: what was learned last"),
    ("call", "code", 1, 0, 2, 0, "the buzzer calls: 1 the host is silent, 2 the host reaches nobody"),
)

MEMORY = (
    ("cycles", "", 1, 0, 1073741823, 0, "cycles since the law started from nothing", 0),
    ("mode", "code", 1, 0, 2, 0, "who has the fan: off, by hand, the law", AT_POWER | AT_STOP),
    ("state", "code", 1, 0, 7, 0, "how the pit stood last cycle", AT_POWER),
    ("state_cycles", "cycles", 1, 0, 1073741823, 0, "for how long it has stood so", 0),
    ("low", "C", 100, 0, 30000, 12110, "bottom of the band", 0),
    ("high", "C", 100, 0, 30000, 13500, "top of the band", 0),
    ("aim", "C", 1600, 0, 480000, 210440, "target the law works to, moving at the set pace", 0),
    ("smooth", "C", 1600, -160000, 800000, 0, "filtered pit temperature", AT_POWER),
    ("slope", "C/s", 51200, -512000, 512000, 0, "filtered rise of the pit", AT_POWER),
    ("seen", "", 1, 0, 3, 0, "good readings since power-up, counted up to 3", AT_POWER),
    ("last", "C", 100, -10000, 50000, 0, "the last good reading", 0),
    ("earlier", "C", 100, -10000, 50000, 0, "the good reading before that", 0),
    ("pit", "C", 100, -10000, 50000, 0, "the good reading that counts: the last one, or the middle one of three", 0),
    ("plateau", "C", 1600, -160000, 800000, 0,
     "where the pit has stood: follows it down at once, up at a pit's pace", AT_POWER),
    ("owed", "%", 100000, -10000000, 10000000, 0, "integral of the law", 0),
    ("fan", "%", 100, 0, 10000, 0, "fan demand of the last cycle", AT_POWER),
    ("duty", "%", 100, 0, 10000, 0, "what the fan was given in the last cycle", AT_POWER),
    ("credit", "%", 100, -10000, 10000, 0, "demand that the fan has not been given yet", AT_POWER),
    ("hand_fan", "%", 100, 0, 10000, 0, "fan demand set by hand", 0),
    ("hand_left", "cycles", 1, 0, 32000, 0, "cycles until the fan by hand expires", AT_POWER | AT_START | AT_STOP),
    ("hand_from", "code", 1, 0, 2, 0, "the mode to go back to", 0),
    ("hand_past", "", 1, 0, 1, 0, "1 after a fan by hand until the pit is back in its band", AT_POWER | AT_START),
    ("arrived", "", 1, 0, 1, 0, "1 once the pit has reached the band", 0),
    ("open_left", "cycles", 1, 0, 32000, 0, "cycles the opening may still last", AT_POWER | AT_STOP),
    ("open_fell", "", 1, 0, 1, 0, "1 once a fall has shown that the lid is up", AT_POWER | AT_STOP),
    ("open_spent", "cycles", 1, 0, 32000, 0,
     "cycles of openings, less one for every two with the lid shut", AT_POWER | AT_START),
    ("open_felt", "", 1, 0, 1, 0, "1 if the opening was felt, 0 if told", 0),
    ("open_from", "C", 100, -10000, 50000, 0, "pit temperature when the opening began", 0),
    ("open_low", "C", 100, -10000, 50000, 0, "lowest reading during the opening", 0),
    ("open_level", "C", 1600, -160000, 800000, 0, "the reading's mean over a minute of the opening", 0),
    ("fall_cycles", "cycles", 1, 0, 32000, 0, "cycles of a fall too fast for a fire", AT_POWER | AT_START),
    ("fall_from", "C", 100, -10000, 50000, 0, "pit temperature where that fall began", 0),
    ("recover_left", "cycles", 1, 0, 32000, 0,
     "cycles the fan is kept from surging after an opening", AT_POWER | AT_START),
    ("long_cycles", "cycles", 1, 0, 32000, 0, "cycles a fall has lasted past its time", AT_POWER | AT_ACKNOWLEDGE),
    ("calm_left", "cycles", 1, 0, 32000, 0, "cycles until the demand counts as undisturbed again", AT_START),
    ("held", "cycles", 1, 0, 1073741823, 0, "cycles held undisturbed in this cook", AT_START),
    ("lately", "%", 100000, 0, 10000000, 0, "demand of the last minutes", AT_START),
    ("usual", "%", 100000, 0, 10000000, 0, "demand of the last hours: what this cooker and fire need", AT_START),
    ("need_cycles", "cycles", 1, 0, 32000, 0, "undisturbed cycles that `usual` was learned from", AT_START | AT_BAND),
    ("gusts", "%", 100000, 0, 10000000, 0, "how far the demand strays from `lately` either way", AT_START),
    ("proven", "C", 100, 0, 30000, 0, "bottom of the band that was held with `lately`", AT_START),
    ("climb", "%cycles", 100, 0, 1073741823, 0, "air of the first climb", AT_START),
    ("climb_from", "C", 100, -10000, 50000, 0, "pit temperature where that air was first counted", AT_START),
    ("climb_spent", "%cycles", 100, 0, 1073741823, 0, "air of the climb since a lid on the way", AT_START | AT_LOOKED),
    ("climb_due", "%cycles", 100, 0, 1073741823, 0,
     "air that the climb may take after a lid on the way; 0: not known", AT_START | AT_LOOKED),
    ("reach", "%", 100, 300, 10000, 2500, "the fan that this pit climbs with at a good pace", AT_START),
    ("too_much", "%", 100, 0, 10000, 0, "the reach with which the pit last rose too fast; 0: it has not", AT_START),
    ("reach_falls", "", 1, 0, 1, 0, "1 from then until the pit rises too slowly", AT_START),
    ("settled", "", 1, 0, 1, 0, "1 once the first arrival is over: a lid, or an hour held", AT_START),
    ("share", "%", 10, 150, 1500, 1000, "of the set gain, what the law works with", AT_START),
    ("learned", "%", 10, 150, 1500, 1000, "the last share that was learned, for the next cook too", 0),
    ("lesson", "code", 1, 0, 5, 0, "what was learned last", AT_START),
    ("swings", "", 1, 0, 4, 0, "half swings in a row", AT_START),
    ("swing_up", "", 1, 0, 1, 0, "1 while the pit swings up", AT_START),
    ("swing_for", "cycles", 1, 0, 32000, 0, "for how long", AT_START),
    ("swing_at", "C", 1600, -160000, 800000, 0, "the furthest it has come in that", AT_START),
    ("swing_fan_low", "%", 100, 0, 10000, 0, "least fan in that", AT_START),
    ("swing_fan_high", "%", 100, 0, 10000, 0, "most fan in that", AT_START),
    ("wobbles", "", 1, 0, 4, 0, "half swings in a row before the first arrival was over", AT_START),
    ("yields", "C", 1600, 0, 72000, 0, "how far the aim stands below its usual place", AT_START | AT_BAND),
    ("late", "cycles", 1, 0, 200, 0, "cycles off the aim though the fan could do more, or less", AT_START),
    ("doubt", "code", 1, 0, 2, 0,
     "1 once the fire took more air than the reading explains: the probe may read cool; 2 if more than that says so",
     AT_LOOKED),
    ("cold", "kg", 10, 0, 2000, 0, "cold meat that went on lately, as a person noted it", AT_START | AT_STOP),
    ("cold_left", "cycles", 1, 0, 3600, 0, "cycles it still counts as cold", AT_START | AT_STOP),
    ("more_cycles", "cycles", 1, 0, 32000, 0,
     "cycles the fire has needed more than usual", AT_START | AT_BAND | AT_LOOKED),
    ("full_cycles", "cycles", 1, 0, 32000, 0,
     "cycles of a high fan under a pit that does not rise", AT_START | AT_LOOKED | AT_ACKNOWLEDGE),
    ("lack", "C cycles", 100, 0, 1073741823, 0,
     "what was missing, beyond far below the band, while the fan did more than it lately did", AT_START | AT_LOOKED),
    ("strain", "%cycles", 100, 0, 1073741823, 0,
     "air beyond what it lately did, since the pit fell below where it was held", AT_START | AT_LOOKED),
    ("lid_since", "code", 1, 0, 2, 0,
     "from a lid on until the pit is back where it was; 2: it looked like no lid", AT_START | AT_LOOKED),
    ("fell_fast", "C/s", 51200, 0, 512000, 0, "the steepest fall of the last opening", AT_START | AT_LOOKED),
    ("rose_fast", "C/s", 51200, 0, 512000, 0, "and the steepest rise in the 2 min after it", AT_START | AT_LOOKED),
    ("mark", "C", 1600, -160000, 800000, 0, "where a doubted pit is held", 0),
    ("mark_most", "C", 1600, -160000, 800000, 0, "and the most it may be let up to", 0),
    ("mark_stands", "", 1, 0, 1, 0,
     "1 if a doubted pit is held at the mark because a witness has shown it", AT_START | AT_LOOKED),
    ("witness", "", 1, 0, 3, 0, "meat probe that hangs at the grate beside the pit's; 0 none", AT_START | AT_WITNESS),
    ("witness_says", "code", 1, 0, 4, 0, "what it says of the pit's probe", AT_LOOKED | AT_WITNESS),
    ("witness_base", "C", 100, -10000, 30000, 0, "air outside, from which both rise", AT_WITNESS),
    ("witness_cycles", "cycles", 1, 0, 32000, 0, "cycles the two have been compared", AT_POWER | AT_WITNESS),
    ("witness_fast", "C", 1600, -160000, 800000, 0, "the witness, smoothed", AT_WITNESS),
    ("witness_slow", "C", 1600, -160000, 800000, 0, "the witness, averaged over minutes", AT_WITNESS),
    ("pit_slow", "C", 1600, -160000, 800000, 0, "the pit's reading, averaged over minutes", AT_WITNESS),
    ("witness_rose", "", 1, 0, 1, 0, "1 once the witness has risen with the pit", AT_WITNESS),
    ("witness_for", "cycles", 1, 0, 32000, 0,
     "cycles the pit's probe has read less than the witness", AT_LOOKED | AT_WITNESS),
    ("witness_less", "cycles", 1, 0, 32000, 0, "cycles the witness has read less than the pit's probe", AT_WITNESS),
    ("witness_alike", "cycles", 1, 0, 32000, 0, "cycles the two have agreed", AT_LOOKED | AT_WITNESS),
    ("witness_gone", "cycles", 1, 0, 32000, 0, "cycles without it, or far below the pit", AT_WITNESS),
    ("rest_cycles", "cycles", 1, 0, 32000, 0, "cycles the pit has stood above the band with the fan off", AT_START),
    ("starved", "cycles", 1, 0, 1073741823, 0, "cycles held with no air at all in this cook", AT_START),
    ("above", "cycles", 1, 0, 32000, 0, "cycles above the band in a row", AT_START),
    ("excursion", "cycles", 1, 0, 32000, 0, "longest time above the band in this cook", AT_START),
    ("bad", "bits", 1, 0, 255, 0, "what was wrong with the last reading", AT_POWER),
    ("bad_cycles", "cycles", 1, 0, 32000, 0, "bad readings in a row", AT_POWER),
    ("same", "cycles", 1, 0, 32000, 0,
     "cycles the reading has not moved at all, counted faster under a high fan", AT_POWER | AT_START),
    ("hot_cycles", "cycles", 1, 0, 32000, 0, "readings over the limit in a row", AT_POWER | AT_ACKNOWLEDGE),
    ("flare_cycles", "cycles", 1, 0, 32000, 0,
     "cycles of a rise that no charcoal makes", AT_POWER | AT_START | AT_ACKNOWLEDGE),
    ("idle", "cycles", 1, 0, 32000, 0, "cycles the fan has been off", AT_POWER),
    ("run_cycles", "cycles", 1, 0, 32000, 0,
     "cycles of a rise far above the band with the fan off", AT_POWER | AT_START | AT_ACKNOWLEDGE),
    ("fan_cycles", "cycles", 1, 0, 32000, 0, "cycles the fan's wires have told of a fault", AT_POWER | AT_ACKNOWLEDGE),
    ("weak_left", "cycles", 1, 0, 32000, 0, "cycles the fan still rests after the supply was low", AT_POWER),
    ("weak_cycles", "cycles", 1, 0, 32000, 0, "cycles of a low supply in a row", AT_POWER),
    ("weak_share", "cycles", 1, 0, 32000, 0,
     "cycles the fan rested for the supply, less one for every four it did not", AT_POWER | AT_ACKNOWLEDGE),
    ("board", "bits", 1, 0, 255, 0, "the board's health as seen last cycle", AT_POWER),
    ("resume", "code", 1, 0, 3, 0, "after a power cut: waiting for a reading, refused, or resumed", 0),
    ("resume_left", "cycles", 1, 0, 32000, 0, "cycles a resume still waits for a good reading", 0),
    ("trip", "code", 1, 0, 10, 0, "what tripped, latched until a person acknowledges", AT_ACKNOWLEDGE),
    ("trips", "", 1, 0, 32000, 0, "trips so far", 0),
    ("openings", "", 1, 0, 32000, 0, "openings so far", AT_START),
    ("trial_left", "cycles", 1, 0, 32000, 0, "cycles the experiment may still last",
     AT_POWER | AT_START | AT_BAND | AT_STOP),
    ("trial_base", "%", 100, 0, 10000, 0, "fan demand it began from", 0),
    ("trial_step", "%", 100, 0, 1500, 0, "its step", 0),
    ("trial_up", "", 1, 0, 1, 0, "1 while the fan stands a step higher, else a step lower", 0),
    ("trial_for", "cycles", 1, 0, 32000, 0, "for how long", 0),
    ("phase", "", 1, 0, 8, 0, "row of the programme in force", 0),
    ("phases", "", 1, 0, 8, 0, "rows in the programme", 0),
    ("phase_cycles", "cycles", 1, 0, 1073741823, 0, "how long this phase has run", 0),
    ("meat_cycles", "cycles", 1, 0, 32000, 0, "cycles a meat probe has stood past the phase's end", AT_POWER),
    ("lost_cycles", "cycles", 1, 0, 32000, 0, "cycles without a reading of the meat probe the phase ends by", AT_POWER),
    ("relied", "code", 1, 0, 2, 0, "who relies on the host, as it has told", AT_STOP),
    ("hushed", "", 1, 0, 1, 0, "1 once a person has answered the buzzer's call for the host", AT_STOP),
    ("rows[32]", "", 1, -100000, 100000, 0, "the programme: low, high, end kind, end value of each phase", 0),
)  # fmt: skip

SETTINGS = (
    ("band_low", "C", 100, 4000, 20000, 12110, "bottom of the band when no phase says otherwise"),
    ("band_high", "C", 100, 4500, 22000, 13500, "top of the band when no phase says otherwise"),
    (
        "gain",
        "%/C",
        100,
        10,
        5000,
        350,
        "fan for each degree below the aim: more if it wanders, less if it swings",
    ),
    (
        "learn",
        "",
        1,
        0,
        1,
        1,
        "1: the gain follows what the fire shows: less when the pit swings, more when it comes back late; 0: it stays",
    ),
    ("reset", "s", 1, 60, 7200, 1500, "how fast a lasting error moves the fan; about the time the pit takes to answer"),
    ("lead", "s", 1, 0, 900, 90, "how far ahead the present rise is looked at while holding"),
    ("coast", "s", 1, 0, 1800, 240, "how long the pit goes on rising after the fan stops, on the first climb"),
    ("filter", "ms", 1, 0, 60000, 2000, "time constant of the reading's filter"),
    ("pace", "C/min", 100, 10, 6000, 200, "how fast the aim moves to a new band"),
    ("known", "%/C", 1000, 0, 2000, 0, "fan that one degree over the outside air is known to need"),
    (
        "slowest",
        "%",
        100,
        0,
        6000,
        1200,
        "least duty at which the turning fan keeps turning; below it the fan is pulsed",
    ),
    ("breakaway", "%", 100, 0, 8000, 2000, "least duty that sets the fan turning from rest"),
    ("ceiling", "%", 100, 1000, 10000, 10000, "most fan; lower it if ash reaches the meat"),
    ("breath", "%", 100, 0, 3000, 0, "least fan while holding below the top of the band, against a bitter smoulder"),
    ("fall", "C/s", 100, 5, 500, 15, "a fall faster than this is an opened lid"),
    ("fall_least", "C", 100, 100, 5000, 300, "and it must fall at least this far"),
    ("open_fan", "%", 1, 0, 200, 100, "of what the fire is owed, what it gets while the lid is open; 0 stops the fan"),
    ("open_most", "s", 1, 30, 1800, 300, "an opening is over after this long at the latest"),
    ("recover", "s", 1, 0, 1800, 600, "how long the fan is kept from surging after an opening"),
    ("hand_most", "s", 1, 30, 7200, 900, "longest fan by hand"),
    ("bad_after", "cycles", 1, 1, 30, 3, "bad readings in a row before the fan stops"),
    ("bad_trip", "cycles", 1, 3, 300, 30, "bad readings in a row before it trips"),
    ("rest_above", "C", 100, 100, 10000, 1500, "the fan rests when the pit is this far above the band"),
    ("pit_limit", "C", 100, 6000, 40000, 17500, "trips above this"),
    ("fade_fan", "%", 100, 2000, 10000, 8500, "fading: the fan is at least at this"),
    ("fade_after", "s", 1, 120, 7200, 480, "fading: for this long, while the pit does not rise"),
    ("fade_more", "%", 100, 100, 5000, 1200, "fading: or this far above what this fire usually needs; more in gusts"),
    ("fade_known", "s", 1, 600, 36000, 9000, "fading: how long the fire must have been held to know what is usual"),
    ("out_after", "s", 1, 300, 14400, 1800, "no answer from the fire for this long, far below the band: trips"),
    ("out_below", "C", 100, 200, 10000, 2000, "and far below is this far"),
    ("leak_after", "s", 1, 60, 7200, 600, "leaking: above the band this long with the fan off, and not falling"),
    ("deep", "C", 100, 500, 15000, 7000, "after a fall this deep the fan rests until the pit rises again"),
    ("frozen_after", "s", 1, 60, 7200, 300, "unmoved for this long, a reading is none; a fifth of it under full fan"),
    ("coldest", "C", 100, -5000, 2000, -3000, "a reading below this is no pit: the couple's leads are swapped"),
    ("flare", "C/s", 100, 10, 1000, 45, "a faster rise than this, above the band, is grease on fire: trips"),
    ("run_after", "s", 1, 30, 3600, 300, "rising for this long with the fan off, far above the band: trips"),
    ("fan_after", "s", 1, 2, 300, 20, "the fan's wires show a fault for this long: trips"),
    ("supply_least", "V", 1000, 0, 13000, 10500, "the fan rests while a measured supply is below this"),
    (
        "resume_below",
        "C",
        100,
        0,
        10000,
        2500,
        "after a power cut: goes on if the pit is no further below its band",
    ),
    ("converter", "", 1, 31855, 31856, 31856, "the pit's converter: MAX31856 or MAX31855"),
    ("mains", "Hz", 1, 50, 60, 50, "hum the converter filters out: 50 or 60 Hz"),
    ("fan_wires", "", 1, 2, 4, 2, "wires of the fan: 2, or 4 with its own speed input"),
    ("servo_shut", "us", 1, 0, 2500, 0, "pulse that shuts the damper; 0 without a damper"),
    ("servo_open", "us", 1, 0, 2500, 0, "pulse that opens the damper; 0 without a damper"),
    ("probe_ohms", "ohm", 1, 1000, 1000000, 100000, "meat and ambient probes at 25 C"),
    ("probe_beta", "K", 1, 1000, 6000, 3950, "and their Beta"),
    ("series_ohms", "ohm", 1, 1000, 200000, 22000, "pull-up of each meat and ambient probe"),
    ("pit_offset", "C", 100, -500, 500, 0, "added to the pit's reading"),
    ("meat_1_offset", "C", 100, -500, 500, 0, "added to the first meat probe's reading"),
    ("meat_2_offset", "C", 100, -500, 500, 0, "added to the second meat probe's reading"),
    ("meat_3_offset", "C", 100, -500, 500, 0, "added to the third meat probe's reading"),
    ("ambient_offset", "C", 100, -500, 500, 0, "added to the ambient probe's reading"),
    ("deep_trip", "s", 1, 60, 7200, 1800, "and trips when it has not risen for this long past an opening's time"),
    (
        "strain_after",
        "s",
        1,
        300,
        3600,
        1800,
        "doubt: full fan after a lid, beyond what it lately did, that has not brought the pit back",
    ),
    ("lack_below", "C", 100, 500, 10000, 2000, "doubt: what is missing counts from this far below the band"),
    (
        "lack_most",
        "C min",
        1,
        30,
        2000,
        180,
        "doubt: what is missing after a lid, beyond lack_below, though the fan does more than it lately did",
    ),
    ("alone_after", "min", 1, 0, 240, 10, "the buzzer calls when a relied-on host is silent for this long; 0 never"),
)
