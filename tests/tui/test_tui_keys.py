"""Keys to calls: what is pressed, asked, typed, and what reaches the engine."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import HIGH, LOW, MINUTE, FakeSource, snapshot, trend
from playing import play, press, settle, text
from textual.pilot import Pilot
from tuyere.logbook.kinds import KINDS
from tuyere.tui.actions import ACTIONS, keymap
from tuyere.tui.app import WatchApp
from tuyere.tui.doing import HANDLERS
from tuyere.tui.screens.form import Field
from tuyere.tui.view import LETTERS


def calls_after(keys: list[str], home: Path, shot: Any = None, size: tuple[int, int] = (120, 35)) -> FakeSource:
    source = FakeSource(trend(6.0), shot or snapshot(trend(6.0), alarm=True))

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        await press(pilot, *keys)

    play(do, home, source=source, size=size)
    return source


def off() -> Any:
    shot = snapshot(trend(6.0))
    return msgspec.structs.replace(shot, cycle=msgspec.structs.replace(shot.cycle, state="off"))


ORDERS = [
    (["x", "y"], {"name": "stop"}),
    (["x", "x"], {"name": "stop"}),
    (["o"], {"name": "opened", "seconds": 0}),
    (["p", "y"], {"name": "phase", "row": 2}),
    (["b", *"225", "down", *"250", "enter"], {"name": "band", "low": 107.22, "high": 121.11}),
    (["b", "enter"], {"name": "band", "low": LOW, "high": HIGH}),
    (["f", *"40", "down", *"3", "enter"], {"name": "fan", "share": 0.4, "seconds": 180}),
]


@pytest.mark.parametrize(("keys", "order"), ORDERS)
def test_orders(tmp_path: Path, keys: list[str], order: dict[str, Any]) -> None:
    assert calls_after(keys, tmp_path).orders() == [order]


@pytest.mark.parametrize(
    "keys", [["x", "n"], ["x", "enter"], ["x", "escape"], ["p", "n"], ["e", "enter"], ["b", "escape"]]
)
def test_leaving_a_question_does_nothing(tmp_path: Path, keys: list[str]) -> None:
    assert [name for name, _ in calls_after(keys, tmp_path).calls if name not in ("detach",)] == []


def test_start_begins_a_cook_only_if_there_is_none(tmp_path: Path) -> None:
    assert calls_after(["s"], tmp_path, off()).calls == [("order", {"name": "start"})]
    without = msgspec.structs.replace(off(), cook=None)
    source = calls_after(["s", *"Sunday", "enter"], tmp_path, without)
    assert source.calls == [("cook_start", {"name": "Sunday"}), ("order", {"name": "start"})]


def test_end_and_give_back(tmp_path: Path) -> None:
    assert calls_after(["e", "y"], tmp_path).calls == [("cook_end", {})]
    assert calls_after(["g"], tmp_path).orders() == []  # the fan is not by hand
    shot = snapshot(trend(6.0))
    manual = msgspec.structs.replace(shot, cycle=msgspec.structs.replace(shot.cycle, state="manual"))
    assert calls_after(["g"], tmp_path, manual).orders() == [{"name": "fan", "share": 0.0, "seconds": 0}]


NOTES = [
    (["z", "enter"], ("spritzed", 0, None, "", 0)),
    (["z", "down", "right", "right", "right", "enter"], ("spritzed", 0, None, "", 20)),
    (["z", "down", *"45", "enter"], ("spritzed", 0, None, "", 45)),
    (["z", "right", "enter"], ("spritzed", 1, None, "", 0)),
    (["k", "7", "enter"], ("shade", 1, 7.0, "", 0)),
    (["k", "7", "down", "right", "down", "right", "enter"], ("shade", 2, 7.0, "", 5)),
    (["w", "right", "down", "right", "enter"], ("wrapped", 2, None, "foil", 0)),
    (["n", "f", *"2.5", "down", "right", "enter"], ("fuel_added", 0, 2.5, "unlit", 0)),
    (["n", "r", *"190", "enter"], ("hand_reading", 1, 87.78, "", 0)),
    (["n", "n", *"late guests", "enter"], ("said", 0, None, "late guests", 0)),
    (["n", "v", "enter"], ("in_oven", 1, None, "", 0)),
    (["n", "down", "enter", "enter"], ("spritzed", 0, None, "", 0)),
]


@pytest.mark.parametrize(("keys", "wanted"), NOTES)
@pytest.mark.parametrize("size", [(60, 20)])
def test_notes(tmp_path: Path, keys: list[str], wanted: tuple[Any, ...], size: tuple[int, int]) -> None:
    kind, piece, value, words, minutes = wanted
    keys = ["space" if key == " " else "full_stop" if key == "." else key for key in keys]
    source = calls_after(keys, tmp_path, size=size)
    assert source.calls == [("note", {"kind": kind, "piece": piece, "value": value, "text": words,
                                      "at": source.shot.now - minutes * MINUTE})]  # fmt: skip


def test_every_kind_of_event_can_be_noted_by_its_letter() -> None:
    assert set(LETTERS) == set(KINDS)
    assert len(set(LETTERS.values())) == len(LETTERS)


def test_pieces_are_added_and_changed(tmp_path: Path) -> None:
    source = calls_after(["m", "n", *"Ribs", "down", "down", *"3", "enter"], tmp_path)
    assert source.calls == [("piece_add", {"name": "Ribs", "cut": "", "mass": 3.0, "probe": 3})]
    source = calls_after(["m", "2", *"Tip", "enter"], tmp_path)
    assert source.calls == [("piece_change", {"id": 2, "name": "Tip", "cut": "point", "mass": 2.1, "probe": 2})]


def test_alarms_are_acknowledged_and_shelved(tmp_path: Path) -> None:
    assert calls_after(["a"], tmp_path).calls == [("alarm_acknowledge", {"id": 7})]
    assert calls_after(["l", *"15", "enter"], tmp_path).calls == [("alarm_shelve", {"id": 7, "minutes": 15})]
    shot = snapshot(trend(6.0), alarm=True)
    tripped = msgspec.structs.replace(shot, cycle=msgspec.structs.replace(shot.cycle, state="tripped", trip="probe"))
    source = calls_after(["a"], tmp_path, tripped)
    assert source.calls == [("alarm_acknowledge", {"id": 7}), ("order", {"name": "acknowledge"})]


def test_a_wrong_number_is_answered_with_what_to_do(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        await press(pilot, "b", *"900", "enter")
        assert "From of 900 F is out of range: give 104 to 392 F." in " ".join(text(app).split())
        await press(pilot, *"275", "enter")
        assert "The top of the band must be above the bottom" in text(app)
        await press(pilot, "up", *"abc", "enter")
        assert "is not a number: type digits." in " ".join(text(app).split())
        assert source.calls == []

    play(do, tmp_path)


def test_a_band_is_asked_for_until_the_board_holds_it(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "b", *"225", "down", *"250", "enter")
        assert "asked for 225-250 F" in text(app) and "250-275 F" in text(app)
        cycle = msgspec.structs.replace(source.shot.cycle, low=107.22, high=121.11)
        source.push(msgspec.structs.replace(source.shot, cycle=cycle))
        await settle(pilot)
        assert "asked for" not in text(app) and "225-250 F" in text(app)

    play(do, tmp_path)


def test_a_refused_order_and_a_failed_call_are_said(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers["order"] = {"ok": False, "words": "Not done: the board is busy with other orders; try again."}
        await press(pilot, "b", *"225", "down", *"250", "enter")
        assert "asked for" not in text(app)
        source.answers["order"] = RuntimeError("the engine is gone")
        await press(pilot, "o")
        said = [n.message for n in app._notifications]
        assert "Not done: the board is busy with other orders; try again." in said and "the engine is gone" in said
        assert app.view.asked == []

    play(do, tmp_path)


def test_what_the_board_never_shows_is_given_up(tmp_path: Path) -> None:
    now = [0.0]

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "b", *"225", "down", *"250", "enter")
        now[0] += 29
        app.check()
        assert app.view.asked
        now[0] += 2
        app.check()
        assert not app.view.asked

    play(do, tmp_path, monotonic=lambda: now[0])


@pytest.mark.parametrize(("simulated", "words"), [(True, "end with the last screen"), (False, "goes on watching")])
def test_quit_says_what_goes_on(tmp_path: Path, simulated: bool, words: str) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "q")
        assert words in " ".join(text(app).split())
        await press(pilot, "n")
        assert app.is_running and not source.closed
        await press(pilot, "q", "q")
        assert source.closed

    app = play(do, tmp_path, source=FakeSource(trend(6.0), snapshot(trend(6.0), simulated=simulated)))
    assert words in (app.return_value or "")


def test_help_and_palette_come_from_the_registry(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        for key in ("question_mark", "f1"):
            await press(pilot, key)
            assert "Hold the band from here on" in text(app)
            await press(pilot, key)
            assert len(app.screen_stack) == 1
        offered = {command.title for command in app.get_system_commands(app.screen)}
        assert "stop" in offered and "give the fan back" not in offered

    play(do, tmp_path)


def test_the_registry_is_whole() -> None:
    assert {action.id for action in ACTIONS} == set(HANDLERS)
    keys = [key for action in ACTIONS for key in action.keys.split(",")]
    assert len(set(keys)) == len(keys)
    for key in keys:  # terminals steal the others
        assert key == "question_mark" or (len(key) == 1 and key.isalnum()) or (key[0] == "f" and key[1:].isdigit())
    assert all(action.help.endswith(".") for action in ACTIONS)
    assert len([action for action in ACTIONS if action.footer]) <= 7


def test_keys_can_be_changed(tmp_path: Path) -> None:
    (tmp_path / "screen.toml").write_text('[keys]\nopened = "h"\nstop = "b"\nfly = "y"\n')

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        await press(pilot, "o", "h")
        said = " ".join(n.message for n in app._notifications)
        assert "already that of band" in said and "no action 'fly'" in said

    source = FakeSource()
    play(do, tmp_path, source=source)
    assert source.orders() == [{"name": "opened", "seconds": 0}]
    assert keymap({})[1] == []


def test_fields_refuse_what_cannot_be() -> None:
    field = Field("a", "low", "number", low=40, high=200, unit="C")
    assert field.check("121,1") == "" and field.check("121.1") == ""
    for wrong in ("", "x", "nan", "inf", "-inf", "1e99", "39", "201"):
        assert field.check(wrong).endswith(".")
