"""Orders by name: each that the board knows, and what is said of one that does not fit."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hearth.core import fields
from hearth.link import messages
from tuyere.cook.errors import Refusal
from tuyere.engine.engine import Engine
from tuyere.engine.night.orders import phases_of


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    made = Engine(tmp_path, port="none", forecaster=())
    yield made
    made.logbook.close()


def refused(engine: Engine, name: str, **arguments: object) -> str:
    with pytest.raises(Refusal) as said:
        asyncio.run(engine.orders.order(name, **arguments))
    return str(said.value)


def test_every_order_of_the_link_is_known(engine: Engine) -> None:
    for name in messages.ORDERS:
        try:
            asyncio.run(engine.orders.order(name))
        except Refusal as said:
            assert "there is no order" not in str(said), name


@pytest.mark.parametrize("name", ["keep_names", "send", "tell", "__init__", "lost", ""])
def test_no_method_of_ours_is_an_order(engine: Engine, name: str) -> None:
    assert refused(engine, name).startswith(f"there is no order {name!r}; the orders are start, stop, band")


def test_what_does_not_fit_is_named(engine: Engine) -> None:
    assert refused(engine, "band", low=110.0) == "the order band missing a required argument: 'high'"
    assert "unexpected keyword argument 'speed'" in refused(engine, "stop", speed=1)


def test_a_mistake_of_ours_is_not_the_callers(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tuyere.engine.night.orders.band", lambda: "")  # called with two numbers: a TypeError inside
    with pytest.raises(TypeError):
        asyncio.run(engine.orders.order("band", low=110.0, high=120.0))


TAKEN = {  # order -> what it takes, in a person's units, and what one of the board's units is in those
    "band": {"low": 100, "high": 100},
    "fan": {"share": fields.FULL, "seconds": 1},
    "opened": {"seconds": 1},
    "experiment": {"share": fields.FULL, "seconds": 1},
}


def edges(name: str, argument: str, hand_most: int) -> tuple[float, float, float]:
    """Lowest and highest of an order's argument and one step, in a person's units."""
    of_link = {"share": {"fan": "demand", "experiment": "step"}.get(name, "")}.get(argument, argument)
    low, high = next((low, high) for known, low, high in messages.ORDERS[name][1] if known == of_link)
    scale = TAKEN[name][argument]
    return low / scale, (hand_most if (name, argument) == ("fan", "seconds") else high) / scale, 1.0 / scale


@pytest.mark.parametrize(("name", "argument"), [(name, one) for name, taken in TAKEN.items() for one in taken])
def test_an_order_takes_its_edges_and_names_them_beyond(engine: Engine, name: str, argument: str) -> None:
    usual = {"band": {"low": 40.0, "high": 220.0}, "opened": {}}.get(name, {"share": 0.0, "seconds": 0})
    low, high, step = edges(name, argument, engine.orders._board.readout.hand_most)
    takes = engine.orders._takes[name]
    for value in (low, low + step, high - step, high):
        assert takes(**{**usual, argument: value}), value
    for value in (low - step, high + step):
        words = refused(engine, name, **{**usual, argument: value})
        assert words == (f"{argument}: {value!r} is out of range or no number; give a number from {low:g} to {high:g}")


def test_a_band_one_step_too_narrow_is_refused(engine: Engine) -> None:
    assert engine.orders._takes["band"](low=110.0, high=112.0)
    assert refused(engine, "band", low=110.0, high=111.99)


def test_every_setting_takes_its_edges_and_names_them_beyond(engine: Engine) -> None:
    takes = engine.orders._takes["settings"]
    for name, _, scale, low, high, *_ in fields.SETTINGS:
        for value in (low, low + 1, high - 1, high):
            assert takes(values={name: value / scale})[0] == {"values": {name: value}}
        for value in (low - 1, high + 1):
            words = refused(engine, "settings", values={name: value / scale})
            assert words.startswith(f"{name}: ") and f"give a number from {low / scale:g} to {high / scale:g}" in words


def test_a_row_a_probe_and_a_phase_too_many_are_refused(engine: Engine) -> None:
    assert engine.orders._takes["phase"](row=8) and engine.orders._takes["witness"](probe=3)
    assert refused(engine, "phase", row=9) == "a programme has at most 8 phases"
    assert (
        refused(engine, "witness", probe=4) == "the board has three meat probes: 1 to 3, or 0 for none beside the pit's"
    )
    phase = {"name": "a", "low": 121.0, "high": 135.0, "end_kind": fields.END_AFTER, "end_value": 60}
    assert len(phases_of([phase] * 8)) == 8
    assert refused(engine, "programme", phases=[phase] * 9) == "a programme is a list of 1 to 8 phases"
    assert refused(engine, "programme", phases=[]) == "a programme is a list of 1 to 8 phases"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"low": 40.0}, ""), ({"low": 39.99}, "from 40 to 200"), ({"low": 133.0}, ""), ({"low": 133.01}, "2 C wide"),
        ({"high": 220.0}, ""), ({"high": 220.01}, "from 45 to 220"),
        ({"end_kind": 4, "end_value": 95}, ""), ({"end_kind": 5, "end_value": 95}, "end_kind 0 to 4"),
        ({"end_value": 1}, ""), ({"end_value": 0.99}, "from 1 to 5760"),
        ({"end_value": 5760}, ""), ({"end_value": 5761}, "from 1 to 5760"),
    ],
)  # fmt: skip
def test_a_phase_takes_its_edges_and_names_them_beyond(change: dict[str, Any], words: str) -> None:
    phase = {"name": "a", "low": 121.0, "high": 135.0, "end_kind": fields.END_AFTER, "end_value": 60, **change}
    if not words:
        assert phases_of([phase])
        return
    with pytest.raises(Refusal, match=words):
        phases_of([phase])
