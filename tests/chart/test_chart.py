"""The chart as cells: sizes, shade, lines told apart without colour, gaps, marks, axis."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from fake_source import HIGH, HOUR, LOW, MINUTE, OPENINGS, START, trend
from tuyere.chart.colours import DARK, LIGHT, Palette, palette
from tuyere.chart.draw import _settle, draw
from tuyere.chart.frame import DASHES, LEFT, Picture, Row
from tuyere.chart.history import History
from tuyere.cook.ahead import Point
from tuyere.cook.snapshot import Trend

LINES = ((0, "pit"), (1, "Big flat"), (2, "Point"))


def history_of(columns: Trend) -> History:
    history = History()
    history.add(columns)
    return history


@pytest.fixture(scope="module")
def cook() -> History:
    return history_of(trend(14.0))


def lines(rows: list[Row]) -> list[str]:
    return ["".join(text for text, _ in row) for row in rows]


def braille(text: str) -> bool:
    return any("\u2800" < c <= "\u28ff" for c in text)


def flat(pits: list[float | None], step: int = 2000) -> Trend:
    n = len(pits)
    ats = [START + i * step for i in range(n)]
    return Trend(
        cook=1,
        last=n,
        at=ats,
        pit=pits,
        fan=[0.5] * n,
        low=[LOW] * n,
        high=[HIGH] * n,
        meat_1=[None] * n,
        meat_2=[None] * n,
        meat_3=[None] * n,
    )


@pytest.mark.parametrize("size", [(24, 5), (56, 9), (60, 20), (78, 12), (118, 21), (120, 35), (300, 90)])
@pytest.mark.parametrize("window", [0, HOUR, 4 * HOUR])
@pytest.mark.parametrize("near", [False, True])
def test_every_row_has_the_width_asked_for(cook: History, size: tuple[int, int], window: int, near: bool) -> None:
    for chosen in (DARK, LIGHT, palette("dark", colour=False), palette("dark", colour=False, utf8=False)):
        rows = draw(cook, Picture(*size, chosen, window=window, near=near, lines=LINES))
        assert [len(line) for line in lines(rows)] == [size[0]] * size[1]


def test_too_small_or_empty_is_said_not_drawn() -> None:
    assert "no readings yet" in "\n".join(lines(draw(History(), Picture(60, 9, DARK))))
    assert lines(draw(History(), Picture(10, 2, DARK))) == [" " * 10] * 2


def test_the_dotted_lines_stand_over_their_times(cook: History) -> None:
    text = lines(draw(cook, Picture(120, 35, DARK, lines=LINES)))
    dotted = {i for line in text for i, glyph in enumerate(line) if glyph == "┊"}
    assert len(dotted) > 3 and dotted == {found.start() + 2 for found in re.finditer(r"\d\d:\d\d", text[-1])}


def test_the_band_is_shaded_behind_and_labelled_in_both_units(cook: History) -> None:
    for units, labels in (("F", ("275", "250")), ("C", ("135", "121"))):
        rows = draw(cook, Picture(120, 35, DARK, units=units, window=4 * HOUR, lines=LINES, near=True))
        text = lines(rows)
        at = {label: next(i for i, line in enumerate(text) if line[:LEFT].strip() == label) for label in labels}
        high, low = at[labels[0]], at[labels[1]]
        inside = {
            ink[1] for row in rows[high + 1 : low] for text_, ink in row[1:-1] if braille(text_) or text_.strip() == ""
        }
        assert inside == {DARK.shade}
        above = {ink[1] for text_, ink in rows[0][1:-1]}
        assert above == {DARK.base}


@pytest.mark.parametrize("units", ["F", "C"])
@pytest.mark.parametrize("near", [False, True])
def test_each_label_stands_in_the_row_of_its_degrees(cook: History, units: str, near: bool) -> None:
    """One row off, a label names another line: 275 F stood a row above the shade's upper edge at some heights."""
    labels = {"F": ("275", "250"), "C": ("135", "121")}[units]
    for height in range(8, 36):
        picture = Picture(80, height, DARK, units=units, near=near, lines=LINES)
        rows = draw(cook, picture)
        text = lines(rows)
        plot = len(text) - 2 - (1 if height < 12 else 2 if height < 18 else 3)
        at = {line[:LEFT].strip(): i for i, line in enumerate(text[:plot]) if line[:LEFT].strip()}
        shaded = [i for i in range(plot) if any(DARK.shade in ink[:2] for _, ink in rows[i][1:-1])]
        assert at[labels[0]] == shaded[0], height
        # a band of one row has its lower label below it, where that row's lower edge is
        assert at[labels[1]] == (shaded[-1] if len(shaded) > 1 else shaded[0] + 1), height
        # round degrees: equal steps apart, to a row
        ticks = sorted((int(label), row) for label, row in at.items() if label not in labels)
        for (a, i), (b, j), (c, k) in zip(ticks, ticks[1:], ticks[2:], strict=False):
            assert abs((i - j) * (c - b) - (j - k) * (b - a)) <= 1.01 * (c - a), height


