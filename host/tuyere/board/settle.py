"""When a reading stands still enough to be believed, and what offset it asks for. Board units: 0.01 C."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from hearth.core import fields

NEEDS = 16  # cycles of 2 s that a reading must stand still
SPREAD = 50  # between the highest and the lowest of them: the noise of a good probe is less (fitted to the twin's)
DRIFT = 10  # between the means of their two halves: a probe still on its way drifts (one of 20 s is then 0.1 C off)
# Two points of a couple of class 2 may be off by 2.5 C each (IEC 60584-1, below 333 C), and weather moves the boiling
# point by some 1 C: errors further apart than this are no offset but another slope.
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
        """Their mean once they stand still, else None."""
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
    words: str


def judge(channel: str, errors: dict[str, float], unit: str = "C") -> Verdict:
    """What the errors of a channel ("ice", "boiling" -> reading less truth without any offset, 0.01 C) ask for.

    The point nearer to where it is used decides: boiling water for pit and meat, ice for the air.
    """

    def by(point: str) -> str:
        return difference(errors[point], unit)

    if len(errors) == 2 and abs(errors["boiling"] - errors["ice"]) > SLOPE:
        cure = "converter (31856 or 31855) and its leads" if channel == "pit" else "probe_ohms, probe_beta, series_ohms"
        return Verdict(
            None,
            f"bad probe or wrong kind: {by('ice')} in ice and {by('boiling')} in boiling water, which "
            f"no offset mends; look at the settings {cure}, else take another probe",
        )
    point = "ice" if (channel == "ambient" and "ice" in errors) or "boiling" not in errors else "boiling"
    offset = -round(errors[point])
    if abs(offset) > MOST:
        needs, most = difference(offset, unit), difference(MOST, unit)
        return Verdict(
            None,
            f"bad probe: it would need an offset of {needs}, and at most {most} is allowed; see that it was all in the "
            "water, else take another probe",
        )
    return Verdict(offset, f"offset {difference(offset, unit)} by {point}{' water' if point == 'boiling' else ''}")


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


def degrees(hundredths: float, unit: str) -> str:
    """A temperature, '98.20 C' or '208.76 F'."""
    return f"{hundredths / 100 * (1.8 if unit == 'F' else 1) + (32 if unit == 'F' else 0):.2f} {unit}"


def difference(hundredths: float, unit: str) -> str:
    """'+0.43 C' or '+0.77 F'."""
    return f"{hundredths / 100 * (1.8 if unit == 'F' else 1):+.2f} {unit}"
