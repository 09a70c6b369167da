"""A past night on the screen: marked as past, moved by its own keys, and nothing can be ordered."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from fake_source import HOUR, MINUTE, START, snapshot, trend
from playing import press, settle, text
from textual.widgets import Footer
from tuyere.cook.snapshot import Snapshot
from tuyere.tui.actions import ACTIONS, BY_ID, PAST, keymap
from tuyere.tui.handlers.past_night import HANDLERS, read_time, wrong_time
from tuyere.tui.past_screen import PastApp

OF_THE_LIVE_SCREEN = (
    "start", "stop", "band", "phase", "programme", "fan", "back", "end", "opened", "looked", "note", "spritz", "shade",
    "wrap", "undo", "pieces", "piece", "kitchen", "acknowledge", "shelve", "engine",
)  # fmt: skip


class FakePlayer:
    """What the app asks of `replay.player.Player`; keeps what its keys asked."""

    def __init__(self, shot: Snapshot) -> None:
        self.shot, self.columns = shot, trend(6.0)
        self.first, self.last = self.columns.at[0], self.columns.at[-1]
        self.at, self.speed, self.paused, self.over = self.last, 60.0, False, False
        self.asked: list[tuple[str, Any]] = []
        self.calls: list[str] = []

    async def call(self, method: str, **params: Any) -> Any:
        self.calls.append(method)
        if method in ("snapshot", "subscribe"):
            return self.shot
        raise AssertionError(f"{method} was asked of a past night")

    async def notifications(self) -> Any:
        yield "trend", self.columns
        await asyncio.Event().wait()

    async def close(self) -> None:
        pass

    def pause(self) -> None:
        self.paused = not self.paused
        self.asked.append(("pause", None))

    def faster(self, by: int) -> float:
        self.asked.append(("faster", by))
        return self.speed

    def cycles(self, count: int) -> None:
        self.asked.append(("cycles", count))

    def jump(self, at: int) -> None:
        self.asked.append(("jump", at))

    def mark(self, by: int) -> int:
        self.asked.append(("mark", by))
        return 0


def shown(home: Path, keys: list[str], size: tuple[int, int] = (80, 24), **how: Any) -> tuple[FakePlayer, PastApp, str]:
    player = FakePlayer(snapshot(trend(6.0), **how))

    async def run() -> tuple[PastApp, str]:
        app = PastApp(player, home)
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            await press(pilot, *keys)
            seen = text(app)
            if len(app.screen_stack) == 1:
                assert app.screen.query_one(Footer).max_scroll_x == 0
        return app, seen

    app, seen = asyncio.run(run())
    return player, app, seen


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_it_is_marked_as_past_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    _, _, seen = shown(tmp_path, [], size)
    lines = seen.splitlines()
    assert "PAST NIGHT, 60x" in lines[0] and "Sun 01:59" in lines[0]
    assert "live" not in seen and ("recorded, not now" in seen or "past" in lines[1])
    assert "space pause" in lines[-1] and "n next" in lines[-1] and "q quit" in lines[-1]
    assert "simulated" not in lines[0]


def test_paused_and_over_are_said(tmp_path: Path) -> None:
    player, _, seen = shown(tmp_path, ["space", "u"])
    assert "PAST NIGHT, paused" in seen.splitlines()[0] and player.asked == [("pause", None)]


def test_the_keys_move_the_night(tmp_path: Path) -> None:
    player, _, _ = shown(tmp_path, ["n", "p", "plus", "minus", "right", "left", "up", "down", "home", "end"])
    assert player.asked == [
        ("mark", 1), ("mark", -1), ("faster", 1), ("faster", -1), ("cycles", 1), ("cycles", -1),
        ("jump", player.at + 10 * MINUTE), ("jump", player.at - 10 * MINUTE), ("jump", player.first),
        ("jump", player.last),
    ]  # fmt: skip


def test_go_to_a_time(tmp_path: Path) -> None:
    player, _, _ = shown(tmp_path, ["g", *"23:10", "enter"])
    assert player.asked == [("jump", START + 3 * HOUR + 10 * MINUTE)]
    player, _, seen = shown(tmp_path, ["g", *"soon", "enter"])
    assert "soon is no time. Type a time as 01:59" in " ".join(seen.split()) and player.asked == []


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ("23:59", ""),
        ("Sun 3:12", ""),
        ("25:00", "25 is no hour: a day ends at 23:59."),
        ("24:00", "24 is no hour: a day ends at 23:59."),
        ("sat 12:60", "60 is no minute: an hour ends at :59."),
        ("xyz 01:00", "xyz is no day of the week."),
        (" 1 ", "1 is no time."),
        ("  ", "No time is typed."),
    ],
)
def test_what_is_wrong_with_a_time(typed: str, wrong: str) -> None:
    assert wrong_time(typed) == wrong


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("20:00", 0),
        ("19:59", 24 - 1 / 60),
        ("0.30", 4.5),
        ("sun 02:00", 6),
        ("Sunday 20:00", 24),
        ("Mon 01:00", 29),
        ("25:00", None),
        ("xyz 01:00", None),
        ("1", None),
    ],
)
def test_times_of_a_night(typed: str, hours: float | None) -> None:
    found = read_time(typed, START)
    assert found == (None if hours is None else START + round(hours * HOUR))


def test_no_key_of_the_live_screen_orders_anything(tmp_path: Path) -> None:
    keys = [key for name in OF_THE_LIVE_SCREEN for key in BY_ID[name].keys.split(",") if key not in "npg"]
    player, _, _ = shown(tmp_path, [*keys, "y", "enter", "escape"], alarm=True)
    assert set(player.calls) <= {"snapshot", "subscribe"}
    assert {action.id for action in PAST}.isdisjoint(OF_THE_LIVE_SCREEN)


def test_an_alarm_of_that_night_offers_no_key(tmp_path: Path) -> None:
    _, _, seen = shown(tmp_path, [], alarm=True)
    assert "The fire is fading" in seen and "acknowledges" not in seen and "shelves" not in seen
    _, _, seen = shown(tmp_path, ["r"], alarm=True)
    assert "Knock the ash" in seen and "acknowledges" not in seen


def test_what_had_happened_stands_where_the_hands_would_be_asked(tmp_path: Path) -> None:
    _, _, seen = shown(tmp_path, [], (120, 35))
    assert "What had happened" in seen and "shade 6, Big flat" in seen and "Fill the water pan" not in seen
    _, _, seen = shown(tmp_path, [], (80, 24))
    (line,) = (line for line in seen.splitlines() if "shade 6, Big flat" in line)
    assert line.strip().startswith("noted ")


def test_the_help_names_these_keys_only(tmp_path: Path) -> None:
    _, _, seen = shown(tmp_path, ["question_mark"], (120, 35))
    assert "The past night" in seen and "ten minutes on" in seen and "acknowledge" not in seen


def test_keys_that_a_person_changed_hold_here_too() -> None:
    keys, trouble = keymap({"start": "9", "pause": "9"}, PAST)
    assert keys["pause"] == "9" and trouble == []
    assert keymap({"nonsense": "9"}, PAST)[1]
    assert set(HANDLERS) == {action.id for action in PAST}
    own = [key for action in PAST for key in action.keys.split(",")]
    assert len(own) == len(set(own)) and ACTIONS
