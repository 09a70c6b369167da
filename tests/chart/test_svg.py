"""The trend as SVG: the scene of the terminal's chart, in parts that a style sheet dresses."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest
from tuyere.chart import svg
from tuyere.chart.colours import DARK, LIGHT, PLAIN, Palette
from tuyere.chart.frame import Picture
from tuyere.chart.history import History
from tuyere.cook.snapshot import Trend

MINUTE, HOUR = 60_000, 3_600_000
BEGIN = 1_781_380_800_000
LOW, HIGH = 121.1, 135.0


def history(hours: float = 4.0, pit: float = 128.0, holes: tuple[int, ...] = ()) -> History:
    at = [BEGIN + i * 10_000 for i in range(int(hours * 360))]
    values = [None if i in holes else pit for i in range(len(at))]
    out = History()
    out.add(Trend(cook=1, last=9, at=at, pit=values, fan=[0.5] * len(at), low=[LOW] * len(at), high=[HIGH] * len(at),
                  meat_1=[70.0] * len(at), meat_2=[None] * len(at), meat_3=[None] * len(at)))  # fmt: skip
    return out


PICTURE = Picture(360, 230, PLAIN, "F", 0, ((0, "pit"), (1, "Flat")))


def parts(found: str, kind: str) -> list[ElementTree.Element]:
    return [one for one in ElementTree.fromstring(found).iter() if kind in (one.get("class") or "").split()]


def test_the_pit_in_its_band_lies_in_the_band() -> None:
    found = svg.svg(history(), PICTURE)
    [band] = parts(found, "band")
    top, tall = float(band.get("y", "")), float(band.get("height", ""))
    [pit] = parts(found, "line0")
    ys = [float(part.split()[1].split("V")[0]) for part in (pit.get("d") or "").replace("M", "L").split("L") if part]
    assert all(top < y < top + tall for y in ys)
    words = [one.text for one in ElementTree.fromstring(found).iter() if one.tag.endswith("text")]
    assert {"275", "250", "pit", "Flat", "fan %"} <= set(words)


def test_units_are_the_reader_s() -> None:
    words = [one.text for one in ElementTree.fromstring(svg.svg(history(), replace(PICTURE, units="C"))).iter()]
    assert "135" in words and "121" in words and "275" not in words


def test_a_spike_of_one_cycle_shows() -> None:
    spiked = history()
    spiked.add(Trend(cook=1, last=10, at=[spiked.end + 2000], pit=[180.0], fan=[0.5], low=[LOW], high=[HIGH]))
    calm, wild = svg.svg(history(), PICTURE), svg.svg(spiked, PICTURE)
    assert parts(calm, "line0")[0].get("d") != parts(wild, "line0")[0].get("d")


def test_a_line_is_broken_where_there_is_no_reading_and_bridged_over_a_late_cycle() -> None:
    assert parts(svg.svg(history(holes=(100,)), PICTURE), "line0")[0].get("d", "").count("M") == 1
    assert parts(svg.svg(history(holes=tuple(range(300, 400))), PICTURE), "line0")[0].get("d", "").count("M") == 2


def test_a_forecast_and_a_band_to_come_lie_after_now() -> None:
    end = history().end
    ahead = ((end, LOW, HIGH), (end + HOUR, 65.0, 75.0))
    points = [(end + n * 10 * MINUTE, 70.0 + n, 72.0 + n, 75.0 + n) for n in range(12)]
    found = svg.svg(history(), replace(PICTURE, ahead=ahead), points)
    [now] = parts(found, "now")
    x = float((now.get("d") or "").split()[0][1:])
    assert all(float(one.get("x", "")) >= x for one in parts(found, "soon")) and len(parts(found, "soon")) == 2
    assert len(parts(found, "likely")) == 1 and len(parts(found, "edge")) == 2
    assert parts(svg.svg(history(), PICTURE), "now") == []


def test_of_two_marks_in_one_place_the_later_stands() -> None:
    marks = ((BEGIN + HOUR, "o"), (BEGIN + HOUR + 1000, "z"), (BEGIN - HOUR, "x"))
    words = [one.text for one in parts(svg.svg(history(), replace(PICTURE, marks=marks)), "strong")]
    assert "z" in words and "o" not in words and "x" not in words


def test_nothing_yet_is_said() -> None:
    assert "no readings yet" in svg.svg(History(), PICTURE)


def test_it_has_words_for_who_cannot_see_it_and_stays_small() -> None:
    found = svg.svg(history(14.0), PICTURE)
    assert ElementTree.fromstring(found)[0].text == "The trend from 20:00 to 09:59: the band, the fan, and pit, Flat"
    assert len(found) < 16_000


def _bright(colour: str) -> float:
    """Relative luminance, WCAG 2.2, 1.4.3 (w3.org/TR/WCAG22)."""
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str | None, other: str | None) -> float:
    assert one and other
    bright, dark = sorted((_bright(one), _bright(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", [DARK, LIGHT], ids=["dark", "light"])
def test_text_and_buttons_have_the_contrast_of_wcag_aa(palette: Palette) -> None:
    for back in (palette.base, palette.raised):
        for ink in (palette.text, palette.muted, palette.hand):
            assert contrast(ink, back) >= 4.5, (ink, back)
    assert contrast(palette.urgent_text, palette.urgent) >= 4.5
    assert contrast(palette.base, palette.text) >= 4.5
    assert contrast(palette.pit, palette.shade) >= 3 and contrast(palette.muted, palette.base) >= 3  # lines and borders
