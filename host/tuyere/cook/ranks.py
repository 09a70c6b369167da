"""What goes first among the things to do: danger, meat that is done, the wrap, and the rounds last.

Among what is due now the rank decides. What is urgent and due within minutes counts as due now: a wrap in five minutes
goes before a water pan that is overdue.
"""

from __future__ import annotations

from collections.abc import Iterable

from tuyere.cook.snapshot import Prompt

DANGER, FEEL, WRAP, MEAT_ON, CARVE, FUEL, PAN, SPRITZ, SHADE, LAST = range(10)
SOON = 15 * 60_000  # ms ahead from which what ranks up to CARVE counts as due


def ordered(found: Iterable[Prompt], now: int) -> list[Prompt]:
    """By rank what is due, then by time what is to come."""

    def key(prompt: Prompt) -> tuple[bool, int, int]:
        ahead = SOON if prompt.rank <= CARVE and prompt.kind != "meat_on" else 0
        if prompt.due <= now + ahead:
            return False, prompt.rank, prompt.due
        return True, prompt.due, prompt.rank

    return sorted(found, key=key)
