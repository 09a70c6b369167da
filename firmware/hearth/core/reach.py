"""How strong the fan is on this pit, learned while the pit climbs.

The same fan is weak on one cooker and far too strong on another: there it blows the fire cold, and its heat is on the
way long before the pit shows it. `reach` is the fan that this pit climbs with at a good pace. It begins low, grows
while the pit rises slowly, and shrinks while it rises fast. The fan does no more than that, and until the first arrival
is over the law answers in parts of it (`law.scale`).

What the fan does shows minutes later, so a reach that still grows when the pit begins to rise is already too great.
Where that has happened, the next one grows a quarter as fast from half of that reach on.
"""

from . import learned
from .fields import FULL, WHOLE
from .whole import clip

GROWS = 33  # 0.01 % a cycle, 10 %/min: the most that the reach grows; what the fan does shows minutes later
GROWS_LEAST, GROWS_PART = 4, 128  # 0.01 % a cycle, and 1/128 of the reach: a small one grows slowly
SLOWER = 4  # times slower, once half of what was too much is reached again
SHRINKS = 16  # 1/16 of the reach a cycle while the pit rises twice as fast as it should
LEAST = 300  # 0.01 %
RISES = 4700  # 1/51200 C/s, 5.5 C/min: a faster climb cannot be caught any more
RISES_HELD = 10240  # 12 C/min: the same while the pit is held, where it has less way to gather speed
CREEPS = 2560  # 1/51200 C/s, 3 C/min: a slower one wants more fan
NEARS = 600  # s: near the aim it is enough to rise 1/600 of the way left a second
WOBBLED = 3  # half swings in a row in the climb: this pit answers late
STRONG = 2800  # 0.01 %: a fan that climbs with less is strong for this pit
HOLDS = 5000  # 0.01 %: when it is held with less, its fan is strong
SOON = 150  # cycles, 5 min held: a lid before that was one on the way
SETTLES = 1800  # cycles, an hour held: no lid has come, and the pit is as warm as its walls get


def watch(memory):
    """Once a cycle: the most that the fan does on this pit, 0.01 %."""
    most = RISES_HELD if memory.settled else RISES
    over = memory.slope - most
    after_lid = memory.recover_left > 0 or (memory.arrived > 0 and memory.calm_left > 0)
    if over > 0 and not after_lid:  # after a lid it is the air that rises, not the fire
        if memory.reach_falls == 0:
            memory.reach_falls = 1
            memory.too_much = memory.reach
        less = memory.reach * min(over, most) // (most * SHRINKS)
        memory.reach = max(LEAST, memory.reach - less)
        return memory.reach
    wanted = min(CREEPS, (memory.aim - memory.smooth) * 32 // NEARS)
    if memory.slope < wanted and memory.fan >= memory.reach:
        memory.reach_falls = 0
        more = min(GROWS, GROWS_LEAST + memory.reach // GROWS_PART)
        if 0 < memory.too_much < 2 * memory.reach:
            more = max(1, more // SLOWER)
        memory.reach = min(FULL, memory.reach + more)
    return memory.reach


def settle(settings, memory, needed):
    """By the first lid or after an hour the first arrival is over, and the law takes its whole gain.

    It goes on from what the fan lately did. It begins gently with a fan that climbed with a small part of itself, and
    more gently still where the climb wobbled and little fan holds the pit: that pit answers late, so it would swing.
    In a climb that did not wobble the air that it takes to hold says nothing of the gain.
    """
    if memory.settled == 0 and (memory.held >= SETTLES or (memory.openings and memory.held >= SOON)):
        memory.settled = 1
        if settings.learn:
            most = memory.reach * WHOLE // STRONG
            if memory.wobbles >= WOBBLED:
                most = min(most, memory.lately // HOLDS)
            learned.begin_with(memory, most)
        memory.owed = clip(max(memory.owed, memory.lately - needed * 1000), 0, 1000 * FULL)


def skip(memory):
    """The pit is hot already: there is no climb that could show how strong the fan is."""
    memory.reach = FULL
    memory.settled = 1
