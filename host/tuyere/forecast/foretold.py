"""How far the carried rise has missed tonight: what it would have said a while ago of now, beside what the probe reads.

Where the rise has foretold tonight's meat well so far, its range for the next hours is narrow; where it has not, the
range is wide. A wrap between then and now is the cook's doing and no miss of the rise, so the rise knows of it.
"""

from __future__ import annotations

import msgspec
import numpy as np

from tuyere.forecast import exchange, mixed, rise, update
from tuyere.forecast.ensemble import NEVER_S, Wrap
from tuyere.forecast.piece_night import MINUTE, Course
from tuyere.meat import piece_slots as at

BACK_H = (0.5, 1.0)  # how long ago it is asked
LEAST_C = 0.3  # added to both rises, for a reading is no surer


def miss(known: exchange.Known, one: exchange.KnownPiece, night: Course, count: int, seed: int) -> float:
    """Root mean square over BACK_H of the logarithm of what the probe rose by over what its middle member would have
    said; `mixed.UNKNOWN` where nothing could have been said. count: members."""
    seen = rise.windows(known, one, night)
    if not seen:
        return mixed.UNKNOWN
    found = []
    for hours in BACK_H:
        then = round(known.now - 60.0 * hours * MINUTE)
        if then < one.on_at + rise.EARLY_MIN * MINUTE or one.place != "pit":
            continue
        was = _until(known, then)
        before = Course.of(was, one, update.seats(was, one))
        wrap = Wrap(at.BARE, np.full(count, NEVER_S))
        if night.wrapped:
            wrap = Wrap(night.wraps[-1][1], np.full(count, night.wraps[-1][0]))
        carried = rise.ahead(was, one, before, wrap, seed, hours)
        if carried is not None:
            here = rise.windows(was, one, before)[0].c
            said = float(mixed.quantiles(carried.probes[:, -1:], carried.weights)[1, 0])
            rose = max(seen[0].c - here, 0.0) + LEAST_C
            found.append(np.log(rose / (max(said - here, 0.0) + LEAST_C)))
    return min(float(np.sqrt(np.mean(np.square(found)))), mixed.MOST) if found else mixed.UNKNOWN


def _until(known: exchange.Known, then: int) -> exchange.Known:
    """What was known `then`, UTC ms."""
    old = known.columns
    n = sum(1 for when in old.at if when <= then)
    columns = exchange.Columns(
        old.at[:n], old.pit[:n], old.fan[:n], old.low[:n], old.high[:n], old.ambient[:n], [c[:n] for c in old.meats]
    )
    return msgspec.structs.replace(known, now=then, columns=columns)
