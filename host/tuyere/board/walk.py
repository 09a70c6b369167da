"""What every step of a check needs: a board, and a person to ask."""

from __future__ import annotations

from collections.abc import Callable

from tuyere.board.bench import Bench
from tuyere.board.person import Hands
from tuyere.text import Reader, Said, render


class Ended(Exception):
    """The person has had enough."""


class Walk:
    """`bench` has the board, `hands` the person; `unit` is "F" or "C"."""

    def __init__(self, bench: Bench, hands: Hands, unit: str) -> None:
        self.bench = bench
        self.hands = hands
        self.unit = unit

    @property
    def reader(self) -> Reader:
        """For whom sentences are rendered."""
        return Reader(self.unit)

    def words(self, said: Said) -> str:
        """A sentence for this person."""
        return render(said, self.reader)

    def say(self, said: Said) -> None:
        """Tell the person."""
        self.hands.say(self.words(said))

    async def ask(self, question: Said) -> str:
        """An answer in small letters; Ended for "q"."""
        answer = (await self.hands.ask(self.words(question))).lower()
        if answer in ("q", "quit"):
            raise Ended
        return answer

    async def yes(self, question: str) -> bool:
        """Whether the answer is yes. Any answer but y or n makes it ask again."""
        while True:
            answer = await self.ask(f"{question} [y/n]")
            if answer in ("y", "yes", "n", "no"):
                return answer[0] == "y"

    async def until(self, test: Callable[[dict[str, int]], bool], cycles: int, what: str) -> dict[str, int] | None:
        """The first cycle from now on that passes; None after the given number, or when the person types something."""
        self.bench.forget()
        for left in range(cycles, 0, -1):
            cycle = await self.bench.cycle()
            if test(cycle):
                return cycle
            if self.hands.typed() is not None:
                return None
            self.hands.live(f"{what} ({left * 2} s; Enter gives up)")
        return None
