"""Everything the board decides: plain functions on whole numbers. No I/O, no clock, no `machine`."""

from .decide import cycle
from .records import Memory, Now, Out, Settings

__all__ = ("Memory", "Now", "Out", "Settings", "cycle")
