"""Rows that are gone from the file are said by every reader: at the start, in the middle, at the end."""

import contextlib
import json
import sqlite3

import pytest
from click.testing import CliRunner
from logbook_kit import BOARD, BOOT, hello, night
from tuyere import paths
from tuyere.cli.log import log
from tuyere.logbook import Logbook
from tuyere.logbook.missing import GONE, PARTLY
from tuyere.replay.rerun import replay

PLACES = {"start": (0, 4), "middle": (100, 102), "end": (296, 300), "all": (0, 300)}


def run(*args):
    return CliRunner().invoke(log, list(args))


@pytest.fixture(params=PLACES)
def gone(request, tmp_path, monkeypatch):
    """A cook with rows gone, and the first and last sequence of them."""
    first, last = PLACES[request.param]
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    with Logbook(paths.logbook_path(tmp_path)) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        book.boards.pair(BOARD, BOOT, 0, 1_778_000_000_000)
        cook = book.cooks.start("one", 1, BOARD, True)
        book.records.add(BOARD, BOOT, night(300), cook)
        book.cooks.end(cook, 2)
        second = book.cooks.start("two", 3, BOARD, True)
        book.records.add(BOARD, BOOT, night(350)[301:], second)
    with contextlib.closing(sqlite3.connect(paths.logbook_path(tmp_path))) as db:
        db.execute("DELETE FROM records WHERE sequence BETWEEN ? AND ?", (first, last))
        db.commit()
    return first, last


def test_gaps_and_counts(gone, tmp_path):
    first, last = gone
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        (gap,) = book.reading.gaps(1)
        assert (gap.first, gap.last, gap.cause) == (first, last, GONE)
        counts = book.reading.counts(1)
        assert counts.missing == last - first + 1 and counts.gaps == 1
        assert counts.cycles + counts.states == 301 - counts.missing
        assert book.reading.all_counts() == {1: counts, 2: book.reading.counts(2)}
        assert book.reading.counts(2).missing == 0 and book.reading.gaps(2) == []
        assert len(book.reading.trend(1).at) == counts.cycles == len(list(book.reading.cycles(1)))
        assert book.clock.newest(1, book.clock.written())[1] > 0 or first == 0 == last - 300


def test_commands(gone):
    first, last = gone
    listed = json.loads(run("list", "--json").stdout)
    assert [cook["missing"] for cook in listed] == [last - first + 1, 0]
    shown = run("show", "1").stdout
    assert f"missing: records {first} to {last} of boot {BOOT} ({GONE})" in shown
    assert "not as it was stored" in shown or (first, last) == (0, 300)  # then no link of it is left to be compared
    exported = run("export", "1")
    assert exported.exit_code == 0 and f"missing: records {first} to {last} of boot {BOOT}: {GONE}" in exported.stderr
    assert run("show", "2").exit_code == 0
    checked = run("check")
    assert checked.exit_code == 1 and "records" in checked.stdout and "touching cook 1" in checked.stdout


def test_a_replay_says_so(gone, tmp_path):
    from tuyere.cli.replay import lines

    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        said = "\n".join(lines(replay(book, 1, fast=False)))
    assert "no record is missing" not in said and f"{gone[0]} to {gone[1]} of boot {BOOT}: {GONE}" in said


def test_a_hole_that_never_was_stored_is_told_from_rows_that_are_gone(tmp_path):
    path = tmp_path / "logbook.sqlite"
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        cook = book.cooks.start("one", 1, BOARD, True)
        records = night(50)
        book.records.add(BOARD, BOOT, records[:20] + records[25:], cook)
        assert [(gap.first, gap.last, gap.cause) for gap in book.reading.gaps(cook)] == [(20, 24, "")]
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("DELETE FROM records WHERE sequence BETWEEN 24 AND 29")
        db.commit()
    with Logbook(path, owner=False) as book:
        assert [(gap.first, gap.last, gap.cause) for gap in book.reading.gaps(cook)] == [(20, 29, PARTLY)]
