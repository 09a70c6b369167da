"""Measures of a page: each reader's own, degrees of the trade by fives, and enough of what is bought."""

from __future__ import annotations

import re
from types import SimpleNamespace

import pytest
from plan_kit import LONDON, asked, make
from tuyere.measures import percent
from tuyere.plan import lists, page
from tuyere.plan.result import Odds
from tuyere.plan.times import BadPlan
from tuyere.text import Reader, Temperature, Volume, band, render

F, C = Reader("F"), Reader("C")
US = re.compile(r"\d (?:F|lb|oz|qt|ft|in)\b")
METRIC = re.compile(r"\d (?:C|kg|g|l|m|cm|mm)\b")


@pytest.mark.parametrize(
    "changed", [{}, {"oven": True, "fuel": 2.0}, {"altitude": 1500.0, "outside": -5.0, "use": "trade"}]
)
def test_a_page_has_the_measures_of_its_reader_and_no_others(changed: dict[str, float]) -> None:
    plan = make(**changed)
    for units, wrong, right in (("F", METRIC, US), ("C", US, METRIC)):
        words = " ".join(" ".join(page.page(plan, units, LONDON)).split())
        assert not wrong.findall(words), (units, wrong.findall(words))
        assert len(right.findall(words)) > 15


def test_a_start_without_a_hold_or_a_finish_says_none_and_never() -> None:
    on = 1_781_380_800_000  # Sat 13 Jun 2026, 21:00 in London
    rows = [Odds(on, 0.9, on + 12 * 3_600_000, 1.5, 0.0, chosen=True), Odds(on, 0.4, 0, 0.0, 0.0, ["up at 03:00"])]
    laid = page._Page(SimpleNamespace(others=rows), Reader("C", LONDON), page.WIDTH)  # type: ignore[arg-type]
    _, _, first, second = (line.split() for line in laid._others())
    assert first[0] == ">" and first[-3:] == ["1.5", "h", "nothing"]
    assert "never" in second and second[-4:] == ["none", "up", "at", "03:00"]


def test_enough_water_is_bought_in_quarts_too() -> None:
    for litres in range(1, 30):
        quarts = float(render(Volume(litres), F).split()[0])
        assert litres - 0.12 < quarts * 0.946353 < litres + 0.5


def test_degrees_of_the_trade_go_by_fives_and_limits_do_not() -> None:
    assert render(band(70.0, 80.0, fives=True), F) == "160-175 F" and render(band(70.0, 80.0), F) == "158-176 F"
    assert render(band(107.2, 121.1, fives=True), F) == "225-250 F"
    assert render(Temperature(130.0, fives=True), F) == "265 F" and render(Temperature(130.0, fives=True), C) == "130 C"
    assert (
        render(lists.done_at("packer", 0.0), F) == "203-206 F" and render(lists.done_at("packer", 0.0), C) == "95-97 C"
    )


def test_a_refusal_is_in_the_units_of_its_reader() -> None:
    with pytest.raises(BadPlan) as wrong:
        asked(raw=-3.0)
    assert render(wrong.value.said, F) == "The raw mass of -6.6 lb is out of range; give 11 oz-176 lb by --raw."
    assert str(wrong.value) == "The raw mass of -3.0 kg is out of range; give 300 g-80.0 kg by --raw."


def test_shares() -> None:
    assert percent(0.955) == "96 %" and percent(0.955, 1) == "95.5 %" and percent(1.0) == "100 %"
