"""A damaged file: what can be read of it in a new one, tonight's cook carried on, and copies from before."""

import contextlib
import os
import random
import shutil
import sqlite3

import pytest
from click.testing import CliRunner
from logbook_kit import BOARD, BOOT, cycle, hello, night, table
from test_logbook_chain import dump, filled
from test_logbook_file import old_with_records
from tuyere import paths
from tuyere.cli.log import log
from tuyere.logbook import Logbook, LogbookError, backup, fragments, head, migrations, salvage
from tuyere.logbook.errors import DiskFull, LogbookDamaged, NotWritable
from tuyere.logbook.pages import Pages

DAY = 86_400_000


@pytest.fixture
def path(tmp_path):
    return filled(tmp_path / "logbook.sqlite", 3000)


def rows(path, name):
    with Logbook(path, owner=False) as book:
        return sorted(book._store.rows(f"SELECT * FROM {name}"), key=repr)


def damage(path, number, size=4096):
    with open(path, "r+b") as file:
        file.seek((number - 1) * size)
        file.write(b"\xa5" * size)


def root(path, name):
    with contextlib.closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]


def test_every_row_is_read_from_the_pages_as_sqlite_reads_it(path):
    with Logbook(path) as book:
        book.cooks.set_text(1, "long", "x" * 50_000)  # over many overflow pages
        found: dict[str, list] = {}
        for name, row in fragments.shaped(path):  # also what lies only in the write-ahead log
            found.setdefault(name, []).append(row)
        for name, columns in (
            ("records", "id, board, boot, sequence, kind, at, bytes, cook"),
            ("entries", "*"),
            ("links", "*"),
        ):
            assert sorted(found[name]) == book._store.rows(f"SELECT {columns} FROM {name} ORDER BY id"), name


@pytest.mark.parametrize("size", [512, 1024, 8192, 65536])
def test_pages_of_any_size_with_reals_and_large_numbers(tmp_path, size):
    path = tmp_path / "any.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute(f"PRAGMA page_size = {size}")
        db.execute("CREATE TABLE t (id INTEGER PRIMARY KEY, a, b, c)")
        values = [
            (None, 1.5, b""),
            (-(2**63), "ä" * 3000, b"\x00" * 5000),
            (127, 128, 2**31),
            (0, 1, -1),
            (2**47, "", -32769),
        ]
        values = values * 30 + [(0, "y" * n, "") for n in range(0, 2 * min(size, 1024), 9)]  # a last page full or not
        db.executemany("INSERT INTO t VALUES (NULL, ?, ?, ?)", values)
        db.commit()
        with Pages(path) as pages:
            read = sorted((id, *values[1:]) for id, values in pages.rows() if len(values) == 4)
        assert read == db.execute("SELECT * FROM t ORDER BY id").fetchall()


def test_a_sound_file_comes_back_whole(path, tmp_path):
    found = salvage.salvage(path, tmp_path / "new.sqlite")
    assert (found.records, found.cooks) == (3001, 2) and found.sound.sound
    assert sorted(file.name for file in tmp_path.iterdir() if "new" in file.name) == ["new.sqlite"]
    assert "was made from the damaged logbook.sqlite" in found.sound.notes[0]
    for name in ("records", "pieces", "events", "alarms", "texts", "boots", "pairs", "spans"):
        assert rows(path, name) == rows(tmp_path / "new.sqlite", name), name


@pytest.mark.parametrize(
    "name", ["records", "events", "pieces", "cooks", "boots", "texts", "spans", "boards", "sqlite_autoindex_records_1"]
)
def test_a_damaged_root_page_loses_no_row_that_lies_elsewhere(path, tmp_path, name):
    before = {other: rows(path, other) for other in ("records", "events", "pieces", "cooks", "alarms", "pairs")}
    damage(path, root(path, name))
    found = salvage.salvage(path, tmp_path / "new.sqlite")
    after = {other: rows(tmp_path / "new.sqlite", other) for other in before}
    assert after == before, name
    assert found.sound.sound or name == "spans"


def test_without_its_first_page_the_records_and_all_other_rows_come_back(path, tmp_path):
    before = {other: rows(path, other) for other in ("records", "events", "pieces", "cooks", "boots", "pairs")}
    damage(path, 1)
    found = salvage.salvage(path, tmp_path / "new.sqlite")
    assert {other: rows(tmp_path / "new.sqlite", other) for other in before} == before
    assert found.cooks == 2


