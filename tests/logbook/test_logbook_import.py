"""An export comes back as it was; a night from another program becomes a cook of its own; SQL sees what we read."""

import contextlib
import json
import sqlite3
import struct

import pytest
from click import ClickException
from click.testing import CliRunner
from hearth.core import fields
from logbook_kit import BOARD, BOOT, LAYOUT, cycle, head, hello, night
from test_logbook_chain import filled
from tuyere import paths
from tuyere.cli.book import cook_number, newest_own
from tuyere.cli.log import log
from tuyere.cook import kitchen
from tuyere.logbook import Logbook
from tuyere.logbook.transfer import OF_COOK
from tuyere.replay import asked
from tuyere.text import BadValue
from tuyere.tune.night import of_cook


def run(*args):
    return CliRunner().invoke(log, list(args))


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def exported(tmp_path, monkeypatch):
    """A JSON export of the second cook of a logbook, and that logbook."""
    path = filled(tmp_path / "other" / "logbook.sqlite", 900)
    with Logbook(path) as book:
        book.cores.keep("c1", {"law.py": "pass"})
        book.forecasts.keep([])
        book.records.gap(BOARD, BOOT, 901, 903, "ring full", cook=2)
        book.events.withdraw(25, 99)
    monkeypatch.setenv("TUYERE_HOME", str(path.parent))
    file = tmp_path / "cook.json"
    assert run("export", "2", "--json", "--output", str(file)).exit_code == 0
    return path, file


def test_an_export_comes_back_as_it_was(exported, home, monkeypatch):
    path, file = exported
    monkeypatch.setenv("TUYERE_HOME", str(home))
    Logbook(paths.logbook_path(home)).close()
    done = run("import", str(file))
    assert done.exit_code == 0 and "as cook 1" in done.stderr, done.output
    with Logbook(path, owner=False) as theirs, Logbook(paths.logbook_path(home), owner=False) as ours:
        assert list(ours.reading.records(1)) == list(theirs.reading.records(2))
        was, now = theirs.transfer.rows(2), ours.transfer.rows(1)
        for name in ("boards", "layouts", "boots", "pairs", "cores", *OF_COOK):
            skip = ("id", "cook", "piece", "board", "layout")
            assert [{k: v for k, v in row.items() if k not in skip} for row in now[name]] == [
                {k: v for k, v in row.items() if k not in skip} for row in was[name]
            ], name
        assert now["pieces"] and now["events"] and now["alarms"] and now["texts"] and now["gaps"]
        assert ours.cooks.get(1).origin == "import" and ours.cooks.get(1).ended > 0
        assert [event.piece for event in ours.events.of(1, withdrawn=True) if event.piece] == [1]
        assert ours.soundness.all().sound and "imported from cook.json" in ours.soundness.all().notes[0]
        assert ours.reading.trend(1).pit == theirs.reading.trend(2).pit
    again = run("import", str(file))
    assert again.exit_code == 1 and "in the logbook already" in again.stderr
    assert [cook["id"] for cook in json.loads(run("list", "--json").stdout)] == [1]


