"""`tuyere tune` from a logbook with a night of the twin: known, shown, written to a file, taken back."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tune_kit
from click.testing import CliRunner
from hearth.core import Settings, fields
from replay_kit import Night as Recorded
from tuyere import paths
from tuyere.board import settings_file
from tuyere.board.trouble import Trouble
from tuyere.cli.main import main
from tuyere.logbook import Logbook
from tuyere.tune import of_cook, undo
from tuyere.tune.night import WANTED


def run(home: Path, monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    """Exit code, stdout, stderr of `tuyere tune ...`."""
    monkeypatch.setenv("TUYERE_HOME", str(home))
    found = CliRunner().invoke(main, ["tune", *words])
    return found.exit_code, found.stdout, found.stderr


def columns(home: Path) -> dict[tuple[str, str], list[int]]:
    """Columns of the night's cycles."""
    with Logbook(paths.logbook_path(home), owner=False) as book:
        _, (picked,) = book.reading.picked(1, 0, WANTED)
        return picked.columns


def test_the_experiment_on_the_twin_stays_in_its_band_and_steps_both_ways(home: Path) -> None:
    got = columns(home)
    trying = np.array(got["out", "reason"]) == fields.EXPERIMENTING
    assert 150 < trying.sum() <= 1200
    pit = np.array(got["now", "pit"])[trying]
    low, high = got["out", "low"][-1], got["out", "high"][-1]
    assert low < pit.min() and pit.max() < high
    duty = np.array(got["out", "duty"])[trying]
    assert len({int(value) for value in duty}) >= 2


def test_a_cook_of_the_logbook_is_a_night(home: Path, twin_night: Recorded) -> None:
    with Logbook(paths.logbook_path(home), owner=False) as book:
        night = of_cook(book, 1)
    assert night.length_s == pytest.approx(4.0 * 3600.0, abs=60.0)
    assert night.band_c == (121.1, 135.0)
    assert night.settings is not None and night.settings.values() == Settings().values()
    assert night.openings and night.in_band() is not None
    assert np.isfinite(night.pit_cycles()).mean() > 0.99


def test_it_says_what_is_known(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    code, out, _ = run(home, monkeypatch, "last", "--know", "--json")
    assert code == 0
    cooker = json.loads(out)["cooker"]
    with Logbook(paths.logbook_path(home), owner=False) as book:
        night = of_cook(book, 1)
    assert cooker["fits"] and cooker["members"] == 24
    assert cooker["misfit_c"] < tune_kit.true_rest("drum", 5, night)  # better explained only by a fan that is too weak
    known = {one["name"]: one for one in cooker["known"]}
    lift = tune_kit.true_lift("drum", 5)  # its experiment told it, but that the range ends 4 C short of it
    assert known["lift"]["low"] < lift < 1.25 * known["lift"]["high"]
    for one in cooker["known"]:
        assert one["low"] <= one["middle"] <= one["high"] and one["words"]


def test_both_settings_are_shown_and_nothing_is_written_without_a_yes(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, picture = tmp_path / "tuned.toml", tmp_path / "tuned.png"
    code, out, err = run(home, monkeypatch, "--nights", "200", "--to", str(file), "--plot", str(picture), "--unit", "F")
    assert code == 0
    for words in ("now", "in band", "first arrival", "fan reversals", "sensitivity Ms, worst", "answers the fan"):
        assert words in out
    assert not file.exists() and picture.stat().st_size > 5000
    assert "nobody to ask" in err or "Nothing is written" in err
    assert undo.last(home) is None


def test_what_was_never_written_cannot_be_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    code, _, err = run(tmp_path, monkeypatch, "--undo")
    assert code == 1 and "nothing to a board" in err


def test_the_last_one_on_a_board_is_what_undo_takes_back(tmp_path: Path) -> None:
    undo.remember(tmp_path, undo.Written(1, ["a"], {"gain": 350}, {"gain": 200}))
    undo.remember(tmp_path, undo.Written(2, ["b"], {"gain": 200}, {"gain": 180}))
    undo.remember(tmp_path, undo.Written(3, ["c"], {"gain": 200}, {"gain": 90}, file="x.toml"))
    last = undo.last(tmp_path)
    assert last is not None and last.before == {"gain": 200}
    undo.taken_back(tmp_path)
    last = undo.last(tmp_path)
    assert last is not None and last.before == {"gain": 350}
    undo.taken_back(tmp_path)
    assert undo.last(tmp_path) is None
    (tmp_path / undo.FILE).write_text("{", encoding="utf-8")
    assert undo.last(tmp_path) is None


@pytest.mark.parametrize("unit", ["C", "F"])
def test_a_file_of_settings_is_read_as_it_was_written(unit: str, tmp_path: Path) -> None:
    file = tmp_path / "s.toml"
    numbers = {"gain": 213, "reset": 900, "lead": 45, "rest_above": 1200}
    settings_file.write(file, numbers, unit, ["why"])
    other = "C" if unit == "F" else "F"
    found = settings_file.read(file, other)
    assert {name: pytest.approx(raw, abs=1) for name, raw in numbers.items()} == found
    made = settings_file.made(found)
    assert made.wrong() is None


@pytest.mark.parametrize(
    ("text", "word"), [("gain 2", "no list of settings"), ("gain = 9999", "out of range"), ('unit = "K"', "unit"),
                       ("nothing = 2", "no setting")],
)  # fmt: skip
def test_a_file_that_is_none_is_refused(text: str, word: str, tmp_path: Path) -> None:
    file = tmp_path / "s.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(Trouble, match=word):
        settings_file.read(file, "C")
