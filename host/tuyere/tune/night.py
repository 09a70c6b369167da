"""One recorded night: what the fan did, what the pit's probe read, and what is known of lid, meat and air outside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from hearth.core import Settings, fields

from tuyere.logbook import Logbook
from tuyere.text import BadValue, Duration, text

Array = Any  # a numpy array of float64
PERIOD_S = fields.PERIOD_MS / 1000.0
LONGEST_S = 72 * 3600.0
SHORTEST_S = 1800.0
GAP_S = 60.0  # a reading that is older than this is none
FELT_S = 8.0  # a felt lid went up this long before the board said so: a fall of 3 C, two cycles, the probe's lag
BAND_C = (Settings().band_low / 100.0, Settings().band_high / 100.0)
COPIED = (("now", "pit"), ("now", "ambient"), *(("out", name) for name in ("state", "reason", "low", "high")))
WANTED = (
    ("head", "at"),
    *(("now", name) for name in ("pit", "faults", "ambient", "order")),
    *(("out", name) for name in ("bad", "duty", "fan", "state", "reason", "trip", "low", "high")),
)


@dataclass
class Night:
    """A night from the logbook, or from arrays of any source.

    seconds: times since the fire was lit or the record began, rising; pit_c: the pit's probe there, C (NaN: none);
    fan: what the fan was given from then on, 0..1 (the duty, not the demand, where both are known). openings: (start
    s, length s, told) of each time the lid was up. outside_c: air outside, one number or one for each of `seconds`;
    None: not known. meat_on_s: when the meat went on, None: never; meat_kg: all of it, None: not known. wind_ms: at
    the pit, None: not known. band_c: the band that was held. settings: the board's, as far as known.
    BadValue, in one sentence, for what is no night.
    """

    seconds: Array
    pit_c: Array
    fan: Array
    openings: Sequence[tuple[float, float, bool]] = ()
    outside_c: float | Array | None = None
    meat_on_s: float | None = None
    band_c: tuple[float, float] = BAND_C
    meat_kg: float | None = None
    wind_ms: float | None = None
    settings: Settings | None = None
    name: str = ""
    simulated: bool = False
    doubted: Sequence[tuple[float, float]] = field(default_factory=tuple)
    """(start s, length s) in which the reading is not to be believed: a doubted probe, a trip, a bad reading."""
    tried: Sequence[tuple[float, float]] = ()  # (start s, length s) of each experiment (`hearth.core.experiment`)

    def __post_init__(self) -> None:
        self.seconds = np.array(self.seconds, dtype=np.float64)
        self.pit_c = np.array(self.pit_c, dtype=np.float64)
        self.fan = np.array(self.fan, dtype=np.float64)
        count = len(self.seconds)
        if not count == len(self.pit_c) == len(self.fan):
            raise BadValue(
                f"A night has {count} times, {len(self.pit_c)} readings and {len(self.fan)} numbers of the fan; give "
                "one of each for every time."
            )
        if count < 2 or not np.all(np.diff(self.seconds) > 0.0):
            raise BadValue("The times of a night must rise from one to the next; sort them and leave out doubles.")
        if not SHORTEST_S <= self.length_s <= LONGEST_S:
            raise BadValue(
                text(
                    "A night of {length} cannot be used; it takes {least} to {most}.",
                    length=Duration(self.length_s), least=Duration(SHORTEST_S), most=Duration(LONGEST_S),
                )
            )  # fmt: skip
        if not np.all((self.fan >= 0.0) & (self.fan <= 1.0)):
            raise BadValue("The fan is a share from 0 to 1; divide percents by 100.")
        if np.isfinite(self.pit_c).mean() < 0.5:
            raise BadValue("More than half of this night's readings are missing; take another night.")
        if self.outside_c is not None and np.ndim(self.outside_c) > 0:
            self.outside_c = np.array(self.outside_c, dtype=np.float64)
            if len(self.outside_c) != count:
                raise BadValue("outside_c has another length than seconds; give one number, or one for every time.")
        for start, length, _ in self.openings:
            if length < 0.0:
                raise BadValue(f"The opening at {start:g} s lasts {length:g} s; a length is 0 or more.")

    @property
    def length_s(self) -> float:
        """From the first time to the last."""
        return float(self.seconds[-1] - self.seconds[0])

    @property
    def tried_s(self) -> float:
        """How long its experiments lasted together."""
        return sum(length for _, length in self.tried)

    def first(self, share: float) -> Night:
        """The first `share` of it."""
        if share >= 1.0:
            return self
        count = int(np.searchsorted(self.seconds, self.seconds[0] + share * self.length_s))
        outside: Any = self.outside_c
        if outside is not None and np.ndim(outside) > 0:
            outside = outside[:count]
        end = float(self.seconds[count - 1])
        return replace(
            self, seconds=self.seconds[:count], pit_c=self.pit_c[:count], fan=self.fan[:count], outside_c=outside,
            openings=[one for one in self.openings if one[0] < end],
            tried=[(start, min(length, end - start)) for start, length in self.tried if start < end],
        )  # fmt: skip

    @property
    def cycles(self) -> int:
        """Periods of 2 s in it."""
        return int(self.length_s / PERIOD_S)

    def fan_cycles(self) -> Array:
        """The fan of every period, 0..1: the number that stood when it began."""
        return self.fan[self._rows()]

    def pit_cycles(self) -> Array:
        """The reading of every period, C; NaN where the last one is older than a minute or not to be believed."""
        rows = self._rows()
        pit = self.pit_c[rows].copy()
        at = self.times()
        pit[at - self.seconds[rows] > GAP_S] = np.nan
        for start, length in self.doubted:
            pit[(at >= start) & (at < start + length)] = np.nan
        return pit

    def times(self) -> Array:
        """When each period begins, on the clock of `seconds`."""
        return self.seconds[0] + np.arange(self.cycles) * PERIOD_S

    def outside_cycles(self) -> Array | None:
        """Air outside in every period, C; None where it is not known."""
        if self.outside_c is None:
            return None
        if np.ndim(self.outside_c) == 0:
            return np.full(self.cycles, float(self.outside_c))
        known = np.isfinite(self.outside_c)
        if not known.any():
            return None
        return np.interp(self.times(), self.seconds[known], np.asarray(self.outside_c)[known])

    def _rows(self) -> Array:
        return np.clip(np.searchsorted(self.seconds, self.times() + 1e-6, side="right") - 1, 0, len(self.seconds) - 1)

    def in_band(self) -> float | None:
        """Share of time in band, counted as in `tuyere.score`; None while nothing counts."""
        from tuyere.score import Score

        at = ((self.times() - self.seconds[0] + PERIOD_S) * 1000.0).astype(int).tolist()
        pit = [value if np.isfinite(value) else None for value in self.pit_cycles()]
        score = Score(0)
        if self.meat_on_s is not None:
            score.meat_on(int((self.meat_on_s - self.seconds[0]) * 1000.0))
        low, high = self.band_c
        score.add(at, pit, [low] * len(at), [high] * len(at))
        return score.share


def of_cook(book: Logbook, cook: int) -> Night:
    """A cook of the logbook as a night, also one from another program. BadValue where too little of it is stored, or
    nothing of its fan; NoSuchEntry without such a cook."""
    entry = book.cooks.get(cook)
    _, runs = book.reading.picked(cook, 0, WANTED)
    columns: dict[str, list[Any]] = {
        name: [] for name in ("utc", "pit", "duty", "ambient", "state", "reason", "low", "high", "bad")
    }
    for run in runs:
        count = len(run.utc)
        columns["utc"] += run.utc
        for part, name in COPIED:
            columns[name] += list(run.columns.get((part, name), [fields.ABSENT if name == "ambient" else 0] * count))
        columns["duty"] += list(run.columns.get(("out", "duty")) or run.columns.get(("out", "fan")) or [0] * count)
        faults = run.columns.get(("now", "faults"), [0] * count)
        wrong = run.columns.get(("out", "bad"), [0] * count)
        trips = run.columns.get(("out", "trip"), [0] * count)
        columns["bad"] += [bool(a or b or c) for a, b, c in zip(faults, wrong, trips, strict=True)]
    apart = np.diff(np.sort(np.array(columns["utc"], dtype=np.int64))) / 1000.0
    length = float(np.minimum(apart, GAP_S).sum())
    if length < SHORTEST_S - PERIOD_S:
        raise BadValue(
            text(
                "Cook {cook} has {length} of records; a night to tune by takes at least {least}.",
                cook=str(cook), length=Duration(length), least=Duration(SHORTEST_S),
            )
        )  # fmt: skip
    if not any(("out", name) in run.columns for run in runs for name in ("duty", "fan")):
        raise BadValue(
            f"Cook {cook} has no record of its fan, and a cooker is known by what its fan did. If its file has a "
            "column of the fan, import it again with `--fan`."
        )
    order = np.argsort(np.array(columns["utc"], dtype=np.int64), kind="stable")
    got = {name: np.array(values)[order] for name, values in columns.items()}
    fresh = np.concatenate([[True], np.diff(got["utc"]) > 0])
    got = {name: values[fresh] for name, values in got.items()}
    seconds = (got["utc"] - got["utc"][0]) / 1000.0
    pit = got["pit"] / 100.0
    pit[got["bad"]] = np.nan
    doubted = stretches(seconds, got["reason"] == fields.PROBE_DOUBTED)
    ambient = got["ambient"] / 100.0
    ambient[got["ambient"] <= fields.ABSENT] = np.nan
    lids = [
        (start - (0.0 if told else FELT_S), length + (0.0 if told else FELT_S), told)
        for start, length, told in lids_of(seconds, got["state"], got["reason"])
    ]
    pieces = book.pieces.of(cook)
    masses = [piece.mass for piece in pieces if piece.mass]
    meat_on = (entry.meat_on - int(got["utc"][0])) / 1000.0 if entry.meat_on else None
    return Night(
        seconds, pit, got["duty"] / fields.FULL, lids,
        outside_c=ambient if np.isfinite(ambient).any() else None,
        meat_on_s=meat_on,
        band_c=_band(got, pit),
        meat_kg=sum(masses) if len(masses) == len(pieces) > 0 else None,
        settings=settings_of(book, cook),
        name=entry.name, simulated=entry.simulated, doubted=doubted,
        tried=stretches(seconds, got["reason"] == fields.EXPERIMENTING),
    )  # fmt: skip


def _band(got: dict[str, Array], pit: Array) -> tuple[float, float]:
    """The band that was held, C. A night without one held what it read in its second half: the usual width about it."""
    low, high = float(np.median(got["low"])) / 100.0, float(np.median(got["high"])) / 100.0
    late = pit[len(pit) // 2 :]
    if high > low or not np.isfinite(late).any():
        return (low, high) if high > low else BAND_C
    half = (BAND_C[1] - BAND_C[0]) / 2.0
    return float(np.nanmedian(late)) - half, float(np.nanmedian(late)) + half


def settings_of(book: Logbook, cook: int) -> Settings | None:
    """The settings in force at a cook's last state record; None where none is stored. Names of today only."""
    states = book.reading.states(cook)
    if not states:
        return None
    made = Settings()
    names = {name for name, _ in made.NAMES}
    for name, value in states[-1].settings.items():
        if name in names:
            setattr(made, name, value)
    return made if made.wrong() is None else None


def stretches(seconds: Array, flag: Array) -> list[tuple[float, float]]:
    """(start, length) of every unbroken stretch in which a flag is up."""
    edges = np.diff(np.concatenate([[0], flag.astype(np.int8), [0]]))
    begins, ends = np.flatnonzero(edges > 0), np.flatnonzero(edges < 0)
    ends = np.minimum(ends, len(seconds) - 1)
    return [(float(seconds[a]), float(seconds[b] - seconds[a])) for a, b in zip(begins, ends, strict=True)]


def lids_of(seconds: Array, state: Array, reason: Array) -> list[tuple[float, float, bool]]:
    """Openings as the board knew them: (start, length, told)."""
    found = []
    for start, length in stretches(seconds, state == fields.OPENED):
        row = int(np.searchsorted(seconds, start))
        found.append((start, length, bool(reason[row] == fields.OPENED_TOLD)))
    return found
