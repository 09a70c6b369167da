"""What a doubt does: the pit is held where it reads, and let up slowly, until a person has looked at the probe.

A healthy fire under cold meat must not die of a doubt, and a slipped probe must not drive the true pit on. So the aim
is the reading of the moment the doubt began, and rises by 25 C at most, to 15 C below the band, at 5.6 C an hour: a
degree of it may be five of the true pit. The fan does no less than it lately did: if that alone lifts the pit, it is
lifted. Where no holding has shown what that is, nothing is held back, unless a second probe at the grate has shown how
hot the pit is (`witness.py`).
"""

from .fields import BY_AIR, FULL
from .whole import clip

LET_UP = 25 * 1600  # 1/1600 C
CREEPS = 5  # 1/1600 C a cycle, 5.6 C an hour
LEAST_KEPT = 1000  # 0.01 %: keeps a fire alive that burned low
SHORT_OF = 15 * 1600  # 1/1600 C


def begin(memory, by=BY_AIR):
    """The pit's probe may read cool over a far hotter pit: so it stands until a person has looked at it."""
    if memory.doubt == 0:
        mark(memory)
    memory.doubt = max(memory.doubt, by)


def mark(memory):
    """A doubted pit is held where it reads now."""
    memory.mark = memory.smooth
    memory.mark_most = max(memory.mark, min(memory.mark + LET_UP, memory.low * 16 - SHORT_OF))


def known(memory):
    """1 where a doubt may hold the pit back: it has been held, and so what the fire needs is known; or a witness has
    shown where it stands."""
    return 1 if memory.doubt and (memory.held > 0 or memory.mark_stands) else 0


def watch(memory, demand):
    """Once a cycle while a doubted pit is held: let its level up, slowly, or to where what it lately got lifts it."""
    if memory.mark < memory.mark_most:
        memory.mark += CREEPS
    if demand <= keeps(memory) and memory.smooth > memory.mark:
        memory.mark = memory.smooth
        memory.mark_most = max(memory.mark_most, memory.mark)


def keeps(memory):
    """What keeps this fire alive, 0.01 %: what it lately did, and a little for one that burned low."""
    return clip(memory.lately // 1000, LEAST_KEPT, FULL)
