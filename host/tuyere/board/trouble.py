"""What goes wrong on the bench."""

from __future__ import annotations


class Trouble(Exception):
    """One sentence: what is wrong and what to do."""
