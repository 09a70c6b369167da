"""What the fire needs, learned from tonight's fire: no number here knows the cooker."""

from . import forget
from .fields import FULL
from .whole import clip

LATELY = 120  # cycles, 4 min: time constant of `lately`
USUAL = 2700  # cycles, 90 min: time constant of `usual`; before that many have been seen it is their plain mean
GUSTS = 450  # cycles, 15 min: time constant of `gusts`


def learn(memory, demand):
    """Follow what the fire needs now and what it has usually needed, while nothing disturbs it."""
    low = memory.low * 16
    if memory.arrived == 0 or memory.recover_left > 0 or (memory.held == 0 and memory.smooth < low):
        return
    if memory.calm_left > 0:
        memory.calm_left -= 1
    if memory.doubt:  # what a doubted pit is given says nothing of what it needs
        return
    if memory.held == 0:
        memory.lately = memory.usual = demand * 1000
        memory.proven = memory.low
    memory.held = clip(memory.held + 1, 0, 1073741823)
    if memory.calm_left == 0 and memory.smooth >= low:
        memory.proven = memory.low
        off = demand * 1000 - memory.lately
        memory.gusts = clip(memory.gusts + (max(off, -off) - memory.gusts) // GUSTS, 0, 1000 * FULL)
        memory.lately = clip(memory.lately + off // LATELY, 0, 1000 * FULL)
        memory.need_cycles = min(memory.need_cycles + 1, USUAL)
        seen = max(memory.need_cycles, LATELY)
        memory.usual = clip(memory.usual + (demand * 1000 - memory.usual) // seen, 0, 1000 * FULL)


def new_band(memory):
    """Another band, by a person or the programme."""
    memory.usual = memory.lately
    memory.proven = min(memory.proven, memory.low)
    forget.at_band(memory)
