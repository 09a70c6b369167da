"""The engine's log: bounded, its user's alone, and nothing in it that could move a cursor or forge a line."""

import os

import pytest
from tuyere.engine import log_file
from tuyere.engine.engine import Engine
from tuyere.logbook.errors import LogbookError
from tuyere.printable import all_printable, printable


def test_a_long_log_becomes_the_one_before(tmp_path, monkeypatch):
    monkeypatch.setattr(log_file, "MOST", 1000)
    file = tmp_path / "engine.log"
    log_file.rotate(file)  # there is none
    with open(file, "a") as out:  # as a process that has it as its standard error
        for i in range(400):
            out.write(f"line {i:04}\n")
            out.flush()
            log_file.rotate(file)
    old = tmp_path / "engine.log.1"
    assert file.stat().st_size <= 1000 and old.stat().st_size <= 1010
    lines = (old.read_text() + file.read_text()).splitlines()
    assert lines[-1] == "line 0399" and lines == [f"line {i:04}" for i in range(400 - len(lines), 400)]
    if os.name == "posix":
        assert old.stat().st_mode & 0o777 == 0o600


def test_an_engine_bounds_its_log_and_escapes_what_it_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(log_file, "MOST", 2000)
    said = []
    engine = Engine(tmp_path, forecaster=(), log=said.append)
    try:
        (tmp_path / "engine.log").write_text("x" * 3000)
        engine.log("the board says: \x1b[2Jgone\n2026-01-01 00:00:00 forged")
        assert said[-1].endswith("the board says: \\x1b[2Jgone\\n2026-01-01 00:00:00 forged")
        assert (tmp_path / "engine.log").stat().st_size == 0 and (tmp_path / "engine.log.1").stat().st_size == 3000
    finally:
        try:
            engine.logbook.close()
        except LogbookError as error:
            pytest.fail(str(error))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Großer Samstag, 90 °C / 火", "Großer Samstag, 90 °C / 火"),
        ("a\x1b]0;title\x07b", "a\\x1b]0;title\\x07b"),
        ("a\r\nb\tc\x00\x7f\x9b", "a\\r\\nb\\tc\\x00\\x7f\\x9b"),
        ("\u202eabc\u2066\u200b\u2028\ufeff", "\\u202eabc\\u2066\\u200b\\u2028\\ufeff"),
        ("a\u00a0b", "a\u00a0b"),
    ],
)
def test_what_cannot_be_seen_is_escaped(text, wanted):
    assert printable(text) == wanted
    assert all_printable({text: [text, 1, None, {"a": text}]}) == {wanted: [wanted, 1, None, {"a": wanted}]}
