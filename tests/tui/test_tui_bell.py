"""The bell: when it rings, when it is silent, and that nothing on screen depends on it."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import MINUTE, FakeSource, snapshot, trend
from playing import play, press, settle, text
from textual.pilot import Pilot
from tuyere.cook.snapshot import Alarm, Snapshot
from tuyere.tui.app import WatchApp
from tuyere.tui.bell import Bell
from tuyere.tui.plain_screen import Printer


def with_alarms(*alarms: Alarm, simulated: bool = True) -> Snapshot:
    return msgspec.structs.replace(snapshot(trend(6.0), simulated=simulated), alarms=list(alarms))


def alarm(number: int = 7, level: str = "urgent", what: str = "The fire is fading", **changes: int) -> Alarm:
    return Alarm(id=number, raised=1, level=level, what=what, code="fading", **changes)


def test_it_rings_when_something_comes_then_each_minute_while_it_stands() -> None:
    bell = Bell()
    rings = []
    for second in range(400):
        standing = set() if second < 10 or second >= 300 else {"fire"} | ({"link"} if second >= 100 else set())
        if bell.due(standing, float(second)):
            rings.append(second)
    assert rings == [10, 70, 100, 160, 220, 280]
    assert bell.due({"fire"}, 400.0)  # it has come again


def ringing(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    rung: list[float] = []
    monkeypatch.setattr(WatchApp, "bell", lambda self: rung.append(self.monotonic()))
    return rung


def test_an_urgent_alarm_rings_until_a_person_has_seen_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rung, now = ringing(monkeypatch), [0.0]
    calm, now_ms = with_alarms(), snapshot(trend(6.0)).now

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        async def pass_time(shot: Snapshot, seconds: int) -> None:
            for second in range(seconds):
                now[0] += 1.0
                if second % 10 == 0:  # often enough for an engine that is not silent
                    app.take_snapshot(shot)
                app.check()

        await pass_time(with_alarms(alarm(level="warning")), 100)
        assert rung == []
        await pass_time(with_alarms(alarm(-1)), 30)  # not in the logbook yet
        await pass_time(with_alarms(alarm(12)), 100)  # now it is: the same alarm
        assert rung == [101.0, 161.0, 221.0]
        await pass_time(with_alarms(alarm(12, shelved=now_ms + MINUTE)), 100)
        await pass_time(with_alarms(alarm(12, acknowledged=now_ms)), 100)
        await pass_time(calm, 100)
        assert len(rung) == 3

    play(look, tmp_path, source=FakeSource(shot=calm), monotonic=lambda: now[0])


def test_it_can_be_silenced_for_good_and_the_alarm_is_seen_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung, now, shot = ringing(monkeypatch), [0.0], with_alarms(alarm())

    async def silence(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert len(rung) == 1  # it stood when the screen was opened
        before = text(app)
        await press(pilot, "h")
        now[0] += 61
        app.take_snapshot(shot)
        assert len(rung) == 1
        for words in ("URGENT", "The fire is fading", "a acknowledges"):
            assert words in before and words in text(app)
        await press(pilot, "h")
        now[0] += 61
        app.take_snapshot(shot)
        assert len(rung) == 2
        await press(pilot, "h")

    play(silence, tmp_path, source=FakeSource(shot=shot), monotonic=lambda: now[0])

    async def again(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "The fire is fading" in text(app)

    play(again, tmp_path, source=FakeSource(shot=shot), monotonic=lambda: now[0])
    assert len(rung) == 2 and 'bell = "off"' in (tmp_path / "screen.toml").read_text()


@pytest.mark.parametrize("simulated", [False, True])
def test_an_engine_that_is_silent_over_a_real_cook_rings_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, simulated: bool
) -> None:
    rung, now = ringing(monkeypatch), [0.0]

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.drop()
        await settle(pilot)
        for _ in range(100):
            now[0] += 1.0
            app.check()
        assert rung == ([] if simulated else [16.0, 76.0])

    play(look, tmp_path, source=FakeSource(shot=with_alarms(simulated=simulated)), monotonic=lambda: now[0])


@pytest.mark.parametrize("terminal", [False, True])
def test_plain_rings_on_a_terminal_only(terminal: bool) -> None:
    out, now = io.StringIO(), [0.0]
    printer = Printer(out, "F", bell=terminal, monotonic=lambda: now[0])
    for second in range(130):
        now[0] = float(second)
        printer.take_snapshot(with_alarms(alarm()) if second else with_alarms())
    assert out.getvalue().count("\a") == (3 if terminal else 0)
    assert "ALARM, urgent: The fire is fading." in out.getvalue()
