"""Measures of a page for those who read F: beside each metric one that of the US, degrees of the trade by fives."""

from __future__ import annotations

import pytest
from tuyere.measures import both, percent
from tuyere.plan.page import degrees


@pytest.mark.parametrize(
    ("metric", "shown"),
    [
        ("18.1 kg raw", "18.1 kg (40 lb) raw"),
        ("3 pieces of 1.6 kg", "3 pieces of 1.6 kg (3.5 lb)"),
        ("Fat down to 5 mm; weigh", "Fat down to 5 mm (1/4 in); weigh"),
        ("5 cm from the meat", "5 cm (2 in) from the meat"),
        ("6 m butcher paper, 60 cm wide", "6 m (20 ft) butcher paper, 60 cm (24 in) wide"),
        ("4 l water", "4 l (4.5 qt) water"),
        ("in halves, 0.5 l", "in halves, 0.5 l (0.5 qt)"),
        ("180 g each", "180 g (6.3 oz) each"),
        ("12 g of each a kg", "12 g of each a kg (0.2 oz a lb)"),
        ("vent 10 min, 3 lids, 2 h", "vent 10 min, 3 lids, 2 h"),
        ("under 4.5 kg (10 lb)", "under 4.5 kg (10 lb)"),  # says it itself
    ],
)
def test_a_metric_measure_has_that_of_the_us_beside_it(metric: str, shown: str) -> None:
    assert both(metric, "F") == shown == both(shown, "f")
    assert both(metric, "C") == metric


def test_enough_water_is_bought_in_quarts_too() -> None:
    for litres in range(1, 30):
        quarts = float(both(f"{litres} l", "F").split("(")[1].split()[0])
        assert litres - 0.12 < quarts * 0.946353 < litres + 0.5


@pytest.mark.parametrize(
    ("celsius", "shown"),
    [
        ("phase `hold` (70-80 C)", "phase `hold` (160-175 F)"),
        ("into the low oven at 70 C", "into the low oven at 160 F"),
        ("in an oven at 130 C", "in an oven at 265 F"),
        ("95-97 C (203-206 F)", "203-206 F"),
        ("60 C (140 F), below 5 C, 57 C", "140 F, below 41 F, 135 F"),  # a limit keeps its degrees
        ("from 57 to 21 C", "from 135 to 70 F"),
        ("at once at 70 C", "at once at 158 F"),
    ],
)
def test_degrees_of_the_trade_go_by_fives_and_limits_do_not(celsius: str, shown: str) -> None:
    assert degrees(celsius, "F") == shown and degrees(celsius, "C") == celsius


def test_shares() -> None:
    assert percent(0.955) == "96 %" and percent(0.955, 1) == "95.5 %" and percent(1.0) == "100 %"
