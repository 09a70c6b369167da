"""The small pure parts: units, spans, wrapping, settings, the status line."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest
from fake_source import HOUR, MINUTE, START, snapshot, trend
from hypothesis import given
from hypothesis import settings as settings_of
from hypothesis import strategies as st
from tuyere.chart.axis import degree_step, time_ticks
from tuyere.codes import REASONS, STATES
from tuyere.cook import reasons, say, wording
from tuyere.cook.in_short import phase_end
from tuyere.cook.snapshot import Piece
from tuyere.cook.standing import headline
from tuyere.measures import TEMPERATURE
from tuyere.tui import preferences
from tuyere.tui.view import View
from tuyere.tui.widgets.alarms import alarm_lines
from tuyere.tui.widgets.detail import detail_lines
from tuyere.tui.widgets.headline import headline_lines
from tuyere.tui.widgets.pieces import pieces_lines
from tuyere.tui.widgets.pit import gauge, pit_brief, pit_lines
from tuyere.tui.widgets.prompts import hands_lines
from tuyere.tui.widgets.status import status_line


def test_degrees_both_ways() -> None:
    # 250 F = 121.1 C and 275 F = 135 C: the definition F = C * 9/5 + 32 (NIST SP 811, B.8).
    assert View(units="F").band(121.1, 135.0) == "250-275 F"
    assert View(units="C").band(121.1, 135.0) == "121-135 C"
    assert View(units="F").degrees(None) == "- F"


@given(st.floats(-50, 400))
def test_units_return(value: float) -> None:
    assert TEMPERATURE.inside(TEMPERATURE.number(value, "F"), "F") == pytest.approx(value)


def test_spans_and_due() -> None:
    now = START
    assert [say.span(ms) for ms in (0, 59_999, MINUTE, HOUR, HOUR + 5 * MINUTE)] == [
        "0 s",
        "59 s",
        "1 min",
        "1 h",
        "1 h 05 min",
    ]
    assert say.due(0, now) == say.due(now, now) == say.due(now - 1000, now) == "now"
    assert say.due(now - HOUR, now) == "since 19:00"
    assert say.due(now + 12 * MINUTE, now) == "in 12 min"
    assert say.due(now + 2 * HOUR, now) == "at 22:00"
    assert say.ago(now - 30, now) == "just now" and say.ago(now - HOUR, now) == "1 h ago"


def test_a_sentence_gets_its_full_stop_once() -> None:
    assert say.joined(["Keep it hot", "", "Within 2 h. (a source)", "Now.", "80 % (long)"]) == (
        "Keep it hot. Within 2 h. (a source) Now. 80 % (long)."
    )


WORDS = st.text(st.characters(codec="ascii", categories=["L", "Zs"]), max_size=120)


def test_what_is_cut_shows_its_beginning_and_that_it_was_cut() -> None:
    assert [say.cut("the left one", width) for width in (13, 12, 11, 9, 4, 1, 0, -1)] == [
        "the left one", "the left one", "the left o~", "the left~", "the~", "~", "", "",
    ]  # fmt: skip


def test_a_number_keeps_its_unit() -> None:
    assert say.wrap("hold 4 h, odds 98 % (long)", 18) == ["hold 4 h, odds", "98 % (long)"]
    assert say.wrap("held at 140 F or more", 11) == ["held at", "140 F or", "more"]
    assert say.wrap("98 %", 3) == ["98", "%"]  # no room for both


@pytest.mark.parametrize("width", [1, 0, -3])
def test_words_are_wrapped_in_no_room_at_all(width: int) -> None:
    assert say.wrap("98 %", width) == ["9", "8", "%"]
    assert say.wrap(" ", width) == []


@given(WORDS, st.integers(4, 40))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: int) -> None:
    for lines in (say.wrap(text, width), say.hanging(text, width)):
        assert all(len(line) <= width for line in lines)
        assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.lists(WORDS.filter(str.strip), max_size=4), st.integers(20, 60), st.integers(0, 4))
def test_a_sentence_is_shown_whole_or_not_at_all(sentences: list[str], width: int, most: int) -> None:
    lines = say.whole(sentences, width, most, "r reads on")
    assert len(lines) <= most
    shown = "".join("".join(lines).split())
    whole = ["".join(say.joined(sentences[:n]).split()) for n in range(len(sentences) + 1)]
    assert shown == whole[-1] or shown in [part + "rreadson." for part in whole[:-1]] or (shown == "" and most == 0)


def texts(lines: list[list[tuple[str, str]]]) -> list[str]:
    return ["".join(text for text, _ in line) for line in lines]


@pytest.mark.parametrize("width", [36, 40, 58, 63, 64, 78, 118])
@pytest.mark.parametrize("kind", ["full", "empty", "none"])
def test_no_panel_is_wider_than_its_width(width: int, kind: str) -> None:
    shot = None if kind == "none" else snapshot(trend(6.0), alarm=True)
    if kind == "empty" and shot:
        shot = msgspec.structs.replace(
            shot, cycle=None, cook=None, pieces=[], prompts=[], alarms=[], events=[], phases=[]
        )
    view = View(shot=shot, where="open")
    brief = pit_brief(view, max(width, 58))
    panels = [headline_lines(view, width), alarm_lines(view, width), pit_lines(view, width), brief,
              pieces_lines(view, width), hands_lines(view, width), detail_lines(view, width, 40)]  # fmt: skip
    for i, panel in enumerate(panels):
        assert all(len(line) <= (max(width, 58) if i == 3 else width) for line in texts(panel)), (i, texts(panel))
    assert len(texts([status_line(view, 58)])[0]) == 58


def test_the_gauge_shows_the_value_against_the_band() -> None:
    def drawn(value: float | None) -> str:
        return "".join(t for t, _ in gauge(value, 121.1, 135.0, 40, True, False))

    assert drawn(20.0)[0] == "◀" and drawn(300.0)[-1] == "▶" and "●" not in drawn(None)
    inside = drawn(128.0)
    assert inside.index("━") < inside.index("●") < inside.rindex("━")
    assert drawn(119.0).index("●") < drawn(119.0).index("━")
    assert {len(drawn(v)) for v in (None, 20.0, 100.2, 128.0, 155.8, 156.0, 300.0)} == {40}


def test_many_pieces_are_counted_not_dropped() -> None:
    shot = snapshot(trend(6.0))
    six = [Piece(id=i, name=f"Piece number {i}", probe=i if i < 4 else 0) for i in range(1, 7)]
    view = View(shot=msgspec.structs.replace(shot, pieces=six), where="open")
    lines = texts(pieces_lines(view, 78, 3, header=False))
    assert len(lines) == 3 and "and 4 more" in lines[-1]


@given(
    pit=st.integers(2000, 30000),
    low=st.integers(4000, 20000),
    wide=st.integers(200, 6000),
    state=st.sampled_from(STATES),
    why=st.sampled_from(REASONS),
    units_of=st.sampled_from(["F", "C"]),
)
@settings_of(deadline=None)
def test_headline_and_panel_never_differ_by_a_degree(
    pit: int, low: int, wide: int, state: str, why: str, units_of: str
) -> None:
    """128.2 C is 263 F; its whole degrees, 128 C, would be 262 F. Both come from the cycle by one conversion."""
    shot = snapshot(trend(6.0))
    trip = "hot" if state == "tripped" else ""
    cycle = msgspec.structs.replace(shot.cycle, pit=pit / 100, low=low / 100, high=(low + wide) / 100, state=state,
                                    reason=why, trip=trip, supply=9.1)  # fmt: skip
    shot = msgspec.structs.replace(shot, cycle=cycle, words=wording.stands(cycle))
    view = View(shot=shot, where="open", units=units_of)
    shown = {view.degrees(cycle.pit), view.band(cycle.low, cycle.high)}
    said = set(re.findall(rf"(?<![\w.-])-?\d+(?:-\d+)? {units_of}\b", " ".join(headline(view))))
    assert said <= shown
    assert not re.search(r"\d C\b", " ".join(headline(view))) or units_of == "C"


def test_each_reason_of_the_board_has_words() -> None:
    assert set(reasons.REASONS) == set(REASONS)
    for key, said in reasons.REASONS.items():
        assert "_" not in said and len(said) <= 42 and said != key, key
    assert reasons.reason("of_a_newer_board") == "of a newer board"


def test_a_time_of_another_day_has_its_day() -> None:
    now = START + 26 * HOUR  # Sunday 22:00
    assert say.when(now - 5 * MINUTE, now) == "21:55" and say.when(now + 3 * HOUR, now) == "01:00"
    assert say.when(now - 21 * HOUR, now) == "01:00"  # the same day
    assert say.when(START, now) == "Sat 20:00" and say.when(now + 20 * HOUR, now) == "Mon 18:00"
    assert say.due(START, now) == "since Sat 20:00"


def test_ends_of_phases() -> None:
    shot = snapshot(trend(6.0))
    found = []
    for phase in range(4):
        cycle = msgspec.structs.replace(shot.cycle, phase=phase)
        found.append(phase_end(View(shot=msgspec.structs.replace(shot, cycle=cycle), where="open")))
    assert found == ["until you press p", "until Big flat reads 203 F", "until 00:00", ""]


def test_a_phase_that_changes_nothing_is_not_shown() -> None:
    shot = snapshot(trend(6.0))

    def shown(phase: int) -> list[str]:
        cycle = msgspec.structs.replace(shot.cycle, phase=phase)
        view = View(shot=msgspec.structs.replace(shot, cycle=cycle), where="open")
        return ["\n".join(texts(lines(view, 58))) for lines in (pit_lines, pit_brief)]

    assert all("Smoke, 1 of 3" in page and "until you press p" in page for page in shown(0))  # the rest is cooler
    for phase in shot.phases:
        phase.low, phase.high = 121.1, 135.0
    assert all("Smoke" not in page and "until you press" not in page for page in shown(0))
    assert all("until Big flat reads 203 F" in page for page in shown(1))  # it goes on by itself: that is worth knowing


def test_ticks_are_round_and_apart() -> None:
    for span in (HOUR, 4 * HOUR, 14 * HOUR, 24 * HOUR):
        ticks = time_ticks(START + 123_456, START + 123_456 + span, 100)
        assert len(ticks) >= 3
        assert all(at % (5 * MINUTE) == 0 for _, at in ticks)
        assert all(b[0] - a[0] >= 9 for a, b in pairwise(ticks))
    assert degree_step(300, 20, "F") == 50 and degree_step(14, 20, "C") == 5


def test_settings_come_back_and_bad_ones_are_named(tmp_path: Path) -> None:
    assert preferences.load(tmp_path) == (preferences.ScreenSettings(), [])
    mine = preferences.ScreenSettings("C", "light", "4 h", "off", {"opened": "h", "odd": 'a"\\b'})
    preferences.save(tmp_path / "new", mine)
    assert preferences.load(tmp_path / "new") == (mine, [])
    (tmp_path / preferences.NAME).write_text('units = "K"\nfont = 3\nwindow = "1 h"\n[keys]\nnote = 5\n')
    got, trouble = preferences.load(tmp_path)
    assert (got.units, got.window, got.keys) == ("F", "1 h", {})
    assert len(trouble) == 3 and "it can be F, C" in trouble[0]
    (tmp_path / preferences.NAME).write_text("units = ")
    got, trouble = preferences.load(tmp_path)
    assert got == preferences.ScreenSettings() and "Mend it or delete it." in trouble[0]


def test_a_light_terminal_that_says_so_gets_light_colours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for said, wanted in (("0;15", "light"), ("15;0", "dark"), ("0;default;7", "light"), ("", "dark")):
        monkeypatch.setenv("COLORFGBG", said)
        assert preferences.load(tmp_path)[0].colours == wanted
