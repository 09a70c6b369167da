"""The command: a page of 80 columns, JSON, a calendar, a kept plan, and sentences for what is wrong."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

import icalendar
import msgspec
import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plan_kit import WEDNESDAY, at, before, cook, make
from tuyere import paths
from tuyere.cli import plan as command
from tuyere.cli import plan_options
from tuyere.cli.main import main
from tuyere.cli.options import Share
from tuyere.cook import planned
from tuyere.logbook import Logbook
from tuyere.plan import page, times
from tuyere.plan.request import read_band
from tuyere.plan.result import Plan
from tuyere.text import Reader, worded


@pytest.fixture(autouse=True)
def still(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A clock that stands, a quick forecast, a home of its own."""
    from tuyere.forecast import finish

    for module in (command, plan_options):
        monkeypatch.setattr(module, "wall_clock", lambda: WEDNESDAY)
    monkeypatch.setattr(finish, "before", before)
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["plan", *arguments])


SUPPER = ("--guests", "40", "--serve", "2026-11-28 18:00", "--name", "Village hall supper")


def test_the_page_fits_80_columns_and_has_all_its_parts() -> None:
    found = run(*SUPPER, "--unit", "C", "--full")
    assert found.exit_code == 0, found.output
    lines = found.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    for heading in ("TIMETABLE", "OTHER STARTS", "TO BUY AND TO HAVE READY", "CAUTIONS", "WHERE THE NUMBERS COME FROM"):
        assert heading in lines
    assert lines[0].startswith("VILLAGE HALL SUPPER") and "served at" in lines[0]
    assert "\x1b" not in found.stdout  # plain where it is not a terminal
    assert (
        "121-135 C" in found.stdout and "carbon monoxide" in found.stdout and "Follow your local rules" in found.stdout
    )
    assert "Not kept" in found.stderr


def test_fahrenheit_throughout_or_celsius_throughout() -> None:
    hot, cold = (run(*SUPPER, "--unit", unit, "--full").stdout for unit in "FC")
    assert "band 250-275 F" in hot and "40 lb raw" in hot and "203-206 F" in hot
    assert not (left := re.findall(r"\d (?:C|kg|g|l|m|cm|mm)\b", hot)), left
    assert not (left := re.findall(r"\d (?:F|lb|oz|qt|ft|in)\b", cold)), left


def test_a_difference_is_turned_without_the_zero() -> None:
    """At 1500 m the weather moves the boiling point by 1 C, which is 2 F and not 34 F."""
    high = " ".join(run(*SUPPER, "--unit", "F", "--altitude", "1500 m", "--full").stdout.split())
    assert "the weather moves it by 2 F" in high and "Water boils at 203 F here" in high


def test_a_band_is_read_in_both_units() -> None:
    assert read_band("250-275 F") == (121.1, 135.0) == read_band("250 - 275") == read_band("121.1-135 C")
    cooler, usual = (json.loads(run(*SUPPER, "--json", "--band", band).stdout) for band in ("225-250", "250-275 F"))
    assert cooler["phases"][0]["low"] == 107.2 and cooler["last"][1] - cooler["on"] > usual["last"][1] - usual["on"]


def test_odds_are_a_share_or_per_cent() -> None:
    read = [Share().convert(text, None, None) for text in ("0.8", "80", "80 %", "80%", 0.8)]
    assert read == pytest.approx([0.8] * 5) and Share().convert("1", None, None) == 1.0
    assert Share().convert("0.8 %", None, None) == pytest.approx(0.008)


def test_json_is_the_plan_and_nothing_else() -> None:
    found = run(*SUPPER, "--json")
    data = json.loads(found.stdout)
    assert data["serve"] - data["on"] > 8 * 3_600_000 and data["odds"] >= 0.9
    assert {row["kind"] for row in data["rows"]} >= {"light", "on", "wrap", "serve"}
    # What takes longer than a second is said, and said beside the data.
    assert all(line.startswith(("planning", "preparing")) for line in found.stderr.splitlines())


def test_the_calendar_is_written_and_read_back(tmp_path: Path) -> None:
    file = tmp_path / "supper.ics"
    found = run(*SUPPER, "--json", "--ics", str(file))
    data, events = json.loads(found.stdout), icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert "Calendar written" in found.stderr
    assert events[-1].decoded("dtstart").timestamp() * 1000 == data["serve"]
    assert all(event.walk("VALARM") for event in events)
    wrong = run(*SUPPER, "--ics", str(tmp_path / "no" / "supper.ics"))
    assert wrong.exit_code == 1 and "choose another file" in wrong.stderr