@pytest.mark.parametrize("units", ["F", "C"])
@pytest.mark.parametrize("height", [6, 7, 8, 9, 11, 13, 17, 21])
@pytest.mark.parametrize("cooked", ["all night", "an hour", "cold", "hot", "steady"])
def test_both_edges_of_the_band_and_something_below_are_labelled(units: str, height: int, cooked: str) -> None:
    pits: dict[str, list[float | None]] = {"an hour": [20.0 + i * 0.05 for i in range(1800)], "cold": [18.0] * 300}
    pits["steady"] = [128.0] * 300
    pits["hot"] = [20.0, *[100.0 + i * 0.05 for i in range(1800)]]
    history = history_of(flat(pits[cooked]) if cooked in pits else trend(14.0))
    for window in (0, HOUR):
        rows = lines(draw(history, Picture(60, height, DARK, units=units, window=window, lines=LINES)))
        plot = height - 2 - (1 if height < 12 else 2 if height < 18 else 3)
        found = [row[:LEFT].strip() for row in rows[: plot + 1]]  # with the row of the marks
        numbers = [int(label) for label in found if label]
        high, low = (275, 250) if units == "F" else (135, 121)
        assert high in numbers and low in numbers, (window, found)
        assert numbers == sorted(numbers, reverse=True), (window, found)
        assert numbers[-1] < low, (window, found)


def test_a_cook_longer_than_a_day_names_the_days() -> None:
    long = history_of(flat([128.0] * 1800, step=60_000))  # 30 h from Saturday 20:00
    axis = lines(draw(long, Picture(120, 35, DARK)))[-1].split()
    assert axis == ["21:00", "Sun", "14", "03:00", "06:00", "09:00", "12:00", "15:00", "18:00", "21:00", "Mon", "15"]
    short = lines(draw(long, Picture(120, 35, DARK, window=4 * HOUR)))[-1]
    assert "Mon" not in short and "00:00" in short


def test_band_edges_lie_to_an_eighth_of_a_row(cook: History) -> None:
    glyphs = {c for line in lines(draw(cook, Picture(118, 21, DARK, lines=LINES)))[:14] for c in line}
    assert glyphs & set("▁▂▃▄▅▆▇")


def test_a_spike_of_one_cycle_shows_in_a_day_of_43200() -> None:
    calm: list[float | None] = [128.0] * 43_200
    before = lines(draw(history_of(flat(calm)), Picture(120, 35, DARK)))
    calm[20_000] = 190.0
    after = lines(draw(history_of(flat(calm)), Picture(120, 35, DARK)))
    rows_with_ink = [sum(braille(line) for line in text) for text in (before, after)]
    assert rows_with_ink[0] <= 2
    assert rows_with_ink[1] >= 10


