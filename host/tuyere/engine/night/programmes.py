"""Programmes kept by name, for screens and other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tuyere.cook import kept_programmes
from tuyere.cook.errors import Refusal
from tuyere.cook.snapshot import Phase
from tuyere.engine.night.orders import phases_of


class Programmes:
    """Those of one home."""

    def __init__(self, home: Path) -> None:
        self._home = home

    async def programmes(self) -> dict[str, list[Phase]]:
        """All by name, with those that come with the program."""
        try:
            return kept_programmes.read(self._home)
        except kept_programmes.Unusable as error:
            raise Refusal(str(error)) from error

    async def programme_keep(self, name: str, phases: Any) -> dict[str, Any]:
        """Keep one under a name, in place of another of that name. It is not sent to the board."""
        made = phases_of(phases)
        return self._change(kept_programmes.keep, str(name), made)

    async def programme_drop(self, name: str) -> dict[str, Any]:
        """Keep it no longer."""
        return self._change(kept_programmes.drop, str(name))

    def _change(self, change: Any, *arguments: Any) -> dict[str, Any]:
        try:
            change(self._home, *arguments)
        except kept_programmes.Unusable as error:
            raise Refusal(str(error)) from error
        except OSError as error:
            raise Refusal(f"the kept programmes cannot be written: {error.strerror}") from error
        return {"ok": True}
