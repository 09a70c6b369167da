"""A cycle record's numbers as the cycle that a screen shows: the same for a board that speaks and for a past night."""

from __future__ import annotations

from collections.abc import Callable

from hearth.core import Out, fields

from tuyere import codes
from tuyere.cook.snapshot import Cycle

MEATS = ("meat_1", "meat_2", "meat_3")
RESUMES = ("", "waiting", "refused", "resumed")
DEFAULT = Out()  # the band of a board that does not tell it
# (part, field) of the numbers that `cycle` asks for
WANTED = (
    *(("now", name) for name in ("pit", "faults", *MEATS, "ambient", "supply", "turns", "fan_fault", "board", "order")),
    *(("out", name) for name in (
        "fan", "state", "reason", "trip", "low", "high", "aim", "pull", "owed", "brake", "need", "phase", "lost",
        "resume", "bad", "answer", "share", "lesson",
    )),
)  # fmt: skip


def cycle(get: Callable[[str, int], int], utc: int, sequence: int) -> Cycle:
    """`get("out.fan", default)` gives a number of the record in board units; utc: ms."""
    return Cycle(
        at=utc,
        sequence=sequence,
        pit=None if fault_bits(get) else get("now.pit", 0) / 100,
        meats=[_reading(get(f"now.{meat}", fields.ABSENT)) for meat in MEATS],
        ambient=_reading(get("now.ambient", fields.ABSENT)),
        fan=get("out.fan", 0) / fields.FULL,
        state=word(codes.STATES, get("out.state", 0)),
        reason=word(codes.REASONS, get("out.reason", 0)),
        trip=word(codes.TRIPS, get("out.trip", 0)),
        low=get("out.low", DEFAULT.low) / 100,
        high=get("out.high", DEFAULT.high) / 100,
        aim=get("out.aim", 0) / 100,
        pull=get("out.pull", 0) / fields.FULL,
        owed=get("out.owed", 0) / fields.FULL,
        brake=get("out.brake", 0) / fields.FULL,
        need=get("out.need", 0) / fields.FULL,
        share=get("out.share", fields.WHOLE) / fields.WHOLE,
        lesson=word(codes.LESSONS, get("out.lesson", 0)),
        phase=get("out.phase", 0),
        supply=get("now.supply", 0) / 1000 or None,
        turns=None if get("now.turns", 0) < 0 else get("now.turns", 0),
        fan_fault=get("now.fan_fault", 0),
        board=get("now.board", 0),
        lost=get("out.lost", 0),
        resume=word(RESUMES, get("out.resume", 0)),
        witness=word(codes.WITNESSES, get("out.witness", 0)),
        beside=get("out.beside", 0),
        differs=get("out.differs", 0) / 100,
    )


def fault_bits(get: Callable[[str, int], int]) -> int:
    """What is wrong with the pit's reading, in bits; 0 if nothing is."""
    return get("now.faults", 0) | get("out.bad", 0)


def _reading(value: int) -> float | None:
    return None if value <= fields.ABSENT else value / 100


def word(names: tuple[str, ...], code: int) -> str:
    """The name of a code; a code that a later board has is said as a number."""
    return names[code] if 0 <= code < len(names) else f"code {code}"
