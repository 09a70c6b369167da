"""Everything the board decides: plain functions on whole numbers. No I/O, no clock, no `machine`."""

# Those that others import come first: imports that nest deep do not fit the stack of a small interpreter.
from . import fields, whole, forget, held_back, law, trips, climb, openings, doubt  # noqa: F401, I001
from .decide import cycle
from .records import Memory, Now, Out, Settings

__all__ = ("Memory", "Now", "Out", "Settings", "cycle")
