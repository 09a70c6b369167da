"""One period's whole decision. The board, the twin, the rehearsals and the replay all call this one function."""

from . import (
    climb,
    cold_meat,
    drive,
    experiment,
    fading,
    heat,
    held_back,
    law,
    leak,
    learned,
    need,
    openings,
    orders,
    parts,
    programme,
    reach,
    reading,
    relied,
    resume,
    witness,
)
from .fields import (
    ABOVE_BAND,
    BELOW_BAND,
    BRAKING,
    BURNOUT,
    BY_HAND,
    CLIMBING,
    COOK_OVER,
    EXPERIMENTING,
    FADING,
    FIRE_FADING,
    HOLDING,
    IN_BAND,
    LEAKING,
    MANUAL,
    MODE_HAND,
    MODE_HOLD,
    MODE_OFF,
    NO_TRIP,
    NOT_RESUMED,
    NOT_STARTED,
    OFF,
    OPENED,
    OPENED_FELT,
    OPENED_TOLD,
    PROBE_DOUBTED,
    READING_BAD,
    REASON_OF_TRIP,
    RECOVERING,
    RESUME_REFUSED,
    STILL_OPEN,
    SUPPLY_LOW,
    TOO_HOT,
    TRIPPED,
    WHOLE,
)  # fmt: skip
from .whole import clip

# 0.01 %: over what is owed, the most the fan may do right after an opening. More would only cool the pit at first.
# Once the walls have given back what they can, in PATIENCE cycles, a pit that is still too cold needs a greater fire.
SURGE = 3000
PATIENCE = 30
SURGE_GROWS = 100  # a cycle
CLIMB_OPEN = 3000  # 0.01 %: the most fan under an open lid in the first climb


def cycle(settings, now, memory, out):
    """Decide one period.

    `settings`, `now` are read, `memory` is carried on, `out` is filled; all are records of the
    field table with every number in its range. Nothing is allocated and nothing is raised.
    """
    memory.cycles = (memory.cycles + 1) & 1073741823
    blind = reading.watch(settings, now, memory)
    rate = law.take_reading(settings, now, memory) if reading.good(memory) else 0
    weak = parts.watch(settings, now, memory)
    if reading.good(memory):
        heat.watch(settings, memory, rate)
    resume.watch(settings, now, memory)
    out.answer = orders.take(settings, now, memory)
    cold_meat.watch(memory)
    if memory.mode == MODE_HOLD:
        programme.watch(settings, now, memory)
        if reading.good(memory):
            openings.watch(settings, memory, rate)
    if reading.good(memory):
        witness.watch(now, memory)
    law.move_aim(settings, now, memory)

    pulled = law.pull(settings, memory)
    braked = law.brake(settings, memory)
    needed = law.need(settings, now, memory)
    if memory.mode == MODE_HAND:
        count_hand(settings, memory)
    hot = heat.rests(settings, memory)
    experiment.watch(settings, now, memory, blind or hot or weak, pulled + needed - braked)
    fades = 0
    leaking = 0
    demand = 0
    if memory.mode == MODE_HAND:
        demand = min(memory.hand_fan, settings.ceiling)
        climb.watch(memory, demand)
    elif memory.mode == MODE_HOLD and memory.open_left == 0 and not blind:
        if memory.trial_left > 0:
            demand = experiment.demand(settings, memory)
        else:
            demand = hold(settings, now, memory, pulled, braked, needed)
            need.learn(memory, demand)
        climb.watch(memory, demand)
        learned.watch(settings, memory, demand)
        fades = fading.watch(settings, memory, demand)
        leaking = leak.watch(settings, memory, demand)
    elif (
        memory.mode == MODE_HOLD and not blind and (memory.long_cycles == 0 or openings.fallen(memory) < settings.deep)
    ):
        demand = keep_alive(settings, memory, needed)
    if blind or hot or weak or memory.trip != NO_TRIP:
        demand = 0
    memory.fan = demand

    state = judge(memory, fades)
    memory.state_cycles = memory.state_cycles + 1 & 1073741823 if state == memory.state else 0
    memory.state = state
    out.fan = demand
    out.duty = drive.duty(settings, memory, demand)
    out.state = state
    out.reason = explain(settings, memory, demand, braked, blind, hot, weak, leaking)
    out.trip = memory.trip
    out.bad = memory.bad
    out.lost = programme.lost(memory)
    out.resume = memory.resume
    out.phase = memory.phase
    out.low = memory.low
    out.high = memory.high
    out.aim = clip(memory.aim >> 4, 0, 30000)
    out.pull = pulled
    out.owed = memory.owed // 1000
    out.brake = braked
    out.need = needed
    out.witness = witness.says(memory)
    out.beside = memory.witness
    out.differs = witness.differs(memory)
    out.share = memory.share
    out.lesson = memory.lesson
    out.call = relied.watch(now, memory)


