"""What an order does to the memory; returns the answer's code. At most one order a cycle."""

from . import (
    climb,
    cold_meat,
    doubt,
    experiment,
    forget,
    held_back,
    law,
    need,
    openings,
    programme,
    reach,
    relied,
    trips,
    witness,
)
from .fields import (
    ABSENT,
    ACCEPTED,
    BAND_ORDER,
    FAULT_STANDS,
    MODE_HAND,
    MODE_HOLD,
    MODE_OFF,
    NO_ANSWER,
    NO_READING,
    NO_RESUME,
    NO_SUCH_PHASE,
    NO_TRIP,
    NOT_RUNNING,
    OPENED_ENOUGH,
    ORDER_ACKNOWLEDGE,
    ORDER_BAND,
    ORDER_EXPERIMENT,
    ORDER_FAN,
    ORDER_FORGET,
    ORDER_LOOKED,
    ORDER_MEAT,
    ORDER_OPENED,
    ORDER_PHASE,
    ORDER_RELY,
    ORDER_START,
    ORDER_STOP,
    ORDER_WITNESS,
    OUT_OF_RANGE,
    RESUMED,
    STANDS_TRIPPED,
)
from .whole import seconds

NARROWEST = 200  # 0.01 C between bottom and top of a band
HEADROOM = 2000  # 0.01 C from the top of a band to the trip limit
HIGHEST = 22000  # 0.01 C, top of any band
PULSE = 500  # us, the shortest a servo understands


def take(settings, now, memory):
    """Carry out `now.order`; returns ACCEPTED or why not, NO_ANSWER without an order.

    Guard: orders out of range
        cause: a program or a person asks for something impossible
        evidence: the table of orders (`link/messages.py`), then the core
        clears: -
        does: refuses with the reason
        bounds: pit_limit, ceiling, hand_most
        reads: the reason
        tests: case_carried, case_guard, test_twin, test_twin_inhibits
    """
    if now.order == ORDER_START:
        return start(settings, now, memory)
    if now.order == ORDER_STOP:
        memory.resume = NO_RESUME
        forget.at_stop(memory)
        return ACCEPTED
    if now.order == ORDER_BAND:
        return band(settings, now, memory)
    if now.order == ORDER_FAN:
        return fan(settings, now, memory)
    if now.order == ORDER_PHASE:
        return phase(settings, now, memory)
    if now.order == ORDER_OPENED:
        return opened(settings, now, memory)
    if now.order == ORDER_ACKNOWLEDGE:
        return acknowledge(settings, now, memory)
    if now.order == ORDER_LOOKED:
        return looked(memory)
    if now.order == ORDER_WITNESS:
        return hang(now, memory)
    if now.order == ORDER_FORGET:
        law.forget(settings, now, memory)
        return ACCEPTED
    if now.order == ORDER_EXPERIMENT:
        return experiment.begin(settings, now, memory)
    if now.order == ORDER_RELY:
        return relied.take(now, memory)
    if now.order == ORDER_MEAT:
        return meat(settings, now, memory)
    return NO_ANSWER


def start(settings, now, memory):
    """Hold the band; a worked-through programme begins again, and a climb is judged afresh. While the pit's probe is
    doubted the same fire is held on with what is known of it: only who has looked at the probe begins afresh.

    Where a person has had the fan since before the first start, their demand is all that is known of this fire: the law
    goes on from it. Else the hand gives back what it took.
    """
    if memory.trip != NO_TRIP:
        return STANDS_TRIPPED
    memory.resume = NO_RESUME
    by_hand = memory.mode == MODE_HAND
    if by_hand and memory.hand_from == MODE_HOLD:
        memory.hand_left = 0  # the law takes over this cycle
        return ACCEPTED
    if memory.mode != MODE_HOLD:
        if programme.over(memory):
            programme.enter(settings, memory, 0)
        if memory.doubt:
            held_back.mark(memory)
            memory.settled = 1
        else:
            memory.arrived = 0
            forget.at_start(memory)
            if memory.seen and memory.smooth >= memory.low * 16:
                climb.arrive(settings, memory)
                reach.skip(memory)
        memory.owed = 0
        memory.aim = law.goal(memory)
        memory.mode = MODE_HOLD
        if by_hand:
            rest = law.pull(settings, memory) + law.need(settings, now, memory) - law.brake(settings, memory)
            law.owe(memory, memory.fan, rest)
    return ACCEPTED


