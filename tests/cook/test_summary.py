"""A cook summed up: times, yield, band, forecasts against what came, and what the next plan takes from it."""

from __future__ import annotations

from typing import Any

from tuyere.cook import yields
from tuyere.cook.snapshot import Cook, Event, Piece
from tuyere.cook.summary import done_at, summary
from tuyere.logbook.rows import Forecast
from tuyere.text import Reader, rendered

MINUTE = 60_000
HOUR = 60 * MINUTE
ON = 1_700_000_000_000 // HOUR * HOUR
END = ON + 14 * HOUR


def cook(**more: Any) -> Cook:
    return Cook(**{"id": 1, "name": "Saturday", "started": ON - HOUR, "ended": END, "meat_on": ON, **more})


def piece(**more: Any) -> Piece:
    return Piece(**{"id": 1, "name": "Alder", "cut": "packer", "mass": 6.0, "on_at": ON, "place": "carved", **more})


def event(kind: str, hour: float, piece: int = 1, value: float | None = None, text: str = "") -> Event:
    at = ON + round(hour * HOUR)
    return Event(id=round(hour * 100), at=at, noted=at, kind=kind, piece=piece, value=value, text=text)


EVENTS = [
    event("meat_on", 0, 0),
    event("opened_told", 4, 0),
    event("opened_felt", 6, 0),
    event("fuel_added", 5, 0, 1.5),
    event("wrapped", 6.5, text="paper"),
    event("tender", 9.5, text="not yet"),
    event("tender", 10, text="tender"),
    event("out", 10.2),
    event("hand_reading", 9.9, value=96.0),
    event("hand_reading", 12, value=68.0),
    event("carved", 13, value=3.3),
]


def said(pieces: list[Piece], events: list[Event], forecasts: list[Forecast] | None = None, **more: Any) -> list[str]:
    return rendered(summary(cook(**more), pieces, events, forecasts or [], END), Reader("F", now=END))


def forecast(before: float, off: float, wide: float = 1.0) -> Forecast:
    """Shown `before` h before it was done, `off` h too early; its range is `wide` h on each side."""
    at, likely = ON + round((10 - before) * HOUR), ON + round((10 - off) * HOUR)
    around = round(wide * HOUR)
    return Forecast(
        cook=1, piece=1, kind="finish", at=at, early=likely - around, likely=likely, late=likely + around
    )  # fmt: skip


def test_times_yield_band_and_the_lowest_reading() -> None:
    lines = said([piece()], EVENTS, in_band=0.9712)
    assert lines[1:4] == [
        "In the band for 97.1 % of the time since the meat went on",
        "Opened 2 times",
        "Charcoal added: 3.3 lb",
    ]
    assert lines[4] == "Alder:"
    told = [step.partition(" ")[0] for step in lines[5].split(", ")]
    assert told == ["on", "wrapped", "tender", "out", "carved"]
    assert "Done after 10 h" in lines  # when it was felt tender; "not yet" does not count
    assert "A yield of 55 %: 7.3 lb of 13 lb" in lines
    assert "Lowest reading while it was held: 154 F" in lines  # 68 C; the one at 96 C was in the heat


def test_each_forecast_stands_beside_what_came() -> None:
    lines = said([piece()], EVENTS, [forecast(8, 0.5), forecast(4, -2), forecast(2, 0), forecast(1.7, 5)])
    eight, four, two = (line for line in lines if "ahead, the forecast said" in line)
    assert "At 00:00, 8 h ahead" in eight and "it was 08:00, 30 min later, inside the range" in eight
    assert ", 4 h ahead" in four and "2 h earlier, outside the range" in four
    assert ", 2 h ahead" in two and "as forecast, inside" in two  # the one nearest to two hours ahead


def test_what_the_next_plan_takes_is_what_was_noted() -> None:
    assert said([piece()], [*EVENTS, event("shade", 6, value=6.0)])[-1] == (
        "The next plan counts with its yield, its pace and its bark"
    )
    assert said([piece(mass=None)], EVENTS)[-1].startswith("Nothing can be learned")
    assert said([piece()], EVENTS, simulated=True)[-1] == "A simulated cook teaches nothing"
    assert "It never went on" in said([piece(on_at=0)], [])


def test_a_divided_piece_yields_as_the_whole_that_went_on() -> None:
    """Flat and point were weighed apart as they were carved; the point weighed 2 kg as it was cut off."""
    pieces = [piece(mass=4.0), piece(id=2, name="Point", mass=2.0, part_of=1, parted_at=ON + 11 * HOUR)]
    both = [*EVENTS, event("carved", 13, 2, 1.1)]
    assert [one.id for one in yields.wholes(pieces)] == [1] and yields.raw(yields.parts(pieces[0], pieces)) == 6.0
    lines = said(pieces, both)
    assert [line for line in lines if "yield of" in line] == ["A yield of 73 % with its parts: 9.7 lb of 13 lb"]
    assert not [line for line in said(pieces, EVENTS) if "yield of" in line]  # the point was not weighed


def test_done_is_the_first_note_that_says_so() -> None:
    assert done_at([event("tender", 9, text="not yet"), event("hold_oven", 9.5)], ON) == ON + round(9.5 * HOUR)
    assert done_at([event("meat_on", 0), event("hand_reading", 5)], ON) == 0
