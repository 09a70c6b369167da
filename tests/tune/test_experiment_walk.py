"""`tuyere tune --experiment` on the host: it explains, asks, orders, follows and ends. The engine is played."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import msgspec
import pytest
from tuyere.cli import tune_experiment
from tuyere.client.client import EngineError
from tuyere.cook.snapshot import Cycle, Link, Snapshot
from tuyere.text import Reader

MINUTE = 60_000


class Engine:
    """Answers an order, then hands out snapshots, the last one again and again."""

    def __init__(self, shots: list[Snapshot], refused: str = "") -> None:
        self.shots, self.refused, self.orders, self.closed = shots, refused, [], False

    async def call(self, method: str, **given: Any) -> Any:
        if method == "order":
            self.orders.append(given)
            return {"ok": not self.refused, "words": self.refused}
        return msgspec.to_builtins(self.shots.pop(0) if len(self.shots) > 1 else self.shots[0])

    async def close(self) -> None:
        self.closed = True


def shot(minute: float, trying: bool, words: str = "Holding") -> Snapshot:
    cycle = Cycle(reason="experimenting" if trying else "in_band")
    return Snapshot(int(minute * MINUTE), Link(), [words], cycle=cycle)


def walk(
    monkeypatch: pytest.MonkeyPatch, engine: Engine, agreed: bool = True, leaves_after: int = 10_000
) -> tuple[list[str], bool]:
    """(what was said, whether it began). leaves_after: waits before the user presses Ctrl-C."""

    async def opened(_home: Path) -> Engine:
        return engine

    monkeypatch.setattr(tune_experiment.Client, "open", opened)
    said: list[str] = []
    waits = 0

    async def wait(_seconds: float) -> None:
        nonlocal waits
        waits += 1
        if waits > leaves_after:
            raise asyncio.CancelledError

    try:
        began = asyncio.run(tune_experiment.walk(Path(), 0.06, said.append, lambda: agreed, Reader("C"), wait))
    except asyncio.CancelledError:
        began = True
    assert engine.closed
    return said, began


def test_it_is_followed_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    shots = [shot(0, False), *(shot(i, True, f"At {i}") for i in range(1, 42)), shot(41, False)]
    engine = Engine(shots)
    said, began = walk(monkeypatch, engine)
    assert began and engine.orders == [{"name": "experiment", "share": 0.06, "seconds": 2400}]
    assert any("6 %" in line for line in said)
    assert [line for line in said if "gone;" in line][1] == "5 min gone; At 6"
    assert said[-2].startswith("Over after 40 min. The board holds") and "from the record" in said[-1]


def test_an_early_end_is_said_with_its_cause(monkeypatch: pytest.MonkeyPatch) -> None:
    said, _ = walk(monkeypatch, Engine([shot(1, True), shot(12, False, "The lid is open")]))
    assert said[-2] == "Over after 11 min: The lid is open"


def test_one_that_is_over_before_it_is_seen_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    said, _ = walk(monkeypatch, Engine([shot(1, False, "The lid is open")]))
    assert said[-1] == "The board ended it at once: The lid is open"


def test_nothing_is_ordered_without_a_yes(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = Engine([shot(0, False)])
    said, began = walk(monkeypatch, engine, agreed=False)
    assert not began and not engine.orders and any("up to 40 min" in line for line in said)


def test_a_refusal_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(EngineError, match="the pit is not held"):
        walk(monkeypatch, Engine([shot(0, False)], refused="the pit is not held"))


def test_leaving_ends_it_on_the_board_too(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = Engine([shot(1, True)])
    said, _ = walk(monkeypatch, engine, leaves_after=3)
    assert engine.orders[-1] == {"name": "experiment", "share": 0.0, "seconds": 0}
    assert said[-1].startswith("Ended:")
