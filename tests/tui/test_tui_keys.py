"""Keys to calls: what is pressed, asked, typed, and what reaches the engine."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import HIGH, LOW, MINUTE, FakeSource, snapshot, trend
from playing import play, press, settle, text
from textual.pilot import Pilot
from textual.widgets import Static
from tuyere.cook.in_short import LETTERS
from tuyere.cook.snapshot import Event, Next
from tuyere.logbook.kinds import KINDS
from tuyere.tui.actions import ACTIONS, keymap
from tuyere.tui.app import WatchApp
from tuyere.tui.handlers.orders import HANDLERS
from tuyere.tui.screens.form import Field


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
    (["n", "f", *"2.5 kg", "down", "right", "enter"], ("fuel_added", 0, 2.5, "unlit", 0)),
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
    assert source.calls == [("piece_add", {"name": "Ribs", "cut": "packer", "mass": 1.361, "probe": 3})]
    source = calls_after(["m", "2", *"Tip", "enter"], tmp_path)
    assert source.calls == [("piece_change", {"id": 2, "name": "Tip", "cut": "point", "mass": 2.1, "probe": 2})]


def test_a_new_piece_is_asked_for_its_details(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers["piece_add"] = {"id": 9}
        source.calls.clear()
        await press(pilot, "m", "n", *"Alder", "enter")
        assert "Alder: details" in text(app) and "flat thick" in text(app) and "point thick" in text(app)
        await press(pilot, *"4.5cm", "down", "down", *"40", "down", "right", "down", *"205", "down", *"7", "enter")
        name, given = source.calls[-1]
        assert name == "piece_change" and given == {
            "id": 9, "flat": 0.045, "point": None, "start": 4.44, "intact": False, "target": 96.11,
            "wanted_shade": 7.0, "wrap_with": "paper",
        }  # fmt: skip

    play(do, tmp_path)


def test_details_that_were_not_touched_stay_as_they_were(tmp_path: Path) -> None:
    source = calls_after(["j", "1", "enter"], tmp_path)
    assert source.calls == [("piece_change", {
        "id": 1, "flat": None, "point": None, "start": None, "intact": True, "target": 95.5, "wanted_shade": 8.0,
        "wrap_with": "paper",
    })]  # fmt: skip


def test_the_kitchen_is_asked(tmp_path: Path) -> None:
    source = calls_after(["y", "d", "down", *"7.5kg", "down", *"300m", "enter"], tmp_path)
    assert source.calls == [("kitchen_change", {
        "fuel": 7.5, "altitude": 300.0, "vented": 0.0, "lead": 75.0, "cooker": "drum", "hold": "box", "use": "home",
        "region": "other", "room": 20.0,
    })]  # fmt: skip


@pytest.mark.parametrize(("key", "warned"), [("c", True), ("l", False)])
def test_a_hot_hold_on_the_counter_is_warned_of(tmp_path: Path, key: str, warned: bool) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "y", "down", "down", "down", key)
        assert not warned or "counter, where it cools" in text(app)
        await press(pilot, "enter")
        said = [one.message for one in app._notifications if one.severity == "warning"]
        assert any("eat it while it is above 140 F. Follow your local rules" in one for one in said) == warned, said

    play(do, tmp_path)


def test_the_form_and_the_board_agree_on_how_long_the_fan_may_be_by_hand(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.push(msgspec.structs.replace(source.shot, hand_most=1200))
        await pilot.pause()
        source.calls.clear()
        await press(pilot, "f")
        assert "For 20 min at most" in text(app)
        await press(pilot, *"80", "down", *"21", "enter")
        assert not source.orders()  # more than the board takes is not sent
        await press(pilot, "backspace", "backspace", *"20", "enter")
        assert source.orders() == [{"name": "fan", "share": 0.8, "seconds": 1200}]

    play(do, tmp_path)


def test_alarms_are_acknowledged_and_shelved(tmp_path: Path) -> None:
    assert calls_after(["a"], tmp_path).calls == [("alarm_acknowledge", {"id": 7})]
    assert calls_after(["l", *"15", "enter"], tmp_path).calls == [("alarm_shelve", {"id": 7, "minutes": 15})]
    shot = snapshot(trend(6.0), alarm=True)
    tripped = msgspec.structs.replace(shot, cycle=msgspec.structs.replace(shot.cycle, state="tripped", trip="probe"))
    # the engine orders the board when the alarm is its trip: one path, or a stuck one is ordered twice
    assert calls_after(["a"], tmp_path, tripped).calls == [("alarm_acknowledge", {"id": 7})]
    seen = msgspec.structs.replace(tripped, alarms=[msgspec.structs.replace(shot.alarms[0], acknowledged=shot.now)])
    assert calls_after(["a"], tmp_path, seen).calls == [("order", {"name": "acknowledge"})]  # the board did not let go


def test_a_wrong_number_is_answered_with_what_to_do(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        await press(pilot, "b", *"900", "enter")
        assert "Band from: 900 F is out of range; give 104-392 F." in " ".join(text(app).split())
        await press(pilot, *"275", "enter")
        assert "The top of the band must be above the bottom" in text(app)
        await press(pilot, "up", *"abc", "enter")
        assert "cannot be read: give it as 250 F." in " ".join(text(app).split())
        assert source.calls == []

    play(do, tmp_path)


def test_a_band_is_asked_for_until_the_board_holds_it(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "b", *"225", "down", *"250", "enter")
        assert "250-275 F, asked 225-250 F" in text(app)
        cycle = msgspec.structs.replace(source.shot.cycle, low=107.22, high=121.11)
        source.push(msgspec.structs.replace(source.shot, cycle=cycle))
        await settle(pilot)
        assert "asked" not in text(app) and "225-250 F" in text(app)

    play(do, tmp_path)


def test_a_refused_order_and_a_failed_call_are_said(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers["order"] = {"ok": False, "words": "Not done: the board is busy with other orders; try again."}
        await press(pilot, "o")
        source.answers["order"] = RuntimeError("the engine is gone")
        await press(pilot, "o")
        said = [n.message for n in app._notifications]
        assert "Not done: the board is busy with other orders; try again." in said and "the engine is gone" in said
        assert app.view.asked == []

    play(do, tmp_path)


REFUSED = "Not done: the top of the band must stand at least 2 degrees C above its bottom."


@pytest.mark.parametrize("answer", [{"ok": False, "words": REFUSED}, RuntimeError(REFUSED)])
@pytest.mark.parametrize("size", [(60, 20), (120, 35)])
def test_a_form_stays_open_with_the_refusal_and_can_be_sent_again(
    tmp_path: Path, answer: Any, size: tuple[int, int]
) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        source.answers["order"] = answer
        await press(pilot, "b", *"225", "down", *"250", "enter")
        shown = text(app)
        assert "Change the band" in shown and "225" in shown  # open, with what was typed
        assert REFUSED in str(app.screen.query_one(".error", Static).render())
        assert all(word in shown for word in REFUSED.split()) and app.view.asked == []
        source.answers["order"] = {"ok": True, "words": "accepted"}
        await press(pilot, *"260", "enter")
        assert len(app.screen_stack) == 1
        assert source.orders()[-1] == {"name": "band", "low": 107.22, "high": 126.67}

    play(do, tmp_path, size=size)


@pytest.mark.parametrize(
    ("keys", "method"),
    [
        (["f", "enter"], "order"),
        (["z", "enter"], "note"),
        (["m", "n", *"Ribs", "enter"], "piece_add"),
        (["m", "1", "enter"], "piece_change"),
        (["l", "enter"], "alarm_shelve"),
    ],
)
def test_every_form_stays_open_when_the_engine_refuses(tmp_path: Path, keys: list[str], method: str) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers[method] = RuntimeError("no, because of the moon")
        await press(pilot, *keys)
        assert "no, because of the moon" in text(app) and len(app.screen_stack) == 2
        source.answers[method] = {"ok": True}
        await press(pilot, "enter")
        assert len(app.screen_stack) == 1

    play(do, tmp_path, source=FakeSource(trend(6.0), snapshot(trend(6.0), alarm=True)))


def test_a_form_sends_once_while_it_waits_and_may_be_left(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        answer: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        source.answers["order"] = answer
        source.calls.clear()
        await press(pilot, "b", *"225", "down", *"250", "enter", "enter", "enter")
        assert len(source.orders()) == 1 and "Asking" in text(app)
        await press(pilot, "escape")
        assert len(app.screen_stack) == 1 and "asked 225-250 F" in text(app)
        answer.set_result({"ok": False, "words": REFUSED})
        await settle(pilot)
        assert REFUSED in [n.message for n in app._notifications] and app.view.asked == []

    play(do, tmp_path)


def test_a_cook_begins_with_the_plan_that_is_kept_or_without(tmp_path: Path) -> None:
    shot = msgspec.structs.replace(snapshot(trend(6.0)), cook=None, pieces=[], planned=Next("Hall supper", ["Alder"]))

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "s")
        assert "Hall supper" in text(app) and "Alder" in text(app)
        await press(pilot, "enter")
        assert source.last("cook_start") == {"name": "Hall supper", "plan": True}
        await press(pilot, "s", "down", "right", "enter")
        assert source.last("cook_start") == {"name": "Hall supper"}

    play(do, tmp_path, source=FakeSource(shot=shot))


def test_the_last_note_is_shown_before_it_is_taken_back(tmp_path: Path) -> None:
    """The note written down last, not the one that happened last: what was dated back may be the wrong one."""
    shot = snapshot(trend(6.0))
    at = shot.now
    wrong = Event(id=90, at=at - 40 * MINUTE, noted=at - MINUTE, kind="fuel_added", value=2.5, text="lit")
    board = Event(id=91, at=at, noted=at, kind="phase_changed", value=1, by="board")
    shot = msgspec.structs.replace(shot, events=[board, *shot.events, wrong])

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        await press(pilot, "t")
        assert "Fuel added, 5.5 lb (lit), at 01:19, noted at 01:58." in " ".join(text(app).split())
        await press(pilot, "enter")
        assert source.calls == []
        await press(pilot, "t", "y")
        assert source.calls == [("note_undo", {"id": 90})]
        source.push(msgspec.structs.replace(shot, last_note=shot.events[1]))  # the engine knows better which it is
        await settle(pilot)
        await press(pilot, "t", "t")
        assert source.calls[1:] == [("note_undo", {"id": shot.events[1].id})]

    play(do, tmp_path, source=FakeSource(shot=shot))


def test_an_engine_that_cannot_take_back_says_what_to_do(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers["note_undo"] = RuntimeError("there is no method 'note_undo'")  # as `serve` says it
        await press(pilot, "t", "y")
        assert any("cannot take notes back yet" in n.message for n in app._notifications)
        source.answers["note_undo"] = RuntimeError("this note is of a cook that has ended")
        await press(pilot, "t", "y")
        assert any("of a cook that has ended" in n.message for n in app._notifications)
        none = msgspec.structs.replace(source.shot, events=[Event(id=91, at=1, noted=1, kind="started", by="board")])
        source.push(none)
        await settle(pilot)
        source.calls.clear()
        await press(pilot, "t")
        assert source.calls == [] and any("Nothing has been noted" in n.message for n in app._notifications)

    play(do, tmp_path)


def test_hints_name_the_keys_a_person_has_chosen(tmp_path: Path) -> None:
    (tmp_path / "screen.toml").write_text('[keys]\nacknowledge = "7"\nstart = "8"\n')

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "7 acknowledges, l shelves" in text(app)
        source.push(off())
        await settle(pilot)
        await press(pilot, "o")
        assert any("8 starts it" in n.message for n in app._notifications)

    play(do, tmp_path, source=FakeSource(trend(6.0), snapshot(trend(6.0), alarm=True)))


def test_what_the_engine_says_of_an_acknowledgement_is_said(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.answers["alarm_acknowledge"] = {"ok": True, "words": "Acknowledged. The fan stays off."}
        await press(pilot, "a")
        assert "Acknowledged. The fan stays off." in [n.message for n in app._notifications]

    play(do, tmp_path, source=FakeSource(trend(6.0), snapshot(trend(6.0), alarm=True)))


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


@pytest.mark.parametrize(
    ("simulated", "stays", "words"),
    [
        (True, False, "end with the last screen"),
        (True, True, "Engine and twin go on."),
        (False, True, "goes on watching"),
    ],
)
def test_quit_says_what_goes_on(tmp_path: Path, simulated: bool, stays: bool, words: str) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "q")
        assert words in " ".join(text(app).split())
        await press(pilot, "n")
        assert app.is_running and not source.closed
        await press(pilot, "q", "q")
        assert source.closed

    shot = snapshot(trend(6.0), simulated=simulated)
    shot.stays = stays
    app = play(do, tmp_path, source=FakeSource(trend(6.0), shot))
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
        plain = len(key) == 1 and key.isalnum()
        assert (
            plain or key in ("question_mark", "space", "enter", "up", "down") or (key[0] == "f" and key[1:].isdigit())
        )
    assert all(action.help.endswith(".") for action in ACTIONS)
    assert len([action for action in ACTIONS if action.footer]) <= 9


def test_keys_can_be_changed(tmp_path: Path) -> None:
    (tmp_path / "screen.toml").write_text('[keys]\nopened = "j"\nstop = "b"\nfly = "y"\n')

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        said = " ".join(n.message for n in app._notifications)
        assert "already that of band" in said and "no action 'fly'" in said
        await press(pilot, "o", "j")
        assert not app._notifications  # the dialog is not covered

    source = FakeSource()
    play(do, tmp_path, source=source)
    assert source.orders() == [{"name": "opened", "seconds": 0}]
    assert keymap({})[1] == []


def test_fields_refuse_what_cannot_be() -> None:
    field = Field("a", "low", "number", low=40, high=200, unit="C")
    assert field.check("121,1") == "" and field.check("121.1") == ""
    assert "whole number from 0 to 10" in Field("a", "shade", "number", low=0, high=10, whole=True).check("6.5")
    for wrong in ("", "x", "nan", "inf", "-inf", "1e99", "39", "201"):
        assert field.check(wrong).endswith(".")
