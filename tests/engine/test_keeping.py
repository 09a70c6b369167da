"""A stop that comes while one engine ends and the next one is made ends them both; nothing that was stored is lost."""

from __future__ import annotations

import asyncio
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tuyere import paths
from tuyere.client.client import Client, EngineEnded
from tuyere.engine.engine import Engine
from tuyere.engine.keeping import keep
from tuyere.logbook import Logbook

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no signal handlers in the event loop")
WITHIN = 60  # s; an engine that did not hear it would run for ever
WHY = "The test ends it."


class Kept:
    """`keep` on a home with an open cook, in an event loop whose signals are raised by hand: `handlers` by number.

    The first engine leaves for the next one on its first tick, as at a damaged page. `closing` then runs in the middle
    of its end, `ended` when it has ended.
    """

    def __init__(self, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.home, self.made, self.said = home, list[Engine](), list[str]()
        self.handlers: dict[int, Callable[[], Any]] = {}
        self.closing: Callable[[], Any] = lambda: None
        self.ended: Callable[[], Any] = lambda: None
        with Logbook(paths.logbook_path(paths.ensure(home))) as book:
            book.cooks.start("tonight", 5, "board", False)
        monkeypatch.setattr(
            asyncio.get_running_loop(), "add_signal_handler",
            lambda number, call, *given: self.handlers.__setitem__(number, lambda: call(*given)),
        )  # fmt: skip

    def make(self) -> Engine:
        engine = Engine(self.home, port=str(self.home / "no port"), forecaster=(), log=self.log)
        self.made.append(engine)
        if len(self.made) == 1:
            engine.logbook._store.damaged = "database disk image is malformed"
            closes = engine.board.close

            async def close() -> None:
                found = self.closing()
                if found is not None:
                    await found
                await closes()

            engine.board.close = close  # type: ignore[method-assign]
        return engine

    def log(self, line: str) -> None:
        self.said.append(line)
        if line.endswith("engine ended") and len(self.made) == 1:
            self.ended()

    async def run(self) -> None:
        await asyncio.wait_for(
            keep(paths.logbook_path(self.home), lambda: 9, self.make, self.said.append, WHY), WITHIN
        )  # fmt: skip
        with Logbook(paths.logbook_path(self.home)) as book:
            standing = book.cooks.open()
            assert standing is not None and standing.name == "tonight"
        assert (self.home / "logbook-damaged-1.sqlite").exists()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_while_an_engine_leaves_for_the_next_one_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    async def scene() -> None:
        kept = Kept(tmp_path, monkeypatch)

        def signalled() -> None:
            kept.handlers[number]()

        kept.closing = signalled
        await kept.run()
        assert len(kept.made) == 1

    asyncio.run(scene())


def test_a_signal_between_two_engines_ends_the_next_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It waits in the loop while the damaged logbook is set aside and the next engine is made."""

    async def scene() -> None:
        kept = Kept(tmp_path, monkeypatch)
        kept.ended = lambda: asyncio.get_running_loop().call_soon(kept.handlers[signal.SIGTERM])
        await kept.run()
        assert len(kept.made) == 2

    asyncio.run(scene())


def test_a_person_who_ends_an_engine_that_leaves_for_the_next_one_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The screens, too, hear that it was on purpose."""

    async def scene() -> None:
        kept, screens = Kept(tmp_path, monkeypatch), list[Client]()

        async def end() -> None:
            screens.append(await Client.open(tmp_path))
            await screens[0].call("stop")

        kept.closing = end
        await kept.run()
        assert len(kept.made) == 1
        [screen] = screens
        with pytest.raises(EngineEnded, match="keep --end"):
            await screen.call("snapshot")
        await screen.close()

    asyncio.run(scene())


def test_an_engine_that_nobody_ends_goes_on_in_the_next_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def scene() -> None:
        kept = Kept(tmp_path, monkeypatch)
        make = kept.make

        def two() -> Engine:
            engine = make()
            if len(kept.made) == 2:
                engine.stop()
            return engine

        kept.make = two  # type: ignore[method-assign]
        await kept.run()
        assert len(kept.made) == 2 and kept.made[0].goes_on

    asyncio.run(scene())
