"""From the pit to the table by the engine's methods: a piece is divided, serving is moved, the cook is summed up."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from rendered import words
from tuyere.cook.errors import Refusal
from tuyere.engine.engine import Engine
from tuyere.engine.outlook.question import known
from tuyere.forecast.exchange import Columns
from tuyere.logbook.rows import Forecast

HOUR = 3_600_000


@pytest.fixture
def engine(tmp_path: Path) -> Any:
    """An engine that is not running, with a cook of one piece that is in the pit."""
    made = Engine(tmp_path, port="none", wall=lambda: 1_778_000_000_000, forecaster=())
    made.board.link.board = "board-1"
    made.logbook.pieces.add(made.cooking.begin("Saturday"), name="Alder", cut="packer", mass=6.0, probe=1)
    made.cooking.refresh()
    made.notes.write("meat_on", 0)
    yield made
    made.logbook.close()


def call(engine: Engine, method: str, **given: Any) -> Any:
    one: Callable[..., Awaitable[Any]] = engine.desk.methods()[method]

    async def scene() -> Any:
        return await one(**given)

    return asyncio.run(scene())


def refused(engine: Engine, method: str, **given: Any) -> str:
    with pytest.raises(Refusal) as error:
        call(engine, method, **given)
    return words(error.value.said)


def test_a_point_is_divided_off_with_the_past_of_the_whole(engine: Engine) -> None:
    [whole] = engine.cooking.pieces
    engine.notes.write("wrapped", 0, whole.id, text="paper")
    engine.notes.write("hold_oven", 0, whole.id, 75.0)
    number = call(engine, "piece_divide", id=whole.id, name=" Point ", mass=2.0, cut="point")["id"]
    whole, part = engine.cooking.pieces
    assert (part.id, part.name, part.cut, part.mass, part.probe) == (number, "Point", "point", 2.0, 0)
    assert (part.place, part.held, part.oven, part.wrap, part.on_at) == ("oven", True, 75.0, "paper", whole.on_at)
    assert whole.mass == pytest.approx(4.0) and whole.probe == 1
    engine.notes.write("in_fridge", 0, number)
    whole, part = engine.cooking.pieces
    assert (whole.place, part.place) == ("oven", "fridge")  # from now on each has its own place


def test_what_cannot_be_divided_so_is_refused_and_nothing_is_written(engine: Engine) -> None:
    [whole] = engine.cooking.pieces
    before = len(engine.cooking.events)
    assert "needs a name" in refused(engine, "piece_divide", id=whole.id, name="  ")
    assert "mass" in refused(engine, "piece_divide", id=whole.id, name="Point", mass=7.0)  # more than the whole
    assert "no cut 'neck'" in refused(engine, "piece_divide", id=whole.id, name="Point", cut="neck")
    assert "no piece 99" in refused(engine, "piece_divide", id=99, name="Point")
    assert len(engine.cooking.pieces) == 1 and len(engine.cooking.events) == before


def test_serving_is_moved_and_taken_away_and_never_lies_in_the_past(engine: Engine) -> None:
    at = engine.now() + 9 * HOUR
    call(engine, "serve_change", at=at)
    shot = call(engine, "snapshot")
    assert shot.serving.at == at and shot.serving.done_by == at - 70 * 60_000  # a packer: 10 min to carve, 60 of rest
    assert [event.kind for event in engine.cooking.events if event.kind == "serving_moved"] == ["serving_moved"]
    assert "has passed: give a later time" in refused(engine, "serve_change", at=engine.now() - HOUR)
    call(engine, "serve_change", at=0)
    assert call(engine, "snapshot").serving.at == 0


def test_the_time_that_is_asked_of_the_forecast_is_that_of_what_is_served(engine: Engine) -> None:
    """A chilled piece is carved at no certain time: the others may rest until later."""
    number = engine.logbook.pieces.add(engine.cooking.cook.id, name="Bramble", cut="beef ribs", on_at=engine.now())
    at = engine.now() + 9 * HOUR

    def by() -> int:
        engine.cooking.refresh()
        cooking = engine.cooking
        return known(engine.now(), cooking.cook, cooking.pieces, [], Columns(), None, cooking.kitchen, at).done_by

    both = by()
    for place in ("cooling", "fridge", "carved", "thrown"):
        engine.logbook.pieces.change(number, place=place)
        assert by() == at - 70 * 60_000 > both


def test_the_cook_is_summed_up_while_it_runs_and_after_it_ended(engine: Engine) -> None:
    [whole] = engine.cooking.pieces
    cook, now = engine.cooking.cook.id, engine.now()
    times = {"early": now, "likely": now + HOUR, "late": now + 2 * HOUR}
    shown = Forecast(cook=cook, piece=whole.id, kind="finish", at=now, **times)
    engine.logbook.forecasts.keep([shown])
    engine.notes.write("carved", 0, whole.id, 3.3)
    lines = [words(line) for line in call(engine, "summary")["lines"]]
    assert lines[0].startswith("Saturday: ") and "A yield of 55 %: 3.3 kg of 6.0 kg" in lines
    engine.logbook.cooks.end(cook, now)
    engine.cooking.refresh()
    assert [words(line) for line in call(engine, "summary")["lines"]] == lines


def test_without_a_cook_there_is_nothing_to_sum_up(tmp_path: Path) -> None:
    made = Engine(tmp_path, port="none", wall=lambda: 1_778_000_000_000, forecaster=())
    try:
        assert "no cook was open" in refused(made, "summary")
        assert "no cook is open" in refused(made, "serve_change", at=1_778_000_900_000)
    finally:
        made.logbook.close()
