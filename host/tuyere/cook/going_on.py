"""When each piece goes on by the plan of its cook. What is kept is how long before serving, so that the times move with
the serving time."""

from __future__ import annotations

import msgspec

NAME = "goes_on"  # of the cook's text that holds it


def written(before: dict[int, int]) -> str:
    """As a text of the cook. before: by piece, ms before serving."""
    return msgspec.json.encode(before).decode()


def read(text: str | None) -> dict[int, int]:
    """From a text of the cook; none of a cook without a plan."""
    try:
        return msgspec.json.decode(text, type=dict[int, int]) if text else {}
    except msgspec.MsgspecError:
        return {}
