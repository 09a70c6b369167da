"""The file: opening, refusing, upgrading, and surviving."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from logbook_kit import BOARD, BOOT, hello, night, state, table
from tuyere.logbook import Logbook, LogbookBusy, LogbookError, migrations
from tuyere.logbook.errors import (
    DiskFull,
    LogbookDamaged,
    LogbookMissing,
    LogbookNewer,
    LogbookOld,
    NotALogbook,
    NotWritable,
)


def one_sentence(error):
    """A sentence that says what to do: one line, the parts joined by a semicolon or colon."""
    words = str(error.value)
    return "\n" not in words and ". " not in words and (";" in words or ":" in words)


@contextlib.contextmanager
def as_nobody():
    """Without root's right to write anywhere."""
    if os.name != "posix" or os.geteuid():
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_what_the_file_promises(path):
    with Logbook(path) as book:
        assert book._store.row("PRAGMA journal_mode")[0] == "wal"
        assert (
            book._store.row("PRAGMA synchronous")[0] == 2
        )  # FULL, https://www.sqlite.org/pragma.html#pragma_synchronous
        assert book._store.row("PRAGMA application_id")[0] == migrations.APPLICATION
        tables = book._store.rows(
            "SELECT name, strict FROM pragma_table_list WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        )
        assert {name for name, strict in tables if not strict} == set()
        assert {name for name, _ in tables} >= {"boards", "boots", "pairs", "records", "gaps", "cooks", "pieces"}


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_new_files_are_their_users_alone_whatever_the_umask(path):
    old = os.umask(0)
    try:
        with Logbook(path) as book:
            book.records.add(BOARD, BOOT, night(5), None)
            modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
    finally:
        os.umask(old)
    assert {name.removeprefix(path.name) for name in modes} == {"", "-wal", "-shm", ".lock", ".head"}
    assert set(modes.values()) == {0o600}


def test_second_owner_is_refused_and_told_what_to_do(path):
    with Logbook(path):
        with pytest.raises(LogbookBusy, match=r"another engine already owns.*`tuyere keep --end`") as error:
            Logbook(path)
        assert one_sentence(error)
    Logbook(path).close()  # free again


def test_owner_in_another_process_is_seen_and_ends_with_its_process(path):
    code = f"from tuyere.logbook import Logbook; b = Logbook(r'{path}'); print('have', flush=True); input()"
    child = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    try:
        assert child.stdout.readline() == "have\n"
        with pytest.raises(LogbookBusy):
            Logbook(path)
    finally:
        child.kill()
        child.communicate()
    Logbook(path).close()


def test_readers_read_while_the_owner_writes(path, book):
    cook = book.cooks.start("one", 0, BOARD, True)
    records = night(30)
    book.records.add(BOARD, BOOT, records[:10], cook)
    with Logbook(path, owner=False) as reader, Logbook(path, owner=False) as second:
        assert len(reader.reading.trend(cook).at) == 9
        with book.together():
            book.records.add(BOARD, BOOT, records[10:20], cook)
            assert len(reader.reading.trend(cook).at) == 9  # not yet committed
        assert len(reader.reading.trend(cook).at) == len(second.reading.trend(cook).at) == 19
        halfway = reader.reading.cycles(cook)
        next(halfway)
        book.records.add(BOARD, BOOT, records[20:], cook)
        assert [row["sequence"] for row in halfway][-1] >= 19


def test_reader_without_a_file(path):
    with pytest.raises(LogbookMissing, match="tuyere watch"):
        Logbook(path, owner=False)
    assert not path.exists()


@pytest.mark.parametrize("owner", [True, False])
@pytest.mark.parametrize("content", [b"not a database, " * 300, b"x", b"SQLite format 3\x00" + b"\xff" * 3000])
def test_a_foreign_or_headless_file_is_refused_and_left_alone(path, owner, content):
    path.write_bytes(content)
    with pytest.raises((NotALogbook, LogbookDamaged), match="left as it is") as error:
        Logbook(path, owner=owner)
    assert one_sentence(error) and str(path) in str(error.value)
    assert path.read_bytes() == content


def test_another_programs_database_is_refused_and_left_alone(path):
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE photos (id)")
        db.commit()
    before = path.read_bytes()
    with pytest.raises(NotALogbook, match="not a logbook"):
        Logbook(path)
    assert path.read_bytes() == before


def test_a_folder_in_its_place(path):
    path.mkdir()
    with pytest.raises(NotALogbook, match="folder") as error:
        Logbook(path)
    assert one_sentence(error)


def test_a_file_cut_short_is_damaged_and_left_alone(path):
    with Logbook(path) as book:
        book.records.add(BOARD, BOOT, night(2000), None)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    for owner in (True, False):
        with pytest.raises(LogbookDamaged, match="is damaged") as error:
            Logbook(path, owner=owner)
        assert one_sentence(error)
    assert path.read_bytes() == whole[: len(whole) // 2]


def test_a_broken_page_is_told_when_it_is_read(path):
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        cook = book.cooks.start("one", 0, BOARD, True)
        book.records.add(BOARD, BOOT, night(2000), cook)
        (first,) = book._store.row("SELECT rootpage FROM sqlite_master WHERE name = 'records'")
    with open(path, "r+b") as file:
        file.seek((first - 1) * 4096)
        file.write(b"\xff" * 4096)
    with pytest.raises(LogbookDamaged) as error, Logbook(path) as book:
        book.reading.trend(cook)
    assert one_sentence(error)


def test_damage_that_was_met_is_remembered(path):
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        cook = book.cooks.start("one", 0, BOARD, True)
        book.records.add(BOARD, BOOT, night(4000), cook)  # the middle of the file is theirs
    with open(path, "r+b") as file:
        file.seek(path.stat().st_size // 8192 * 4096)
        file.write(b"\xff" * 4096)
    with Logbook(path) as book:
        with pytest.raises(LogbookError, match="could not do that"):
            book._store.rows("SELECT x FROM nowhere")
        assert book.damaged == ""  # a program's mistake is none
        with pytest.raises(LogbookDamaged) as error:
            book.reading.trend(cook)
        assert book.damaged == str(error.value)


def test_check_finds_a_sound_file_sound(book):
    book.records.add(BOARD, BOOT, night(50), None)
    assert book.check() == []


@pytest.mark.parametrize("owner", [True, False])
def test_a_file_of_a_later_version_is_refused_and_left_alone(path, owner):
    Logbook(path).close()
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("INSERT INTO migrations (name) VALUES ('smells_and_sounds')")
        db.commit()
    before = path.read_bytes()
    with pytest.raises(LogbookNewer, match="smells_and_sounds") as error:
        Logbook(path, owner=owner)
    assert one_sentence(error)
    assert path.read_bytes() == before


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_that_cannot_be_written(tmp_path):
    folder = tmp_path / "closed"
    folder.mkdir()
    folder.chmod(0o555)
    with as_nobody():
        for path in (folder / "logbook.sqlite", folder / "deeper" / "logbook.sqlite"):
            with pytest.raises(NotWritable, match="TUYERE_HOME") as error:
                Logbook(path)
            assert one_sentence(error)
    assert list(folder.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_logbook_in_a_folder_that_cannot_be_written_can_be_read(tmp_path):
    folder = Path("/tmp") / f"tuyere-closed-{os.getpid()}"  # pytest's own folders are closed to others
    folder.mkdir()
    try:
        path = folder / "logbook.sqlite"
        with Logbook(path) as book:
            book.boards.hello(BOARD, BOOT, hello(), 1)
            cook = book.cooks.start("one", 0, BOARD, True)
            book.records.add(BOARD, BOOT, night(5), cook)
        path.chmod(0o644)  # its owner shares it: a new logbook is its user's alone
        folder.chmod(0o555)
        with as_nobody(), Logbook(path, owner=False) as reader:
            assert len(reader.reading.trend(cook).at) == 5
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_full_disk_rolls_the_batch_back_and_the_logbook_goes_on(book):
    book.records.add(BOARD, BOOT, night(50), None)
    before = table(book)
    pages = book._store.row("PRAGMA page_count")[0]
    book._store.row(f"PRAGMA max_page_count = {pages + 2}")  # SQLite then answers as it does for a full disk
    more = night(3000)
    with pytest.raises(DiskFull, match="free some space") as error:
        book.records.add(BOARD, BOOT, more, None)
    assert one_sentence(error)
    assert table(book) == before
    book._store.row("PRAGMA max_page_count = 1000000")
    assert book.records.add(BOARD, BOOT, more[51:], None) == 2950


@pytest.mark.skipif(sys.platform != "linux", reason="limits of the kernel")
def test_a_write_the_system_refuses_is_told_and_loses_nothing(path):
    code = f"""
import resource, signal
from logbook_kit import BOARD, BOOT, night
from tuyere.logbook import Logbook, LogbookError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
book = Logbook(r"{path}")
records = night(20000)
book.records.add(BOARD, BOOT, records[:100], None)
resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, resource.RLIM_INFINITY))
try:
    book.records.add(BOARD, BOOT, records[100:], None)
except LogbookError as error:
    print(error)
print(book.records.stored(BOARD, BOOT))
"""
    here = str(Path(__file__).parent)
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([here, *sys.path])}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    words, count = done.stdout.splitlines()
    assert "disk" in words and count == "100"
    with Logbook(path) as book:
        assert [row[5] for row in table(book)] == night(20000)[:100]


# -- migrations ------------------------------------------------------------------


def shape(path):
    with contextlib.closing(sqlite3.connect(path)) as db:
        return sorted(db.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite%'"))


def at_step(path, count):
    """A file as it stood after the first `count` steps; 0 is an empty file."""
    path.touch()
    if count:
        with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
            db.execute(f"PRAGMA application_id = {migrations.APPLICATION}")
            db.execute("PRAGMA journal_mode = WAL")
            assert len(migrations.migrate(db, migrations.STEPS[:count])) == count


@pytest.mark.parametrize("count", range(len(migrations.STEPS) + 1))
def test_every_earlier_file_comes_to_the_same_shape(tmp_path, count):
    Logbook(tmp_path / "new.sqlite").close()
    at_step(tmp_path / "old.sqlite", count)
    Logbook(tmp_path / "old.sqlite").close()
    assert shape(tmp_path / "old.sqlite") == shape(tmp_path / "new.sqlite")
    with Logbook(tmp_path / "old.sqlite") as book:
        names = [name for (name,) in book._store.rows("SELECT name FROM migrations ORDER BY number")]
    assert (
        names
        == [step.__name__ for step in migrations.STEPS]
        == [
            "boards_and_records",
            "cooks_and_events",
            "events_of_the_board",
            "details_of_pieces",
            "forecasts_shown",
            "cuts_of_power",
            "typed_text",
            "doubtful_clocks",
            "chained",
            "origins",
            "calls_made",
            "places_of_pieces",
        ]
    )


def old_with_records(path):
    at_step(path, 1)
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("INSERT INTO boards (name) VALUES (?)", (BOARD,))
        db.execute("INSERT INTO boots (board, boot) VALUES (1, ?)", (BOOT,))
        rows = [(1, BOOT, i, data[0], i * 2000, data) for i, data in enumerate(night(5))]
        db.executemany("INSERT INTO records (board, boot, sequence, kind, at, bytes) VALUES (?, ?, ?, ?, ?, ?)", rows)
        db.commit()


def test_records_of_an_earlier_file_are_there_after_it_was_brought_up_to_date(path):
    old_with_records(path)
    with Logbook(path) as book:
        assert [row[5:] for row in table(book)] == [(data, None) for data in night(5)]
        assert book.records.expected(BOARD, BOOT) == 6


def test_a_reader_of_an_earlier_file_brings_it_up_to_date_unless_it_is_in_use(path):
    old_with_records(path)
    from tuyere.logbook.lock import Lock

    lock = Lock(path)
    with pytest.raises(LogbookOld, match="end that engine first"):
        Logbook(path, owner=False)
    lock.release()
    with Logbook(path, owner=False) as reader:
        assert reader.records.stored(BOARD, BOOT) == 6 and reader.cooks.all() == []


def test_a_step_that_fails_leaves_the_file_as_it_was(path, monkeypatch):
    old_with_records(path)
    before = shape(path)

    def half_done(db):
        db.execute("CREATE TABLE half (id INTEGER) STRICT")
        db.execute("INSERT INTO nowhere VALUES (1)")

    monkeypatch.setattr(migrations, "STEPS", (migrations.STEPS[0], half_done))
    with pytest.raises(LogbookError):
        Logbook(path)
    assert shape(path) == before
    monkeypatch.undo()
    with Logbook(path) as book:
        assert book.records.stored(BOARD, BOOT) == 6


def test_a_file_whose_first_write_was_cut_off_is_begun_again(path):
    """Killed between making the file and its first step: only the mark is in it."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(f"PRAGMA application_id = {migrations.APPLICATION}")
    with pytest.raises(LogbookMissing):
        Logbook(path, owner=False)
    with Logbook(path) as book:
        assert book.records.add(BOARD, BOOT, [state(0)], None) == 1


def test_threads_share_one_logbook(path, book):
    cook = book.cooks.start("one", 0, BOARD, True)
    parts = {boot: night(300, boot) for boot in (1, 2, 3)}
    errors, seen = [], []

    def work(boot):
        try:
            for i in range(0, 301, 10):
                book.records.add(BOARD, boot, parts[boot][i : i + 10], cook)
                seen.append(len(book.reading.trend(cook).at))
        except Exception as error:
            errors.append(error)

    threads = [threading.Thread(target=work, args=(boot,)) for boot in parts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == [] and max(seen) == 900
    assert [row[5] for row in table(book)] == [data for boot in (1, 2, 3) for data in parts[boot]]
