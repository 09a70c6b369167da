"""When a reading stands still enough to be believed, and what offset it asks for. Board units: 0.01 C."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from hearth.core import fields

from tuyere.text import Said, Span, Temperature, text

NEEDS = 16  # cycles of 2 s that a reading must stand still
SPREAD = 50  # between the highest and the lowest of them: the noise of a good probe is less (fitted to the twin's)
DRIFT = 10  # between the means of their two halves: a probe still on its way drifts (one of 20 s is then 0.1 C off)
# Two points of a couple of class 2 may be off by 2.5 C each (IEC 60584-1, below 333 C), and weather moves the boiling
# point by some 1 C: errors further apart than this are a wrong slope, not an offset.
SLOPE = 350
CHANNELS = ("pit", "meat_1", "meat_2", "meat_3", "ambient")
MOST = max(row[4] for row in fields.SETTINGS if row[0].endswith("_offset"))


class Settling:
    """Readings of one channel, newest last; None is one that cannot be used."""

    def __init__(self) -> None:
        self._last: deque[int | None] = deque(maxlen=NEEDS)

    def add(self, reading: int | None) -> None:
        """Another cycle."""
        self._last.append(reading)

    @property
    def mean(self) -> float | None:
        """Their mean once they are steady, else None."""
        found = [reading for reading in self._last if reading is not None]
        if len(found) < NEEDS or max(found) - min(found) > SPREAD:
            return None
        half = NEEDS // 2
        if abs(sum(found[:half]) - sum(found[half:])) > DRIFT * half:
            return None
        return sum(found) / NEEDS


class Verdict(NamedTuple):
    """What became of a probe: `offset` is its new setting, None if it is not to be changed."""

    offset: int | None
    words: Said


def judge(channel: str, errors: dict[str, float]) -> Verdict:
    """What the errors of a channel ("ice", "boiling" -> reading less truth without any offset, 0.01 C) ask for.

    The point nearer to where it is used decides: boiling water for pit and meat, ice for the air.
    """

    if len(errors) == 2 and abs(errors["boiling"] - errors["ice"]) > SLOPE:
        cure = "converter (31856 or 31855) and its leads" if channel == "pit" else "probe_ohms, probe_beta, series_ohms"
        return Verdict(
            None,
            text(
                "bad probe or wrong kind: {ice} in ice and {boiling} in boiling water, which no offset corrects; look "
                "at the settings {cure}, else take another probe",
                ice=difference(errors["ice"]),
                boiling=difference(errors["boiling"]),
                cure=cure,
            ),
        )
    point = "ice" if (channel == "ambient" and "ice" in errors) or "boiling" not in errors else "boiling"
    offset = -round(errors[point])
    if abs(offset) > MOST:
        return Verdict(
            None,
            text(
                "bad probe: it would need an offset of {needs}, and at most {most} is allowed; see that it was all in "
                "the water, else take another probe",
                needs=difference(offset), most=Span(MOST / 100.0, 2),
            ),
        )  # fmt: skip
    where = "boiling water" if point == "boiling" else point
    return Verdict(offset, text("offset {offset} by {where}", offset=difference(offset), where=where))


def missing(cycles: Iterable[dict[str, int]]) -> list[str]:
    """Channels that gave no reading in any of these cycles."""
    seen = list(cycles)
    return [name for name in CHANNELS if all(reading(cycle, name) is None for cycle in seen)]


def reading(cycle: dict[str, int], channel: str) -> int | None:
    """The channel's reading in a cycle (`Bench.cycle`), None if it cannot be used."""
    if channel == "pit":
        return None if cycle["now.faults"] or cycle["out.bad"] else cycle["now.pit"]
    value = cycle[f"now.{channel}"]
    return None if value <= fields.ABSENT else value


def temperature(hundredths: float) -> Temperature:
    """A temperature in board units, '98.20 C' or '208.8 F'."""
    return Temperature(hundredths / 100.0, 2)


def difference(hundredths: float) -> Span:
    """A difference in board units, '+0.43 C' or '+0.77 F'."""
    return Span(hundredths / 100.0, 2, sign=True)
