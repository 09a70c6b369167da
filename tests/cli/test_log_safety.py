"""`tuyere log show`: what the probes have shown of a cook's food safety. Readings are invented."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tuyere import paths
from tuyere.cli import log as module
from tuyere.cli.log import log
from tuyere.logbook import Logbook

sys.path.insert(0, str(Path(__file__).parent.parent / "logbook"))

from logbook_kit import BOARD, BOOT, cycle, hello, state

START = 1_778_000_000_000
MINUTE = 60_000


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        book.boards.hello(BOARD, BOOT, hello(), seen=START)
        book.boards.pair(BOARD, BOOT, 0, START)
        cook = book.cooks.start("Saturday", START, BOARD, False)
        flat = book.pieces.add(cook, name="Alder", mass=5.0, probe=1, intact=False)
        book.pieces.change(flat, on_at=START)
        book.pieces.add(cook, name="Bramble", mass=5.0)
        # 8 h from 5 to 61 C: 7 C an hour, so 10 to 54.4 C takes 6.3 h
        made = [cycle(i, at=i * MINUTE, pit=12_800, meat_1=500 + round(i * 5600 / 480)) for i in range(1, 481)]
        book.records.add(BOARD, BOOT, [state(0), *made], cook)
    return tmp_path


def show(home: Path, *options: str) -> Result:
    return CliRunner().invoke(log, ["show", "last", *options], env={"TUYERE_HOME": str(home)})


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "wall_clock", lambda: START + 480 * MINUTE)


def test_a_slow_piece_is_told_of_in_the_log_with_the_rules(home: Path) -> None:
    text = show(home, "--unit", "C").output
    assert "From 10 C to 54 C it took 6 h 21 min, more than the 6 h of the rule" in text
    assert "Throw Alder away: it is not whole muscle, and it took 6 h 21 min from 10 C to 54 C" in text
    rules = text[text.index("food safety") :]
    assert (
        "From 10 C to 54 C within 6 h. (what Tuyere goes by; ask your authority)" in rules
        and "Rolled, injected or needled" in rules
    )
    assert rules.count("Follow your local rules.") == 1
    assert "From 50 F to 130 F within 6 h." in show(home, "--unit", "F").output


def test_json_has_the_same_by_piece_in_celsius(home: Path) -> None:
    found = json.loads(show(home, "--json").output)["safety"]
    assert list(found["pieces"]) == ["1"] and any("it took 6 h 21 min" in said for said in found["pieces"]["1"])
    assert found["verdicts"] == {"1": "throw_away"}


def test_a_cook_that_is_over_is_not_asked_to_do_anything(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """But what was to be thrown away stays so."""
    with Logbook(paths.logbook_path(home)) as book:
        [cook] = book.cooks.all()
        piece = book.pieces.add(cook.id, name="Clover", on_at=START)
        book.pieces.change(piece, on_at=START, place="out")
        book.events.note(cook.id, "out", START + 470 * MINUTE, START, piece)
        book.cooks.end(cook.id, START + 480 * MINUTE)
    monkeypatch.setattr(module, "wall_clock", lambda: START + 9000 * MINUTE)
    assert json.loads(show(home, "--json").output)["safety"]["verdicts"] == {"1": "throw_away"}


def test_a_piece_divided_off_has_the_past_of_the_whole(home: Path) -> None:
    """Its part had the slow come-up, too, though no probe is in it."""
    with Logbook(paths.logbook_path(home)) as book:
        [cook] = book.cooks.all()
        book.pieces.add(cook.id, name="New", on_at=START, intact=False)
        book.pieces.add(cook.id, name="Point", on_at=START, intact=False, part_of=1, parted_at=START + 475 * MINUTE)
    found = json.loads(show(home, "--json").output)["safety"]
    assert found["verdicts"] == {"1": "throw_away", "3": "measure", "4": "throw_away"}
    assert any("it took 6 h 21 min" in said for said in found["pieces"]["4"])