def test_lost_records_are_counted_and_placed(path, tmp_path):
    with Pages(path) as pages:
        leaves = [
            n
            for n in range(2, pages.count + 1)
            if any(len(v) == 8 and isinstance(v[6], bytes) for _, v in pages._leaf(pages.page(n), 0))
        ]
        lost = [id for id, _ in pages._leaf(pages.page(leaves[5]), 0)]
    damage(path, leaves[5])
    found = salvage.salvage(path, tmp_path / "new.sqlite")
    assert found.records == 3001 - len(lost)
    gone = [flaw for flaw in found.sound.flaws if flaw.kind == "records_gone"]
    assert gone and all(flaw.cooks == [1] for flaw in gone)
    with Logbook(tmp_path / "new.sqlite", owner=False) as book:
        (gap,) = book.reading.gaps(1)
        assert gap.last - gap.first + 1 == len(lost) == book.reading.counts(1).missing
        assert book.soundness.of(2).sound


def test_pages_damaged_at_random_never_end_in_anything_but_a_logbook_or_a_sentence(path, tmp_path):
    draw, data, all_records = random.Random(3), path.read_bytes(), {row[6] for row in rows(path, "records")}
    for i in range(12):
        target = tmp_path / f"new{i}.sqlite"
        path.write_bytes(data)
        for _ in range(draw.randrange(1, 30)):
            damage(path, draw.randrange(1, len(data) // 4096 + 1))
        try:
            found = salvage.salvage(path, target)
        except LogbookError as error:
            assert "\n" not in str(error)
            continue
        assert {row[6] for row in rows(target, "records")} <= all_records
        with Logbook(target) as book:  # it works as a logbook
            book.records.add(BOARD, 7, [cycle(0, boot=7)], None)
            for cook in book.cooks.all():
                book.reading.gaps(cook.id)
        assert found.records > 0


def test_a_damaged_file_of_an_earlier_version_is_salvaged_and_brought_up_to_date(tmp_path):
    path = tmp_path / "old.sqlite"
    old_with_records(path)
    damage(path, root(path, "sqlite_autoindex_records_1"))
    found = salvage.salvage(path, tmp_path / "new.sqlite")
    assert found.records == 6
    with Logbook(tmp_path / "new.sqlite", owner=False) as book:
        assert [row[5] for row in table(book)] == night(5)


def test_nothing_to_read_is_said_and_leaves_no_file(tmp_path):
    (tmp_path / "noise").write_bytes(random.Random(1).randbytes(100_000))
    with pytest.raises(LogbookDamaged, match="nothing of a logbook could be read"):
        salvage.salvage(tmp_path / "noise", tmp_path / "new.sqlite")
    assert os.listdir(tmp_path) == ["noise"]


@pytest.mark.parametrize(
    "name", ["cooks", "events", "records", "boots", "sqlite_autoindex_records_1", "entries", "links", None]
)
def test_tonights_cook_goes_on_in_a_new_logbook(path, name):
    with Logbook(path, owner=False) as book:
        pieces, events, text = book.pieces.of(2), book.events.of(2), book.cooks.text(2, "phases")
        alarms, trend = book.alarms.of(2), book.reading.trend(2)
    damage(path, 1 if name is None else root(path, name))
    carried = salvage.carry_on(path, now=77)
    assert carried.aside.name == "logbook-damaged-1.sqlite" and carried.aside.exists()
    assert head.path_of(carried.aside).exists()
    assert carried.cook is not None and (carried.cook.id, carried.cook.name, carried.records) == (2, "cook 1", 1501)
    with Logbook(path) as book:
        assert book.cooks.open() == carried.cook and book.pieces.of(2) == pieces
        assert [event for event in book.events.of(2) if event.kind != "logbook_set_aside"] == events
        assert book.cooks.text(2, "phases") == text and book.alarms.of(2) == alarms
        assert book.reading.trend(2).at == trend.at and book.reading.trend(2).pit == trend.pit
        assert book.records.expected(BOARD, BOOT) == 3001
        book.records.add(BOARD, BOOT, [cycle(3001)], 2)
        assert book.soundness.all().sound
        assert "logbook-damaged-1.sqlite with only cook 2" in book.soundness.all().notes[0]
    assert salvage.set_aside(path).name == "logbook-damaged-2.sqlite"


@pytest.mark.parametrize("lost", [{"boards"}, {"boots"}, {"boards", "boots", "layouts"}])
def test_tonights_cook_goes_on_though_nothing_says_which_board_it_had(path, monkeypatch, lost):
    """The page of the boards is gone, and so is the entry that would have told of them."""
    joined = fragments.joined
    monkeypatch.setattr(
        fragments, "joined", lambda *given: {name: its for name, its in joined(*given).items() if name not in lost}
    )
    with Logbook(path, owner=False) as book:
        pieces = book.pieces.of(2)
    carried = salvage.carry_on(path, now=77)
    assert carried.cook is not None and (carried.cook.id, carried.records) == (2, 1501)
    with Logbook(path) as book:
        assert book.cooks.open() == carried.cook and book.pieces.of(2) == pieces
        assert len(table(book)) == 1501 and book.soundness.all().sound


# -- copies ---------------------------------------------------------------------------------


def test_a_copy_while_the_logbook_is_written(path, tmp_path):
    with Logbook(path) as book:
        book.records.add(BOARD, BOOT, [cycle(3001)], 2)
        copied = backup.copy(path, tmp_path / "copy.sqlite")
        book.records.add(BOARD, BOOT, [cycle(3002)], 2)
    assert len(rows(copied, "records")) == 3002
    assert sorted(file.name for file in tmp_path.iterdir() if "copy" in file.name) == ["copy.sqlite"]
    if os.name == "posix":
        assert copied.stat().st_mode & 0o777 == 0o600
    with Logbook(copied) as book:
        assert book.soundness.all().sound


def test_a_copy_that_cannot_be_written_leaves_nothing(path, tmp_path):
    with pytest.raises(NotWritable):
        backup.copy(path, tmp_path / "no" / "copy.sqlite")
    damage(path, root(path, "records"))
    with contextlib.suppress(LogbookError):
        backup.copy(path, tmp_path / "copy.sqlite")
    assert not [file for file in tmp_path.iterdir() if file.name.endswith(".part")]


def test_before_a_new_version_changes_the_file_it_is_copied(tmp_path, monkeypatch):
    path = tmp_path / "logbook.sqlite"
    old_with_records(path)
    before = dump(path)
    Logbook(path).close()
    copied = backup.folder(path) / f"logbook-before-{migrations.STEPS[1].__name__}.sqlite"
    assert dump(copied) == before != dump(path)
    assert not backup.folder(tmp_path / "new" / "logbook.sqlite").exists()


def test_daily_copies(path):
    noon = 20_000 * DAY + DAY // 2
    made = backup.daily(path, noon)
    assert made is not None and made.name == "logbook-2024-10-04.sqlite"
    assert backup.daily(path, noon + 1) is None  # one a day
    assert backup.daily(path, noon + DAY) is None  # nothing was stored since
    names = []
    for day in range(1, 6):
        with Logbook(path) as book:
            book.events.note(2, "spritzed", day, day)
        names.append(backup.daily(path, noon + day * DAY).name)
    assert sorted(file.name for file in backup.folder(path).iterdir()) == names[-backup.KEEP :]


def test_no_copy_fills_the_disk(path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(1, 1, 1000))
    with pytest.raises(DiskFull, match="no backup"):
        backup.daily(path, DAY)


def test_commands(path, tmp_path, monkeypatch):
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    assert paths.logbook_path(tmp_path) == path

    def run(*args):
        return CliRunner().invoke(log, list(args))

    copied = tmp_path / "copy.sqlite"
    assert run("backup", str(copied)).exit_code == 0 and copied.exists()
    assert "there already" in run("backup", str(copied)).stderr
    assert run("backup", str(copied), "--force").exit_code == 0
    damage(path, root(path, "events"))
    assert "tuyere log salvage" in run("show", "1").stderr
    done = run("salvage", "--output", str(tmp_path / "new.sqlite"))
    assert done.exit_code == 0 and "3,001 records and 2 cooks" in done.stderr and "sound: all" in done.stdout
    assert "there already" in run("salvage", "--output", str(tmp_path / "new.sqlite")).stderr


def test_a_hello_of_the_salvaged_board_is_known(path, tmp_path):
    salvage.salvage(path, tmp_path / "new.sqlite")
    with Logbook(tmp_path / "new.sqlite") as book:
        book.boards.hello(BOARD, BOOT, hello(), 5)
        assert [boot.boot for boot in book.boards.boots(BOARD)] == [BOOT]
