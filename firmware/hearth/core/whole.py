"""Counting and bounding in whole numbers."""

from .fields import PERIOD_MS

MOST_COUNT = 32000  # a counter stops here; 17.8 h of cycles


def clip(value, low, high):
    """`value`, kept between `low` and `high`."""
    return low if value < low else high if value > high else value


def count_up(count):
    """One more, up to MOST_COUNT."""
    return count + 1 if count < MOST_COUNT else MOST_COUNT


def seconds(value):
    """Seconds -> cycles, at least one."""
    return clip(value * 1000 // PERIOD_MS, 1, MOST_COUNT)
