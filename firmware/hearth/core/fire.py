"""Judging the fire: openings told and felt, recovery after them, a fire that fades, the first arrival."""

from .fields import PERIOD_MS
from .law import SLOW, clip

RISEN = 200  # 0.01 C: fallen so far by an opening, or risen so far above its lowest reading
SHUT = 3072  # 0.06 C/s: rising like this after the fall, the lid is shut
FLAT = 64  # 0.075 C/min: not rising


def seconds(value):
    """Seconds -> cycles, at least one."""
    return clip(value * 1000 // PERIOD_MS, 1, 32000)


def begin_opening(memory, cycles, felt, before):
    """The lid is open for at most so many cycles; `before` is the pit's temperature until then, 0.01 C."""
    if memory.open_left == 0:
        memory.openings = clip(memory.openings + 1, 0, 32000)
        memory.open_from = before
        memory.open_low = memory.last
        memory.open_felt = felt
    memory.open_left = cycles
    memory.fall_cycles = 0


def watch_opening(settings, memory, rate):
    """Once a cycle with a good reading: feel an opening by its fall, see the lid shut by the rise after it."""
    if memory.open_left > 0:
        memory.open_left -= 1
        memory.open_low = min(memory.open_low, memory.last)
        fell = memory.open_from - memory.open_low >= RISEN
        shut = rate >= SHUT or memory.last - memory.open_low >= RISEN
        if memory.open_left == 0 or (fell and shut):
            memory.open_left = 0
            memory.slope = 0  # the fall was the lid's, not the fire's
            memory.recover_left = clip(settings.recover * 1000 // PERIOD_MS, 0, 32000)
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


def watch_arrival(memory):
    """The first climb has ended: at the aim, or in the band and no longer rising."""
    if memory.arrived:
        return
    if memory.smooth >= memory.aim or (memory.smooth >= memory.low * 16 and memory.slope < SLOW):
        memory.arrived = 1


def watch_fading(settings, memory, demand):
    """Count cycles of a high fan that does not lift a pit below its band; returns 1 when the fire is fading."""
    low = memory.smooth < memory.low * 16
    if low and demand >= settings.fade_fan and memory.slope < FLAT:
        memory.fade_cycles = clip(memory.fade_cycles + 1, 0, 32000)
    elif low and demand >= settings.fade_fan:
        memory.fade_cycles = clip(memory.fade_cycles - 2, 0, 32000)
    else:
        memory.fade_cycles = 0
    return 1 if memory.fade_cycles >= seconds(settings.fade_after) else 0