def test_a_plan_is_kept_for_its_day_and_no_other(tmp_path: Path) -> None:
    assert planned.due(tmp_path, WEDNESDAY) is None
    assert "No plan is kept" in run("show").stderr
    printed = run(*SUPPER, "--save")
    assert "Kept" in printed.stderr and run("show").stdout == printed.stdout
    light = json.loads(planned.path(tmp_path).read_bytes())["light"]
    assert planned.due(tmp_path, light - planned.EARLY - 1) is None
    found = planned.due(tmp_path, light - planned.EARLY)
    assert found is not None and found.name == "Village hall supper"
    assert planned.due(tmp_path, found.serve - 1) is not None and planned.due(tmp_path, found.serve) is None
    assert [piece.cut for piece in found.pieces] == ["packer"] * 3
    planned.path(tmp_path).write_text('{"name": 3')
    assert planned.due(tmp_path, light) is None and "plan again" in run("show").stderr


def test_a_plan_that_an_earlier_version_kept_is_shown_as_it_was_written(tmp_path: Path) -> None:
    run(*SUPPER, "--save")
    file = planned.path(tmp_path)
    kept = msgspec.json.decode(file.read_bytes(), type=Plan)
    assert kept.typed and "earlier version" not in run("show", "--unit", "F").stderr
    file.write_bytes(msgspec.json.encode(worded(kept, Reader("C"))))  # plain sentences, as those had
    old = run("show", "--unit", "F")
    assert "18.1 kg raw" in old.stdout and "sentences are metric" in old.stderr
    assert planned.due(tmp_path, kept.light) is not None


def test_a_bare_number_is_in_the_units_of_its_reader_and_in_a_file_metric(tmp_path: Path) -> None:
    serve = ("--serve", "2026-11-28 18:00")
    raw = {"20 kg": 20.0, "44.1 lb": 20.0, "44.1": 20.0}
    for typed, kg in raw.items():
        found = json.loads(run(*serve, "--raw", typed, "--unit", "F", "--json").stdout)
        assert found["amounts"]["bought"] == pytest.approx(kg, abs=0.01)
    file = tmp_path / "supper.toml"
    for written, m in (("900", 900.0), ('"3000 ft"', 914.4)):
        file.write_text(f'serve = "2026-11-28 18:00"\nraw = 20\naltitude = {written}\n[[piece]]\nmass = "14 lb"\n')
        found = json.loads(run("--file", str(file), "--unit", "F", "--json").stdout)
        assert found["kitchen"]["altitude"] == pytest.approx(m)
        assert found["pieces"][0]["mass"] == pytest.approx(6.35, abs=0.01)


def test_a_file_has_the_same_names_and_ones_own_pieces(tmp_path: Path) -> None:
    file = tmp_path / "supper.toml"
    file.write_text(
        'serve = "2026-11-28 18:00"\nguests = 30\nsleep = "22:00-06:00"\noven = true\n'
        '[[piece]]\nname = "Alder"\nmass = 6.4\nthick = 5.5\n[[piece]]\nmass = 5.6\nstart = 8\nintact = false\n'
    )
    data = json.loads(run("--file", str(file), "--json").stdout)
    assert [(p["name"], p["mass"], p["flat"], p["start"]) for p in data["pieces"]] == [
        ("Alder", 6.4, 0.055, 5.0), ("Bramble", 5.6, None, 8.0)
    ]  # fmt: skip
    assert data["guests"] == 30 and data["kitchen"]["hold"] == "low oven" and data["sleep"] == "22:00-06:00"
    assert json.loads(run("--file", str(file), "--guests", "20", "--json").stdout)["guests"] == 20  # given goes before


@pytest.mark.parametrize("serve", ['"2026-11-28 18:00"', "2026-11-28 18:00:00", "2026-11-28T18:00:00"])
def test_a_file_has_its_time_as_text_or_as_toml_has_it(tmp_path: Path, serve: str) -> None:
    file = tmp_path / "supper.toml"
    file.write_text(f"serve = {serve}\nguests = 40\n")
    asked = json.loads(run("--file", str(file), "--json").stdout)["serve"]
    assert asked == json.loads(run(*SUPPER, "--json").stdout)["serve"]
    file.write_text("serve = 2026-11-28\nguests = 40\n")
    refused(run("--file", str(file)), "serve of")


