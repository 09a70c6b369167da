"""Orders by name: each that the board knows, and what is said of one that does not fit."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from hearth.link import messages
from tuyere.cook.errors import Refusal
from tuyere.engine.engine import Engine


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