def test_only_the_users_own_real_cooks_teach(exported, home, tmp_path, monkeypatch):
    """An import counts once its board has had a cook here; another program's night never, by whatever way it comes."""
    _, file = exported
    monkeypatch.setenv("TUYERE_HOME", str(home))
    where = paths.logbook_path(home)
    with Logbook(where) as book:
        twin = book.cooks.start("twin", 1, "twin", True)
        book.cooks.set_text(twin, kitchen.NAME, '{"altitude": 100}')
        book.cooks.end(twin, 2)
    csv = tmp_path / "their night.csv"
    csv.write_text(FOREIGN)
    assert run("import", str(file)).exit_code == 0
    assert run("import", str(csv), "--time", "when", "--pit", "Grate (F)", "--unit", "F").exit_code == 0
    assert run("export", "3", "--json", "--output", str(tmp_path / "third.json")).exit_code == 0
    with Logbook(where) as book:
        for cook in (2, 3):
            book.cooks.set_text(cook, kitchen.NAME, '{"altitude": 1500}')
        assert [cook.own for cook in book.cooks.all()] == [True, False, False]
        assert not any(cook.teaches for cook in book.cooks.all())
        assert newest_own(book) == twin and cook_number(book, "last") == 3
        mine = book.cooks.start("mine", 3, "another board", False)
        assert kitchen.read(book, mine).altitude == 0.0
        book.cooks.end(mine, 4)
        later = book.cooks.start("mine, too", 5, BOARD, False)
        assert [cook.id for cook in book.cooks.all() if cook.teaches] == [2, mine, later]
        assert kitchen.read(book, later).altitude == 1500.0
    other = tmp_path / "other home"
    monkeypatch.setenv("TUYERE_HOME", str(other))
    Logbook(paths.logbook_path(other)).close()
    assert run("import", str(tmp_path / "third.json")).exit_code == 0
    with Logbook(paths.logbook_path(other)) as book:
        [cook] = book.cooks.all()
        assert (cook.origin, cook.own) == ("foreign", False)
        with pytest.raises(ClickException, match="no cook of your own"):
            newest_own(book)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data.pop("stored"), "no JSON export"),
        (lambda data: data["stored"].pop("boots"), "no export"),
        (lambda data: data["stored"]["pieces"][0].pop("id"), "no export"),
        (lambda data: data["stored"]["events"][0].update(at="noon"), "no export"),
        (lambda data: data["stored"].update(cooks=[]), "no export"),
        (lambda data: data["records"][5].__setitem__(2, "%%"), "no export"),
        (lambda data: data["records"][5].__setitem__(2, "AAAA"), "a record of 3 bytes"),
        (lambda data: data["records"][5].__setitem__(1, 7), "is of boot"),
    ],
)
def test_what_is_no_export_is_refused_and_nothing_is_stored(exported, home, monkeypatch, change, words):
    _, file = exported
    monkeypatch.setenv("TUYERE_HOME", str(home))
    data = json.loads(file.read_text())
    change(data)
    file.write_text(json.dumps(data))
    done = run("import", str(file))
    assert done.exit_code == 1 and words in done.stderr, done.output
    if paths.logbook_path(home).exists():
        with Logbook(paths.logbook_path(home), owner=False) as book:
            assert book.cooks.all() == [] and book.soundness.all().sound


FOREIGN = """when,Grate (F),Point,Blower
2026-05-09T18:00:00Z,250.0,41,100
2026-05-09T18:00:10Z,,42.8,50
2026-05-09T18:00:10Z,1,1,1
2026-05-09T18:00:20Z,275.0,,0
"""


