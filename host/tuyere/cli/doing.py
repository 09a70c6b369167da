"""What a command does while somebody waits, where the simulation may have to be compiled first."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator

from tuyere.cli.working import working


@contextlib.contextmanager
def doing(
    words: str, *, follow: bool = True, now: Callable[[], float] = time.monotonic
) -> Iterator[Callable[[float], None]]:
    """`working`, and what is compiled meanwhile is said; yields what takes the share that is done."""
    from tuyere.sim import compiled

    with working(words, follow=follow, now=now) as work, compiled.told(work.compiling):
        yield work.move
