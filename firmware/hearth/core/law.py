"""The law that holds the band: PID in two degrees of freedom for a fire that can only be fed.

All numbers are whole and every intermediate stays within +-(2**30 - 1), the small
integer of a 32-bit board. `smooth` and `aim` are in 1/1600 C, `slope` in 1/51200 C/s;
pull, owed, brake, need and the demand in 0.01 %. Structure after Astrom and Hagglund,
"Advanced PID Control" (2006): derivative on the measurement, aim weighted by pace.
"""

from . import held_back
from .fields import ABSENT, FULL, UNLEARNED, WHOLE
from .whole import clip

SLOPE_MS = 20000  # time constant of the slope's filter, on top of the reading's own
SURE = 3  # good readings before one may be acted on: the middle one of three is no single corrupt one
JUMP = 200  # 0.01 C: a reading that is further from the last one counts only if another bears it out
RISES = 800  # 1/1600 C a cycle, 15 C/min: faster than this no pit takes a new place
SLOW = 512  # 0.01 C/s, 0.6 C/min: slower than this a climb has ended
TWICE = 2  # times its part of the fan: the integral of a strong fan may reach this until the first arrival is over
MOST_PART = 32000  # a part of the demand is cut off here, far outside what the fan can do


def take_reading(settings, now, memory):
    """Filter a good reading into `smooth` and `slope`; returns the rise this cycle, 1/51200 C/s.

    Of three readings the middle one is taken, so that a single corrupt one reaches neither lids nor arrival nor brake;
    one that is within 2 C of the last is taken as it is, which spares the law a cycle's delay.

    Guard: a corrupt reading
        cause: a bit that flips on the wire between converter and board: nothing guards the 24 bits of a temperature
        evidence: more than 2 C from the last reading: the middle one of three is taken
        clears: by itself
        does: one wrong reading reaches neither lids nor arrival nor brake; over the limit three in a row count
        bounds: none
        reads: -
        tests: case_opened, test_twin_doubt
    """
    if memory.seen == 0:
        memory.last = memory.earlier = now.pit
    memory.pit = now.pit
    if not -JUMP <= now.pit - memory.last <= JUMP:
        memory.pit = middle(now.pit, memory.last, memory.earlier)
    memory.earlier = memory.last
    memory.last = now.pit
    new = memory.pit * 16
    if memory.seen == 0:
        memory.smooth = memory.plateau = new
        memory.slope = 0
        memory.seen = 1
        return 0
    if memory.seen < SURE:
        memory.seen += 1
    if now.dt == 0:
        return 0
    share = now.dt * 1024 // (settings.filter + now.dt)
    move = (new - memory.smooth) * share >> 10
    memory.smooth += move
    rate = clip(clip(move, -32000, 32000) * 32000 // now.dt, -512000, 512000)
    share = now.dt * 1024 // (SLOPE_MS + now.dt)
    memory.slope += (rate - memory.slope) * share >> 10
    memory.plateau = min(memory.smooth, memory.plateau + RISES)
    return rate


def middle(a, b, c):
    """The one of three that is neither the least nor the greatest."""
    if a > b:
        a, b = b, a
    return a if c < a else b if c > b else c


def goal(memory):
    """Where in its band the pit is best held, 1/1600 C: thirteen sixteenths up until the first opening, then four
    fifths.

    Everything that disturbs a pit takes heat, the cold meat most of all, so the room is wanted below. While an opening
    is being made up for it is five eighths: the fire that was stoked for that goes on for a while. In gusts it gives
    way (`learned.give_way`).
    """
    if memory.openings == 0:
        return memory.low * 3 + memory.high * 13
    usual = (memory.low + memory.high * 4) * 16 // 5 - memory.yields
    if memory.calm_left > 0:
        return min(usual, memory.low * 6 + memory.high * 10)
    return usual


def move_aim(settings, now, memory):
    """Take the aim towards its goal: at once on the first climb, else at the set pace, without a bump."""
    if held_back.known(memory):
        memory.aim = clip(memory.mark, 0, goal(memory))
    elif memory.arrived == 0:
        memory.aim = goal(memory)
    else:
        step = settings.pace * 16 * now.dt // 60000
        memory.aim += clip(goal(memory) - memory.aim, -step, step)


def gain(settings, memory):
    """The gain the law works with, 0.01 %/C: the set one, times what was learned, in the climb times its reach."""
    return settings.gain * memory.share // WHOLE * scale(memory) // FULL


def scale(memory):
    """How strong a fan the law reckons with, 0.01 %: until the first arrival is over, what this pit climbs with."""
    return FULL if memory.settled else memory.reach


def pull(settings, memory):
    """Proportional part, 0.01 %: how far the pit is below the aim."""
    return clip(gain(settings, memory) * ((memory.aim - memory.smooth) >> 4) // 100, -MOST_PART, MOST_PART)


def brake(settings, memory):
    """Derivative part, 0.01 %: what the present rise will still bring, looked at further ahead on the first climb.

    Half as far where a lid has interrupted the climb. Looked at too far ahead, a quick pit goes up and down below its
    band for hours, and each fall is felt as a lid.
    """
    ahead = settings.lead
    if memory.arrived == 0:
        ahead = settings.coast // 2 if memory.openings else settings.coast
    rise = clip(memory.slope * ahead // 512, -MOST_PART, MOST_PART)
    return clip(gain(settings, memory) * rise // 100, -MOST_PART, MOST_PART)


def need(settings, now, memory):
    """Feed-forward, 0.01 %: what this aim is known to need over the air outside; 0 until the cooker is known."""
    over = (memory.aim >> 4) - now.ambient
    if settings.known == 0 or now.ambient <= ABSENT or over <= 0:
        return 0
    return clip(settings.known * over // 1000, 0, FULL)


def learn(settings, now, memory, pulled, demand, most):
    """Integrate the pull into what is owed, unless the fan already does all it may in that direction.

    Sign-aware conditional integration: at the limits only a pull back towards the range is learned.
    (Clamping the integral alone leaves the band after a cold start; see the tests.) Before the first arrival is over a
    strong fan answers in parts; in the lower half of the band the integral takes twice those parts, so that the pit is
    well inside when the meat goes on.
    """
    if memory.smooth * 2 < (memory.low + memory.high) * 16:
        part = scale(memory)
        pulled = pulled * min(TWICE * part, FULL) // part
    if (demand >= most and pulled > 0) or (demand <= 0 and pulled < 0):
        return
    memory.owed = clip(memory.owed + pulled * now.dt // settings.reset, 0, 1000 * FULL)


def owe(memory, demand, rest):
    """Set what is owed so that the law goes on from `demand` without a bump; `rest` is pull + need - brake."""
    memory.owed = clip(demand - rest, 0, FULL) * 1000


def rebase(settings, new, now, memory):
    """Before `new` settings replace `settings`: keep the demand where it is. Other gains: what was learned with the old
    ones is forgotten."""
    before = pull(settings, memory) - brake(settings, memory) + need(settings, now, memory)
    if (
        new.gain != settings.gain
        or new.reset != settings.reset
        or new.lead != settings.lead
        or new.learn != settings.learn
    ):
        unlearn(memory)
    after = pull(new, memory) - brake(new, memory) + need(new, now, memory)
    memory.owed = clip(memory.owed + 1000 * (before - after), 0, 1000 * FULL)


def unlearn(memory):
    """The law works with the set gain again."""
    if memory.share != WHOLE or memory.learned != WHOLE:
        memory.share = memory.learned = WHOLE
        memory.lesson = UNLEARNED


def forget(settings, now, memory):
    """By order: the same, without a bump."""
    before = pull(settings, memory) - brake(settings, memory)
    unlearn(memory)
    after = pull(settings, memory) - brake(settings, memory)
    memory.owed = clip(memory.owed + 1000 * (before - after), 0, 1000 * FULL)
