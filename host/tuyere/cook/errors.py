"""What the engine refuses, in words for a person."""

from __future__ import annotations

from tuyere.text import CELSIUS, Reader, Said, render


class Refusal(Exception):
    """Something the engine will not do, in one sentence. `str` of it is metric, `said` is for any reader."""

    def __init__(self, said: Said) -> None:
        super().__init__(render(said, Reader(CELSIUS)))
        self.said = said
