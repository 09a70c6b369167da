"""Trip limits from a cooker's identified answer to its fan; without one the stated defaults of the field table stand.

Each limit is a multiple of what this cooker does by itself, so that an insulated one that answers late is not called
dead, and a light one that answers quickly is not called on fire. The multiples are judged, no source; the bench counts
the trips in ordinary cooks, of which there must be none (`tests/bench/hold.py`).
"""

from __future__ import annotations

from hearth.core import fields

from tuyere.sim.step_response import Lag
from tuyere.text import BadValue, Number, Span, text

OUT_DELAYS = 6.0  # delays: a full fan that lifts nothing for longer has no fire
LEAK_DELAYS = 3.0  # delays: a pit above its band that does not fall without the fan for longer gets air past it
RUN_DELAYS = 1.5  # what a pit goes on rising when the fan stops is over after one delay
FLARE_TIMES = 1.5  # times as fast as a full fan ever lifts this pit: no charcoal does that
BOUNDS = {"out_after": (900, 3600), "leak_after": (300, 1800), "run_after": (180, 900), "flare": (30, 150)}
"""Lowest and highest that is derived, in units of the field table: one bad step test must not switch a guard off."""


def limits(model: Lag) -> dict[str, int]:
    """Settings that follow from a lag model (gain C for the whole fan, lag s, delay s), in units of the field table.

    ValueError when the model is none: a gain, lag or delay that is not more than 0.
    """
    if not (model.gain > 0.0 and model.lag > 0.0 and model.delay > 0.0):
        raise BadValue(
            text(
                "A gain of {gain}, a lag of {lag} and a delay of {delay} are no answer of a pit to its fan: all must "
                "be more than 0. Repeat the step test.",
                gain=Span(model.gain), lag=Number(model.lag, unit="s"), delay=Number(model.delay, unit="s"),
            )
        )  # fmt: skip
    found = {
        "out_after": OUT_DELAYS * model.delay,
        "leak_after": LEAK_DELAYS * model.delay,
        "run_after": RUN_DELAYS * model.delay,
        "flare": FLARE_TIMES * model.gain / model.lag * 100.0,  # the first slope of the whole fan, 0.01 C/s
    }
    kept = {}
    for name, value in found.items():
        low, high = BOUNDS[name]
        kept[name] = round(min(high, max(low, value)))
    return kept


def defaults() -> dict[str, int]:
    """The same limits for a cooker that nobody has identified."""
    return {row[0]: row[5] for row in fields.SETTINGS if row[0] in BOUNDS}
