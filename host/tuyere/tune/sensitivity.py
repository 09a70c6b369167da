"""How far the law is from swinging on a cooker: maximum sensitivity, and the delay it may be wrong by.

The pit's answer to a small step of its fan is all that is needed of it. Maximum sensitivity Ms = max |1 / (1 + PC)| and
its usual bounds, 1.4 to 2.0: Astrom and Hagglund, Advanced PID Control, 2006, section 4.6. The delay margin is the
phase margin over its frequency (ibid., section 4.6). The law as a transfer function is that of `hearth.core.law`:
`brake` is a derivative through the filters of reading and slope, and a period of 2 s counts as half a period of delay.
Checked against python-control in `tests/tune/test_sensitivity.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from hearth.core import Settings, law

from tuyere.tune.night import PERIOD_S

Array = Any  # a numpy array
MOST_MS = 1.6
GAINS = np.geomspace(20.0, 5000.0, 56)  # tried, in units of the field table: each a tenth above the last
SHARES = 1e4  # a gain of this is the whole fan for each C
SAMPLES = np.geomspace(1e-3, 0.6, 320)  # rad/s: a swing of 105 min, and one of 10 s
TAIL_S = 3600.0  # a slope that stands at the end of an answer dies away so slowly: a fire grows for hours
EARLY_S = 1800.0  # the steepest rise is looked for this long
STEEP_S = 60.0


@dataclass(frozen=True)
class Answer:
    """A pit's answer to a step of its fan: the rise of the probe, C for the whole fan, every `step_s` from the step on.

    The first number belongs to `step_s` after the step. The slope at the end dies away from there on.
    """

    step_s: float
    rise: Array

    def at(self, frequencies: Array = SAMPLES) -> Array:
        """P(jw), C for the whole fan, complex: the transform of the slope, which is the answer to an impulse."""
        slope = np.diff(np.concatenate([[0.0], self.rise]))
        middle = (np.arange(len(slope)) + 0.5) * self.step_s
        last = max(1, int(600.0 / self.step_s))
        end = float(np.mean(slope[-last:])) / self.step_s
        s = 1j * frequencies
        tail = end * np.exp(-s * len(slope) * self.step_s) / (s + 1.0 / TAIL_S)
        return np.exp(-np.outer(s, middle)) @ slope + tail

    @property
    def steepest(self) -> float:
        """The steepest rise of the first half hour, C a second for the whole fan."""
        return self._steep()[1]

    @property
    def delay_s(self) -> float:
        """Where the tangent at the steepest rise meets the start; inf for a pit that does not answer."""
        at, slope = self._steep()
        if slope <= 0.0:
            return float("inf")
        return max(0.0, (at + 1) * self.step_s - float(self.rise[at]) / slope)

    def _steep(self) -> tuple[int, float]:
        wide = max(1, int(STEEP_S / self.step_s / 2.0))
        early = self.rise[: int(EARLY_S / self.step_s)]
        slope = (early[2 * wide :] - early[: -2 * wide]) / (2.0 * wide * self.step_s)
        at = int(np.argmax(slope))
        return at + wide, float(slope[at])


@dataclass(frozen=True)
class Margins:
    """ms: maximum sensitivity, inf where the loop is unstable; delay_s: how much later the pit may answer."""

    ms: float
    delay_s: float


def law_at(gain: Any, reset: Any, lead: Any, filter_ms: Any, frequencies: Array = SAMPLES) -> Array:
    """C(jw) of the law, share of the fan for each C; settings in units of the field table, also as columns."""
    s = 1j * frequencies
    smooth = 1.0 / (1.0 + filter_ms / 1000.0 * s)
    brake = lead * s / (1.0 + law.SLOPE_MS / 1000.0 * s)
    return gain / SHARES * smooth * (1.0 + 1.0 / (reset * s) + brake) * np.exp(-s * PERIOD_S / 2.0)


def margins(answer: Array, settings: Settings, frequencies: Array = SAMPLES) -> Margins:
    """Of the loop of P(jw) and the law with these settings."""
    one: Any = settings
    loop = answer * law_at(one.gain, one.reset, one.lead, one.filter, frequencies)
    return Margins(float(sensitivity(loop)), delay_margin(loop, frequencies))


def sensitivity(loop: Array) -> Array:
    """Ms of loops PC(jw), one a row; inf where a loop is unstable.

    Nyquist: at the lowest frequency the loop is large and lags by 90 to 270 degrees (a fire that feeds itself lags more
    than a half there, and less at quicker swings); unless 1 + PC goes round 0 from there, it ends at an angle of 0.
    """
    back = 1.0 + loop
    turned = np.unwrap(np.angle(back), axis=-1)
    ends = turned[..., -1] - np.where(turned[..., 0] > np.pi / 2.0, 2.0 * np.pi, 0.0)
    return np.where(np.abs(ends) < 1.0, 1.0 / np.min(np.abs(back), axis=-1), np.inf)


def delay_margin(loop: Array, frequencies: Array) -> float:
    """Least phase margin over its frequency, s; inf where the loop's size never passes 1."""
    size = np.abs(loop)
    crosses = np.flatnonzero((size[:-1] >= 1.0) & (size[1:] < 1.0))
    found = float("inf")
    for i in crosses:
        share = np.log(size[i]) / (np.log(size[i]) - np.log(size[i + 1]))
        w = frequencies[i] * (frequencies[i + 1] / frequencies[i]) ** share
        angle = np.angle(loop[i]) + share * np.angle(loop[i + 1] / loop[i])
        found = min(found, float(((angle + np.pi) % (2.0 * np.pi)) / w))
    return found


def worst(answers: Array, settings: Settings, frequencies: Array = SAMPLES) -> Margins:
    """The worst of several pits (rows of P(jw)): the greatest Ms and the least delay."""
    found = [margins(one, settings, frequencies) for one in answers]
    return Margins(max(one.ms for one in found), min(one.delay_s for one in found))


def gains(
    answers: Array, reset: float, lead: float, filter_ms: float, limit: float = MOST_MS
) -> tuple[float, float] | None:
    """The least and the highest gain between which no loop (rows of P(jw)) passes an Ms of `limit`, in units of the
    field table; None where there is none.

    Of several such ranges the highest: a fire that feeds itself, behind slow walls, is steady under a high gain and
    not under a low one.
    """
    unit = law_at(1.0, reset, lead, filter_ms)
    good = np.array([np.all(sensitivity(answers * unit * gain) <= limit) for gain in GAINS])
    if not good.any():
        return None
    high = int(np.flatnonzero(good)[-1])
    below = np.flatnonzero(~good[:high])
    low = int(below[-1]) + 1 if len(below) else 0
    return float(GAINS[low]), float(GAINS[high])
