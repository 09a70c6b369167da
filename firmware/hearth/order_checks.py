"""What orders may change: settings that fit the band in force, and no more writes to the flash than it bears.

Guard: orders that wear the flash
    cause: a program that repeats its orders without end
    evidence: twelve that write in a row, then one a minute; settings that are in force already do not count
    clears: a minute
    does: refuses what comes sooner; stop, acknowledge, opened and looked are never refused
    bounds: none
    reads: The board was given many changes in a row and spares its flash
    tests: test_stored_orders, test_worst, test_twin_inhibits

Guard: settings that contradict the band
    cause: a limit below or near the band, a rest of the fan above the limit: it would trip at once, or for nothing
    evidence: the highest top of the band in force and of all phases, while something is held; at a start, too
    clears: -
    does: refuses, with the numbers
    bounds: pit_limit, rest_above
    reads: The band goes up to the one, and the board trips at the other
    tests: test_stored_orders, test_twin_inhibits
"""

from .core import Settings, fields, orders
from .link import messages

WRITING = ("start", "band", "fan", "phase", "programme", "settings")  # what they change is kept on the flash


class Budget:
    """Writes that orders may still cause: `messages.WRITES` in a row, and one more a minute.

    A write costs two or three erases (`tests/bench/flash.py`). NOR flash bears 100,000 in each block (from memory),
    and littlefs spreads them over some 300 blocks: an order a minute, day and night, wears those out in 19 years.
    """

    def __init__(self):
        self.left = messages.WRITES
        self._cycles = 0

    def pass_cycle(self):
        """Once a cycle."""
        self._cycles = self._cycles + 1 if self.left < messages.WRITES else 0
        if self._cycles >= messages.FORGIVEN:
            self._cycles = 0
            self.left += 1

    def spend(self):
        """An order has made the board write, or will in this cycle."""
        self.left = max(0, self.left - 1)

    def spent(self, name, mode):
        """True if the order `name` comes too soon. Another demand by hand, while there is one, writes nothing."""
        return self.left == 0 and name in WRITING and not (name == "fan" and mode == fields.MODE_HAND)


def highest(memory):
    """Top of the band in force and of all phases, 0.01 C."""
    top = memory.high
    for i in range(memory.phases):
        top = max(top, memory.rows[i * fields.ROW + 1])
    return top


def contradicts(settings, top):
    """What a band up to `top`, 0.01 C, has against it in these settings: {name: number}, empty if nothing.

    It would trip before anything is wrong, or before the fan may rest.
    """
    if top > settings.pit_limit - orders.HEADROOM:
        return {"high": top, "pit_limit": settings.pit_limit}
    if top + settings.rest_above > settings.pit_limit:
        return {"high": top, "rest_above": settings.rest_above, "pit_limit": settings.pit_limit}
    return {}


def before_core(settings, memory, order):
    """An order of the core that is about to be given to it: what contradicts it, as `contradicts` says it."""
    if order["code"] == fields.ORDER_BAND:
        return contradicts(settings, order["second"])
    if order["code"] == fields.ORDER_START and memory.mode == fields.MODE_OFF:
        return contradicts(settings, highest(memory))
    return {}


def new_settings(values, settings, memory):
    """`values` from outside over the settings in force: (the new ones or None, why not, numbers)."""
    if type(values) is not dict:
        return None, "bad_arguments", {}
    new = Settings()
    new.set_values(settings.values())
    for name in values:
        if (name, 0) not in new.NAMES or type(values[name]) is not int:
            return None, "bad_arguments", {}
        setattr(new, name, values[name])
    if new.wrong():
        return None, "out_of_range", {}
    against = contradicts(new, highest(memory)) if memory.mode != fields.MODE_OFF else {}
    against = against or contradicts(new, new.band_high)
    if against:
        return None, "over_limit", against
    if not orders.fit(new):
        return None, "out_of_range", {}
    return new, "accepted", {}
