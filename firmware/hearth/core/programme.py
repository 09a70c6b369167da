"""The programme: up to eight phases, each a band and how it ends. Texts stay on the host."""

from . import forget, need
from .fields import ABSENT, END_AFTER, END_BY_HAND, END_MEAT_1, END_MEAT_2, MODE_HOLD, MODE_OFF, PERIOD_MS, ROW
from .whole import clip, count_up

MEAT_FOR = 15  # cycles a meat probe must stand past the end: a probe pushed deeper is not a finish
A_MINUTE = 60000 // PERIOD_MS


def enter(settings, memory, row):
    """Go to a row of the programme; one past the last is the end of the cook: fan off, the fire may die."""
    memory.phase = row
    memory.phase_cycles = 0
    memory.meat_cycles = 0
    memory.lost_cycles = 0
    if memory.phases == 0:
        hold(memory, settings.band_low, settings.band_high)
    elif row < memory.phases:
        hold(memory, memory.rows[row * ROW], memory.rows[row * ROW + 1])
    else:
        forget.at_stop(memory)


def hold(memory, low, high):
    """The band from now on."""
    if memory.low != low or memory.high != high:
        need.new_band(memory)
    memory.low = low
    memory.high = high


def over(memory):
    """1 if the programme has been worked through."""
    return 1 if memory.phases > 0 and memory.phase >= memory.phases else 0


def watch(settings, now, memory):
    """Once a cycle while the pit is held: end the phase when its end has come."""
    memory.phase_cycles = clip(memory.phase_cycles + 1, 0, 1073741823)
    if memory.phase >= memory.phases:
        return
    kind = memory.rows[memory.phase * ROW + 2]
    value = memory.rows[memory.phase * ROW + 3]
    if kind == END_BY_HAND:
        return
    if kind == END_AFTER:
        ended = memory.phase_cycles >= value * A_MINUTE
    else:
        meat = now.meat_1 if kind == END_MEAT_1 else now.meat_2 if kind == END_MEAT_2 else now.meat_3
        if memory.witness == kind - END_MEAT_1 + 1:  # it hangs in the pit's air, not in the meat
            meat = min(meat, value - 1)
        memory.meat_cycles = count_up(memory.meat_cycles) if meat >= value else 0
        memory.lost_cycles = count_up(memory.lost_cycles) if meat == ABSENT else 0
        ended = memory.meat_cycles >= MEAT_FOR
    if ended:
        enter(settings, memory, memory.phase + 1)


def lost(memory):
    """Number of the meat probe that the phase waits for in vain, else 0: it will not end by itself.

    Guard: a piece's probe fails in a phase that ends by it
        cause: a probe pulled out, a broken wire
        evidence: no reading for 30 s
        clears: a reading
        does: goes on holding; the phase does not end
        bounds: none
        reads: The probe that ends this phase gives no reading
        tests: case_faults, test_twin_guards
    """
    if memory.mode != MODE_HOLD or memory.lost_cycles < MEAT_FOR or memory.phase >= memory.phases:
        return 0
    return max(0, memory.rows[memory.phase * ROW + 2] - END_MEAT_1 + 1)


def wrong(rows, limit):
    """Check rows from outside, each [low, high, end kind, end value]; "" or what is wrong.

    limit: top of any band, 0.01 C.
    """
    if len(rows) > 8:
        return "more than eight phases"
    for row in rows:
        if len(row) != ROW or not all([type(number) is int for number in row]):
            return "a phase is four whole numbers"
        low, high, kind, value = row
        if not 4000 <= low < low + 200 <= high <= limit:
            return "a band out of range"
        if not 0 <= kind <= 4:
            return "an unknown kind of end"
        if kind == END_BY_HAND and not 0 <= value <= 12000:
            return "an end by hand takes no number"
        if kind == END_AFTER and not 1 <= value <= 5760:
            return "a time out of range"
        if kind > END_AFTER and not 3000 <= value <= 12000:
            return "a meat temperature out of range"
    return ""


def load(settings, memory, rows, row, afresh):
    """Take checked rows as the programme. row: where the phase in force now stands, and goes on with its time; with
    afresh the pit enters that row instead. At rest the pit waits in it. A row that does not exist stands for the
    first."""
    memory.phases = len(rows)
    memory.meat_cycles = 0
    memory.lost_cycles = 0
    for i in range(len(memory.rows)):
        memory.rows[i] = rows[i // ROW][i % ROW] if i // ROW < len(rows) else 0
    if memory.mode == MODE_OFF or afresh or row >= memory.phases:
        enter(settings, memory, row if row < memory.phases else 0)
    else:
        memory.phase = row
        hold(memory, memory.rows[row * ROW], memory.rows[row * ROW + 1])