def test_no_reading_is_no_line_and_a_late_cycle_is_one_line() -> None:
    pits: list[float | None] = [128.0] * 900 + [None] * 450 + [128.0] * 450
    row = next(line for line in lines(draw(history_of(flat(pits)), Picture(120, 20, DARK))) if braille(line))
    inked = [i for i, c in enumerate(row) if braille(c)]
    holes = [b - a for a, b in pairwise(inked) if b - a > 1]
    assert len(holes) == 1
    share = holes[0] / (inked[-1] - inked[0])
    assert 0.22 < share < 0.28  # a quarter of the cook
    late = flat([128.0] * 200, step=9000)  # each cycle later than one slot of 8 s
    row = next(line for line in lines(draw(history_of(late), Picture(120, 20, DARK))) if braille(line))
    inked = [i for i, c in enumerate(row) if braille(c)]
    assert inked == list(range(inked[0], inked[-1] + 1))


def test_lines_differ_by_pattern_and_name_not_by_colour(cook: History) -> None:
    assert len(set(DASHES.values())) == 6
    text = lines(draw(cook, Picture(120, 35, palette("dark", colour=False), lines=LINES)))
    for name in ("pit", "Big flat", "Point"):
        assert sum(line.rstrip().endswith(" " + name) for line in text) == 1


def test_plain_palettes_use_no_colour_and_ascii_only_ascii(cook: History) -> None:
    rows = draw(cook, Picture(80, 20, palette("dark", colour=False), lines=LINES))
    assert {ink[:2] for row in rows for _, ink in row} == {(None, None)}
    assert any("░" in line for line in lines(rows))
    text = "".join(lines(draw(cook, Picture(80, 20, palette("dark", utf8=False), lines=LINES))))
    assert text.isascii()
    assert {"*", "+", "x", ":"} <= set(text)


def test_the_fan_has_its_own_rows_and_off_is_not_unrecorded() -> None:
    columns = flat([128.0] * 1800)
    columns.fan = [1.0] * 600 + [0.0] * 600 + [0.5] * 600
    strip = lines(draw(history_of(columns), Picture(100, 22, DARK)))[-4:-1]
    assert strip[0].startswith("100 ") and strip[2].startswith("  0 ") and strip[2].rstrip().endswith("fan %")
    body = [row[LEFT : LEFT + 80] for row in strip]
    assert body[0][5] == body[2][5] == "█"
    assert body[0][40] == " " and body[2][40] == "▁"
    assert body[0][70] == " " and body[2][70] == "█"
    assert all("█" not in line for line in lines(draw(history_of(columns), Picture(100, 22, DARK)))[:16])


def test_marks_stand_where_things_happened(cook: History) -> None:
    marks = [(START + int(o * HOUR), "o") for o in OPENINGS] + [(START - HOUR, "m")]
    text = lines(draw(cook, Picture(120, 35, DARK, lines=LINES, marks=marks)))
    row = text[-5]
    assert row.count("o") == len(OPENINGS) and "m" not in row
    dips = [i for i, c in enumerate(row) if c == "o"]
    assert dips == sorted(dips)


def test_time_runs_in_the_clock_of_the_cook(cook: History) -> None:
    axis = lines(draw(cook, Picture(120, 35, DARK, lines=LINES)))[-1]
    assert axis.split()[:3] == ["20:00", "22:00", "00:00"]
    hour = lines(draw(cook, Picture(120, 35, DARK, window=HOUR, lines=LINES)))[-1]
    assert "09:30" in hour and "10:00" not in hour.split()[0]


