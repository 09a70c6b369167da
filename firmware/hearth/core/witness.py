"""A witness: a meat probe that hangs at the grate beside the pit's probe until the meat goes on, in the same air.

What is compared is the rise over the air outside, since a probe that lies wrong reads a part of it. The probes' sheaths
lag by different times, so each is accused only by the other's slow average (3 min), or by its present value where that
is lower: no lag of a good probe explains being below both. Places on a grate differ, and one probe may hang in a
draught; four fifths of the other's rise are allowed for that, and three minutes below it count. On the strangers'
choosing half, with probes of 6 to 90 s, places up to 8 % apart and draughts of 12 %, no good probe was called in
370 cooks (`tests/bench/second_probe.py`). While a lid is open and made up for, nothing is counted.

Of two sensors that differ the lower one is off, as far as two can say: a probe that slipped, hangs out of the air or in
a draught reads low, and only one over the fire reads high. A pit probe that is off is doubted, and the pit is then held
by the witness; one that agrees ends a doubt.
"""

from . import forget, held_back, law
from .fields import (
    ABSENT,
    BY_MORE,
    FULL,
    WITNESS_AGREES,
    WITNESS_LOW,
    WITNESS_NONE,
    WITNESS_PIT_LOW,
    WITNESS_WAITS,
)  # fmt: skip
from .whole import clip, count_up

FAST = 10  # cycles, 20 s: time constant of the witness's reading
SLOW = 90  # cycles, 3 min: of the averages that accuse
COLDEST_BASE, WARMEST_BASE = -2000, 2500  # 0.01 C: what may be taken for the air outside where nothing measures it
RISEN = 40 * 1600  # 1/1600 C: a smaller rise says nothing yet
ROSE = 20 * 1600  # 1/1600 C: a rise of this shows that it hangs in the pit's air
LEAST = 80  # percent of the other's rise: below this one of the two is off
FAR = 50  # percent: below this each cycle counts
FASTER = 2  # times faster
ALIKE = 85  # percent: from here on they agree
FOR = 90  # cycles, 3 min: for this long below LEAST
AGREED = 150  # cycles, 5 min: alike for this long
ENDS = 390  # cycles, 13 min: a witness that reads low for this long says nothing more
GONE = 15  # cycles, 30 s: without a reading it was taken away
SUNK = 45  # cycles, 90 s: below half of the pit's rise for this long, it is in the meat
AHEAD = 3  # halves of (fast - slow): what a pit still rises in `coast`, by the two averages' 160 s


def reading(now, channel):
    """What meat probe 1..3 reads, 0.01 C."""
    return now.meat_1 if channel == 1 else now.meat_2 if channel == 2 else now.meat_3


def begin(now, memory, channel):
    """Meat probe `channel`, 1..3, hangs at the grate from now on."""
    forget.at_witness(memory)
    memory.witness = channel
    base = now.ambient
    if base <= ABSENT:
        base = min(memory.pit, reading(now, channel))
    memory.witness_base = clip(base, COLDEST_BASE, WARMEST_BASE)


def end(memory):
    """It hangs there no more. A pit that it showed to be hotter than read is held where it now reads."""
    if accuses(memory) and memory.doubt:
        memory.mark = memory.mark_most = memory.smooth
        memory.mark_stands = 1
    forget.at_witness(memory)


def accuses(memory):
    """1 while the witness shows that the pit's probe reads low, or is about to."""
    called = memory.witness_says == WITNESS_PIT_LOW and memory.doubt
    return 1 if memory.witness and (called or memory.witness_for > 0) else 0


def says(memory):
    """What the witness says, one of WITNESS_*."""
    if memory.witness == 0:
        return WITNESS_NONE
    return max(memory.witness_says, WITNESS_WAITS)


