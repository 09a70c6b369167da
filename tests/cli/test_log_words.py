"""`tuyere log show`: degrees as the user reads them, notes that were withdrawn, what the board did."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tuyere import paths
from tuyere.cli.log import log
from tuyere.cli.main import main
from tuyere.logbook import Logbook
from tuyere.text import Temperature, band, text

START = 1_778_000_000_000


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        cook = book.cooks.start("Saturday", START, "pico", False)
        flat = book.pieces.add(cook, name="Alder")
        book.events.note(cook, "hand_reading", START + 60_000, START + 60_000, flat, 71.5)
        book.events.note(cook, "shade", START + 120_000, START + 7_200_000, flat, 6)
        book.events.note(cook, "said", START + 180_000, START + 180_000, text="the pan reads 100 C")
        book.events.withdraw(book.events.note(cook, "spritzed", START + 240_000, START + 240_000), START + 300_000)
        book.events.note_once(
            cook,
            "band_changed",
            START + 300_000,
            START + 9_000_000,
            "pico/7/9",
            text=text("{band}", band=band(107.0, 118.0)),
        )
        book.events.note_once(cook, "phase_changed", START + 360_000, START + 360_000, "pico/7/10", 1.0, "wrapped")
        alarm = book.alarms.add(
            cook, START, "urgent", "meat_cool", "The meat is cool", text("It stands at {c}.", c=Temperature(60.0))
        )
        book.alarms.change(alarm, acknowledged=START + 60_000)
    return tmp_path


def show(home: Path, *options: str) -> Result:
    return CliRunner().invoke(log, ["show", "last", *options], env={"TUYERE_HOME": str(home)})


def test_degrees_are_those_of_the_screen_unless_told(home: Path) -> None:
    shown = show(home).output  # no screen.toml: the screen's default
    assert "Alder: reading by hand 161 F" in shown and "band changed, 225-244 F" in shown and "at 140 F." in shown
    assert "the pan reads 100 C" in shown  # what a person wrote stays
    assert "reading by hand 71.5 C" in show(home, "--unit", "C").output
    (home / "screen.toml").write_text('units = "C"\n')
    assert "band changed, 107-118 C" in show(home).output and "225-244 F" in show(home, "--unit", "f").output


def test_meat_that_is_not_on_is_not_in_the_pit(home: Path) -> None:
    assert "Alder: not on yet" in show(home).output
    with Logbook(paths.logbook_path(home)) as book:
        book.pieces.change(1, on_at=START + 360_000)
    assert "Alder: now: pit" in show(home).output


def test_notes_say_when_they_were_late_or_withdrawn_and_records_do_not(home: Path) -> None:
    lines = {line.split("  ", 2)[-1].strip(): line for line in show(home).output.splitlines()}
    assert any(line.startswith("Alder: shade of the bark 6 (noted ") for line in lines)
    assert any(line.startswith("spritzed (withdrawn ") for line in lines)
    assert "phase changed, wrapped" in lines and "band changed, 225-244 F" in lines
    [alarm] = [line for line in lines if "The meat is cool" in line]
    assert "(urgent, acknowledged " in alarm and alarm.endswith(", standing)")


def test_json_keeps_celsius_and_says_who_noted(home: Path) -> None:
    events = json.loads(show(home, "--json").output)["events"]
    assert [event["source"] for event in events if event["kind"] == "band_changed"] == ["pico/7/9"]
    assert [event["withdrawn"] for event in events if event["kind"] == "spritzed"] == [START + 300_000]


@pytest.mark.parametrize("command", ["log show", "log export", "replay"])
def test_a_missing_cook_is_answered_with_what_to_give(home: Path, command: str) -> None:
    done = CliRunner().invoke(main, command.split(), env={"TUYERE_HOME": str(home)})
    assert done.exit_code == 2
    assert 'Give the number of a cook, or "last" for the newest; `tuyere log list` lists them.' in done.output
