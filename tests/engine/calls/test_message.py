"""The words of a call: what, since when, what first, pit and meat now, in at most 240 characters."""

from __future__ import annotations

from datetime import UTC

import pytest
from calls_kit import MINUTE, NIGHT
from hypothesis import given
from hypothesis import strategies as st
from tuyere.cook import faults as guards
from tuyere.engine.calls.message import AGAIN, CALL, MOST, OVER, REPEAT, WARNING, Cause, Now, compose, trial

NOW = Now(NIGHT, 205.5, [("Alder", 71.0), ("Bramble", None)])
GREASE = guards.TRIPS["flare"]
CAUSE = Cause(GREASE.what, NIGHT - 20 * MINUTE, GREASE.checks[0])


def said(kind: str = CALL, **more: object) -> str:
    return "\n".join(compose(kind, CAUSE, NOW, units="F", zone=UTC, **more))  # type: ignore[arg-type]


def test_a_call_says_what_since_when_what_first_and_how_it_stands() -> None:
    assert said() == (
        "Tripped: grease is burning\n"
        "Since 17:26. First: Fan off. Close every vent. Do not open. No water. "
        "Pit 402 F, Alder 160 F, Bramble not read."
    )


def test_each_kind_says_what_it_is() -> None:
    assert said(REPEAT, count=3).startswith("Still: tripped: grease is burning\nSince 17:26, call 3.")
    assert said(AGAIN, count=4).startswith("Still: ")
    over = said(OVER)
    assert over.startswith("Over: tripped") and "has gone by itself" in over and "First" not in over
    assert said(practice=True).startswith("PRACTICE: Tripped")
    assert "2 more causes." in said(more=2)


def test_units_are_those_of_the_reader() -> None:
    assert "Pit 206 C, Alder 71 C" in "\n".join(compose(CALL, CAUSE, NOW, units="C", zone=UTC))


def test_without_a_reading_it_says_so() -> None:
    assert "No reading of pit and meat now." in compose(CALL, CAUSE, Now(NIGHT, linked=False), units="F")[1]
    assert "Pit not read" in compose(CALL, CAUSE, Now(NIGHT), units="F")[1]


@pytest.mark.parametrize("practice", [True, False])
def test_a_test_brings_its_digits_twice(practice: bool) -> None:
    title, body = trial("0417", practice=practice)
    assert title.endswith("0417") and "0417" in body and len(title) + 1 + len(body) <= MOST
    assert title.startswith("PRACTICE") == practice


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), max_size=400)


@given(
    WORDS, WORDS, st.lists(st.tuples(WORDS, st.none() | st.floats(-50, 500)), max_size=6),
    st.none() | st.floats(0, 500),
    st.sampled_from([CALL, REPEAT, AGAIN, OVER, WARNING]), st.integers(0, 40), st.booleans(), st.sampled_from("FC"),
)  # fmt: skip
def test_whatever_it_says_it_fits(
    what: str, check: str, pieces: list[tuple[str, float | None]], pit: float | None, kind: str, more: int,
    practice: bool, units: str,
) -> None:  # fmt: skip
    title, body = compose(
        kind, Cause(what, NIGHT, check), Now(NIGHT, pit, pieces), units=units, more=more, practice=practice,
        keys="Answer on the screen: awake, acknowledge.",
    )  # fmt: skip
    assert len(title) + 1 + len(body) <= MOST
    assert ("Pit" in body or "No reading" in body) and title.startswith("PRACTICE") == practice
