"""What the board learns of its fire while it holds: how strongly to answer.

One gain does not suit every fire. A quick, strong one swings for hours between the edges of its band; a slow, heavy one
comes back late. So the law works with a share of the set gain (`share`). Swings lower it, late returns raise it. Each
needs far more than a quiet night shows, so it does not drift. What was learned stays for the next cook on this board:
that one climbs with the set gain and begins to hold half-way between the set gain and what was learned.

Wind makes a pit swing, too. There the fan moves little; a swing of the law's own takes as much as the fan lately did.
Less gain does not help against wind, but room above does: each cycle above the band lowers the aim a little.
"""

from . import law, witness
from .fields import CARRIED, CLIMBING, HOLDING, SLUGGISH, STRONG, SWUNG, WHOLE
from .whole import clip, count_up

NEAR = 2 * 1600  # 1/1600 C: an aim this near its goal moves for no new band
HALF = 240  # cycles, 8 min: a longer half swing is the weather's, not the law's
WIDE = 4 * 1600  # 1/1600 C: a smaller half swing costs nothing in a band of 14 C
WIDE_CLIMB = 2 * 1600  # 1/1600 C: before the first arrival is over the law answers in parts, and swings less
ENOUGH = 3  # half swings in a row
LESS = 800  # of 1000: what is left of the share after them
LESS_CLIMB = 640  # the same in the climb, where a pit that swings does not arrive
OFF_AIM = 3 * 1600  # 1/1600 C: this far off the aim,
LATE = 200  # cycles, 6.7 min: for this long, though the fan could do more, or less
MORE = 1150  # of 1000
LEAST, MOST = 150, 1500  # of 1000
YIELDS = 80  # 1/1600 C, 0.05 C: the aim gives way by this in a cycle above the band; it comes back by 1.1 C/h
YIELDS_MOST = 4  # sixteenths of the band


def begin(settings, memory):
    """The pit has arrived: the holding begins half-way between the set gain and what was learned before."""
    if settings.learn and memory.learned != WHOLE:
        memory.share = (WHOLE + memory.learned) // 2
        memory.lesson = CARRIED


def begin_with(memory, most):
    """The first arrival is over, and the fan has shown how strong it is: no more than this share, 0.1 %."""
    most = max(LEAST, most)
    if memory.share > most:
        memory.share = most
        memory.lesson = STRONG


def watch(settings, memory, demand):
    """Once a cycle while the band is held: count the swings and the late returns that nothing but the law explains."""
    if settings.learn == 0 or not calm(memory):
        memory.swings = 0
        memory.swing_at = memory.smooth
        memory.swing_for = 0
        memory.late = 0
        return
    give_way(memory, demand)
    watch_swings(memory)
    watch_returns(settings, memory, demand)


def calm(memory):
    """1 while the law alone moves the pit: no lid, hand, experiment, new band, doubt, fading fire or weak supply."""
    if memory.trial_left > 0 or witness.accuses(memory):
        return 0
    if memory.state != HOLDING and memory.state != CLIMBING:  # of the cycle before
        return 0
    if memory.recover_left > 0 or memory.weak_left > 0 or memory.more_cycles > 0 or memory.doubt:
        return 0
    return 1 if -NEAR <= memory.aim - law.goal(memory) <= NEAR else 0


def give_way(memory, demand):
    """What stands above the band though the fan could do less: the aim gives way, and comes back slowly.

    In gusts the pit is lifted above a band that it would not leave from a lower place. So the aim falls until no more
    than one cycle in 80 is above.
    """
    if memory.settled and memory.smooth > memory.high * 16:
        if demand > 0:
            memory.yields = min((memory.high - memory.low) * YIELDS_MOST, memory.yields + YIELDS)
    else:
        memory.yields = max(0, memory.yields - 1)


def watch_swings(memory):
    """Half swings in a row, each wide enough and short enough: answer less.

    A half swing ends when the pit has turned back by WIDE from its extreme, `swing_at`. One in which the fan moved by
    less than it lately did is the wind's. Before the first arrival is over the most in a row is kept as `wobbles`.
    """
    memory.swing_for = count_up(memory.swing_for)
    memory.swing_fan_low = min(memory.swing_fan_low, memory.fan)
    memory.swing_fan_high = max(memory.swing_fan_high, memory.fan)
    if memory.swing_up:
        memory.swing_at = max(memory.swing_at, memory.smooth)
    else:
        memory.swing_at = min(memory.swing_at, memory.smooth)
    wide = WIDE if memory.settled else WIDE_CLIMB
    if -wide <= memory.swing_at - memory.smooth <= wide:
        if memory.swing_for > HALF:
            memory.swings = 0
        return
    if memory.swing_fan_high - memory.swing_fan_low < memory.lately // 1000:
        memory.swings = 0
    else:
        memory.swings = memory.swings + 1 if memory.swing_for <= HALF else 1
    memory.swing_fan_low = memory.swing_fan_high = memory.fan
    memory.swing_up = 1 - memory.swing_up
    memory.swing_at = memory.smooth
    memory.swing_for = 0
    if memory.settled == 0:
        memory.wobbles = max(memory.wobbles, memory.swings)
    if memory.swings >= ENOUGH:
        memory.swings = 0
        memory.late = 0
        less = LESS if memory.settled else LESS_CLIMB
        answer(memory, memory.share * less // WHOLE, SWUNG)


def watch_returns(settings, memory, demand):
    """Off the aim for long, though the fan could do more, or less: answer more."""
    off = memory.smooth - memory.aim
    short = off < -OFF_AIM and demand < settings.ceiling
    if memory.settled and (short or (off > OFF_AIM and demand > 0)):
        memory.late += 1
    else:
        memory.late = 0
    if memory.late >= LATE:
        memory.late = 0
        answer(memory, memory.share * MORE // WHOLE, SLUGGISH)


def answer(memory, share, lesson):
    """From now on the law works with this share of the set gain."""
    share = clip(share, LEAST, MOST)
    if share != memory.share:
        memory.share = memory.learned = share
        memory.lesson = lesson