def test_columns_stand_still_while_time_goes_on() -> None:
    pits: list[float | None] = [100.0 + (i % 700) / 20 for i in range(4000)]
    history = history_of(flat(pits))
    first = draw(history, Picture(80, 20, DARK, window=HOUR))
    half = HOUR / (2 * (80 - LEFT - 7))
    n = int(half * 2 // 2000)  # one column more
    more = Trend(
        cook=1,
        last=1,
        at=[history.end + 2000 * (i + 1) for i in range(n)],
        pit=[110.0] * n,
        fan=[0.5] * n,
        low=[LOW] * n,
        high=[HIGH] * n,
        meat_1=[None] * n,
        meat_2=[None] * n,
        meat_3=[None] * n,
    )
    history.add(more)
    second = draw(history, Picture(80, 20, DARK, window=HOUR))
    moved = sum(a[LEFT + 1 : 70] != b[LEFT:69] for a, b in zip(lines(first)[:15], lines(second)[:15], strict=True))
    assert moved <= 2  # the time grid moves with it; the line does not change its shape


@pytest.mark.parametrize("size", [(56, 7), (56, 9), (60, 10), (78, 12), (80, 14), (118, 21), (120, 35)])
@pytest.mark.parametrize("window", [0, HOUR, 4 * HOUR])
def test_the_band_stays_shaded_behind_the_pit_line(cook: History, size: tuple[int, int], window: int) -> None:
    rows = draw(cook, Picture(*size, DARK, window=window, lines=LINES))
    on_pit = [ink[1] for row in rows for text, ink in row[1:-1] if braille(text) and ink[0] == DARK.pit for _ in text]
    assert on_pit.count(DARK.shade) > 0.5 * len(on_pit)  # this cook holds its band for most of the time


def test_every_line_is_inside_the_plot(cook: History) -> None:
    for height in range(9, 36):
        text = lines(draw(cook, Picture(80, height, DARK, lines=LINES)))
        assert not any(c in line for line in text for c in "↑↓")


def fan(begin: int, start: float, steps: int = 24, step: int = 10 * MINUTE) -> list[Point]:
    """A forecast that rises and widens."""
    return [(begin + i * step, start + i, start + 1.5 * i, start + 2.2 * i) for i in range(steps + 1)]


@pytest.mark.parametrize("size", [(56, 9), (78, 12), (118, 21), (120, 35)])
@pytest.mark.parametrize("window", [0, HOUR, 4 * HOUR])
@pytest.mark.parametrize("chosen", [DARK, LIGHT, palette("dark", colour=False), palette("dark", utf8=False)])
def test_a_forecast_fans_out_to_the_right_of_now(
    cook: History, size: tuple[int, int], window: int, chosen: Palette
) -> None:
    forecast = fan(cook.end, 85.0)
    picture = Picture(*size, chosen, window=window, lines=LINES)
    rows = draw(cook, picture, forecast)
    text = lines(rows)
    assert [len(line) for line in text] == [size[0]] * size[1]
    rule = "|" if chosen.ascii else "│"
    now = next(line.index(rule, LEFT) for line in text if rule in line)
    right = max(7, min(14, size[0] // 6, 10))
    body = [line[LEFT : size[0] - right] for line in text[: -3 if size[1] < 12 else -5]]
    before, after = (sum(dots(part) for part in side) for side in (
        [line[: now - LEFT] for line in body], [line[now - LEFT + 1 :] for line in body]))  # fmt: skip
    assert before > 10 and after >= 5
    # without it nothing stands right of now, and there is no rule
    bare = lines(draw(cook, picture))
    assert not any(rule in line for line in bare)
    if not chosen.colourless and not chosen.ascii:
        inks = {ink[0] for row in rows for glyphs, ink in row[1:-1] if braille(glyphs)}
        assert {chosen.muted, chosen.fan} <= inks  # its middle and its edges, both dimmer than the pit


def dots(part: str) -> int:
    return sum(c in "-.+*xo" or "\u2800" < c <= "\u28ff" for c in part)


def test_a_forecast_lies_at_its_degrees_and_its_time(cook: History) -> None:
    """One fan level at 110 C for two hours: three lines in one row, to where it ends and not beyond."""
    level = [(cook.end + i * HOUR, 110.0, 110.0, 110.0) for i in range(3)]
    ends = [(cook.end, 40.0, 40.0, 40.0), (cook.end + 4 * HOUR, 40.0, 40.0, 40.0)]
    text = lines(draw(cook, Picture(120, 35, DARK, units="C", lines=LINES[:1]), [*level, *ends]))
    now = next(line.index("│", LEFT) for line in text if "│" in line)
    inked = {i: [c for c in range(now + 1, 110) if braille(line[c])] for i, line in enumerate(text[:28])}
    found = {i: columns for i, columns in inked.items() if columns}
    assert len(found) == 2  # no line goes from the end of one fan to the begin of the next
    upper, lower = sorted(found)
    assert found[upper][-1] - now == pytest.approx((found[lower][-1] - now) / 2, abs=2)
    at = {int(line[:LEFT]): i for i, line in enumerate(text[:28]) if line[:LEFT].strip()}
    warm, cold = max(d for d in at if d < 110), min(at)
    rows = (at[cold] - at[warm]) / (warm - cold)  # a degree
    assert upper == pytest.approx(at[warm] - (110 - warm) * rows, abs=1.1)
    assert lower == pytest.approx(at[cold] - (40 - cold) * rows, abs=1.1)


def test_a_forecast_widens_the_view_by_half_the_window_at_most(cook: History) -> None:
    far = [(cook.end, 80.0, 80.0, 80.0), (cook.end + 40 * HOUR, 95.0, 95.0, 95.0)]
    text = lines(draw(cook, Picture(120, 35, DARK, window=4 * HOUR, lines=LINES), far))
    now = next(line.index("│", LEFT) for line in text if "│" in line)
    columns = 120 - LEFT - 10
    assert (now - LEFT) / columns == pytest.approx(2 / 3, abs=0.02)
    # one that lies in the past adds nothing
    past = [(cook.end - 2 * HOUR, 80.0, 80.0, 80.0), (cook.end - HOUR, 95.0, 95.0, 95.0)]
    assert lines(draw(cook, Picture(120, 35, DARK, lines=LINES), past))[-1] == lines(
        draw(cook, Picture(120, 35, DARK, lines=LINES)))[-1]  # fmt: skip


def test_bands_to_come_stand_to_the_right_of_now_in_every_second_column() -> None:
    history = history_of(flat([128.0] * 1800))
    now = history.end
    ahead = ((now, LOW, HIGH), (now + HOUR, 100.0, 110.0))
    picture = Picture(100, 24, DARK, lines=LINES, ahead=ahead)
    rows = draw(history, picture)
    assert [len(line) for line in lines(rows)] == [100] * 24

    def shaded(column: int) -> list[int]:
        found = []
        for r, row in enumerate(rows[:18]):
            at = 0
            for part, ink in row:
                if at <= column < at + len(part) and ink[1] == DARK.shade:
                    found.append(r)
                at += len(part)
        return found

    rule = next(i for i, c in enumerate(lines(rows)[1]) if c == "│")
    future = [column for column in range(rule + 1, LEFT + 100 - LEFT - 9) if shaded(column)]
    assert future and all(b - a == 2 for a, b in pairwise(future))
    first, last = shaded(future[0]), shaded(future[-1])
    assert first == shaded(rule - 2) and min(last) > min(first)  # as it was, then a cooler one further down
    assert "│" not in "".join(lines(draw(history, Picture(100, 24, DARK, lines=LINES))))


@pytest.mark.parametrize("height", range(12, 48, 3))
def test_the_scale_spends_its_rows_on_what_is_there(height: int) -> None:
    """A night between 30 and 280 F stood on a scale from -50 to 300 F at 200x50."""
    rows = height
    bottom, top = -1.1, 137.8
    _, per_row = _settle(top, bottom, rows, [(121.1, 135.0)])
    assert per_row * rows <= 1.3 * (top - bottom) + per_row
