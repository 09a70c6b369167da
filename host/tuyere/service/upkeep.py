"""What the engine does for the machine and the manager around it, called from its tick."""

from __future__ import annotations

import time
from collections.abc import Callable

from tuyere.service.awake import Awake
from tuyere.service.notify import Notifier


class Upkeep:
    """Signs of life for a service manager, and a machine that stays awake while a cook is open.

    Without arguments it does neither, as in a test or a program that brings its own engine.
    """

    def __init__(
        self,
        notifier: Notifier | None = None,
        awake: Awake | None = None,
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self._notifier = notifier or Notifier()
        self._awake = awake or Awake(())
        self._quiet = awake is None
        self._steady = steady
        self._said = ""

    @property
    def words(self) -> str:
        """Whether the machine is kept awake, in words; "" while no cook asks for it."""
        return self._awake.words

    def up(self) -> None:
        """The engine serves."""
        self._notifier.ready()

    def tick(self, cooking: bool, status: str) -> str:
        """A tick of the engine is done; `cooking` if a real cook is open. A line for the log, "" for none."""
        now = self._steady()
        self._notifier.alive(now)
        self._notifier.status(status)
        if self._quiet:
            return ""
        self._awake.look(cooking, now)
        words = self._awake.words or "the machine may sleep again: no cook is open"
        if words == self._said or (not self._said and not self._awake.words):
            return ""
        self._said = words
        return words

    def ending(self) -> None:
        """The engine ends on purpose."""
        self._notifier.stopping()

    def close(self) -> None:
        """The last thing the engine does."""
        self._awake.close()
        self._notifier.close()