def fit(settings):
    """1 if settings fit each other and the parts; each one's own range is checked by its record."""
    if settings.band_high - settings.band_low < NARROWEST or settings.band_high > settings.pit_limit - HEADROOM:
        return 0
    if settings.mains not in (50, 60) or settings.fan_wires not in (2, 4):
        return 0
    shut, opened = settings.servo_shut, settings.servo_open
    if shut == 0 and opened == 0:  # no damper
        return 1
    return 1 if shut != opened and min(shut, opened) >= PULSE else 0


def band(settings, now, memory):
    """Another band until the phase changes."""
    if now.second - now.first < NARROWEST:
        return BAND_ORDER
    if not (now.first >= 4000 and now.second <= min(HIGHEST, settings.pit_limit - HEADROOM)):
        return OUT_OF_RANGE
    memory.low = now.first
    memory.high = now.second
    need.new_band(memory)
    return ACCEPTED


def fan(settings, now, memory):
    """The fan by hand for a time, after which the board goes back to what it did; 0 seconds gives it back now."""
    if now.second == 0:
        if memory.mode != MODE_HAND:
            return NOT_RUNNING
        memory.hand_left = 0
        return ACCEPTED
    if memory.trip != NO_TRIP:
        return STANDS_TRIPPED
    if not (0 <= now.first <= settings.ceiling and 0 < now.second <= settings.hand_most):
        return OUT_OF_RANGE
    memory.resume = NO_RESUME
    if memory.mode != MODE_HAND:
        memory.hand_from = memory.mode
    memory.mode = MODE_HAND
    memory.hand_fan = now.first
    memory.hand_left = seconds(now.second)
    memory.open_left = 0
    return ACCEPTED


def phase(settings, now, memory):
    """Go to a row of the programme, or past its end."""
    if memory.phases == 0 or not 0 <= now.first <= memory.phases:
        return NO_SUCH_PHASE
    programme.enter(settings, memory, now.first)
    return ACCEPTED


def opened(settings, now, memory):
    """Somebody opens the lid: the fan keeps what the fire lately needed, until the lid is seen shut or time is up."""
    if memory.mode != MODE_HOLD:
        return NOT_RUNNING
    if not 0 <= now.first <= 1800:
        return OUT_OF_RANGE
    left = openings.MOST_SPENT - memory.open_spent
    if left < openings.LEAST_SPENT:
        return OPENED_ENOUGH
    most = now.first if now.first else settings.open_most
    openings.begin(settings, memory, min(seconds(most), left), 0, memory.pit)
    return ACCEPTED


def acknowledge(settings, now, memory):
    """A person has seen the trip. This clears it, if its cause is gone, and never starts the fan."""
    memory.resume = NO_RESUME if memory.resume == RESUMED else memory.resume
    if memory.trip == NO_TRIP:
        return ACCEPTED
    if trips.stands(settings, now, memory):
        return FAULT_STANDS
    forget.at_acknowledge(memory)
    return ACCEPTED


def looked(memory):
    """A person has looked at the pit probe, and it is where it belongs: what spoke against its reading is forgotten.

    Nothing else does that: no start, no acknowledging, no new band. It neither clears a trip nor starts the fan.

    Guard: a start that wipes the evidence
        cause: a sleepy hand acknowledges and starts, and the probe lies where it slipped to
        evidence: a doubt, or a trip because the fire did not answer or the pit fell
        clears: the order `looked`
        does: a start goes on with what was known of this fire
        bounds: none
        reads: the same
        tests: case_doubt, test_twin_doubt
    """
    if memory.doubt:
        memory.aim = law.goal(memory)
    forget.at_looked(memory)
    return ACCEPTED


def hang(now, memory):
    """A meat probe hangs at the grate beside the pit's probe, as its witness; 0: none does any more."""
    if not 0 <= now.first <= 3:
        return OUT_OF_RANGE
    if now.first == 0:
        witness.end(memory)
        return ACCEPTED
    if memory.mode == MODE_OFF:
        return NOT_RUNNING
    if memory.seen == 0 or witness.reading(now, now.first) == ABSENT:
        return NO_READING
    witness.begin(now, memory, now.first)
    return ACCEPTED


def meat(settings, now, memory):
    """A person has noted the cold meat that went on."""
    answer = cold_meat.take(now, memory)
    if answer == ACCEPTED:
        doubt.weigh(settings, memory)
    return answer
