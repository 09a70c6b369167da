"""An engine that was ended on purpose stays ended while a screen is open; a key that fails does not end the screen."""

from __future__ import annotations

import asyncio
import io
from pathlib import Path
from typing import Any

import pytest
from fake_source import FakeSource, snapshot
from playing import play, press, settle, text
from textual.pilot import Pilot
from tuyere import unexpected
from tuyere.client.client import EngineError
from tuyere.cook.snapshot import Ended
from tuyere.tui import plain_screen
from tuyere.tui.app import WatchApp
from tuyere.tui.handlers import orders

WHY = "A person ended it, with `tuyere keep --end`."


class Ways:
    """`connect` finds or starts an engine, `attach` only looks: none runs until `there`."""

    def __init__(self, source: FakeSource) -> None:
        self.source, self.started, self.looked, self.there = source, 0, 0, False

    async def connect(self) -> FakeSource:
        self.started += 1
        return self.source

    async def attach(self) -> FakeSource:
        self.looked += 1
        if not self.there:
            raise EngineError("no engine is running here")
        return self.source


def end(source: FakeSource) -> None:
    source.queue.put_nowait(("ended", Ended(WHY)))


@pytest.mark.parametrize(("simulated", "words"), [(True, "Its twin has ended"), (False, "nobody watches")])
def test_the_screen_says_so_starts_none_and_offers_a_key(tmp_path: Path, simulated: bool, words: str) -> None:
    source = FakeSource(shot=snapshot(simulated=simulated))
    ways, turns = Ways(source), asyncio.Queue[None]()

    async def scenario(app: WatchApp, pilot: Pilot[Any], _: FakeSource) -> None:
        assert ways.started == 1
        end(source)
        await settle(pilot)
        for looked in (1, 2, 3):  # it goes on looking whether somebody else starts one
            turns.put_nowait(None)
            await settle(pilot)
            assert (ways.started, ways.looked) == (1, looked)
        shown = text(app)
        assert "The engine was ended on purpose" in shown and "keep --end" in shown and words in shown
        assert "F5 starts it again" in shown and "engine ended" in shown
        await press(pilot, "s")
        assert "F5 starts it again" in str([one.message for one in app._notifications])
        await press(pilot, "f5")
        assert ways.started == 2 and "ended on purpose" not in text(app)

    play(scenario, tmp_path, source=source, connect=ways.connect, attach=ways.attach, again=turns.get)


def test_the_screen_attaches_to_an_engine_that_somebody_else_starts(tmp_path: Path) -> None:
    source = FakeSource()
    ways, turns = Ways(source), asyncio.Queue[None]()

    async def scenario(app: WatchApp, pilot: Pilot[Any], _: FakeSource) -> None:
        end(source)
        await settle(pilot)
        ways.there = True
        turns.put_nowait(None)
        await settle(pilot)
        assert (ways.started, ways.looked) == (1, 1) and app.view.where == "open" and not app.follower.ended
        source.drop()  # a crash: now it may start one again
        await settle(pilot)
        turns.put_nowait(None)
        await settle(pilot)
        assert ways.started == 2

    play(scenario, tmp_path, source=source, connect=ways.connect, attach=ways.attach, again=turns.get)


def test_a_key_that_fails_is_said_and_the_screen_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(app: WatchApp) -> None:
        raise ZeroDivisionError("of all things")

    monkeypatch.setitem(orders.HANDLERS, "units", broken)

    async def scenario(app: WatchApp, pilot: Pilot[Any], _: FakeSource) -> None:
        await press(pilot, "u")
        said = " ".join(str(one.message) for one in app._notifications)
        assert "The key for 'F or C' failed in a way that was not foreseen" in said
        await press(pilot, "question_mark")
        assert "Keys" in text(app)

    play(scenario, tmp_path)
    assert "of all things" in (tmp_path / unexpected.NAME).read_text()


def test_keys_typed_at_once_close_one_dialog_only(tmp_path: Path) -> None:
    async def scenario(app: WatchApp, pilot: Pilot[Any], _: FakeSource) -> None:
        await press(pilot, "question_mark")
        page = app.screen
        page.dismiss(None)
        page.dismiss(None)  # a second escape that was on its way
        await settle(pilot)
        assert app.screen is app.watch_screen
        await press(pilot, "question_mark")
        page = app.screen
        app.do("note")  # as a key that was typed before the page stood
        await settle(pilot)
        above = app.screen
        page.dismiss(None)  # an escape that was on its way to the page
        await settle(pilot)
        assert app.screen is above and above is not page
        await press(pilot, "escape", "escape")
        assert app.screen is app.watch_screen

    play(scenario, tmp_path)


def test_lines_of_text_wait_for_another_engine(tmp_path: Path) -> None:
    source = FakeSource()
    ways = Ways(source)

    async def run() -> str:
        out = io.StringIO()
        task = asyncio.create_task(plain_screen.watch(ways.connect, out, "F", attach=ways.attach, again=0.0))
        while "; pit " not in out.getvalue():
            await asyncio.sleep(0)
        end(source)
        while ways.looked < 3:
            await asyncio.sleep(0)
        ways.there = True
        while not source.closed or out.getvalue().count("; pit ") < 1 or ways.looked < 4:
            await asyncio.sleep(0)
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
        return out.getvalue()

    told = asyncio.run(run())
    assert told.count("The engine was ended on purpose. " + WHY) == 1 and ways.started == 1
    assert "no engine is running" not in told


def test_lines_of_text_end_if_no_engine_can_be_had_at_first() -> None:
    async def connect() -> FakeSource:
        raise EngineError("the folder /x cannot be used (Permission denied)")

    with pytest.raises(EngineError, match="Permission denied"):
        asyncio.run(plain_screen.watch(connect, io.StringIO(), "F", again=0.0))
