"""A recorded night again: the same cycles, bit for bit; on the screen; or through the pit of its cooker.

    from tuyere import replay, tune
    cooker = tune.identify(night)
    would = replay.through_pit(night, settings, cooker=cooker)

`through_pit` and what it returns, `Would`, are loaded when they are asked for: a replay bit for bit needs no numpy.
README.md beside this file says how it works and what it reaches.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuyere.replay.played import Would, through_pit

__all__ = ["Would", "through_pit"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from tuyere.replay import played

    return getattr(played, name)