def hold(settings, now, memory, pulled, braked, needed):
    """The demand that holds the band, 0.01 %."""
    climb.watch_arrival(settings, memory)
    reach.settle(settings, memory, needed)
    owed = memory.owed // 1000
    demand = pulled + owed + needed - braked
    most = settings.ceiling
    within = reach.watch(memory)
    if memory.recover_left > 0:
        usual = max(owed + needed, memory.lately // 1000)
        most = min(most, usual + surge(settings, memory))
        within = max(within, usual + SURGE * min(memory.share, WHOLE) // WHOLE)
    elif memory.arrived or memory.slope < law.SLOW:
        law.learn(settings, now, memory, pulled, demand, min(most, within))
    if witness.accuses(memory):
        most = min(most, witness.most(settings, memory))
    least = settings.breath if memory.arrived and memory.smooth < memory.high * 16 else 0
    if held_back.known(memory) and memory.smooth < memory.low * 16:
        least = max(least, held_back.keeps(memory))
    demand = max(clip(demand, 0, min(most, within)), min(least, most))
    if held_back.known(memory):
        held_back.watch(memory, demand)
    return demand


def surge(settings, memory):
    """What the fan may do over what is owed while an opening is being made up for, 0.01 %."""
    shut_for = openings.recovery(settings) - memory.recover_left
    return SURGE + SURGE_GROWS * clip(shut_for - PATIENCE, 0, 100)


def keep_alive(settings, memory, needed):
    """The demand while the lid is open, 0.01 %: what the fire was owed and no answer to the fall; on the way to the
    band, where nothing is known of that yet, a little of what it had."""
    if memory.arrived == 0:
        return min(memory.fan, CLIMB_OPEN) * min(settings.open_fan, 100) // 100
    return min(settings.ceiling, max(memory.owed // 1000 + needed, memory.lately // 1000) * settings.open_fan // 100)


def count_hand(settings, memory):
    """Count down the fan by hand; when its time is over the law goes on with what it knew before.

    The hand's demand says nothing of what the pit needs. Taken over after 80 % for some minutes, it would overheat the
    pit for an hour. So `owed`, `lately` and `usual` stay as they were, and nothing is learned until the pit is back.

    Guard: fan by hand forgotten
        cause: a person set the fan and fell asleep
        evidence: its time, 15 min at most
        clears: by itself
        does: goes back to what it did before, with what it knew before
        bounds: hand_most
        reads: -
        tests: case_guard, case_law, test_twin_guards
    """
    if memory.hand_left > 0:
        memory.hand_left -= 1
    if memory.hand_left == 0:
        memory.mode = memory.hand_from
        memory.full_cycles = 0
        memory.calm_left = openings.CALM
        if memory.arrived:
            memory.hand_past = 1
            memory.recover_left = openings.recovery(settings)


def judge(memory, fades):
    """How the pit stands, one of the board's states."""
    if memory.trip != NO_TRIP:
        return TRIPPED
    if memory.mode == MODE_HAND:
        return MANUAL
    if memory.mode == MODE_OFF:
        return BURNOUT if programme.over(memory) else OFF
    if memory.open_left > 0:
        return OPENED
    if fades:
        return FADING
    return HOLDING if memory.arrived else CLIMBING


def explain(settings, memory, demand, braked, blind, hot, weak, leaking):
    """Why the fan does what it does, one of the board's reasons."""
    if memory.trip != NO_TRIP:
        return REASON_OF_TRIP[memory.trip]
    if memory.mode == MODE_OFF:
        if memory.resume == RESUME_REFUSED:
            return NOT_RESUMED
        return COOK_OVER if programme.over(memory) else NOT_STARTED
    if blind:
        return READING_BAD
    if weak or parts.sags(memory):
        return SUPPLY_LOW
    if hot:
        return LEAKING if leaking else TOO_HOT
    if memory.mode == MODE_HAND:
        return BY_HAND
    if memory.long_cycles > 0:
        return STILL_OPEN
    if memory.open_left > 0:
        return OPENED_FELT if memory.open_felt else OPENED_TOLD
    if memory.state == FADING:
        return PROBE_DOUBTED if memory.doubt else FIRE_FADING
    if memory.recover_left > 0:
        return RECOVERING
    if memory.trial_left > 0:
        return EXPERIMENTING
    if leaking:
        return LEAKING
    if memory.smooth > memory.high * 16:
        return ABOVE_BAND
    if memory.smooth >= memory.low * 16:
        return IN_BAND
    return BRAKING if braked > 0 and demand < min(settings.ceiling, memory.reach) else BELOW_BAND
