"""A past night as a screen would have shown it, at any moment. Read once from the logbook; nothing is decided again."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

import msgspec
from hearth.core import fields

from tuyere.cook import care, cycles, follows, from_rows, kitchen, programme, wording
from tuyere.cook import snapshot as model
from tuyere.logbook import Logbook, rows
from tuyere.logbook.reading import Picked
from tuyere.score import Score

STALE = 10_000  # ms without a record, as on the live screen
EVENTS_SHOWN = 50
EXPECTED = {  # kind of a stored forecast -> fields of a piece
    "finish": ("finish_early", "finish_likely", "finish_late"),
    "wrap": ("wrap_from", "wrap_best", "wrap_until"),
    "hold": ("", "hold_until", ""),
}


@dataclass
class RecordedNight:
    """One cook. Times are UTC ms; `first` and `last` are those of its cycles."""

    cook: rows.Cook
    trend: model.Trend
    at: list[int]  # of each cycle, rising
    where: list[tuple[int, int]]  # for each cycle, which run and which of its rows
    runs: list[Picked]
    phase_since: list[int]  # for each cycle, when it was seen to enter its phase
    states: list[tuple[int, list[model.Phase], int]]  # when a state record came, its programme, when its phase began
    events: list[model.Event]  # newest first
    alarms: list[rows.Alarm]
    pieces: list[rows.PieceRow]
    forecasts: list[rows.Forecast]
    kitchen: model.Kitchen
    missing: int
    logbook: str
    _score: Score = field(init=False)
    _scored: int = 0  # cycles in the score

    def __post_init__(self) -> None:
        self._score = Score(self.cook.started, self.cook.meat_on)

    @property
    def first(self) -> int:
        return self.at[0]

    @property
    def last(self) -> int:
        return self.at[-1]

    @property
    def marks(self) -> list[tuple[int, str]]:
        """(when, what kind) of all that happened, oldest first: events, and alarms by their level."""
        found = [(event.at, event.kind) for event in self.events]
        found += [(alarm.raised, alarm.level) for alarm in self.alarms]
        return sorted(one for one in found if self.first <= one[0] <= self.last)

    def index(self, at: int) -> int:
        """The newest cycle at that time; -1 before the first."""
        return bisect_right(self.at, at) - 1

    def cycle(self, i: int) -> tuple[model.Cycle, int]:
        """A cycle, and what was wrong with its reading, in bits."""
        which, row = self.where[i]
        run = self.runs[which]

        def get(name: str, default: int) -> int:
            part, _, word = name.partition(".")
            column = run.columns.get((part, word))
            return default if column is None else column[row]

        sequence = run.columns["head", "sequence"][row]
        return cycles.cycle(get, self.at[i], sequence), cycles.fault_bits(get)

    def part(self, after: int, at: int) -> model.Trend:
        """The columns of the cycles later than `after` up to `at`; whole from the first on where `after` is 0."""
        columns = self.trend
        a, b = bisect_right(columns.at, after), bisect_right(columns.at, at)
        cut = {
            name: getattr(columns, name)[a:b]
            for name in ("at", "pit", "fan", "low", "high", "meat_1", "meat_2", "meat_3")
        }
        return model.Trend(cook=self.cook.id, last=b, whole=after == 0, **cut)

    def snapshot(self, at: int) -> model.Snapshot:
        """All that the screen shows but the trend, as it was known at that time."""
        i = max(0, self.index(at))
        cycle, bits = self.cycle(i)
        stale = abs(at - cycle.at) > STALE
        which, _ = self.where[i]
        events = [event for event in self.events if event.at <= at]
        stood, phases, began = next((one for one in reversed(self.states) if one[0] <= at), (0, [], 0))
        since = began if began and self.phase_since[i] <= stood else self.phase_since[i]
        pieces = self._pieces(at, None if stale else cycle, events)
        fuel = next((one for one in reversed(self.forecasts) if one.kind == "fuel" and one.at <= at), None)
        on = self.cook.meat_on if 0 < self.cook.meat_on <= at else 0
        cook = model.Cook(
            id=self.cook.id, name=self.cook.name, started=self.cook.started, meat_on=on, simulated=self.cook.simulated,
            board=self.cook.board, cycles=i + 1, in_band=self._share(i),
        )  # fmt: skip
        empty = care.Care(now=at, empty=care.emptied(cook, pieces), changes=care.changes_ahead(phases, cycle))
        return model.Snapshot(
            now=at,
            link=model.Link(
                state="open",
                words="a past night",
                board=self.cook.board,
                kind="past",
                boot=self.runs[which].boot,
                recorded=i + 1,
                missing=self.missing,
            ),
            words=["No record of this time."] if stale else wording.stands(cycle, bits, empty),
            cycle=cycle,
            stale=stale,
            cook=cook,
            phases=phases,
            phase_since=since,
            pieces=pieces,
            alarms=self._alarms(at),
            events=events[:EVENTS_SHOWN],
            logbook=self.logbook,
            kitchen=self.kitchen,
            stays=False,
            fuel_early=fuel.early if fuel else 0,
            fuel_likely=fuel.likely if fuel else 0,
            fuel_late=fuel.late if fuel else 0,
        )

    def _share(self, i: int) -> float | None:
        """Of the time up to a cycle, in band."""
        if i + 1 < self._scored:
            self._score, self._scored = Score(self.cook.started, self.cook.meat_on), 0
        a, b = self._scored, i + 1
        columns = self.trend
        self._score.add(columns.at[a:b], columns.pit[a:b], columns.low[a:b], columns.high[a:b])
        self._scored = b
        return self._score.share

    def _pieces(self, at: int, cycle: model.Cycle | None, events: list[model.Event]) -> list[model.Piece]:
        """As they were: what happened later is not known yet."""
        found = []
        for row in self.pieces:
            bare = {name: value for kind in ("meat_on", "shade", "wrapped", "hand_reading", "hold_oven", "tender")
                    for name, value in follows.piece_undone(kind).items()}  # fmt: skip
            its = follows.own_events(row, self.pieces, events)
            found.append(msgspec.structs.replace(row, **{**bare, **follows.piece_by_events(row.id, its)}))
        shown = from_rows.pieces(found, cycle)
        for piece in shown:
            piece.place_since = follows.place_since(piece.id, follows.own_events(piece, shown, events))
        for one in self.forecasts:
            if one.at > at:
                break
            for piece in shown:
                if piece.id == one.piece and one.kind in EXPECTED:
                    for name, value in zip(EXPECTED[one.kind], (one.early, one.likely, one.late), strict=True):
                        if name:
                            setattr(piece, name, value)
        return shown

    def _alarms(self, at: int) -> list[model.Alarm]:
        """Those that stood."""
        stood = [
            msgspec.structs.replace(
                alarm, cleared=0, acknowledged=alarm.acknowledged if alarm.acknowledged <= at else 0, shelved=0
            )
            for alarm in self.alarms
            if alarm.raised <= at and (not alarm.cleared or alarm.cleared > at)
        ]
        return from_rows.alarms(stood)


def load(book: Logbook, cook: int) -> RecordedNight | None:
    """A cook of the logbook; None if no cycle of it is stored. Raises LogbookError."""
    its = book.cooks.get(cook)
    _, runs = book.reading.picked(cook, 0, (*cycles.WANTED, ("head", "sequence")))
    order = sorted((utc, which, row) for which, run in enumerate(runs) for row, utc in enumerate(run.utc))
    if not order:
        return None
    kept = book.cooks.text(cook, programme.PHASES)
    stored = book.reading.states(cook)
    newest = programme.recorded(stored[-1].memory, kept) if stored else []
    states = []
    for state in stored:
        found = programme.recorded(state.memory, None)
        same = programme.rows(found) == programme.rows(newest)
        held = state.memory.get("phase_cycles")
        began = state.utc - held * fields.PERIOD_MS if isinstance(held, int) else 0
        states.append((state.utc, newest if same else found, began))
    return RecordedNight(
        cook=its,
        trend=from_rows.trend(book.reading.trend(cook)),
        at=[utc for utc, _, _ in order],
        where=[(which, row) for _, which, row in order],
        runs=runs,
        phase_since=_phases_began(runs, order),
        states=sorted(states, key=lambda one: one[0]),
        events=from_rows.events(book.events.of(cook)),
        alarms=book.alarms.of(cook),
        pieces=book.pieces.of(cook),
        forecasts=book.forecasts.of(cook),
        kitchen=kitchen.read(book, cook),
        missing=book.reading.counts(cook).missing,
        logbook=str(book.path),
    )


def _phases_began(runs: list[Picked], order: list[tuple[int, int, int]]) -> list[int]:
    """For each cycle, when its phase began: at its first cycle, or when the board was ordered to it."""
    found: list[int] = []
    since, phase = order[0][0], None
    for utc, which, row in order:
        columns = runs[which].columns
        now = columns.get(("out", "phase"), [])
        here = now[row] if now else 0
        ordered = columns.get(("now", "order"), [])
        answered = columns.get(("out", "answer"), [])
        accepted = bool(ordered and answered and answered[row] == fields.ACCEPTED)
        begun = accepted and ordered[row] in (fields.ORDER_PHASE, fields.ORDER_START)
        if (phase is not None and here != phase) or begun:
            since = utc
        phase = here
        found.append(since)
    return found
