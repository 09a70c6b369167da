"""The programme on the screen: a draft that is called not sent, checked and sent as one, shown as acknowledged."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import HIGH, LOW, FakeSource, snapshot, trend
from hearth.core import fields
from hypothesis import given
from hypothesis import strategies as st
from playing import play, press, text
from textual.pilot import Pilot
from tuyere.cook import kept_programmes, programme
from tuyere.cook.snapshot import Snapshot
from tuyere.tui.app import WatchApp
from tuyere.tui.draft import Draft
from tuyere.tui.handlers.programme import ended, read_span, sent, shown

SMOKE = programme.phase("open smoke", 107.2, 121.1, purpose=programme.BARK)
NIGHT = programme.phase("low overnight", 107.2, 121.1, fields.END_AFTER, 420.0, clock="06:00")
DAY = programme.phase("daylight", 121.1, 135.0, fields.END_MEAT_1, 95.0, purpose=programme.FINISH)
HOLD = programme.phase("hold", 70.0, 80.0, purpose=programme.HOLD)


def shot(row: int = 1, phases: list[Any] | None = None, **changes: Any) -> Snapshot:
    found = snapshot(trend(6.0))
    cycle = msgspec.structs.replace(found.cycle, phase=row, low=121.1, high=135.0, **changes)
    return msgspec.structs.replace(found, phases=phases or [SMOKE, DAY, HOLD], cycle=cycle)


def dialog(app: WatchApp) -> str:
    """What the topmost dialog has on the screen, without what shines through beside it."""
    box = app.screen.query_one(".box").region
    rows = text(app).splitlines()[box.y : box.bottom]
    return "\n".join(row[box.x : box.right].strip() for row in rows)


def opened(
    keys: list[str], home: Path, given: Snapshot | None = None, size: tuple[int, int] = (80, 24), **answers: Any
) -> tuple[FakeSource, str]:
    source = FakeSource(trend(6.0), given or shot())
    kept = {name: [msgspec.to_builtins(one) for one in phases] for name, phases in kept_programmes.given().items()}
    source.answers |= {"programmes": kept, "programme_keep": {"ok": True}, **answers}
    seen = ""

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        nonlocal seen
        source.calls.clear()
        await press(pilot, "f4", *keys)
        seen = dialog(app) if len(app.screen_stack) > 1 else text(app)

    play(do, home, source=source, size=size)
    return source, seen


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_the_programme_is_seen_whole_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    _, seen = opened([], tmp_path, size=size)
    lines = [line.strip() for line in seen.splitlines()]
    assert "As the board has it." in seen and "NOT SENT" not in seen
    assert any(
        line.startswith("1 done  open smoke") and "225-250 F" in line and line.endswith("by hand") for line in lines
    )
    assert any(line.startswith("2 now   wrapped"[:8]) and line.endswith("Big flat at 203 F") for line in lines)
    assert any(line.startswith("3") and "158-176 F" in line for line in lines)
    assert "daylight: 250-275 F, ends Big flat at 203 F" in " ".join(seen.split())
    assert "escape leaves" in seen and "~" not in "".join(line for line in lines if line[:1].isdigit())


def test_a_phase_is_added_moved_and_sent_as_one(tmp_path: Path) -> None:
    keys = ["a", *"rest a while", "down", "down", "down", "right", "down", *"1 h 30 min", "enter", "plus", "s"]
    source, seen = opened(keys, tmp_path)
    [order] = source.orders()
    who = order.pop("who")
    assert who.endswith("on the screen")
    phases = order.pop("phases")
    assert order == {"name": "programme", "row": 2, "afresh": False}  # `daylight` went down by one and goes on
    assert [p["name"] for p in phases] == ["open smoke", "rest a while", "daylight", "hold"]
    assert (phases[1]["end_kind"], phases[1]["end_value"], phases[1]["low"]) == (fields.END_AFTER, 90.0, 121.1)
    assert "As the board has it." in seen  # and that is still the old one


def test_what_is_not_sent_says_so_and_is_not_lost_by_one_key(tmp_path: Path) -> None:
    source, seen = opened(["d", "escape"], tmp_path)
    assert "NOT SENT. The board goes on with what it has" in seen and source.orders() == []
    assert "Escape again drops them, s sends them." in seen
    _, seen = opened(["d", "escape", "escape"], tmp_path)
    assert "The programme" not in seen
    _, seen = opened(["d", "r"], tmp_path)
    assert "As the board has it." in seen and "daylight" in seen


def test_a_refusal_of_the_engine_stands_on_the_screen_and_the_draft_stays(tmp_path: Path) -> None:
    refused = RuntimeError("hot: its band goes up to 158 C, and with this board's limits none may go above 155 C")
    _, seen = opened(["d", "s"], tmp_path, order=refused)
    assert "none may go above" in " ".join(seen.split()) and "NOT SENT" in seen


def test_a_kept_programme_begins_with_its_first_phase(tmp_path: Path) -> None:
    source, seen = opened(["k", "3"], tmp_path)
    assert "1 begin low overnight" in seen and source.orders() == []
    source, _ = opened(["k", "3", "s"], tmp_path)
    [order] = source.orders()
    assert (order["row"], order["afresh"]) == (0, True)
    assert order["phases"][0]["clock"] == "06:00"
    source, _ = opened(["k", "k", *" mine", "enter"], tmp_path)
    assert source.last("programme_keep")["name"] == " mine" and len(source.last("programme_keep")["phases"]) == 3
    source, _ = opened(["k", "d", "2"], tmp_path)
    assert source.last("programme_drop") == {"name": "open smoke, then wrapped"}


def test_going_to_a_phase_asks_and_orders_only_that(tmp_path: Path) -> None:
    source, seen = opened(["down", "g"], tmp_path)
    assert "Go to hold?" in seen and source.orders() == []
    source, _ = opened(["down", "g", "y"], tmp_path)
    assert source.orders() == [{"name": "phase", "row": 2}]
    source, seen = opened(["g"], tmp_path)
    assert source.orders() == [] and "in force already" in seen
    source, seen = opened(["c", *"xx", "enter", "down", "g", "s"], tmp_path)  # with changes it is sent with them
    [order] = source.orders()
    assert (order["name"], order["row"], order["afresh"]) == ("programme", 2, True)


@pytest.mark.parametrize(
    ("fields_", "said"),
    [
        (["down", "down", *"200", "enter"], "its band begins at 104 F or above, and is at least 3.6 F wide"),
        (["down", "down", *"350", "enter"], "none may go above 311 F"),
        (["down", "down", "down", "left", "down", *"7 pm", "enter"], "It ends at a time of day: type it as 06:00."),
        (["down", "down", "down", "left", "left", "down", *"soon", "enter"], "type it as 2 h, 90 min or 1 h 30 min"),
    ],
)
def test_what_does_not_fit_is_said_in_the_form(tmp_path: Path, fields_: list[str], said: str) -> None:
    source, seen = opened(["c", *fields_], tmp_path)
    assert said in " ".join(seen.split()) and source.orders() == []


def test_no_key_offers_a_phase_that_changes_nothing(tmp_path: Path) -> None:
    alike = [programme.phase(name, LOW, HIGH) for name in ("open smoke", "wrapped", "finish")]
    source = FakeSource(trend(6.0), shot(0, alike))
    seen = ""

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        nonlocal seen
        source.calls.clear()
        await press(pilot, "p")
        seen = " ".join(one.message for one in app._notifications)

    play(do, tmp_path, source=source)
    assert "going on changes nothing" in seen and source.orders() == []


def test_a_draft_follows_the_board_until_it_is_changed() -> None:
    draft = Draft()
    draft.follow([SMOKE, DAY])
    draft.follow([SMOKE, DAY, HOLD])
    assert draft.phases == [SMOKE, DAY, HOLD] and draft.standing(1) == (1, False)
    draft.remove(0)
    draft.follow([SMOKE, DAY, HOLD])
    assert draft.phases == [DAY, HOLD] and draft.standing(1) == (0, False) and not draft.elsewhere
    assert draft.standing(0) == (0, True)  # the one in force is gone: the next one begins
    draft.follow([NIGHT])
    assert draft.elsewhere and draft.standing(0) == (0, True) and draft.phases == [DAY, HOLD]
    draft.revert()
    assert draft.phases == [NIGHT] and not draft.changed


EDITS = st.lists(
    st.tuples(st.sampled_from(["add", "remove", "up", "down", "change", "begin"]), st.integers(0, 7)), max_size=12
)


@given(EDITS, st.integers(0, 2))
def test_the_phase_in_force_is_never_lost_from_sight(edits: list[tuple[str, int]], row: int) -> None:
    board = [SMOKE, DAY, HOLD]
    draft = Draft()
    draft.follow(board)
    for what, at in edits:
        i = min(at, len(draft.phases) - 1)
        if what == "add":
            count = len(draft.phases)
            assert (draft.add(i, NIGHT) == "") == (count < fields.ROWS) == (len(draft.phases) == count + 1)
        elif what == "remove":
            draft.remove(i)
        elif what in ("up", "down"):
            draft.move(i, -1 if what == "up" else 1)
        elif what == "begin":
            draft.begin(i)
        assert 1 <= len(draft.phases) <= fields.ROWS
        at_, afresh = draft.standing(row)
        assert 0 <= at_ < len(draft.phases)
        if not afresh:
            assert draft.phases[at_] == board[row]


@given(st.integers(1, 5760))
def test_a_time_is_typed_as_it_is_shown(minutes: int) -> None:
    assert read_span(shown(programme.phase("a", LOW, HIGH, fields.END_AFTER, float(minutes)), "F")) == minutes


@pytest.mark.parametrize("units", ["F", "C"])
def test_every_end_is_typed_as_it_is_shown(units: str) -> None:
    for phase, kind in ((SMOKE, "0"), (NIGHT, "clock"), (DAY, "2")):
        number, value, clock = ended(kind, shown(phase, units), units)  # type: ignore[misc]
        assert (number, clock) == (phase.end_kind, phase.clock)
        assert phase.clock or abs(value - phase.end_value) < 0.3
    assert sent([NIGHT])[0] == {"name": "low overnight", "low": 107.2, "high": 121.1, "end_kind": 1,
                                "end_value": 420.0, "purpose": "", "clock": "06:00"}  # fmt: skip
