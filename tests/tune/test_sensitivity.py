"""Margins of known loops, and beside python-control."""

from __future__ import annotations

from typing import Any

import control
import numpy as np
import pytest
from hearth.core import Settings, law
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from tuyere.tune.sensitivity import SAMPLES, Answer, delay_margin, gains, law_at, margins, sensitivity

STEP_S = 4.0


def lag(gain: float, tau: float, delay: float, hours: float = 6.0) -> Answer:
    """First order with a dead time."""
    at = np.arange(1, int(hours * 3600.0 / STEP_S) + 1) * STEP_S
    return Answer(STEP_S, np.where(at > delay, gain * (1.0 - np.exp(-(at - delay) / tau)), 0.0))


def board(gain: int, reset: int, lead: int) -> Settings:
    """Settings with these gains."""
    made: Any = Settings()
    made.gain, made.reset, made.lead = gain, reset, lead
    return made


def peer(gain: float, tau: float, delay: float, settings: Any) -> Any:
    """The same loop for python-control: a dead time as a Pade approximation of the 8th order."""
    late = control.tf(*control.pade(delay + 1.0, 8))
    s = control.tf("s")
    smooth = 1.0 / (1.0 + settings.filter / 1000.0 * s)
    brake = settings.lead * s / (1.0 + law.SLOPE_MS / 1000.0 * s)
    pid = settings.gain / 1e4 * smooth * (1.0 + 1.0 / (settings.reset * s) + brake)
    return gain / (tau * s + 1.0) * late * pid


@pytest.mark.parametrize(
    ("gain", "tau", "delay", "board_gain", "reset", "lead"),
    [
        (300.0, 3000.0, 60.0, 350, 1500, 90),
        (800.0, 3600.0, 120.0, 200, 1500, 90),
        (250.0, 1200.0, 40.0, 500, 900, 0),
        (600.0, 9000.0, 200.0, 400, 3000, 200),
    ],
)
def test_as_python_control_finds_them(
    gain: float, tau: float, delay: float, board_gain: int, reset: int, lead: int
) -> None:
    settings = board(board_gain, reset, lead)
    found = margins(lag(gain, tau, delay, 12.0).at(), settings)
    loop = peer(gain, tau, delay, settings)
    assert found.ms == pytest.approx(control.system_norm(control.feedback(1, loop), p="inf"), rel=0.02)
    _, phases, _, _, crossings, _ = control.stability_margins(loop, returnall=True)
    assert found.delay_s == pytest.approx(np.min(np.radians(phases) / crossings), rel=0.04)


@hypothesis_settings(max_examples=60)
@given(st.floats(50.0, 3000.0), st.floats(300.0, 10000.0), st.floats(10.0, 300.0), st.integers(10, 3000))
def test_a_loop_is_called_unstable_just_where_python_control_says_so(
    gain: float, tau: float, delay: float, board_gain: int
) -> None:
    settings = board(board_gain, 1500, 90)
    loop = lag(gain, tau, delay, 12.0).at() * law_at(board_gain, 1500, 90, 2000)
    if 0.97 < np.min(np.abs(1.0 + loop)) * 20.0 < 1.03 or np.min(np.abs(1.0 + loop)) < 0.05:
        return  # on the edge the two may differ by rounding
    poles = control.feedback(peer(gain, tau, delay, settings), 1).poles()
    assert bool(np.isfinite(sensitivity(loop))) == bool(np.all(poles.real < 0.0))


def test_by_the_margin_of_delay_it_does_become_unstable() -> None:
    settings = board(350, 1500, 90)
    found = margins(lag(800.0, 3600.0, 60.0).at(), settings)
    assert np.isfinite(found.ms) and found.delay_s > 20.0
    below = margins(lag(800.0, 3600.0, 60.0 + 0.97 * found.delay_s).at(), settings)
    above = margins(lag(800.0, 3600.0, 60.0 + 1.05 * found.delay_s).at(), settings)
    assert np.isfinite(below.ms) and not np.isfinite(above.ms)


def test_skogestads_own_table_has_these_margins() -> None:
    """SIMC-PI of 1/(s+1) with a dead time of 1: Ms 1.59 (Skogestad, J. Process Control 13, 2003, table 1)."""
    w = np.geomspace(0.01, 50.0, 4000)
    loop = np.exp(-1j * w) / (1j * w + 1.0) * 0.5 * (1.0 + 1.0 / (1j * w))
    assert float(sensitivity(loop)) == pytest.approx(1.59, abs=0.01)
    assert delay_margin(loop, w) == pytest.approx(2.14, abs=0.01)  # 61.4 degrees at 0.5 rad/s


def test_at_the_highest_gain_the_ms_is_just_below_what_is_asked() -> None:
    rows = np.array([lag(800.0, 3600.0, 120.0).at(), lag(400.0, 2400.0, 40.0).at()])
    found = gains(rows, 1500.0, 90.0, 2000.0, 1.6)
    assert found is not None
    low, high = found
    assert 1.45 < sensitivity(rows * law_at(high, 1500.0, 90.0, 2000.0)).max() <= 1.6
    assert sensitivity(rows * law_at(1.15 * high, 1500.0, 90.0, 2000.0)).max() > 1.6
    assert low < 100.0
    assert len(SAMPLES) == rows.shape[1]
    late = np.array([lag(3000.0, 600.0, 300.0).at()])
    assert gains(late, 60.0, 0.0, 2000.0, 1.1) is None


def test_the_delay_is_that_of_the_tangent() -> None:
    late = lag(300.0, 3000.0, 60.0)
    assert late.delay_s == pytest.approx(60.0, abs=5.0)
    assert late.steepest == pytest.approx(300.0 / 3000.0, rel=0.02)
    assert Answer(2.0, np.zeros(1000)).delay_s == float("inf")
