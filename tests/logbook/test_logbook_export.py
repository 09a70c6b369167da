"""`tuyere log`: what it prints and writes reads back as what was stored."""

import csv
import io
import json
from datetime import datetime

import pytest
from click.testing import CliRunner
from hearth.core import fields
from logbook_kit import BOARD, BOOT, cycle, hello, night, state
from tuyere import paths
from tuyere.cli.log import log
from tuyere.logbook import Logbook, export

UTC = 1_778_000_000_123  # some instant


def run(*args):
    return CliRunner().invoke(log, list(args))


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    return tmp_path


@pytest.fixture
def cook(home):
    """A cook with a bit of everything."""
    with Logbook(paths.logbook_path(home)) as book:
        book.boards.hello(BOARD, BOOT, hello(), UTC)
        book.boards.pair(BOARD, BOOT, 0, UTC)
        id = book.cooks.start("Großer Samstag", UTC, BOARD, True)
        records = night(20)
        records[4] = cycle(4, pit=12345, state=fields.HOLDING, reason=fields.IN_BAND, meat_1=fields.ABSENT, fan=2500)
        book.records.add(BOARD, BOOT, records[:10] + records[13:], id)
        book.records.gap(BOARD, BOOT, 10, 12, "ring full")
        flat = book.pieces.add(id, name="flat", mass=3.4, cut="brisket flat")
        book.cooks.set_meat_on(id, UTC + 4_000)
        book.events.note(id, "shade", UTC + 60_000, UTC + 3_000_000, piece=flat, value=6)
        book.alarms.add(id, UTC + 70_000, "urgent", "fading", "the fire is fading", "fan full", ["look"])
        book.cooks.end(id, UTC + 7_260_000)
    return id


def test_csv_reads_back(home, cook):
    done = run("export", str(cook))
    assert done.exit_code == 0 and done.stderr == "missing: records 10 to 12 of boot 2684354561: ring full\n"
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    with Logbook(paths.logbook_path(home), owner=False) as book:
        cycles = list(book.reading.cycles(cook))
    assert len(rows) == len(cycles) == 17
    for row, stored in zip(rows, cycles, strict=True):
        assert datetime.fromisoformat(row["time"]).timestamp() * 1000 == pytest.approx(stored["utc"], abs=0.1)
        assert row["time"].endswith("Z")
        for name in stored:
            if name not in ("utc", "board", "estimated"):
                text = row[export.head(name)]
                assert (float(text) if text else None) == stored[name], name
    row = rows[3]
    assert (row["sequence"], row["at [ms]"], row["board"], row["boot"]) == ("4", "8000", BOARD, str(BOOT))
    assert (row["now_pit [C]"], row["out_fan [%]"], row["now_meat_1 [C]"]) == ("123.45", "25.0", "")
    assert (row["state"], row["reason"], row["out_high [C]"]) == ("holding", "in_band", "135.0")


def test_every_field_of_the_table_has_its_unit_in_the_head(cook):
    head = run("export", str(cook)).stdout.splitlines()[0].split(",")
    for part, table in (("now", fields.NOW), ("out", fields.OUT)):
        for row in table:
            assert (f"{part}_{row[0]} [{row[1]}]" if row[1] else f"{part}_{row[0]}") in head


def test_json_reads_back(home, cook):
    whole = json.loads(run("export", str(cook), "--json").stdout)
    assert (whole["cook"]["name"], whole["cook"]["meat_on"]) == ("Großer Samstag", UTC + 4_000)
    assert whole["pieces"][0]["mass"] == 3.4
    assert whole["events"][0]["kind"] == "shade" and whole["events"][0]["noted"] == UTC + 3_000_000
    assert whole["alarms"][0]["checks"] == ["look"]
    assert [(gap["first"], gap["last"], gap["cause"]) for gap in whole["gaps"]] == [(10, 12, "ring full")]
    assert whole["counts"] == {"cycles": 17, "states": 1, "gaps": 1, "missing": 3}
    assert whole["units"]["now_pit"] == "C"
    with Logbook(paths.logbook_path(home), owner=False) as book:
        for row, stored in zip(whole["cycles"], book.reading.cycles(cook), strict=True):
            assert {name: row[name] for name in stored} == stored
            assert row["time"] == export.iso(stored["utc"])
    assert whole["cycles"][3]["state"] == "holding"


