"""The lid: openings told and felt, one that stays open, and the time to recover.

While the lid is open the fan keeps what the fire has lately needed; it does not chase the fall.
"""

from . import climb
from .fields import LID, NO_LID, PERIOD_MS, TRIP_FELL
from .trips import trip
from .whole import clip, count_up, seconds

RETURNS = 60  # cycles, 2 min after the end of an opening: the walls have given back what they can
RISEN = 150  # 0.01 C: an opening has made it fall, or it has risen above its lowest reading, by this
PART = 16  # and by this part of the fall: a probe off the grate creeps a little, too
LATER = 4  # the same after the first opening, when there is no cold meat to hold the pit down
CALM = 300  # cycles, 10 min after an opening: the demand is that of the opening
LOADED = 1800  # cycles, an hour
NEAR = 500  # 0.01 C below the band: a pit that stands this near is no fallen probe
TOLD = 2  # an announced opening needs a fall only half as fast to be believed
LEAST_SPENT = 60  # cycles: with less than this left, the order is refused
MOST_SPENT = 900  # cycles, half an hour of openings, given back within an hour
FAR = 2500  # 0.01 C: a gust takes less, a probe that slips more
SLIPPED = 3500  # 0.01 C: a fall that is less deep is taken for a lid's
LEVELS = 30  # cycles, a minute: time constant of `open_level`
STOPPED = 1440  # 1/1600 C, 0.9 C: a reading this near its mean of the last minute has stopped


def begin(settings, memory, cycles, felt, before):
    """The lid is open for at most `cycles`; `before` is the pit's temperature until then, 0.01 C.

    An announced one counts as an opening only once a fall shows it. Announced again meanwhile, it is the same one.
    """
    if memory.open_left == 0:
        memory.open_from = before
        memory.open_low = memory.pit
        memory.open_level = memory.smooth
        memory.open_felt = felt
        memory.open_fell = 0
        memory.fall_cycles = 0
    memory.open_left = max(memory.open_left, cycles)
    memory.long_cycles = 0
    if felt:
        believe(settings, memory)


def believe(settings, memory):
    """The pit has fallen as only an open lid makes it fall."""
    memory.open_fell = 1
    memory.fell_fast = 0
    memory.rose_fast = 0
    memory.openings = count_up(memory.openings)
    memory.lid_since = max(LID, memory.lid_since)
    if memory.held == 0:
        memory.proven = clip(min(memory.open_from, memory.low), 0, 30000)
    if memory.open_from >= memory.low:
        climb.arrive(settings, memory)  # it has been there: what follows is the lid's, or a probe's that slipped


def watch(settings, memory, rate):
    """Once a cycle with a good reading: feel an opening by its fall, see the lid shut by the rise after it.

    A fall counts from where the pit has stood: one from a peak that came out of nowhere is no lid.
    """
    if rate > -512 * settings.fall:
        memory.fall_cycles = 0
    else:
        if memory.fall_cycles == 0:
            memory.fall_from = memory.plateau >> 4
        memory.fall_cycles = count_up(memory.fall_cycles)
    if memory.open_left > 0:
        watch_shut(settings, memory)
        return
    if memory.open_spent > 0 and memory.cycles & 1:
        memory.open_spent -= 1
    if memory.recover_left > 0:
        if returning(settings, memory):
            memory.rose_fast = max(memory.rose_fast, memory.slope)
        recover(memory)
    if memory.fall_cycles >= 2 and memory.fall_from - memory.pit >= settings.fall_least:
        begin(settings, memory, seconds(settings.open_most), 1, memory.fall_from)


def recover(memory):
    """Once a cycle while an opening, or a fan by hand, is made up for: until the time is over or the pit is back.

    After a fan by hand a pit that still falls through its band is not back yet, and its time has not begun.
    """
    if memory.smooth < memory.low * 16:
        memory.recover_left -= 1
    elif memory.hand_past == 0 or memory.slope >= 0:
        memory.recover_left = 0
    if memory.recover_left == 0:
        memory.hand_past = 0


