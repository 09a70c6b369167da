"""A twin in a thread, and hands that follow a script."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from tuyere.sim.bath import Bath
from tuyere.sim.prompt import BareTwin
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Twin


@contextmanager
def running(world: Any, kind: Callable[..., Twin] = Twin, **named: Any) -> Iterator[Twin]:
    """A twin that runs in a thread of its own; `twin.line.path` is its port."""
    line = Line()
    twin = kind(world, line, **{"name": "twin-bench", "speed": 0.0, **named})
    ended = threading.Event()
    trouble: list[BaseException] = []

    def run() -> None:
        try:
            twin.run(stop=ended.is_set)
        except BaseException as error:  # shown to the test, which must not wait for a twin that is gone
            trouble.append(error)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield twin
    finally:
        ended.set()
        thread.join()
        twin.close()
    assert not trouble, trouble


def bare(world: Any | None = None, **named: Any) -> Any:
    """A board without firmware."""
    return running(world or Bath(), BareTwin, **named)


class Script:
    """Hands: each question is answered by the first rule that fits it, and every line is remembered.

    rules: (part of a line or question, answer or None, what the hands do in the bath or "").
    """

    def __init__(self, bath: Bath, *rules: tuple[str, str | None, str]) -> None:
        self._bath = bath
        self._rules = rules
        self.lines: list[str] = []

    def _act(self, words: str) -> str | None:
        self.lines.append(words)
        for part, answer, does in self._rules:
            if part in words:
                if does:
                    self._bath.do(does)
                return answer
        return None

    def say(self, words: str) -> None:
        self._act(words)

    def live(self, words: str) -> None:
        """Not kept."""

    async def ask(self, question: str) -> str:
        return self._act(question) or ""

    def typed(self) -> str | None:
        return None


GOOD = (
    ("ICE WATER", "", "ice"),
    ("altitude", "300", ""),
    ("BOILING WATER", "", "boiling 300"),
    ("Put back by hand", None, ""),
    ("Now hold", None, "hold"),
    ("Press the button for a moment", None, "press"),
    ("Not seen", None, "hold"),
    ("[y/n]", "y", ""),
)