@pytest.mark.parametrize("count", [0, 1])
def test_small_cooks_are_whole_too(home, count):
    with Logbook(paths.logbook_path(home)) as book:
        book.boards.hello(BOARD, BOOT, hello(), UTC)
        id = book.cooks.start("short", UTC, BOARD, True)
        book.records.add(BOARD, BOOT, [state(0), cycle(1)][: count + 1], id)
    assert len(json.loads(run("export", "last", "--format", "json").stdout)["cycles"]) == count
    assert len(run("export", "last", "--csv").stdout.splitlines()) == 1 + count


def test_output_file_is_whole_or_not_there(home, cook, tmp_path):
    out = tmp_path / "night.csv"
    done = run("export", "last", "--output", str(out))
    assert (done.exit_code, done.stdout) == (0, "")
    assert "wrote 17 cycles" in done.stderr and str(out) in done.stderr
    assert out.read_text(encoding="utf-8") == run("export", "last").stdout
    out.write_text("mine")
    done = run("export", "last", "--output", str(out))
    assert done.exit_code == 1 and "is there already" in done.stderr and "--force" in done.stderr
    assert out.read_text() == "mine"
    assert run("export", "last", "--output", str(out), "--force").exit_code == 0
    assert out.read_text(encoding="utf-8") != "mine"
    done = run("export", "last", "--output", str(tmp_path / "no" / "where.csv"))
    assert done.exit_code == 1 and "give --output another place" in done.stderr
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")] == []


def test_list_and_show(home, cook):
    (row,) = json.loads(run("list", "--json").stdout)
    assert (row["id"], row["cycles"], row["missing"], row["simulated"]) == (cook, 17, 3, True)
    line = run("list").stdout.splitlines()[1]
    assert line.split()[0] == str(cook) and "2 h 01 min" in line and "Großer Samstag (simulated)" in line
    shown = json.loads(run("show", "last", "--json").stdout)
    assert shown["cook"]["id"] == cook and "cycles" not in shown
    words = run("show", str(cook)).stdout
    for part in ("Großer Samstag", "17 cycles", "records 10 to 12", "ring full", "flat: brisket flat, 7.5 lb"):
        assert part in words
    assert "flat: shade of the bark 6 (noted " in words and "the fire is fading. fan full (urgent)" in words


@pytest.mark.parametrize("command", ["show", "export"])
@pytest.mark.parametrize(
    ("which", "words"),
    [
        *(("7", "there is no cook 7"), ("0", "no cook 0"), ("Saturday", '"last"')),
        *(("-3", "No such option"), ("1e9", "number")),
    ],
)
def test_a_bad_cook_is_answered_with_one_sentence_that_says_what_to_do(cook, command, which, words):
    done = run(command, which)
    assert done.exit_code != 0 and done.stdout == "" and words in done.stderr
    if "No such" not in words:
        assert "tuyere log list" in done.stderr and len(done.stderr.splitlines()) == 1


def test_two_formats_at_once(cook):
    done = run("export", "last", "--csv", "--json")
    assert done.exit_code == 1 and "either csv or json" in done.stderr


def test_before_the_first_cook(home):
    for args in (["list"], ["show", "last"], ["export", "last"]):
        done = run(*args)
        assert done.exit_code == 1 and "no logbook" in done.stderr and "tuyere watch" in done.stderr
    Logbook(paths.logbook_path(home)).close()
    assert json.loads(run("list", "--json").stdout) == []
    assert "tuyere watch" in run("list").stderr
    assert "tuyere watch" in run("show", "last").stderr


def test_a_damaged_logbook_is_one_sentence(home):
    paths.logbook_path(home).write_bytes(b"nonsense")
    done = run("list")
    assert done.exit_code == 1 and "left as it is" in done.stderr and len(done.stderr.splitlines()) == 1


def test_iso_keeps_milliseconds_and_is_utc():
    assert export.iso(0) == "1970-01-01T00:00:00.000Z"
    assert export.iso(1_778_000_000_123) == "2026-05-05T16:53:20.123Z"  # date -u -d @1778000000 (GNU coreutils)
    assert export.iso(-1) == "1969-12-31T23:59:59.999Z"
