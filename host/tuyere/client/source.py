"""Where a screen gets its news: anything with `call`, `notifications` and `close`, such as the engine's client."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any, Protocol

import msgspec

from tuyere.cook.snapshot import Snapshot, Trend


class Source(Protocol):
    """A way to the engine."""

    async def call(self, method: str, **params: Any) -> Any: ...

    def notifications(self) -> AsyncIterator[tuple[str, Any]]: ...

    async def close(self) -> None: ...


Connect = Callable[[], Awaitable[Source]]


def as_snapshot(value: Any) -> Snapshot:
    """A Snapshot, from one or from its plain form."""
    return value if isinstance(value, Snapshot) else msgspec.convert(value, Snapshot)


def as_trend(value: Any) -> Trend:
    """A Trend, from one or from its plain form."""
    return value if isinstance(value, Trend) else msgspec.convert(value, Trend)


def why(error: BaseException) -> str:
    """An error as one sentence for a person."""
    text = " ".join(str(error).split())
    return text if text else f"it failed with {type(error).__name__}"
