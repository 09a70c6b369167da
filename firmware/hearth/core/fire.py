"""Judging the fire: openings told and felt, recovery, the first arrival, a fire that fades, a pit that leaks.

What is usual is learned from the fire at hand: no threshold here knows the cooker.
"""

from .fields import FULL, PERIOD_MS, TRIP_FELL, TRIP_FIRE
from .guard import seconds, trip
from .law import SLOW, clip

RISEN = 150  # 0.01 C: fallen so far by an opening, or risen so far above its lowest reading
PART = 16  # and by this part of the fall: a probe off the grate creeps a little, too
LATER = 4  # the same after the first opening, when there is no cold meat to hold the pit down
FLAT = 64  # 0.075 C/min: not rising; falling slower than this, not falling
LATELY = 120  # cycles, 4 min: time constant of `lately`
USUAL = 2700  # cycles, 90 min: time constant of `usual`
CALM = 300  # cycles, 10 min after an opening: the demand is that of the opening
MORE_FOR = 20  # cycles
MOST_AIR = 1073000000  # 0.01 % x cycles: the next cycle's still fits a small integer
LOADED = 1800  # cycles, an hour
ROOM = 2000  # 0.01 C: three fifths of the way from here to the band, 60 C at the usual one, are the climb
THROTTLED = 2000  # 0.01 %: a fire that needed less than this burns low


def begin_opening(memory, cycles, felt, before):
    """The lid is open for at most so many cycles; `before` is the pit's temperature until then, 0.01 C."""
    if memory.open_left == 0:
        memory.openings = clip(memory.openings + 1, 0, 32000)
        memory.open_from = before
        memory.strain //= 4
        memory.doubt = 0
        if memory.openings == 1 and memory.held > 0:
            memory.before = memory.lately
        if before >= memory.low:
            memory.arrived = 1  # it has been there: what follows is the lid's, or a probe's that slipped
        memory.open_low = memory.last
        memory.open_felt = felt
    memory.open_left = cycles
    memory.long_cycles = 0
    memory.fall_cycles = 0


def watch_opening(settings, memory, rate):
    """Once a cycle with a good reading: feel an opening by its fall, see the lid shut by the rise after it."""
    if memory.open_left > 0:
        watch_shut(settings, memory)
        return
    if memory.recover_left > 0:
        memory.recover_left -= 1
        if memory.smooth >= memory.low * 16:
            memory.recover_left = 0
    if rate > -512 * settings.fall:
        memory.fall_cycles = 0
        return
    if memory.fall_cycles == 0:
        memory.fall_from = clip(memory.smooth >> 4, -10000, 50000)
    memory.fall_cycles = clip(memory.fall_cycles + 1, 0, 32000)
    if memory.fall_cycles >= 2 and memory.fall_from - memory.last >= settings.fall_least:
        begin_opening(memory, seconds(settings.open_most), 1, memory.fall_from)


