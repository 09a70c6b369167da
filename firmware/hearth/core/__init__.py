"""Everything the board decides: plain functions on whole numbers. No I/O, no clock, no `machine`."""

# Leaves first: each import inside another one takes stack, and a small interpreter has little of it.
from . import whole, held_back, law, trips, climb, openings, cold_meat, doubt  # noqa: F401, I001
from .decide import cycle
from .records import Memory, Now, Out, Settings

__all__ = ("Memory", "Now", "Out", "Settings", "cycle")
