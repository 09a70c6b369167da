"""What goes wrong on the bench."""

from __future__ import annotations

from tuyere.text import CELSIUS, Reader, Said, render


class Trouble(Exception):
    """One sentence: what is wrong and what to do. `str` of it is metric, `said` is for any reader."""

    def __init__(self, said: Said) -> None:
        super().__init__(render(said, Reader(CELSIUS)))
        self.said = said