def watch_shut(settings, memory):
    """The lid is open: see it shut by the rise that follows a fall, else by the time.

    After a fall without a rise the time alone does not end it: the lid still stands open, or the probe has come off
    the grate and reads cool. The fan does no more than it lately did, after a deep fall nothing, and at last it trips.
    The first opening, by which the meat goes on, must be deep for that: cold meat may well hold a pit down; and a pit
    that never left its band may stand where it fell to.
    """
    memory.calm_left = CALM
    memory.open_low = min(memory.open_low, memory.last)
    fell = fallen(memory)
    part = LATER if later(memory) else PART
    shut = fell >= RISEN and memory.last - memory.open_low >= max(RISEN, fell // part)
    if not shut and memory.open_left > 1:
        memory.open_left -= 1
    elif not shut and memory.open_low < memory.low and fell >= least_fall(settings, memory):
        memory.long_cycles = clip(memory.long_cycles + 1, 0, 32000)
        if memory.long_cycles >= seconds(settings.deep_trip):
            trip(memory, TRIP_FELL)
    else:
        memory.open_left = 0
        memory.long_cycles = 0
        memory.slope = 0  # the fall was the lid's, not the fire's
        memory.recover_left = recovery(settings)


def later(memory):
    """1 once the cold meat is on: after the first opening and an hour of holding. Some look in before they load."""
    return 1 if memory.openings > 1 and memory.held >= LOADED else 0


def least_fall(settings, memory):
    """A fall of so much, 0.01 C, must be followed by a rise."""
    return settings.fall_least if later(memory) else settings.deep


def fallen(memory):
    """How far the pit has fallen in the present opening, 0.01 C."""
    return memory.open_from - memory.open_low


def recovery(settings):
    """How long an opening may take to be made up for, cycles."""
    return clip(settings.recover * 1000 // PERIOD_MS, 0, 32000)


def watch_arrival(memory):
    """The first climb has ended: at the aim, or in the band and no longer rising."""
    if memory.arrived:
        return
    if memory.smooth >= memory.aim or (memory.smooth >= memory.low * 16 and memory.slope < SLOW):
        memory.arrived = 1


def begin(memory):
    """A fresh start: nothing is known of this fire yet."""
    memory.openings = 0
    memory.fall_cycles = 0
    memory.recover_left = 0
    memory.calm_left = 0
    memory.held = 0
    memory.more_cycles = 0
    memory.full_cycles = 0
    memory.strain = 0
    memory.before = 0
    memory.doubt = 0
    memory.climb = 0
    memory.rest_cycles = 0
    memory.starved = 0
    memory.above = 0
    memory.excursion = 0
    memory.flare_cycles = 0
    memory.run_cycles = 0
    memory.same = 0


def new_band(memory):
    """Another band, by a person or the programme: what the fire needed for the old one says nothing of this."""
    memory.usual = memory.lately
    memory.more_cycles = 0
    memory.before = 0


def forgive(memory):
    """A person has been there, and orders: the fan has its freedom back."""
    memory.full_cycles = 0
    memory.strain = 0
    memory.doubt = 0


def watch_fading(settings, memory, demand):
    """Once a cycle while the band is held; returns 1 when the fire is fading.

    Two signs: it needs more air than it has usually needed, or a high fan does not lift the pit at all. The second,
    far below the band and long enough, is no fire any more: it trips, and no cold air is blown over the meat.
    """
    low = memory.low * 16
    if memory.arrived == 0 and memory.openings == 0:
        watch_climb(memory, demand)
    learn_usual(memory, demand, low)
    watch_more(settings, memory)
    full = demand >= min(settings.fade_fan, settings.ceiling)
    cut = strained(settings, memory)
    if memory.smooth < low and (full or cut):
        step = -2 if memory.slope >= FLAT else 1 if full or memory.cycles & 1 == 0 else 0
        memory.full_cycles = clip(memory.full_cycles + step, 0, 32000)
    else:
        memory.full_cycles = clip(memory.full_cycles - 2, 0, 32000)
    if memory.smooth >= low:
        memory.strain = 0
    else:
        memory.strain = clip(memory.strain + max(0, demand - memory.lately // 1000), 0, MOST_AIR)
    if memory.full_cycles >= seconds(settings.out_after) and memory.smooth < low - settings.out_below * 16:
        trip(memory, TRIP_FIRE)
    if memory.full_cycles >= seconds(settings.fade_after) or cut:
        return 1
    return 1 if memory.doubt or memory.more_cycles >= MORE_FOR else 0


def strained(settings, memory):
    """1 when all the air beyond what it lately needed has not brought the pit into its band: one that has been there,
    or was started hot, or whose lid went up on the way; only a climb from the cold takes what it takes. The fire is
    weak, or the probe lies where it reads cool and the true pit is far hotter. Which, a person must see: until then the
    fan does no more than it lately did."""
    shown = memory.arrived or memory.climb == 0 or (memory.openings > 0 and memory.climb > 1)
    return 1 if shown and memory.strain >= allowed(settings, memory) else 0


def allowed(settings, memory):
    """How much air beyond the usual may be spent on bringing the pit back, 0.01 % x cycles.

    Twice what the first climb took for its last 60 C: in rehearsals of five kinds of cooker with half, usual and twice
    the fan a true pit then stands at 120 to 220 C, and most cold meat takes less. Half of that after a later opening,
    by which no cold meat goes on; up to twice it where the fire burned low before and must be lit again.
    """
    most = seconds(settings.strain_after) * FULL
    if memory.climb > 1:
        most = clip(memory.climb, most // 8, most) * 2
    if later(memory):
        most //= 2
    throttled = clip(THROTTLED - memory.lately // 1000, 0, THROTTLED)
    return most + most // THROTTLED * throttled


def cut_to(memory):
    """What is left to the fan of a strained fire, 0.01 %: what it lately did, and enough to keep a low fire alive."""
    return max(memory.lately // 1000, THROTTLED // 2)


def watch_climb(memory, demand):
    """Add up the air that the last three fifths of the first climb take; 1 while it has not come so far."""
    if memory.smooth < memory.low * 16 - (memory.low - ROOM) * 16 // 5 * 3:
        memory.climb = 1
    elif memory.climb > 0:
        memory.climb = clip(memory.climb + demand, 1, MOST_AIR)


def learn_usual(memory, demand, low):
    """Follow what the fire needs now and what it has usually needed, while nothing disturbs it."""
    if memory.arrived == 0 or memory.recover_left > 0 or (memory.held == 0 and memory.smooth < low):
        return
    if memory.calm_left > 0:
        memory.calm_left -= 1
    if memory.held == 0:
        memory.lately = memory.usual = demand * 1000
    memory.held = clip(memory.held + 1, 0, 1073741823)
    if memory.calm_left == 0 and memory.smooth >= low:
        memory.lately = clip(memory.lately + (demand * 1000 - memory.lately) // LATELY, 0, 1000 * FULL)
        memory.usual = clip(memory.usual + (demand * 1000 - memory.usual) // USUAL, 0, 1000 * FULL)


def watch_more(settings, memory):
    """Count how long the fire has needed clearly more than usual; while that is not known, far more than it needed
    before the first opening, more than cold meat explains: then the probe may have come to read cool."""
    known = memory.held >= seconds(settings.fade_known)
    more = memory.usual + settings.fade_more * 1000 if known else doubted(memory) * 1000
    if memory.lately >= more:
        memory.more_cycles = clip(memory.more_cycles + 1, 0, 32000)
    else:
        memory.more_cycles = 0
    if known:
        memory.doubt = 0  # from here on what is usual says it
    elif memory.more_cycles >= MORE_FOR:
        memory.doubt = 1


def doubted(memory):
    """More air than this, 0.01 %, cold meat does not explain; all of it where the fire burned low before."""
    if memory.before < THROTTLED * 500:
        return 2 * FULL
    return memory.before // 500


def watch_leak(settings, memory, demand):
    """Count the time without air and above the band; returns 1 when the fire gets air past the fan."""
    if demand == 0:
        memory.starved = clip(memory.starved + 1, 0, 1073741823)
    if memory.smooth > memory.high * 16:
        memory.above = clip(memory.above + 1, 0, 32000)
        memory.excursion = max(memory.excursion, memory.above)
    else:
        memory.above = 0
    if memory.above > 0 and demand == 0 and memory.slope > -FLAT:
        memory.rest_cycles = clip(memory.rest_cycles + 1, 0, 32000)
    elif memory.above == 0 or demand > 0:
        memory.rest_cycles = 0
    return 1 if memory.rest_cycles >= seconds(settings.leak_after) else 0
