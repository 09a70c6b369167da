"""The chain: whatever was changed, lost or added past the program is found and placed; what is sound is not blamed."""

import contextlib
import random
import re
import shutil
import sqlite3

import pytest
from logbook_kit import BOARD, BOOT, cycle, hello, night, state
from tuyere.logbook import Logbook, RecordConflict, differences, head
from tuyere.logbook.chain import Chain
from tuyere.logbook.errors import NoSuchEntry


def filled(path, cycles=700):
    """Two cooks with pieces, events, an alarm and texts; the second one is open."""
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), seen=1_000)
        book.boards.pair(BOARD, BOOT, 0, 1_778_000_000_000)
        records = night(cycles)
        for number, part in enumerate((records[: cycles // 2], records[cycles // 2 :])):
            cook = book.cooks.start(f"cook {number}", 1_000, BOARD, False)
            piece = book.pieces.add(cook, name="flat", mass=4.2)
            for i in range(0, len(part), 40):
                book.records.add(BOARD, BOOT, part[i : i + 40], cook)
            for i in range(20):
                book.events.note(cook, "spritzed", 2_000 + i, 2_000 + i)
            book.events.note(cook, "hand_reading", 5_000, 5_000, piece=piece, value=71.25)
            book.alarms.add(cook, 3_000, "urgent", "trip_hot", "too hot")
            book.cooks.set_text(cook, "phases", "open smoke")
            if number == 0:
                book.cooks.end(cook, 900_000)
    return path


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return filled(tmp_path_factory.mktemp("whole") / "logbook.sqlite")


@pytest.fixture
def copied(whole, tmp_path):
    """A copy with the head beside it."""
    for name in (whole.name, head.path_of(whole).name):
        shutil.copy(whole.with_name(name), tmp_path / name)
    return tmp_path / whole.name


def past_the_program(path, sql, *args):
    with contextlib.closing(sqlite3.connect(path)) as db:
        assert db.execute(sql, args).rowcount > 0
        db.commit()


def found(path, cook=None):
    with Logbook(path, owner=False) as book:
        return book.soundness.all() if cook is None else book.soundness.of(cook)


def kinds(sound):
    return {flaw.kind for flaw in sound.flaws}


def test_a_file_as_it_was_stored_is_sound(copied):
    sound = found(copied)
    assert sound.sound and sound.notes == [] and sound.records == 701 and sound.links >= 6 and sound.entries > 40
    assert found(copied, 1).sound and found(copied, 2).sound
    Logbook(copied).close()
    with Logbook(copied) as book:
        book.records.add(BOARD, BOOT, [cycle(701)], 2)
        assert book.soundness.all().sound
    assert found(copied).sound


@pytest.mark.parametrize(
    ("sql", "kind", "words", "cooks"),
    [
        ("UPDATE events SET at = at + 60000 WHERE id = 7", "row_changed", "event 7 .*at was 2006 and is now 62", [1]),
        ("UPDATE events SET value = 91.25 WHERE value > 70 AND cook = 2", "row_changed", "71.25 .* 91.25", [2]),
        ("UPDATE pieces SET mass = 4.3 WHERE id = 1", "row_changed", "piece 1 .*mass was 4.2 and is now 4.3", [1]),
        ("UPDATE cooks SET meat_on = 7 WHERE id = 2", "row_changed", "cook 2 .*meat_on was 0 and is now 7", [2]),
        ("UPDATE pairs SET utc_ms = utc_ms + 1", "row_changed", "pairs .*utc_ms", None),
        ("UPDATE boots SET core = 'x'", "row_changed", "boots .*core", None),
        ("UPDATE alarms SET acknowledged = 5 WHERE cook = 1", "row_changed", "alarm 1 .*acknowledged", [1]),
        ("UPDATE texts SET text = 'wrapped' WHERE cook = 1", "row_changed", "texts .*open smoke.*wrapped", [1]),
        ("UPDATE layouts SET json = '{}'", "row_changed", "layouts", None),
        ("DELETE FROM events WHERE id = 3", "row_gone", "event 3 is gone", [1]),
        ("INSERT INTO events (cook, at, noted, kind) VALUES (1, 1, 1, 'spritzed')", "row_added", "added", None),
        ("UPDATE entries SET row = replace(row, '4.2', '4.3')", "entries", "not as it was stored.*pieces", [1]),
        ("DELETE FROM entries WHERE id = 5", "entries", "1 entry is gone", None),
        ("DELETE FROM links WHERE id = 3", "links_gone", "links 3 to 3", None),
        ("UPDATE links SET digest = zeroblob(32) WHERE id = 4", "link", "link 4", None),
        ("UPDATE spans SET records = records - 1 WHERE cook = 1", "span", "cook 1", [1]),
        ("UPDATE records SET at = at + 1 WHERE id = 300", "record", "columns of record 300", [1]),
        ("UPDATE records SET cook = 2 WHERE id = 300", "record", "not as they were stored", [1, 2]),
        ("DELETE FROM records WHERE id BETWEEN 200 AND 203", "records_gone", "4 records", [1]),
    ],
)  # fmt: skip
def test_a_change_past_the_program_is_found_named_and_placed(copied, sql, kind, words, cooks):
    past_the_program(copied, sql)
    flaws = [flaw for flaw in found(copied).flaws if flaw.kind == kind]
    assert flaws and any(re.search(words, flaw.words) for flaw in flaws), flaws
    if cooks is not None:
        assert set(cooks) <= {cook for flaw in flaws for cook in flaw.cooks}
    assert {flaw.kind for flaw in found(copied, 2).flaws} <= {flaw.kind for flaw in found(copied).flaws}


@pytest.mark.parametrize(
    "gone", ["events WHERE id = 3", "pieces WHERE cook = 1", "alarms WHERE cook = 1", "texts WHERE cook = 1", "pairs",
             "boots"],
)  # fmt: skip
def test_a_row_that_is_gone_is_missed_in_its_own_cook(copied, gone):
    with contextlib.closing(sqlite3.connect(copied)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        assert db.execute(f"DELETE FROM {gone}").rowcount == 1
        db.commit()
    table = gone.split()[0]
    [flaw] = found(copied, 1).flaws
    assert flaw.kind == "row_gone" and re.search(f"{table.rstrip('s')}.* is gone", flaw.words), flaw
    assert found(copied, 2).sound == (table in ("events", "pieces", "alarms", "texts"))


def test_a_row_that_the_program_took_away_is_no_flaw(copied):
    with Logbook(copied) as book, book._store.together():
        book._store.db.execute("DELETE FROM events WHERE id = 3")
    assert found(copied, 1).sound and found(copied).sound


def test_a_row_that_is_gone_is_missed_where_the_chain_began_late(copied):
    """Then the entries of a cook lie in the order of the tables' names: its alarms before the cook."""
    with Logbook(copied) as book:
        book.alarms.add(1, 4_000, "urgent", "trip_hot", "too hot")
        with book._store.together():
            book._store.chain.incident("chained_late", records=0)
    past_the_program(copied, "DELETE FROM alarms WHERE id = 1")
    past_the_program(copied, "UPDATE entries SET id = id + 9000 WHERE tab = 'cooks' AND key = '[1]'")
    assert "alarm 1 is gone" in [flaw.words for flaw in found(copied, 1).flaws]


def test_an_engine_that_writes_during_a_check_loses_no_end(copied, monkeypatch):
    between = differences.of_all

    def meanwhile(db):
        engine.records.add(BOARD, BOOT, [cycle(701)], 2)
        yield from between(db)

    monkeypatch.setattr(differences, "of_all", meanwhile)
    with Logbook(copied) as engine:
        assert found(copied).sound
        monkeypatch.undo()
        assert engine.records.stored(BOARD, BOOT) == 702 and found(copied).sound


def test_a_changed_meat_reading_is_found_with_its_time_and_its_cook(copied):
    data = bytearray(night(700)[450])
    data[40] ^= 4
    past_the_program(copied, "UPDATE records SET bytes = ? WHERE sequence = 450", bytes(data))
    (flaw,) = found(copied).flaws
    assert flaw.kind == "record" and flaw.cooks == [2]
    assert 1_778_000_000_000 + 450 * 2_000 - flaw.utc in range(140 * 2_000)
    assert kinds(found(copied, 2)) == {"record"} and found(copied, 1).sound


def test_a_flaw_is_placed_by_its_board_and_by_its_records(tmp_path):
    path, other = tmp_path / "logbook.sqlite", "board-2"
    with Logbook(path) as book:
        for boot in (BOOT, BOOT + 1):
            book.boards.hello(BOARD, boot, {**hello(), "boot": boot}, seen=1_000)
        book.boards.hello(other, BOOT, {**hello(), "board": other}, seen=1_000)
        cook = book.cooks.start("one", 1_000, other, False)
        book.records.add(other, BOOT, night(50), cook)
    past_the_program(path, "UPDATE records SET bytes = ? WHERE sequence = 20", cycle(20, pit=1))
    (flaw,) = found(path).flaws
    assert flaw.words.endswith(f": from record 0 of boot {BOOT} to record 50 of boot {BOOT}, board {other}")
    past_the_program(path, "DELETE FROM records WHERE sequence = 20")
    (flaw,) = (one for one in found(path).flaws if one.kind == "records_gone")
    assert f"to record 50 of boot {BOOT}, board {other}" in flaw.words


def test_what_is_stored_after_damage_is_chained_and_the_damage_stays_to_be_seen(copied):
    past_the_program(copied, "DELETE FROM records WHERE id > 690")
    with Logbook(copied) as book:
        book.records.add(BOARD, BOOT, night(720)[701:], 2)
    sound = found(copied)
    assert kinds(sound) == {"records_gone", "span"} and "11 records" in sound.flaws[0].words
    past_the_program(copied, "UPDATE records SET at = at + 1 WHERE sequence = 715")
    assert kinds(found(copied)) == {"records_gone", "span", "record"}


def test_a_lost_end_is_found_by_the_head_outside(copied):
    before = copied.read_bytes()
    with Logbook(copied) as book:
        book.records.add(BOARD, BOOT, night(800)[701:], 2)
        book.events.note(2, "spritzed", 9_000, 9_000)
    copied.write_bytes(before)  # a file of yesterday
    assert "100 records and 1 entries" in found(copied).flaws[0].words
    with Logbook(copied) as book:  # an owner notes it for ever
        book.records.add(BOARD, BOOT, night(900)[801:], 2)
    (flaw,) = found(copied).flaws
    assert flaw.kind == "end_lost" and "100 records and 1 entries" in flaw.words and "goes on after link" in flaw.words


def test_a_head_that_is_behind_is_no_loss(copied):
    old = head.path_of(copied).read_bytes()
    with Logbook(copied) as book:
        book.records.add(BOARD, BOOT, night(800)[701:], 2)
    head.path_of(copied).write_bytes(old)
    assert found(copied).sound
    Logbook(copied).close()
    assert found(copied).sound


def test_a_head_cut_short_leaves_the_one_before(copied):
    newest = head.read(copied)
    data = bytearray(head.path_of(copied).read_bytes())
    at = newest.turn % 2 * head.PLACE
    data[at + 30] ^= 1
    head.path_of(copied).write_bytes(data)
    assert head.read(copied).turn == newest.turn - 1
    assert found(copied).sound


def test_a_new_logbook_beside_an_old_head_says_so(copied):
    copied.unlink()
    Logbook(copied).close()
    assert found(copied).sound and "701 records" in found(copied).notes[0]


def test_an_older_file_is_chained_from_now_on_and_says_so(tmp_path):
    from test_logbook_file import old_with_records

    path = tmp_path / "old.sqlite"
    old_with_records(path)
    with Logbook(path) as book:
        assert book.soundness.all().sound
        assert "first 6 records were chained when the file was brought up to date" in book.soundness.all().notes[0]
    past_the_program(path, "UPDATE records SET bytes = zeroblob(200) WHERE id = 3")
    assert "record" in kinds(found(path))


def test_what_was_rolled_back_is_not_in_the_chain(copied):
    with Logbook(copied) as book:
        with pytest.raises(RecordConflict), book.together():
            book.events.note(2, "spritzed", 1, 1)
            book.records.add(BOARD, BOOT, [cycle(701), cycle(5, pit=1)], 2)
        with book.together():
            book.events.note(2, "spritzed", 2, 2)
            with contextlib.suppress(RecordConflict):
                book.records.add(BOARD, BOOT, [cycle(702), cycle(5, pit=1)], 2)
            book.records.add(BOARD, BOOT, [cycle(703)], 2)
        assert book.soundness.all().sound


def test_a_clock_step_is_a_change_of_the_program(copied):
    with Logbook(copied) as book:
        book.clock.move(3_600_000, boot=(BOARD, BOOT))
        book.pieces.change(1, mass=5.0)
        book.events.withdraw(1, 99)
    assert found(copied).sound


def test_a_batch_longer_than_a_link_and_one_record_at_a_time_give_the_same_digests(tmp_path):
    sealed = []
    for name, size in (("a", 1000), ("b", 1), ("c", 37)):
        with Logbook(tmp_path / f"{name}.sqlite") as book:
            book.boards.hello(BOARD, BOOT, hello(), seen=1_000)
            records = night(300)
            for i in range(0, len(records), size):
                book.records.add(BOARD, BOOT, records[i : i + size], None)
            sealed.append(book._store.rows("SELECT last_record, of_records FROM links ORDER BY id"))
    ends = [{row[0]: row[1] for row in rows if row[0] % 128 == 0 and row[0]} for rows in sealed]
    assert ends[0] == ends[1] == ends[2] and len(ends[0]) == 2


def test_every_table_is_covered(copied):
    from tuyere.logbook.chain import APART, covered

    with Logbook(copied, owner=False) as book:
        names = {name for (name,) in book._store.rows("SELECT name FROM sqlite_master WHERE type = 'table'")}
        tables = covered(book._store.db)
        assert set(tables) | set(APART) == {name for name in names if not name.startswith("sqlite")}
        assert all(keys for _, keys in tables.values())


def test_a_later_step_that_adds_a_column_or_a_table_is_followed(copied, monkeypatch):
    from tuyere.logbook import migrations

    def wider(db):
        db.execute("ALTER TABLE pieces ADD COLUMN bone INTEGER NOT NULL DEFAULT 1")
        db.execute("CREATE TABLE more (id INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT")
        db.execute("INSERT INTO more (text) VALUES ('a')")
        db.execute("UPDATE pieces SET name = 'point' WHERE id = 2")

    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, wider))
    Logbook(copied).close()
    assert found(copied).sound
    past_the_program(copied, "UPDATE pieces SET bone = 0 WHERE id = 1")
    past_the_program(copied, "UPDATE more SET text = 'b'")
    words = " ".join(flaw.words for flaw in found(copied).flaws)
    assert "bone was 1 and is now 0" in words and "more (1) was changed" in words


def dump(path):
    """All that the file holds, or None if SQLite cannot read it all."""
    try:
        with contextlib.closing(sqlite3.connect(path)) as db:
            db.text_factory = bytes
            names = [
                name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
            ]
            return [(name, db.execute(f"SELECT * FROM {name.decode()}").fetchall()) for name in names]
    except (sqlite3.Error, UnicodeDecodeError, OverflowError):
        return None


def test_no_flipped_bit_passes_unnoticed(whole, tmp_path):
    """At random places of the file: found, refused, or it changed nothing of what is stored."""
    from tuyere.logbook import LogbookError

    data, before, draw = whole.read_bytes(), dump(whole), random.Random(19)
    path = tmp_path / whole.name
    shutil.copy(head.path_of(whole), head.path_of(path))
    seen = harmless = 0
    for _ in range(150):
        changed = bytearray(data)
        changed[draw.randrange(len(data))] ^= 1 << draw.randrange(8)
        path.write_bytes(changed)
        after = dump(path)
        try:
            with Logbook(path, owner=False) as book:
                noticed = not book.soundness.all().sound
        except LogbookError:
            noticed = True
        if after == before:
            harmless += not noticed
        else:
            assert noticed
        seen += noticed
    assert seen > 50 and seen + harmless == 150


def test_the_chain_costs_the_writer_nothing_that_is_not_followed(copied):
    """A reader has no chain, and an idle transaction adds no link."""
    with Logbook(copied) as book:
        assert isinstance(book._store.chain, Chain)
        (links,) = book._store.row("SELECT count(*) FROM links")
        with book.together():
            pass
        assert book.records.add(BOARD, BOOT, [state(0)], 1) == 0
        assert book._store.row("SELECT count(*) FROM links")[0] == links
    with Logbook(copied, owner=False) as book:
        assert book._store.chain is None


def test_a_core_whose_bytes_are_damaged_is_kept_anew(copied):
    with Logbook(copied) as book:
        book.cores.keep("abc", {"law.py": "pass" * 100})
    past_the_program(copied, "UPDATE cores SET files = zeroblob(50)")
    assert kinds(found(copied)) == {"row_changed"}
    with Logbook(copied) as book:
        with pytest.raises(NoSuchEntry, match="damaged"):
            book.cores.get("abc")
        book.cores.keep("abc", {"law.py": "pass" * 100})
        assert book.cores.get("abc") == {"law.py": "pass" * 100} and book.soundness.all().sound