@pytest.mark.parametrize(
    ("above", "option", "whole"),
    [
        ("", (), [True, False]),
        ("intact = false\n", (), [False, False]),
        ("", ("--not-intact",), [False, False]),
        ("intact = false\n", ("--intact",), [True, False]),
    ],
)
def test_a_piece_that_does_not_say_whether_it_is_whole_is_as_the_cook(
    tmp_path: Path, above: str, option: tuple[str, ...], whole: list[bool]
) -> None:
    file = tmp_path / "supper.toml"
    file.write_text(above + "[[piece]]\nmass = 5.5\n[[piece]]\nmass = 5.6\nintact = false\n")
    found = run("--file", str(file), *SUPPER, *option, "--json")
    data = json.loads(found.stdout)
    assert [piece["intact"] for piece in data["pieces"]] == whole
    assert any("needled" in caution["text"] for caution in data["cautions"])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("guest = 4", 'no "guest"'),
        ("guests = ", "is not TOML"),
        ("guests = [4]", "guests of"),
        ('guests = "many"', "guests"),
        ("oven = 1", "oven of 1"),
        ('cooker = "bathtub"', "cooker"),
        ("[piece]\nmass = 4", "tables"),
        ("[[piece]]\nname = 'Alder'", "no mass"),
        ("[[piece]]\nmass = 5.5\nthick = 20", "7.9 in thick"),
        ("[[piece]]\nmass = -5.5", "weighs -12 lb"),
        ("[[piece]]\nmass = 'big'", "is no number"),
        ("[[piece]]\nweight = 5", 'no "weight"'),
        ("[[piece]]\nmass = 5\nintact = 'no'", "intact of 'no'"),
        ("[[piece]]\nmass = 5\nintact = 0", "intact of 0"),
        ("[[piece]]\nmass = 5\n" * 7, "7 pieces"),
    ],
)
def test_a_file_that_is_wrong_gets_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "supper.toml"
    file.write_text(text)
    refused(run("--file", str(file), *(SUPPER[2:4] if "guests" in text else SUPPER[:4])), said)


def refused(found: Result, said: str) -> None:
    assert found.exit_code in (1, 2) and not found.stdout, found.output
    assert said in found.stderr and "Traceback" not in found.stderr
    assert len(found.stderr.strip().splitlines()) <= 4  # click adds how it is used


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "when it is served"),
        (("--serve", "Sat 18:00"), "how much meat"),
        (("--serve", "Sat 18:00", "--raw", "-3"), "raw mass of -3"),
        (("--serve", "2020-11-28 18:00", "--guests", "40"), "has passed"),
        (("--serve", "Sat 18:00", "--guests", "40", "--thick", "20 cm"), "7.9 in thick"),
        (("--serve", "Sat 18:00", "--guests", "40", "--sleep", "08:00-23:30"), "15.5 h"),
        (("--serve", "Sat 18:00", "--guests", "40", "--sleep", "20:00-50:00"), "no time of day"),
        (
            ("--serve", "Sat 18:00", "--guests", "40", "--pieces", "12"),
            "1 to 6: give --pieces so, or several --cookers",
        ),
        (("--serve", "Sat 18:00", "--guests", "four"), "'four' is not a whole number"),
        (("--serve", "someday", "--guests", "40"), "cannot be read"),
        (("--serve", "Sat 18:00", "--guests", "40", "--band", "hot"), "cannot be read"),
        (("--serve", "Sat 18:00", "--guests", "40", "--band", "20-40"), "bottom may be 194-320 F"),
        (("--serve", "Sat 18:00", "--guests", "40", "--band", "900-950"), "bottom may be 194-320 F"),
        (("--serve", "Sat 18:00", "--guests", "40", "--band", "250-252 F"), "at least 3.6 F above"),
        (("--serve", "Sat 18:00", "--guests", "40", "--odds", "99"), "odds of 99 % is out of range; give 50-98 %"),
        (("--serve", "Sat 18:00", "--guests", "40", "--odds", "good"), "as 90 % or 0.9"),
        (("--serve", "Sat 18:00", "--guests", "40", "--band", "275-250"), "from 275 down to 250"),
        (("--serve", "Sat 18:00", "--guests", "2", "--cut", "flat"), "such as pork ribs"),
        (("--serve", "Sat 18:00", "--raw", "0.3 kg", "--cut", "pork ribs"), "take more meat."),
        (("--file", "/nowhere/supper.toml"), "cannot be read"),
        (("move", "someday"), "no cook"),
    ],
)
def test_what_is_wrong_gets_one_sentence(arguments: tuple[str, ...], said: str, tmp_path: Path) -> None:
    if arguments[:1] == ("move",):
        with Logbook(paths.logbook_path(tmp_path)):
            pass
        found = run(*arguments)
        assert found.exit_code == 1 and "No cook is open" in found.stderr
        return
    refused(run(*arguments), said)


