"""A night for the forecasts: one piece of the meat's own model in a plain pit, read once a minute."""

from __future__ import annotations

from functools import cache

import msgspec
from tuyere.forecast import exchange
from tuyere.forecast.ensemble import NEVER_S
from tuyere.meat import cooking, piece_slots
from tuyere.meat.piece import PieceOfMeat, lay
from tuyere.meat.water import PRESSURE
from tuyere.sim import compiled

ON = 1_800_000_000_000
MINUTE = 60_000
MEMBERS = 40
TARGET = 95.0


@cache
def probes(off_m: float = 0.0, wrap_min: int = 360, pit: float = 128.0) -> tuple[float, ...]:
    """What the probe of a 5.5 kg packer reads each minute for 16 h, in a pit of moist air."""
    m, q = lay([PieceOfMeat(mass_kg=5.5, flat_m=0.05, probe_off_m=off_m)])
    rows = 16 * 60
    trace = [0.0] * rows
    series = []
    for i in range(rows):
        series += [pit, pit - 6.0, 0.008 + 0.15 * min(1.0, i / 60.0)]
    plan = [0.0, wrap_min * 60.0, piece_slots.PAPER, NEVER_S, 0.0]
    if compiled.available():
        import numpy as np

        out = np.zeros(rows)
        compiled.meat_kernel().cook(
            np.array(m), np.array(q), 1, np.array(series), rows, 60.0, np.array(plan), PRESSURE, 1, out
        )
        return tuple(out.tolist())
    cooking.cook(m, q, 1, series, rows, 60.0, plan, PRESSURE, 1, trace)
    return tuple(trace)


def there(readings: tuple[float, ...]) -> int:
    """Minutes until they reach TARGET."""
    return next(i for i, c in enumerate(readings) if c >= TARGET)


def known(
    minutes: int,
    readings: tuple[float, ...] = (),
    *,
    pit: float = 128.0,
    piece: exchange.KnownPiece | None = None,
    seed: int = 1,
) -> exchange.Known:
    """So many minutes after it went on; notes later than that are not known yet."""
    one = piece or exchange.KnownPiece(
        id=1, name="Ada", mass=5.5, flat=0.05, start=5.0, target=TARGET, probe=1, on_at=ON
    )
    now = ON + minutes * MINUTE
    one = msgspec.structs.replace(one, notes=[note for note in one.notes if note.at <= now])
    at = [ON + (i + 1) * MINUTE for i in range(minutes)]
    first: list[float | None] = [readings[i] if i < len(readings) else None for i in range(minutes)]
    columns = exchange.Columns(
        at,
        [pit] * minutes,
        [0.2] * minutes,
        [121.1] * minutes,
        [135.0] * minutes,
        [15.0] * minutes,
        meats=[first, [], []],
    )
    return exchange.Known(now=now, pieces=[one], columns=columns, meat_on=ON, seed=seed)


def wrapped(minute: int = 360, wrap: str = "paper") -> exchange.Note:
    """The note of a wrap."""
    return exchange.Note(ON + minute * MINUTE, "wrapped", text=wrap)


def ada(*notes: exchange.Note, **changed: object) -> exchange.KnownPiece:
    """The piece of `known`, with notes."""
    usual = exchange.KnownPiece(
        id=1, name="Ada", mass=5.5, flat=0.05, start=5.0, target=TARGET, probe=1, on_at=ON, notes=list(notes)
    )
    return msgspec.structs.replace(usual, **changed)
