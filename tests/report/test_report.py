"""The report of a night: what is in it, what is not, and that it needs nothing else."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result
from logbook_kit import BOARD, BOOT, cycle, hello, state
from tuyere import paths
from tuyere.cli.main import main
from tuyere.logbook import Logbook
from tuyere.logbook.rows import Forecast
from tuyere.report import forecast_svg
from tuyere.text import text

UTC = 1_781_380_800_000  # Sat 13 Jun 2026, 20:00
MINUTE, HOUR = 60_000, 3_600_000
MACHINE = "smithy-laptop"
NAME = "Alder <b>&</b> 'friends'"


def finish(cook: int, at: float, *hours: float) -> Forecast:
    """A forecast of piece 1 as it was shown; all in hours."""
    early, likely, late = (UTC + round(h * HOUR) for h in hours)
    return Forecast(
        cook=cook, piece=1, kind="finish", at=UTC + round(at * HOUR), early=early, likely=likely, late=late
    )  # fmt: skip


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Path]:
    """A night of ten hours, a cycle a minute, with everything that could give somebody away in its logbook."""
    place = tmp_path / MACHINE
    place.mkdir()
    with Logbook(paths.logbook_path(place)) as book:
        book.boards.hello(BOARD, BOOT, hello(), UTC)
        book.boards.pair(BOARD, BOOT, 0, UTC)
        cook = book.cooks.start("Saturday supper", UTC, BOARD, False)
        flat = book.pieces.add(cook, name=NAME, cut="flat", mass=4.0, probe=1, on_at=UTC + HOUR, target=95.0)
        made = [state(0, low=12110, high=13500)]
        for i in range(1, 600):
            pit, meat = min(12800, 2000 + i * 200), min(9500, 500 + i * 16)
            made.append(cycle(i, at=i * MINUTE, pit=pit, meat_1=meat, fan=3000, low=12110, high=13500))
        book.records.add(BOARD, BOOT, made, cook)
        for kind, hours, value, words in (
            ("meat_on", 1.0, None, ""), ("shade", 5.0, 5, ""), ("wrapped", 6.0, None, "paper"),
            ("tender", 9.0, None, ""), ("in_box", 9.1, None, ""), ("hand_reading", 9.5, 71.0, ""),
            ("carved", 9.8, 2.2, ""),
        ):  # fmt: skip
            at = UTC + round(hours * HOUR)
            book.events.note(cook, kind, at, at, 0 if kind == "meat_on" else flat, value, words)
        book.events.note_once(cook, "opened_felt", UTC + 5 * HOUR, UTC, f"{BOARD}/1/2")
        book.events.note_once(
            cook, "programme_set", UTC, UTC, f"{BOARD}/1/3", text=text("{what}{by}", what="one phase", by=", jsmith")
        )  # fmt: skip
        book.events.note_once(cook, "board_says", UTC, UTC, f"{BOARD}/1/4", text=f"at 192.168.1.7 on {MACHINE}")
        where = str(book.path)
        book.alarms.add(cook, UTC + 3 * HOUR, "urgent", "fading", "The fire is fading", f"see {where}, /dev/ttyACM0")
        book.forecasts.keep([finish(cook, n + 1, 7 + n // 4, 8 + n / 9, 11) for n in range(8)])
        book.cooks.set_text(cook, "serve", str(UTC + 11 * HOUR))
        book.cooks.end(cook, UTC + 10 * HOUR)
    yield place


def run(home: Path, *given: str) -> Result:
    return CliRunner().invoke(main, ["log", "report", *given], env={"TUYERE_HOME": str(home)})


def words(html: str) -> str:
    """What a person reads."""
    bare = re.sub(r"<(style|title)>.*?</\1>", "", html, flags=re.S)
    found = []

    class Reader(HTMLParser):
        def handle_data(self, data: str) -> None:
            found.append(data)

    Reader().feed(bare)
    return " ".join(" ".join(found).split())


def test_the_report_tells_the_night(home: Path) -> None:
    said = words(run(home, "last", "-", "--unit", "F").stdout)
    for part in (
        "Saturday supper", "Sat 13 Jun 20:00 to Sun 14 Jun 06:00, 10 h", "In the band for", "Opened 1 time.",
        "To serve Sun 07:00.", NAME, "8.8 lb", "21:00", "02:00", "05:00, 8 h", "5 at 01:00", "160 F", "4.9 lb (55 %)",
        "urgent alarm: The fire is fading", "The finish as it was forecast", "ahead, the forecast said", "Food safety",
        "The next plan counts with its yield, its pace and its bark.", "opened, felt from the fall",
    ):  # fmt: skip
        assert part in said, f"{part!r} is not in {said}"
    assert "71 C" in words(run(home, "1", "-", "--unit", "C").stdout)
    assert "Sun 14 Jun 05:00 to Sun 14 Jun 15:00" in words(run(home, "1", "-", "--zone", "Asia/Tokyo").stdout)


def test_nobody_and_no_machine_is_named_in_it(home: Path) -> None:
    html = run(home, "last", "-").stdout
    for secret in (MACHINE, str(home), BOARD, "jsmith", "192.168", "ttyACM", os.environ.get("USER", "no-user-here")):
        assert secret not in html, secret
    assert re.findall(r"https?://[^\"' <]+", html) == ["http://www.w3.org/2000/svg"] * html.count("<svg ")


def test_what_cannot_be_seen_in_a_name_is_shown(home: Path) -> None:
    with Logbook(paths.logbook_path(home)) as book:
        book.pieces.change(1, name="Alder\u202e\x1b")
    html = run(home, "last", "-").stdout
    assert r"Alder\u202e\x1b" in html and not re.search("[\u202e\x1b]", html)


def test_it_needs_nothing_else_and_runs_nothing(home: Path) -> None:
    html = run(home, "last", "-").stdout
    assert not re.search(r"<(script|link|img|iframe|object|form|a)\b|\son\w+=|url\(|@import", html)
    assert "default-src 'none'" in html and len(html) < 80_000
    for svg in re.findall(r"<svg .*?</svg>", html, re.S):
        ElementTree.fromstring(svg)  # well formed


def test_a_name_is_text(home: Path) -> None:
    assert "Alder <b>" not in run(home, "last", "-").stdout


def test_a_file_is_not_overwritten_unless_told(home: Path, tmp_path: Path) -> None:
    file = tmp_path / "night.html"
    assert run(home, "last", str(file)).exit_code == 0
    first = file.read_text()
    assert "--force" in run(home, "last", str(file)).output and file.read_text() == first
    assert run(home, "last", str(file), "--force", "--unit", "C").exit_code == 0 and file.read_text() != first
    assert "give another place" in run(home, "last", str(tmp_path / "none" / "x.html")).output
    assert "is a directory" in run(home, "last", str(tmp_path)).output
    assert "no time zone" in run(home, "last", "-", "--zone", "Mars/Base").output
    assert list(tmp_path.glob("*.part")) == []


def test_a_cook_with_nothing_in_it_has_a_report(tmp_path: Path) -> None:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        book.cooks.start("Empty", UTC, BOARD, True)
    said = words(run(tmp_path, "last", "-").stdout)
    assert "no readings yet" in said and "Nothing was noted." in said and "still open" in said


def test_a_night_with_many_events_keeps_its_page(home: Path) -> None:
    with Logbook(paths.logbook_path(home)) as book:
        for n in range(80):
            book.events.note_once(1, "opened_felt", UTC + n * MINUTE, UTC, f"{BOARD}/2/{n}")
    said = words(run(home, "last", "-").stdout)
    assert said.count("opened, felt from the fall") <= 36
    assert "more, in the logbook" in said and "carved" in said  # what a person noted stays


def test_a_forecast_narrows_to_what_came() -> None:
    shown = [finish(1, n, 8, 9, 10) for n in range(5)]
    root = ElementTree.fromstring(forecast_svg.narrowed(shown, UTC + 9 * HOUR))
    kinds = [one.get("class") for one in root if one.tag.endswith("path")]
    assert kinds == ["soon", "line", "came"]
    assert 'class="came"' not in forecast_svg.narrowed(shown, 0)
    assert forecast_svg.narrowed(shown[:1], 0) == "" and forecast_svg.narrowed(shown, UTC) == ""


def test_a_piece_that_is_not_whole_has_its_rule_and_no_time_to_serve_is_no_time(home: Path) -> None:
    rule = "Rolled, injected or needled meat may carry bacteria inside: 158 F for 2 min in its coldest spot."
    assert rule not in words(run(home, "last", "-").stdout)
    with Logbook(paths.logbook_path(home)) as book:
        book.pieces.change(1, intact=False)
        book.cooks.set_text(1, "serve", "")
    said = words(run(home, "last", "-").stdout)
    assert rule in said and "To serve" not in said