WORDS = ("--guests", "40", "--raw", "-1", "--serve", "Sat 18:00", "x", "--sleep", "--pieces", "3")


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.sampled_from(WORDS)))
def test_no_arguments_whatever_break_it(arguments: list[str]) -> None:
    found = run(*arguments)
    assert found.exit_code in (0, 1, 2) and (found.exception is None or isinstance(found.exception, SystemExit))


def test_it_learns_from_the_logbook_and_says_so(tmp_path: Path) -> None:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        cook(book, at(1, "08:00"), carved=5.5 * 0.6, shades=[(4, 6)])
        cook(book, at(3, "08:00"), carved=5.5 * 0.2, simulated=True)
    text = " ".join(run(*SUPPER, "--full").stdout.split())
    assert "Your cook (the usual counts as 4): yield 45 % of what was bought, usual 40 %, used 41 %." in text


@pytest.mark.parametrize(("cut", "mass"), [("packer", 11.0), ("brisket", 5.5)])
def test_a_piece_that_no_cut_is_like_teaches_nothing_and_breaks_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: str, mass: float
) -> None:
    """A heavy packer, or a cut by another name, in an earlier real cook; the forecast refuses both."""
    from tuyere.forecast import exchange, finish, prior

    def strict(piece: exchange.KnownPiece, pit_c: float, **given: Any) -> list[float]:
        prior.checked(piece)
        return before(piece, pit_c, **given)

    monkeypatch.setattr(finish, "before", strict)
    with Logbook(paths.logbook_path(tmp_path)) as book:
        cook(book, at(1, "08:00"), cut=cut, mass=mass)
        cook(book, at(3, "08:00"), hours=12.0)
    found = run(*SUPPER, "--full")
    assert found.exit_code == 0 and "TIMETABLE" in found.stdout, found.output
    assert "Your cook (the usual counts as 4): they took" in " ".join(found.stdout.split())  # of the other one
    with Logbook(paths.logbook_path(tmp_path)) as book:
        cook(book, WEDNESDAY - 6 * times.HOUR, hours=6.0, ended=False, out=False, cut=cut, mass=mass)
    refused(run("move", "20:00"), "on the screen")


def test_a_logbook_that_cannot_be_read_costs_the_learning_only(tmp_path: Path) -> None:
    paths.logbook_path(tmp_path).write_bytes(b"not a database, and long enough to be looked at twice" * 50)
    found = run(*SUPPER)
    assert found.exit_code == 0 and "usual numbers" in found.stderr and "TIMETABLE" in found.stdout


def test_move_prints_choices_and_json(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from test_plan_move import ahead
    from tuyere.forecast import finish

    monkeypatch.setattr(finish, "ahead", ahead)
    with Logbook(paths.logbook_path(tmp_path)) as book:
        cook(book, WEDNESDAY - 6 * times.HOUR, hours=6.0, ended=False, out=False)
    text = run("move", "18:30").stdout
    assert "as it is" in text and "wrap now" in text and max(map(len, text.splitlines())) <= 80
    hot = run("move", "18:30", "--oven", "--unit", "F").stdout
    assert "in an oven at 265 F" in hot and not re.findall(r"\d C\b", hot)
    data: dict[str, Any] = json.loads(run("move", "20:00", "--json").stdout)
    assert data["choices"][0]["name"] == "as it is" and 0.0 <= data["choices"][0]["odds"] <= 1.0


def test_every_page_fits_whatever_the_name(tmp_path: Path) -> None:
    for name in ("A", "the very long name of a supper that no headline could hold, not even a wide one", "Fête d'été"):
        lines = page.page(make(name=name), "F")
        assert max(map(len, lines)) <= 80


def test_without_the_forecasts_packages_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "tuyere.forecast.finish", None)
    refused(run(*SUPPER), "pip install numpy")