def test_a_night_from_another_program(tmp_path, home):
    file = tmp_path / "their night.csv"
    file.write_text(FOREIGN)
    Logbook(paths.logbook_path(home)).close()
    options = ["--time", "when", "--pit", "Grate (F)", "--meat", "Point", "--fan", "Blower", "--unit", "F"]
    done = run("import", str(file), *options)
    assert done.exit_code == 0 and "3 readings" in done.stderr, done.output
    with Logbook(paths.logbook_path(home), owner=False) as book:
        cook = book.cooks.get(1)
        assert (cook.name, cook.origin, cook.started, cook.ended) == (
            "their night",
            "foreign",
            1778349600000,
            1778349620000,
        )
        trend = book.reading.trend(1)
        assert trend.at == [1778349600000, 1778349610000, 1778349620000]
        assert trend.pit == [pytest.approx(121.11), None, 135.0] and trend.meat_1 == [5.0, 6.0, None]
        assert trend.fan == [1.0, 0.5, 0.0] and trend.meat_2 == [None] * 3
        assert [row["now_pit"] for row in book.reading.cycles(1)] == [121.11, 0.0, 135.0]
        assert book.soundness.all().sound and book.reading.gaps(1) == []
        view = book._store.rows("SELECT utc, pit, meat_1, fan, low FROM cycles WHERE cook = 1 ORDER BY sequence")
        assert view[0] == (1778349600000, 121.11, 5.0, 100.0, None)
    assert "(foreign)" in run("list").stdout and "(from another program)" in run("show", "1").stdout
    assert run("export", "1").exit_code == 0 and run("export", "1", "--json").exit_code == 0
    from tuyere.cli.replay import replay

    assert "nothing to run again" in CliRunner().invoke(replay, ["1"]).stdout
    assert "in the logbook already" in run("import", str(file), *options).stderr


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("soon,250,41,0", 'line 2, when: "soon" is no time'),
        ("2026-05-09T18:00:00Z,hot,41,0", 'line 2, Grate (F): "hot" is no number'),
        ("2026-05-09T18:00:00Z,2500,41,0", "line 2, Grate (F): 2500 is out of range"),
        ("2026-05-09T18:00:00Z,nan,41,0", "out of range"),
        ("2026-05-09T18:00:00Z,250,41,120", "line 2, Blower: 120 is out of range; it must be from 0 to 100 %"),
        ("1e30,250,41,0", "is no time"),
        ("", "no row with a time"),
    ],
)
def test_a_cell_that_cannot_be_is_named(tmp_path, home, row, words):
    file = tmp_path / "night.csv"
    file.write_text("when,Grate (F),Point,Blower\n" + row + "\n")
    done = run(
        "import", str(file), "--time", "when", "--pit", "Grate (F)", "--meat", "Point", "--fan", "Blower", "--unit", "F"
    )
    assert done.exit_code == 1 and words in done.stderr, done.output


def test_columns_that_are_not_named_or_not_there(tmp_path, home):
    file = tmp_path / "night.csv"
    file.write_text(FOREIGN)
    assert "name its columns" in run("import", str(file)).stderr
    assert 'no column "Pit"' in run("import", str(file), "--time", "when", "--pit", "Pit", "--unit", "C").stderr


@pytest.mark.parametrize("parted", [";", "\t"])
def test_a_spreadsheet_that_writes_decimal_commas(tmp_path, home, parted):
    file = tmp_path / "night.csv"
    table = [("Zeit", "Pit °C", "Vent"), ("2026-05-09T18:00:00Z", "121,5", "12,5"), ("2026-05-09T18:00:10Z", "", "0")]
    file.write_text("\n".join(parted.join(row) for row in table), encoding="utf-8-sig")
    options = ["--time", "Zeit", "--pit", "Pit °C", "--fan", "Vent", "--unit", "C"]
    assert run("import", str(file), *options).exit_code == 0
    with Logbook(paths.logbook_path(home), owner=False) as book:
        assert book.reading.trend(1).pit == [121.5, None] and book.reading.trend(1).fan == [0.125, 0.0]


def test_a_night_from_elsewhere_is_a_night_to_tune_by_and_to_play_back(tmp_path, home):
    """A reading a minute. What nobody measured is unknown, not 0; the band is about what was held."""
    file = tmp_path / "night.csv"
    rows = [f"{60 * i},{20 + min(i, 60) * 1.5},{100 if i < 60 else 10}" for i in range(180)]
    file.write_text("t,p,f\n" + "\n".join(rows))
    options = ["--time", "t", "--pit", "p", "--unit", "C", "--start", "2026-05-09 18:00+00:00"]
    assert run("import", str(file), *options, "--fan", "f").exit_code == 0
    assert run("import", str(file), *options[:-1], "2026-05-10 18:00+00:00").exit_code == 0
    with Logbook(paths.logbook_path(home), owner=False) as book:
        night = of_cook(book, 1)
        assert night.band_c == pytest.approx((103.05, 116.95)) and night.outside_c is None and night.settings is None
        assert night.length_s == 179 * 60 and night.fan_cycles()[[0, -1]].tolist() == [1.0, 0.1]
        played = asked.of_cook(book, 1, night)
        assert played.orders[0][1:] == (fields.ORDER_BAND, 10305, 11695) and played.high[0] == pytest.approx(116.95)
        with pytest.raises(BadValue, match="no record of its fan"):
            of_cook(book, 2)


