"""Typed text: the same sentence for readers of F and of C, as data and as words."""

from __future__ import annotations

from datetime import UTC

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tuyere.text import (
    Clock,
    Count,
    Duration,
    Length,
    Listed,
    Mass,
    Number,
    Range,
    Rate,
    Reader,
    Said,
    Share,
    Span,
    Temperature,
    Text,
    Value,
    Volume,
    band,
    render,
    sentences,
    text,
)

F, C = Reader("F", UTC), Reader("C", UTC)
NOON = 1_800_014_400_000  # Fri 15 Jan 2027, 12:00 UTC
HOUR = 3_600_000


@pytest.mark.parametrize(
    ("value", "fahrenheit", "celsius"),
    [
        (Temperature(128.2), "263 F", "128 C"),
        (Temperature(-0.3), "31 F", "0 C"),  # never "-0"
        (Temperature(None), "- F", "- C"),
        (Temperature(95.55, 1), "204 F", "95.5 C"),
        (Span(2.0), "3.6 F", "2 C"),
        (Span(10.0), "18 F", "10 C"),
        (Range(Span(2.0), Span(3.0)), "4-5 F", "2-3 C"),
        (band(121.1, 135.0), "250-275 F", "121-135 C"),
        (Range(Temperature(-20.0), Temperature(-10.0)), "-4 to 14 F", "-20 to -10 C"),
        (Range(Temperature(60.0), Temperature(60.2)), "140 F", "60 C"),
        (Rate(2.4), "4.3 F an hour", "2.4 C an hour"),
        (Mass(5.5), "12 lb", "5.5 kg"),
        (Mass(0.18), "6.3 oz", "180 g"),
        (Range(Mass(0.4), Mass(2.0)), "14 oz-4.4 lb", "400 g-2.0 kg"),
        (Volume(4.0), "4.5 qt", "4 l"),
        (Length(0.05), "2 in", "5 cm"),
        (Length(0.005), "1/4 in", "5 mm"),
        (Length(1500.0), "4,921 ft", "1,500 m"),
        (Share(0.224), "22 %", "22 %"),
        (Number(11.62, 1, "V"), "11.6 V", "11.6 V"),
        (Count(1, "piece"), "1 piece", "1 piece"),
        (Count(1200, "batch", "batches"), "1,200 batches", "1,200 batches"),
        (Duration(45), "45 s", "45 s"),
        (Duration(80 * 60), "1 h 20 min", "1 h 20 min"),
        (Clock(NOON), "12:00", "12:00"),
        (Range(Clock(NOON), Clock(NOON + HOUR)), "12:00-13:00", "12:00-13:00"),
        (Listed(("a", "b", Mass(1.0)), ", ", " and "), "a, b and 2.2 lb", "a, b and 1.0 kg"),
        (Listed(("a", "b"), ", ", " and "), "a and b", "a and b"),
        (Listed(("a",), ", ", " and "), "a", "a"),
        (Listed((), ", ", " and "), "", ""),
    ],
)  # fmt: skip
def test_a_value_in_both_systems(value: Value, fahrenheit: str, celsius: str) -> None:
    assert render(value, F) == fahrenheit
    assert render(value, C) == celsius


def test_a_clock_names_its_day_where_another_could_be_meant() -> None:
    reader = Reader("C", UTC, NOON)
    assert render(Clock(NOON + 11 * HOUR), reader) == "23:00"
    assert render(Clock(NOON + 13 * HOUR), reader) == "Sat 01:00"
    assert render(Range(Clock(NOON + 11 * HOUR), Clock(NOON + 13 * HOUR)), reader) == "Fri 23:00-Sat 01:00"
    assert render(Clock(NOON, day=True), C) == "Fri 12:00"


def test_a_sentence_in_a_sentence() -> None:
    inner = text("above {limit}", limit=Temperature(60.0))
    said = text("Hold {name} {how}.", name="Big {flat}", how=inner)
    assert render(said, F) == "Hold Big {flat} above 140 F."  # what a value brings along is not filled in again
    assert render(sentences(["One.", said, ""]), C) == "One. Hold Big {flat} above 60 C."
    assert sentences([]) == "" and sentences(["One."]) == "One."


@pytest.mark.parametrize(
    ("template", "values"), [("{pit}", {}), ("no name", {"pit": 1}), ("{a} {b}", {"a": 1, "c": 2})]
)
def test_names_and_values_must_agree(template: str, values: dict[str, Value]) -> None:
    with pytest.raises(ValueError, match="wants"):
        text(template, **values)


def test_format_codes_are_not_understood() -> None:
    assert (
        render(
            text(
                "{0.x} {a!r} {}",
            ),
            C,
        )
        == "{0.x} {a!r} {}"
    )


finite = st.floats(-1e6, 1e6)
measures = st.one_of(
    *(st.builds(kind, finite) for kind in (Temperature, Span, Rate, Mass, Volume, Length, Share, Number)),
    st.builds(Duration, st.floats(0, 1e7)),
    st.builds(Clock, st.integers(0, 4_000_000_000_000)),
)
values = st.recursive(
    measures | st.text() | st.integers(-(2**53), 2**53) | st.builds(Count, st.integers(0, 10**9), st.just("piece")),
    lambda inner: (
        st.builds(Listed, st.lists(inner, max_size=3).map(tuple))
        | st.builds(lambda a, b: text("{a} and {b}", a=a, b=b), inner, inner)
    ),
    max_leaves=8,
)


@given(values)
def test_text_survives_the_wire(value: Value) -> None:
    said = text("{value}", value=value)
    back = msgspec.json.decode(msgspec.json.encode(said), type=Text)
    for reader in (F, C):
        assert render(back, reader) == render(said, reader) == render(value, reader)


@given(st.lists(st.text() | st.builds(lambda c: text("{c}", c=Temperature(c)), finite)))
def test_a_list_of_sentences_keeps_its_kinds(said: list[Said]) -> None:
    back = msgspec.json.decode(msgspec.json.encode(said), type=list[Said])
    assert [render(one, F) for one in back] == [render(one, F) for one in said]
