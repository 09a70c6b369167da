"""What the portable cases share. Runs on CPython and MicroPython: no pytest, no unittest, no floats needed."""

from hearth.core import Memory, Now, Out, Settings, cycle, fields

try:
    from micropython import heap_lock, heap_unlock
except ImportError:  # CPython has no such lock; the same calls then prove only the results

    def heap_lock():
        """Nothing to lock."""

    def heap_unlock():
        """Nothing to unlock."""


class Pit:
    """The law with nothing in front of it: readings are what the case says."""

    def __init__(self, **settings):
        self.settings, self.now, self.memory, self.out = Settings(), Now(), Memory(), Out()
        for name in settings:
            setattr(self.settings, name, settings[name])

    def run(self, celsius, cycles=1, faults=0, per_cycle=0.0, wiggle=True):
        """So many cycles from a temperature on, its last digit alive; every one with the heap locked."""
        # whole numbers: a float a cycle would fill the heap of an interpreter that must not collect
        start, step = int(celsius * 100), int(per_cycle * 1000000 + (0.5 if per_cycle >= 0 else -0.5))
        for i in range(cycles):
            self.now.pit = start + step * i // 10000 + (self.memory.cycles & 1 if wiggle else 0)
            self.now.faults = faults
            heap_lock()
            try:
                cycle(self.settings, self.now, self.memory, self.out)
            finally:
                heap_unlock()
            self.now.order = self.now.first = self.now.second = 0
        return self.out

    def order(self, code, first=0, second=0, celsius=None):
        """Give an order in one cycle at the last temperature; returns the answer."""
        self.now.order, self.now.first, self.now.second = code, first, second
        return self.run(self.now.pit / 100 if celsius is None else celsius).answer

    def hold(self, celsius=128.0, cycles=600):
        """Start and settle at a temperature in the band."""
        assert self.order(fields.ORDER_START, celsius=celsius) == fields.ACCEPTED
        return self.run(celsius, cycles)


def settled(**settings):
    """A pit that is held; the first arrival is over."""
    pit = Pit(**settings)
    pit.hold(131.0)
    assert pit.memory.settled == 1
    return pit


class Dice:
    """The same numbers on every runtime, in small integers only: Wichmann and Hill's generators (AS 183, 1982)."""

    def __init__(self, seed):
        self.x, self.y, self.z = seed % 30000 + 1, seed % 29989 + 3, seed % 30011 + 5

    def roll(self, low, high):
        """A whole number from low to high."""
        self.x = 171 * self.x % 30269
        self.y = 172 * self.y % 30307
        self.z = 170 * self.z % 30323
        return low + (self.x << 15 ^ self.y << 7 ^ self.z) % (high - low + 1)