def test_times_as_seconds(tmp_path, home):
    file = tmp_path / "night.csv"
    for times, options, wanted in (
        ((0, 2.5), ["--start", "2026-05-09 18:00+00:00"], [1778349600000, 1778349602500]),
        ((1778349600, 1778349601.25), [], [1778349600000, 1778349601250]),
        ((1778349600000, 1778349600500), [], [1778349600000, 1778349600500]),
    ):
        file.write_text("t,p\n" + "".join(f"{time},{120 + len(options) + time % 7:.2f}\n" for time in times))
        done = run("import", str(file), "--time", "t", "--pit", "p", "--unit", "C", *options)
        assert done.exit_code == 0, done.output
        with Logbook(paths.logbook_path(home), owner=False) as book:
            assert book.reading.trend(book.cooks.all()[-1].id).at == wanted


def test_our_own_csv_needs_no_names(exported, home, tmp_path, monkeypatch):
    path, _ = exported
    file = tmp_path / "own.csv"
    monkeypatch.setenv("TUYERE_HOME", str(path.parent))
    assert run("export", "1", "--output", str(file)).exit_code == 0
    monkeypatch.setenv("TUYERE_HOME", str(home))
    assert run("import", str(file)).exit_code == 0
    with Logbook(path, owner=False) as theirs, Logbook(paths.logbook_path(home), owner=False) as ours:
        was, now = theirs.reading.trend(1), ours.reading.trend(1)
        assert (now.at, now.pit, now.meat_1, now.fan) == (was.at, was.pit, was.meat_1, was.fan)


def test_the_view_says_what_we_read(tmp_path):
    """For another layout too, absent readings, negative numbers, a clock with several pairs, and no pair at all."""
    path = tmp_path / "logbook.sqlite"
    other = {
        **LAYOUT,
        "now": [["pit", "i", 0, 1000], ["faults", "H", 0, 1], ["row", "h", 3, 1]],
        "out": [["fan", "H", 0, 100]],
    }

    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), 1_000)
        cook = book.cooks.start("one", 1, BOARD, False)
        records = night(60)
        records[3] = cycle(3, pit=-1234, meat_1=fields.ABSENT, meat_2=fields.ABSENT - 5, fan=10000, low=1, faults=255)
        records[4] = cycle(4, pit=32767, meat_1=-32768, ambient=-500, high=32767, state=7, reason=200)
        book.records.add(BOARD, BOOT, records, cook)
        for at, utc in ((10_000, 1_000_010_500), (40_000, 1_000_040_100), (90_000, 1_000_090_300)):
            book.boards.pair(BOARD, BOOT, at, utc)
        book.boards.hello(BOARD, 5, {**hello(other), "boot": 5}, 2_000)
        few = [head(1, i, 5) + struct.pack("<iHhhhH", -1_500_000 + i, 1, 0, 0, 0, i) for i in range(5)]
        book.records.add(BOARD, 5, few, cook)
        rows = list(book.reading.cycles(cook))
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        seen = {(row["boot"], row["sequence"]): row for row in db.execute("SELECT * FROM cycles WHERE cook = 1")}
    assert len(seen) == len(rows) == 65
    for row in rows:
        found = seen[row["boot"], row["sequence"]]
        assert found["utc"] == (None if row["estimated"] else row["utc"]) and found["at"] == row["at"]
        for name in ("pit", "meat_1", "meat_2", "meat_3", "ambient", "faults"):
            assert found[name] == row.get(f"now_{name}"), name
        for name in ("fan", "low", "high", "state", "reason"):
            assert found[name] == row.get(f"out_{name}"), name


def test_a_logbook_without_any_layout_has_the_view_empty(tmp_path):
    Logbook(tmp_path / "logbook.sqlite").close()
    with contextlib.closing(sqlite3.connect(tmp_path / "logbook.sqlite")) as db:
        assert db.execute("SELECT * FROM cycles").fetchall() == []