def watch_shut(settings, memory):
    """The lid is open: see it shut by the rise that follows a fall, else by the time.

    After a fall without a rise the time alone does not end it: the lid still stands open, or the probe has come off
    the grate and reads cool. The fan does no more than it lately did, after a deep fall nothing, and at last it trips.
    The first opening, by which the meat goes on, must be deep for that: cold meat may well hold a pit down; and a pit
    that never left its band may stand where it fell to. A gust may hold a pit down, too: so a fall of less than 70 C
    must be one of 25 C and have stopped. A probe that slips falls and stops at once, and nobody announces it: where the
    first opening looks so and is 35 C deep, the doubt needs less (`lid_since`); ten kg of cold meat hold a pit down
    after a shallower one, and a probe that slipped so little hides less. Without a fall nothing was opened: the time
    ends it, and nothing is remembered; once a fall has come, the time counts from there. All that are announced and do
    not come have a limit together: a button that presses itself must not keep the fire from being judged.

    Guard: off the grate, lid left open
        cause: the lid stands open, or the probe has come off the grate and reads cool over a hot pit
        evidence: a fall (of 25 C and more that has stopped, or of 70 C; at the first opening, by which cold meat goes
            on, of 70 C) of which no quarter (first: a sixteenth) comes back; after an opening's time, 5 min
        clears: the pit rises again; the trip: a person: acknowledge, then start, and the probe stays doubted until
            somebody has looked at it
        does: the fan as lately, after a fall of 70 C off; trips 30 min later
        bounds: fall_least, deep, deep_trip, open_most
        reads: Still open, or the probe is off the grate
        tests: case_fire, test_twin_guards

    Guard: an opening that is announced and does not come
        cause: a button that presses itself, a program that repeats its order
        evidence: no fall as fast as half a lid's; all such openings together half an hour, given back within an hour
        clears: by itself
        does: the time ends it and nothing is remembered; past the half hour the order is refused
        bounds: fall, open_most
        reads: The lid was said to be open for half an hour lately
        tests: case_opened, test_twin_doubt
    """
    memory.open_low = min(memory.open_low, memory.pit)
    memory.open_level += (memory.smooth - memory.open_level) // LEVELS
    fell = fallen(memory)
    if memory.open_fell == 0 and fell >= RISEN and memory.slope <= -512 * settings.fall // TOLD:
        believe(settings, memory)
        memory.open_left = max(memory.open_left, seconds(settings.open_most))
    part = LATER if later(memory) else PART
    shut = memory.open_fell and memory.pit - memory.open_low >= max(RISEN, fell // part)
    stays = memory.open_fell and memory.open_low < memory.low - NEAR and remains(settings, memory)
    if memory.open_fell:
        memory.calm_left = CALM
        memory.fell_fast = max(memory.fell_fast, -memory.slope)
    falls = memory.open_fell and memory.fall_cycles >= 2  # past its time, too, it is the same opening
    in_time = memory.open_left > 1 and (memory.open_fell or memory.open_spent < MOST_SPENT)
    if not shut and (falls or in_time):
        memory.open_left = max(1, memory.open_left - 1)
        memory.open_spent = count_up(memory.open_spent)
    elif not shut and stays:
        memory.long_cycles = count_up(memory.long_cycles)
        if memory.long_cycles >= seconds(settings.deep_trip):
            trip(memory, TRIP_FELL)
    else:
        memory.open_left = 0
        memory.long_cycles = 0
        if memory.open_fell:
            memory.slope = 0  # the fall was the lid's, not the fire's
            if not shut and memory.open_felt and memory.arrived and stopped(memory) and fell >= SLIPPED:
                memory.lid_since = NO_LID
            memory.recover_left = recovery(settings)
            climb.expect(memory)


def returning(settings, memory):
    """1 in the 2 min after a lid in which the steepest rise is looked for."""
    if memory.recover_left == 0 or memory.hand_past:
        return 0
    return 1 if recovery(settings) - memory.recover_left < RETURNS else 0


def later(memory):
    """1 once the cold meat is on: after the first opening and an hour of holding, and none noted since. Some look in
    before they load."""
    return 1 if memory.openings > 1 and memory.held >= LOADED and memory.cold == 0 else 0


def remains(settings, memory):
    """1 where a fall without a rise is neither cold meat's nor a gust's."""
    if memory.long_cycles > 0 or fallen(memory) >= settings.deep:
        return 1
    return 1 if later(memory) and stopped(memory) else 0


def stopped(memory):
    """1 while the reading, fallen FAR, moves no more."""
    moved = memory.smooth - memory.open_level
    return 1 if fallen(memory) >= FAR and -STOPPED <= moved <= STOPPED else 0


def fallen(memory):
    """How far the pit has fallen in the present opening, 0.01 C."""
    return memory.open_from - memory.open_low


def recovery(settings):
    """How long an opening may take to be made up for, cycles."""
    return clip(settings.recover * 1000 // PERIOD_MS, 0, 32000)
