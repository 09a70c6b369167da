"""What the forecast and its rivals said of a night, and how good that was.

A rival gives minutes; its range is made of its own errors: the 10 and 90 % of (truth - said) over the nights of its
generator at the same hours to go, on the very nights that judge it, which flatters it. The interval score of an 80 %
range is its width plus ten times what the truth lies outside (Gneiting and Raftery 2007); less is better.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from tuyere.forecast import exchange
from tuyere.forecast import shade as bark
from tuyere.forecast.finish import Finish
from tuyere.text import CELSIUS, Reader, rendered

from strangers.meats.nights import GENERATORS, MINUTE, PACES, START, Night, draw

LEADS_H = (8.0, 4.0, 2.0, 1.0)
MINUTES_A_POUND, POUND = 67.0, 0.45359  # common practice at this band, 60-75, no source
MOST_MIN = 1440.0  # a rival says no more than a day
TOO_EARLY_MIN = 30
SEAT_MIN = (60, 120, 180)  # minutes after the piece went on at which `--seat` asks where its probe is
MISPLACED_C = 3.0  # a probe that leads or lags the middle by so much is misplaced
# What names the place in each sentence of `tuyere.forecast.explained.probe`.
PLACES = {"air": "falls and rises", "fat": "lags behind", "surface": "runs far ahead", "face": "from a face"}


@dataclass
class Said:
    """One question: minutes from now to early, likely, late as said, what two rivals said, and the truth; all minutes.

    probe: what was said of the probe's seat. lead_c: how far the probe then led the piece's middle. cpu: s."""

    generator: str
    pace: str
    seed: int
    lead: float
    early: float
    likely: float
    late: float
    line: float
    pounds: float
    truth: float
    probe: str
    lead_c: float
    cpu: float


def line(known: exchange.Known, target: float) -> float:
    """Minutes to go by a straight line through the last hour's readings, at most a day."""
    c = [value for value in known.columns.meats[0][-60:] if value is not None]
    if len(c) < 10:
        return MOST_MIN
    slope = float(np.polyfit(np.arange(len(c)), c, 1)[0])
    return min(MOST_MIN, max(0.0, (target - c[-1]) / slope)) if slope > 0.0 else MOST_MIN


def ask(night: Night, leads: Sequence[float] = LEADS_H) -> list[Said]:
    """All questions of one night."""
    found, finish = [], Finish(choices=False)
    for lead in leads:
        now = night.finish - round(lead * 60) * MINUTE
        gone = (now - START) // MINUTE
        if gone < TOO_EARLY_MIN:
            continue
        known = night.known(now)
        began = time.process_time()
        ahead = finish.ahead(known, {1: bark.window(known, known.pieces[0])[0]})[0]
        cpu = time.process_time() - began
        range_ = [MOST_MIN, MOST_MIN, math.inf]
        if ahead.finish is not None:
            range_ = [(t - now) / MINUTE for t in (ahead.finish.early, ahead.finish.likely, ahead.finish.late)]
        pounds = max(0.0, (night.piece.mass or 0.0) / POUND * MINUTES_A_POUND - gone)
        said = " ".join(rendered([ahead.probe_words], Reader(CELSIUS)))
        here = int(gone) - 1
        found.append(Said(
            night.generator, night.pace, night.seed, lead, *range_, line(known, night.piece.target), pounds,
            lead * 60.0, said, float(night.meat[here] - night.middle[here]), cpu,
        ))  # fmt: skip
    return found


def work(job: tuple[str, str, int]) -> list[Said]:
    """All questions of the night of a job: generator, pace, seed."""
    night = draw(*job)
    return ask(night) if night is not None else []


@dataclass
class Seat:
    """A night's first hours. places: the places of PLACES that were named; lead_c: the largest lead (or lag) of the
    probe over the middle at the times of asking, C."""

    generator: str
    pace: str
    seed: int
    places: list[str]
    lead_c: float

    @property
    def misplaced(self) -> bool:
        """Whether there was something to say."""
        return self.lead_c >= MISPLACED_C


def place(words: str) -> str:
    """The place that a sentence names; "" for no sentence. ValueError for one that PLACES does not know."""
    if not words:
        return ""
    for name, sign in PLACES.items():
        if sign in words:
            return name
    raise ValueError(f"No place of {', '.join(PLACES)} is in {words!r}; add its sign to PLACES.")


def seat(job: tuple[str, str, int]) -> Seat | None:
    """What was said of the probe's place at SEAT_MIN in the night of a job: generator, pace, seed. None: the night
    never reached its target."""
    night = draw(*job)
    if night is None:
        return None
    finish, found, leads = Finish(choices=False), [], [0.0]
    for gone in SEAT_MIN:
        ahead = finish.ahead(night.known(START + gone * MINUTE))[0]
        found.append(place(" ".join(rendered([ahead.probe_words], Reader(CELSIUS)))))
        lead = abs(float(night.meat[gone - 1] - night.middle[gone - 1]))
        leads.append(0.0 if math.isnan(lead) else lead)  # not in yet
    return Seat(*job, sorted({one for one in found if one}), max(leads))


def score(early: float, late: float, truth: float) -> float:
    """Interval score of an 80 % range, minutes; an endless range counts to a day."""
    late = min(late, MOST_MIN)
    return late - early + 10.0 * (max(0.0, early - truth) + max(0.0, truth - late))


def empirical(some: Sequence[Said], rival: str, of: Sequence[Said]) -> list[float]:
    """Interval scores of a rival's own ranges over `some`, from its errors over `of` (same generator and lead)."""
    low, high = np.quantile([one.truth - getattr(one, rival) for one in of], (0.1, 0.9))
    return [score(max(0.0, getattr(one, rival) + low), getattr(one, rival) + high, one.truth) for one in some]


def figures(said: Sequence[Said], generator: str, pace: str, lead: float) -> dict[str, Any] | None:
    """The figures of one cell; pace "" for all. None where nothing was asked."""
    all_of = [one for one in said if one.generator == generator and one.lead == lead]
    some = [one for one in all_of if pace in ("", one.pace)]
    if not some:
        return None
    errors = [abs(one.likely - one.truth) for one in some]
    return {
        "nights": len(some),
        "inside": float(np.mean([one.early <= one.truth <= one.late for one in some])),
        "width": float(np.median([min(one.late, MOST_MIN) - one.early for one in some])),
        "error": float(np.median(errors)),
        "bias": float(np.median([one.likely - one.truth for one in some])),
        "line": float(np.median([abs(one.line - one.truth) for one in some])),
        "pounds": float(np.median([abs(one.pounds - one.truth) for one in some])),
        "score": float(np.mean([score(one.early, one.late, one.truth) for one in some])),
        "line_score": float(np.mean(empirical(some, "line", all_of))),
        "pounds_score": float(np.mean(empirical(some, "pounds", all_of))),
    }


def cells(said: Sequence[Said]) -> list[tuple[str, str, float, dict[str, Any]]]:
    """Every cell that has nights: generator, pace ("" all), hours to go, figures."""
    found = []
    for generator in GENERATORS:
        for pace in (*PACES, ""):
            for lead in LEADS_H:
                one = figures(said, generator, pace, lead)
                if one is not None:
                    found.append((generator, pace, lead, one))
    return found
