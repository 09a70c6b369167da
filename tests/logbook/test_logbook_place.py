"""What is stored lies in the file at the logbook's path: moved, deleted, replaced, without its lock or its log."""

import os
import shutil
import subprocess
import sys

import pytest
from logbook_kit import BOARD, BOOT, night, table
from tuyere.logbook import Logbook, LogbookBusy
from tuyere.logbook.errors import LogbookGone, LogbookTaken
from tuyere.logbook.logbook import NOT_YET, TAKEN, USABLE, lies_at

pytestmark = pytest.mark.skipif(os.name != "posix", reason="open files cannot be moved there")
RECORDS = night(20)


def test_nothing_is_stored_in_a_file_that_was_moved_and_all_of_it_once_it_is_back(tmp_path):
    home, other = tmp_path / "home", tmp_path / "other"
    with Logbook(home / "l.sqlite") as book:
        book.records.add(BOARD, BOOT, RECORDS[:5], None)
        home.rename(other)
        assert "moved, deleted or replaced" in str(book.away())
        for write in (
            lambda: book.records.add(BOARD, BOOT, RECORDS[5:], None),
            lambda: book.records.add(BOARD, BOOT, RECORDS[:5], None),  # stored once: that counts no more
            lambda: book.cooks.start("one", 0, BOARD, False),
            lambda: book.boards.pair(BOARD, BOOT, 0, 0),
        ):
            with pytest.raises(LogbookGone, match="until it is back"):
                write()
        other.rename(home)
        assert book.away() is None
        book.records.add(BOARD, BOOT, RECORDS, None)
    with Logbook(home / "l.sqlite") as book:
        assert [row[5] for row in table(book)] == RECORDS


def test_a_file_that_goes_while_it_is_written_counts_as_not_stored(tmp_path, monkeypatch):
    with Logbook(tmp_path / "home" / "l.sqlite") as book:
        count = book.records._count

        def gone(*given):
            count(*given)
            shutil.rmtree(tmp_path / "home")

        cook = book.cooks.start("one", 0, BOARD, False)
        monkeypatch.setattr(book.records, "_count", gone)
        with pytest.raises(LogbookGone):
            book.records.add(BOARD, BOOT, RECORDS, cook)


def test_closing_a_replaced_file_leaves_the_new_one_alone(tmp_path):
    home = tmp_path / "home"
    old = Logbook(home / "l.sqlite")
    old.records.add(BOARD, BOOT, RECORDS[:5], None)
    home.rename(tmp_path / "other")
    new = Logbook(home / "l.sqlite")
    new.records.add(BOARD, BOOT, RECORDS[5:], None)
    assert isinstance(old.away(), LogbookGone) and new.away() is None
    old.close()
    assert new.away() is None and new.records.add(BOARD, BOOT, RECORDS[5:], None) == 0
    new.close()
    with Logbook(home / "l.sqlite") as book, Logbook(tmp_path / "other" / "l.sqlite") as before:
        assert [row[5] for row in table(book)] == RECORDS[5:]
        assert [row[5] for row in table(before)] == RECORDS[:5]


def test_a_lock_that_was_deleted_is_taken_again(tmp_path):
    path = tmp_path / "l.sqlite"
    with Logbook(path) as book:
        (tmp_path / "l.sqlite.lock").unlink()
        assert book.away() is None
        with pytest.raises(LogbookBusy):
            Logbook(path)


def test_a_second_owner_who_found_no_lock_ends_the_first(tmp_path):
    path = tmp_path / "l.sqlite"
    with Logbook(path) as first:
        (tmp_path / "l.sqlite.lock").unlink()
        with Logbook(path) as second:
            assert isinstance(first.away(), LogbookTaken)
            with pytest.raises(LogbookTaken, match="another engine has taken over"):
                first.records.add(BOARD, BOOT, RECORDS, None)
            second.records.add(BOARD, BOOT, RECORDS, None)
        assert first.away() is None


CHILD = """
import os, sys
from logbook_kit import BOARD, BOOT, night
from tuyere.logbook import Logbook
book, records = Logbook(sys.argv[1]), night(20)
book.records.add(BOARD, BOOT, records[:10], None)
os.unlink(sys.argv[1] + "-wal")
book.records.add(BOARD, BOOT, records[10:], None)
os.kill(os.getpid(), 9)
"""


def test_a_log_that_was_deleted_takes_nothing_with_it(tmp_path):
    path = tmp_path / "l.sqlite"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([os.path.dirname(__file__), *sys.path])}
    subprocess.run([sys.executable, "-c", CHILD, str(path)], env=environment, check=False)
    with Logbook(path) as book:
        assert [row[5] for row in table(book)] == RECORDS


def test_what_lies_there_instead(tmp_path):
    path = tmp_path / "l.sqlite"
    assert lies_at(path) == NOT_YET
    path.write_bytes(b"")
    assert lies_at(path) == NOT_YET  # a copy that has just begun
    with Logbook(path) as book:
        book.records.add(BOARD, BOOT, night(5000), None)
        assert lies_at(path) == TAKEN
    assert lies_at(path) == USABLE
    with open(path, "r+b") as file:
        file.truncate(path.stat().st_size // 2)  # a copy on its way
    assert lies_at(path) == NOT_YET
