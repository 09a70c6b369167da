"""What the memory forgets, and when: made from the field table by `python -m tuyere.staging`."""


def at_power(memory):
    """Power-up: what only RAM knew."""
    memory.mode = 0
    memory.state = 0
    memory.smooth = 0
    memory.slope = 0
    memory.seen = 0
    memory.plateau = 0
    memory.fan = 0
    memory.duty = 0
    memory.credit = 0
    memory.hand_left = 0
    memory.hand_past = 0
    memory.open_left = 0
    memory.open_fell = 0
    memory.open_spent = 0
    memory.fall_cycles = 0
    memory.recover_left = 0
    memory.long_cycles = 0
    memory.witness_cycles = 0
    memory.bad = 0
    memory.bad_cycles = 0
    memory.same = 0
    memory.hot_cycles = 0
    memory.flare_cycles = 0
    memory.idle = 0
    memory.run_cycles = 0
    memory.fan_cycles = 0
    memory.weak_left = 0
    memory.weak_cycles = 0
    memory.weak_share = 0
    memory.board = 0
    memory.trial_left = 0
    memory.meat_cycles = 0
    memory.lost_cycles = 0


def at_start(memory):
    """A fresh start: what was known of this fire."""
    memory.hand_left = 0
    memory.hand_past = 0
    memory.open_spent = 0
    memory.fall_cycles = 0
    memory.recover_left = 0
    memory.calm_left = 0
    memory.held = 0
    memory.lately = 0
    memory.usual = 0
    memory.need_cycles = 0
    memory.gusts = 0
    memory.proven = 0
    memory.climb = 0
    memory.climb_from = 0
    memory.climb_spent = 0
    memory.climb_due = 0
    memory.reach = 2500
    memory.too_much = 0
    memory.reach_falls = 0
    memory.settled = 0
    memory.share = 1000
    memory.lesson = 0
    memory.swings = 0
    memory.swing_up = 0
    memory.swing_for = 0
    memory.swing_at = 0
    memory.swing_fan_low = 0
    memory.swing_fan_high = 0
    memory.wobbles = 0
    memory.yields = 0
    memory.late = 0
    memory.cold = 0
    memory.cold_left = 0
    memory.more_cycles = 0
    memory.full_cycles = 0
    memory.lack = 0
    memory.strain = 0
    memory.lid_since = 0
    memory.fell_fast = 0
    memory.rose_fast = 0
    memory.mark_stands = 0
    memory.witness = 0
    memory.rest_cycles = 0
    memory.starved = 0
    memory.above = 0
    memory.excursion = 0
    memory.same = 0
    memory.flare_cycles = 0
    memory.run_cycles = 0
    memory.openings = 0
    memory.trial_left = 0


def at_band(memory):
    """Another band: what the fire needed for the old one."""
    memory.need_cycles = 0
    memory.yields = 0
    memory.more_cycles = 0
    memory.trial_left = 0


def at_looked(memory):
    """A person has looked at the pit probe: what spoke against its reading."""
    memory.climb_spent = 0
    memory.climb_due = 0
    memory.doubt = 0
    memory.more_cycles = 0
    memory.full_cycles = 0
    memory.lack = 0
    memory.strain = 0
    memory.lid_since = 0
    memory.fell_fast = 0
    memory.rose_fast = 0
    memory.mark_stands = 0
    memory.witness_says = 0
    memory.witness_for = 0
    memory.witness_alike = 0


def at_acknowledge(memory):
    """A trip is acknowledged: the trip and what led to it."""
    memory.long_cycles = 0
    memory.full_cycles = 0
    memory.hot_cycles = 0
    memory.flare_cycles = 0
    memory.run_cycles = 0
    memory.fan_cycles = 0
    memory.weak_share = 0
    memory.trip = 0


def at_stop(memory):
    """A stop, a trip, the end of the programme: who has the fan, and the open lid."""
    memory.mode = 0
    memory.hand_left = 0
    memory.open_left = 0
    memory.open_fell = 0
    memory.cold = 0
    memory.cold_left = 0
    memory.trial_left = 0
    memory.relied = 0
    memory.hushed = 0


def at_witness(memory):
    """A witness is hung up or taken away: what was compared."""
    memory.witness = 0
    memory.witness_says = 0
    memory.witness_base = 0
    memory.witness_cycles = 0
    memory.witness_fast = 0
    memory.witness_slow = 0
    memory.pit_slow = 0
    memory.witness_rose = 0
    memory.witness_for = 0
    memory.witness_less = 0
    memory.witness_alike = 0
    memory.witness_gone = 0
