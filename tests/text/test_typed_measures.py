"""Measures as a person types them: what is rendered can be typed again, in either reader's units."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from tuyere import measures
from tuyere.measures import ALTITUDE, MASS, PORTION, TEMPERATURE, THICKNESS, Quantity, read
from tuyere.text import Reader, render

INCH = 0.0254  # m; exact by definition (NIST SP 811, B.8)
QUANTITIES = [MASS, PORTION, THICKNESS, ALTITUDE, TEMPERATURE]


@pytest.mark.parametrize(
    ("typed", "quantity", "units", "value"),
    [
        ("8 lb", MASS, "C", 3.6287),
        ("8lbs", MASS, "C", 3.6287),
        ("8", MASS, "F", 3.6287),
        ("8", MASS, "C", 8.0),
        ("6 oz", PORTION, "C", 0.1701),
        ("6", PORTION, "F", 0.1701),
        ("180", PORTION, "C", 0.18),
        ("3000 ft", ALTITUDE, "C", 914.4),
        ("3,000ft", ALTITUDE, "C", 914.4),
        ("3000", ALTITUDE, "F", 914.4),
        ("2 in", THICKNESS, "C", 0.0508),
        ('2"', THICKNESS, "C", 0.0508),
        ("5 cm", THICKNESS, "F", 0.05),
        ("5,5", THICKNESS, "C", 0.055),
        ("1/4 in", THICKNESS, "C", 0.00635),
        ("1/4", THICKNESS, "F", 0.00635),
        ("1 1/2 in", THICKNESS, "C", 0.0381),
        ('1-1/2"', THICKNESS, "C", 0.0381),
        ("1\u00bd in", THICKNESS, "C", 0.0381),
        ("\u00be", THICKNESS, "F", 0.01905),
        ("8 1/2 lb", MASS, "C", 3.8555),
        ("250 F", TEMPERATURE, "C", 121.1111),
        ("250\u00b0F", TEMPERATURE, "C", 121.1111),
        ("121 c", TEMPERATURE, "F", 121.0),
        ("-10", TEMPERATURE, "F", -23.3333),
    ],
)
def test_a_unit_that_is_typed_counts_and_a_bare_number_is_the_readers(
    typed: str, quantity: Quantity, units: str, value: float
) -> None:
    assert read(typed, quantity, units) == pytest.approx(value, abs=1e-4)


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "lb",
        "8 stone",
        "8 lb 4",
        "--8",
        "nan",
        "inf",
        "1e9 kg",
        "2000000",
        "8 ft",
        "1/0",
        "1/",
        "1 5/4",
        "1/2/3",
        "1/100",
        "1/2 1/2",
    ],
)
def test_what_is_no_mass_is_none(typed: str) -> None:
    assert read(typed, MASS, "F") is None


@given(st.sampled_from(QUANTITIES), st.sampled_from("FC"), st.sampled_from("FC"), st.floats(0.02, 500.0))
@example(ALTITUDE, "F", "F", 1.0)  # was shown as "3 ft", a tenth off
@example(THICKNESS, "C", "F", 0.99609375)  # was shown as "100 cm", and 1 m as "1 m"
def test_what_is_rendered_can_be_typed_again(quantity: Quantity, shown: str, reads: str, value: float) -> None:
    """To what the words show: a tenth of a kg, two figures, a whole degree, a quarter of an inch."""
    words = render(quantity.said(value), Reader(shown))
    again = read(words, quantity, reads)
    assert again is not None, words
    assert render(quantity.said(again), Reader(shown)) == words
    near = 0.126 * INCH if "/" in words else 0.56 if quantity is TEMPERATURE else 0.0005
    assert again == pytest.approx(value, rel=0.051, abs=near)


@given(st.floats(0.13, 1.12), st.sampled_from("FC"))
def test_a_thin_piece_is_shown_in_quarters_of_an_inch_and_typed_so(inches: float, reads: str) -> None:
    words = render(THICKNESS.said(inches * INCH), Reader("F"))
    again = read(words, THICKNESS, reads)
    assert again == pytest.approx(inches * INCH, abs=0.126 * INCH)
    assert render(THICKNESS.said(again), Reader("F")) == words


@given(
    st.integers(0, 40), st.integers(1, 63), st.sampled_from((2, 4, 8, 16, 32, 64)), st.sampled_from((" ", "  ", "-"))
)
def test_a_common_fraction_of_an_inch_is_what_it_says(whole: int, over: int, under: int, between: str) -> None:
    over = 1 + (over - 1) % (under - 1)
    words = f"{whole}{between}{over}/{under} in" if whole else f"{over}/{under} in"
    assert read(words, THICKNESS, "C") == pytest.approx((whole + over / under) * INCH, abs=1e-6)


@given(st.sampled_from(QUANTITIES), st.sampled_from("FC"), st.floats(0.001, 900.0))
def test_what_a_form_shows_is_near_and_is_read_back(quantity: Quantity, units: str, value: float) -> None:
    again = read(measures.shown(value, quantity, units), quantity, units)
    near = 0.6 if quantity is TEMPERATURE else 0.0
    assert again == pytest.approx(value, rel=0.006, abs=near)


@given(st.text(max_size=12), st.sampled_from(QUANTITIES), st.sampled_from("FC"))
def test_whatever_is_typed_is_a_finite_number_or_none(typed: str, quantity: Quantity, units: str) -> None:
    found = read(typed, quantity, units)
    assert found is None or abs(found) < 1e6
