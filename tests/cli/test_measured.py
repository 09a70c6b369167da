"""Options that take a metric number, or one of the US with its unit."""

from __future__ import annotations

import click
import pytest
from tuyere.cli.options import CELSIUS, CENTIMETRES, KILOS, Measured


@pytest.mark.parametrize(
    ("kind", "typed", "metric"),
    [
        (KILOS, "18", 18.0), (KILOS, "18kg", 18.0), (KILOS, "40 LB", 18.14), (CENTIMETRES, "2 in", 5.08),
        (CENTIMETRES, "4.5", 4.5), (CELSIUS, "-5", -5.0), (CELSIUS, "-5 c", -5.0), (CELSIUS, "40 F", 4.44),
    ],
)  # fmt: skip
def test_a_bare_number_is_metric_and_a_unit_counts(kind: Measured, typed: str, metric: float) -> None:
    assert kind.convert(typed, None, None) == pytest.approx(metric, abs=0.01)


@pytest.mark.parametrize("typed", ["many", "4 in", "4 kg lb", "", "nan", "1e9 kg"])
def test_what_is_no_mass_is_answered_with_what_to_give(typed: str) -> None:
    with pytest.raises(click.BadParameter, match="give a mass in kg, or such as '40 lb'"):
        KILOS.convert(typed, None, None)
