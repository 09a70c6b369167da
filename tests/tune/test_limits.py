"""Trip limits from a step test: within the table, in proportion, and without a trip in an ordinary cook."""

from __future__ import annotations

import pytest
from hearth.core import Settings, fields
from hypothesis import given
from hypothesis import strategies as st
from tuyere.sim import compiled, fleet
from tuyere.sim.step_response import Lag, identify
from tuyere.tune.limits import BOUNDS, defaults, limits

positive = st.floats(1e-3, 1e7)


@given(positive, positive, positive)
def test_any_answer_gives_settings_that_the_board_takes(gain: float, lag: float, delay: float) -> None:
    settings = Settings()
    for name, value in limits(Lag(gain, lag, delay)).items():
        setattr(settings, name, value)
    assert not settings.wrong()


def test_a_slow_cooker_is_given_time_and_a_quick_one_a_steeper_flare() -> None:
    quick, slow = limits(Lag(1000.0, 1500.0, 150.0)), limits(Lag(3000.0, 12000.0, 450.0))
    assert all(quick[name] < slow[name] for name in ("out_after", "leak_after", "run_after"))
    assert quick["flare"] > slow["flare"]
    assert quick == {"out_after": 900, "leak_after": 450, "run_after": 225, "flare": 100}


def test_defaults_are_those_of_a_cooker_with_a_delay_of_some_minutes() -> None:
    stated = defaults()
    assert set(stated) == set(BOUNDS)
    assert all(BOUNDS[name][0] <= value <= BOUNDS[name][1] for name, value in stated.items())
    assert stated["run_after"] == 300 and fields.SETTINGS


@pytest.mark.parametrize("model", [Lag(0.0, 1.0, 1.0), Lag(100.0, -5.0, 60.0), Lag(100.0, 100.0, 0.0)])
def test_what_is_no_answer_is_refused(model: Lag) -> None:
    with pytest.raises(ValueError, match="Repeat the step test"):
        limits(model)


@pytest.mark.skipif(not compiled.available(), reason="whole cooks and step tests want numba")
@pytest.mark.parametrize("cooker", ["upright", "drum", "cabinet"])
def test_an_ordinary_cook_trips_nothing_and_a_leak_still_does(cooker: str) -> None:
    own = Settings()
    for name, value in limits(identify(cooker, 2)).items():
        setattr(own, name, value)
    assert fleet.cook(fleet.Case(cooker, 2, settings=own)).trips == 0
    leak = fleet.cook(fleet.Case(cooker, 2, hardship="leak", settings=own))
    assert leak.fan_still_min is not None
