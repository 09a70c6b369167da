"""Numbers as a person reads them, for all that prints: shares in per cent."""

from __future__ import annotations


def percent(share: float, places: int = 0) -> str:
    """0.42 -> '42 %'; with places=1 '42.0 %'."""
    return f"{100.0 * share:.{places}f} %"
