"""What is needed of an event of a cook, whatever holds it: a row of the logbook, an event of a snapshot, a note."""

from __future__ import annotations

from typing import Protocol

from tuyere.text import Said


class Noted(Protocol):
    """Something that happened."""

    @property
    def at(self) -> int:
        """UTC ms."""

    @property
    def kind(self) -> str:
        """As in `logbook.kinds`."""

    @property
    def piece(self) -> int:
        """0: of all."""

    @property
    def value(self) -> float | None:
        """What was measured: kg of carved meat, C of a reading by hand."""

    @property
    def text(self) -> Said:
        """What was written with it."""
