"""Random nights at the ends of every range: one hash on every runtime, nothing allocated, nothing out of range."""

from cases.kit import Dice, heap_lock, heap_unlock
from hearth.core import Memory, Now, Out, Settings, cycle, fields, programme

CYCLES = 6000


def draw(dice, record):
    """Set every field: often to an end of its range, else anywhere in it."""
    for row, (name, count) in zip(record.TABLE, record.NAMES):
        if not count:
            kind = dice.roll(0, 3)
            setattr(record, name, row[3] if kind == 0 else row[4] if kind == 1 else dice.roll(row[3], row[4]))


def fold(total, record):
    """Fold every number of a record into a 24-bit sum, in small integers and without allocating."""
    for name, count in record.NAMES:
        value = getattr(record, name)
        if count:
            for number in value:
                total = (total << 5 ^ total >> 19 ^ number) & 0xFFFFFF
        else:
            total = (total << 5 ^ total >> 19 ^ value) & 0xFFFFFF
    return total


def night(seed, cycles, wrap=None, step=cycle):
    """One random night; returns a sum over all that was decided and carried. `wrap` makes the numbers of another kind.

    It hardly allocates: the 32-bit interpreter's collector cannot be relied on, so a night must fit its heap.
    """
    dice = Dice(seed)
    settings, now, memory, out = Settings(), Now(), Memory(), Out()
    total = 0
    pit = 2000
    for i in range(cycles):
        if i % 500 == 0:
            if dice.roll(0, 2):
                draw(dice, settings)
            settings.band_high = max(settings.band_high, settings.band_low + 200)
            rows = []
            for _ in range(dice.roll(0, 8)):
                low = dice.roll(4000, 15000)
                rows.append([low, dice.roll(low + 200, 20000), dice.roll(0, 4), dice.roll(1, 12000)])
            programme.load(settings, memory, rows, dice.roll(0, 7), dice.roll(0, 1))
        kind = dice.roll(0, 99)
        if kind == 0:
            pit = dice.roll(-5000, 50000)
        elif kind < 4:
            pit = dice.roll(11000, 14000)
        else:
            pit = min(50000, max(-5000, pit + dice.roll(-40, 40)))
        now.pit = pit
        now.dt = dice.roll(0, 10000) if kind == 5 else 2000
        now.faults = dice.roll(0, 255) if kind == 6 or (i // 40) % 13 == 0 else 0
        now.meat_1 = dice.roll(-10000, 30000)
        now.meat_2, now.meat_3 = i % 13000, fields.ABSENT
        now.ambient = dice.roll(-10000, 12500)
        now.supply = dice.roll(0, 20000) if kind & 2 else 12000
        now.turns = dice.roll(-1, 20000)
        now.fan_fault = dice.roll(0, 3) if (i // 50) % 17 == 0 else 0
        now.board = dice.roll(0, 255) if kind == 14 else 0
        now.order = dice.roll(0, 9) if kind < 12 else 0
        if kind == 13:
            now.order = fields.ORDER_START if memory.trip == 0 else fields.ORDER_ACKNOWLEDGE
        now.first = dice.roll(-100000, 100000) if kind & 1 else dice.roll(0, 12000)
        now.second = dice.roll(-100000, 100000) if kind & 1 else dice.roll(0, 15000)
        if wrap:
            for record in (settings, now, memory):
                for name, count in record.NAMES:
                    value = getattr(record, name)
                    setattr(record, name, [wrap(number) for number in value] if count else wrap(value))
        heap_lock()
        try:
            step(settings, now, memory, out)
        finally:
            heap_unlock()
        total = fold(fold(total, out), memory)
        if i % 97 == 0:
            assert memory.wrong() is None and out.wrong() is None, (i, memory.wrong(), out.wrong())
    return total


def test_random_nights_give_one_hash():
    print("hash %06x" % (night(1, CYCLES) ^ night(77, CYCLES)))