def watch(now, memory):
    """Once a cycle with a good reading of the pit.

    Guard: a pit probe that reads less than a second one beside it
        cause: a probe that lay wrong from the start, slipped before the meat goes on, or a worn one
        evidence: a meat probe hung at the grate (the order `witness`): the pit's rise over the air outside is below
            four fifths of the witness's for 3 min, once that has risen 40 C
        clears: the two agree for 5 min; the order `looked`
        does: calls a person; the fan does no more than the witness's own distance from the band asks for. When the
            witness is taken away, the pit is held where it then reads
        bounds: gain
        reads: The second probe at the grate reads far more than the pit's: look at the pit probe first
        tests: case_witness, test_twin_doubt, tests/bench/second_probe.py

    Guard: a witness that says nothing
        cause: the second probe hangs outside the pit, or goes into the meat
        evidence: its rise is below four fifths of the pit's for 3 min; below half for 90 s after it had risen; no
            reading for 30 s
        clears: the order `witness`
        does: says that the witness reads low, or the pit's probe lies over the fire; then it is no witness any more
        bounds: none
        reads: The second probe reads far less than the pit's
        tests: case_witness, test_twin_doubt
    """
    if memory.witness == 0:
        return
    own = reading(now, memory.witness)
    if own == ABSENT:
        memory.witness_gone = count_up(memory.witness_gone)
        if memory.witness_gone >= GONE:
            end(memory)
        return
    if memory.witness_cycles == 0:
        memory.witness_fast = memory.witness_slow = own * 16
        memory.pit_slow = memory.smooth
        memory.witness_gone = 0
    memory.witness_cycles = count_up(memory.witness_cycles)
    memory.witness_fast += (own * 16 - memory.witness_fast) // FAST
    memory.witness_slow += (memory.witness_fast - memory.witness_slow) // SLOW
    memory.pit_slow += (memory.smooth - memory.pit_slow) // SLOW
    compare(memory)


def compare(memory):
    """Count for how long one reads lower than the other, and say so."""
    base = memory.witness_base * 16
    own = memory.witness_fast - base
    pit = memory.smooth - base
    own_least = min(own, memory.witness_slow - base)
    pit_least = min(pit, memory.pit_slow - base)
    if own_least >= ROSE:
        memory.witness_rose = 1
    sunk = memory.witness_rose and pit_least >= ROSE and own * 2 < pit_least
    memory.witness_gone = count_up(memory.witness_gone) if sunk else 0
    if memory.witness_gone >= SUNK:
        end(memory)
        return
    if memory.open_left > 0 or memory.recover_left > 0:
        return
    pit_low = own_least >= RISEN and pit * 100 < own_least * LEAST
    own_low = pit_least >= RISEN and own * 100 < pit_least * LEAST
    risen = own_least >= RISEN and pit_least >= RISEN
    alike = risen and pit * 100 >= own_least * ALIKE and own * 100 >= pit_least * ALIKE
    far = 1 if pit * 100 < own_least * FAR else 0
    memory.witness_for = min(memory.witness_for + 1 + far * FASTER, 32000) if pit_low else 0
    memory.witness_less = count_up(memory.witness_less) if own_low else 0
    memory.witness_alike = count_up(memory.witness_alike) if alike else 0
    if memory.witness_for >= FOR:
        memory.witness_says = WITNESS_PIT_LOW
        held_back.begin(memory, BY_MORE)
    elif memory.witness_less >= ENDS:
        end(memory)
    elif memory.witness_less >= FOR:
        memory.witness_says = WITNESS_LOW
    elif memory.witness_alike >= AGREED:
        if memory.doubt:
            memory.aim = law.goal(memory)
            forget.at_looked(memory)
        memory.witness_says = WITNESS_AGREES


def most(settings, memory):
    """The most the fan may do while the pit is held by the witness, 0.01 %: by its distance from the aim, less what it
    still rises."""
    ahead = max(0, memory.witness_fast - memory.witness_slow) * AHEAD // 2
    return clip(law.gain(settings, memory) * ((law.goal(memory) - memory.witness_fast - ahead) >> 4) // 100, 0, FULL)


def differs(memory):
    """The pit's reading less the witness's, smoothed, 0.01 C; 0 without a witness."""
    if memory.witness == 0 or memory.witness_cycles == 0:
        return 0
    return clip((memory.smooth - memory.witness_fast) >> 4, -30000, 30000)
