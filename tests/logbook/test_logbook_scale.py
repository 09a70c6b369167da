"""No query that runs all night reads the whole table: by the plan that SQLite makes, not by the clock."""

import pytest
from logbook_kit import BOARD, BOOT, cycle, hello, night
from tuyere.logbook import Logbook


@pytest.fixture
def plans(tmp_path):
    """The plan of every statement that the body of a test runs."""
    path, found = tmp_path / "logbook.sqlite", {}
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        book.boards.pair(BOARD, BOOT, 0, 1_778_000_000_000)
        cook = book.cooks.start("one", 1, BOARD, False)
        book.records.add(BOARD, BOOT, night(300), cook)

        class Watching:
            """A connection that explains what it runs."""

            def __init__(self, db):
                self._db = db

            def __getattr__(self, name):
                return getattr(self._db, name)

            def execute(self, sql, args=()):
                if sql.split()[0] in ("SELECT", "UPDATE", "DELETE"):
                    found[sql] = [row[3] for row in self._db.execute("EXPLAIN QUERY PLAN " + sql, args)]
                return self._db.execute(sql, args)

        db = book._store.db
        book._store.db = Watching(db)
        book._store.chain._db = book._store.db
        yield book, cook, found
        book._store.db = db


def scans(found):
    """Plans that read all of records."""
    return {
        sql: plan
        for sql, plan in found.items()
        if any(step.startswith(("SCAN records", "SCAN r")) for step in plan) and not sql.endswith("LIMIT 1")
    }


def test_what_a_running_cook_does_never_scans_the_records(plans):
    book, cook, found = plans
    last = book.reading.trend(cook).last
    book.records.add(BOARD, BOOT, [cycle(301)], cook)
    assert len(book.reading.trend(cook, last).at) == 1
    book.reading.picked(cook, last, [("now", "pit")])
    book.reading.counts(cook)
    book.reading.stored(cook)
    book.records.stored(BOARD, BOOT)
    book.records.missing(BOARD, BOOT)
    book.records.expected(BOARD, BOOT)
    book.boards.boots(BOARD)
    book.clock.newest(cook, book.clock.written())
    book.events.note(cook, "spritzed", 5, 5)
    book.soundness.of(cook)
    assert len(found) > 20 and scans(found) == {}


def test_opening_never_scans_the_records(plans):
    book, _, found = plans
    book._store._touch(book._store.db)
    book._store.chain.meet(None)
    assert found and scans(found) == {}
