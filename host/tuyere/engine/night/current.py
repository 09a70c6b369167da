"""The cook that the engine follows: what the logbook has of it, kept up to date as it grows."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import msgspec

from tuyere.cook import care, faults, food_safety, from_rows, going_on, kitchen, programme, snapshot
from tuyere.cook.errors import Refusal
from tuyere.engine.device.connection import Board
from tuyere.engine.device.restore import NAME as STOOD
from tuyere.engine.device.restore import Stood
from tuyere.engine.night import board_events
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.began import NAME as BEGAN
from tuyere.engine.night.began import Began
from tuyere.engine.night.board_events import Diary
from tuyere.engine.night.breath_cache import Breathing
from tuyere.engine.night.minutes import Minutes
from tuyere.engine.night.safety_cache import Shown
from tuyere.engine.night.twin_events import Hands
from tuyere.logbook import Logbook, LogbookError, rows
from tuyere.logbook.rows import Cook, PieceRow
from tuyere.meat import safety
from tuyere.score import Score
from tuyere.text import CELSIUS, Reader, Said, render

SERVE = "serve"  # text of a cook: when its meat is served, UTC ms
OPENINGS = ("opened_told", "opened_felt")
SETTLES = ("looked", "witness_agrees", "meat_explains")  # what ends a doubt


class Cooking:
    """The open cook, or the last one that ended while this engine ran.

    `on_change()` is called when something of it was written and read again; `log(line)` takes errors.
    """

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        alarms: Alarms,
        *,
        on_change: Callable[[], None],
        log: Callable[[str], None],
    ) -> None:
        self._logbook = logbook
        self._board = board
        self._alarms = alarms
        self._now = board.clock.now
        self._on_change = on_change
        self._log = log
        self.cook: Cook | None = None
        self.score = Score(0)
        self.minutes = Minutes()
        self.kitchen = snapshot.Kitchen()
        self.serve = 0  # when the meat is served, UTC ms; 0: not told
        self._before: dict[int, int] = {}  # by piece: how long before serving its plan has it go on, ms
        self.phases: list[snapshot.Phase] = []
        self.pieces: list[PieceRow] = []
        self.events: list[snapshot.Event] = []  # newest first
        self.last_note: snapshot.Event | None = None  # of a person
        self.standing: list[snapshot.Alarm] = []
        self.doubted = False  # the pit probe, until somebody says that they looked at it
        self.restarted = False  # the board was powered up during this cook
        self.cycles = self.recorded = self.missing = 0
        self.began: Began | None = None
        self.stood = Stood()
        self._stood_text = ""  # as it is in the logbook
        self._diary: Diary | None = None
        self._trend_after = 0
        self._unread = False  # the times have moved, and could not be read since
        self.hands = Hands(logbook, board)
        self.safety = Shown()
        self.breathing = Breathing()

    @property
    def open(self) -> Cook | None:
        """The cook if it has not ended."""
        return self.cook if self.cook is not None and not self.cook.ended else None

    @property
    def logbook(self) -> Path:
        """The file it is kept in."""
        return self._logbook.path

    def aside(self) -> str:
        """The name of the damaged logbook from which the open cook was carried on; "" if it was not."""
        its = (event for event in self.events if event.kind == "logbook_set_aside")
        found = next(its, None) if self.open is not None else None
        return render(found.text, Reader(CELSIUS)) if found is not None else ""

    def gone(self) -> str:
        """Why the logbook is not at its place, "" while it is."""
        return str(self._logbook.away() or "")

    def begin(self, name: str) -> int:
        """Open a cook in the logbook; its number. CookOpen if another has not ended."""
        board = self._board
        named = board.session.board or board.link.board
        number = self._logbook.cooks.start(name, self._now(), named, board.link.simulated)
        outside = board.hello.get("outside_ms")
        if board.link.simulated and board.clock.pair is not None and isinstance(outside, int):
            self._logbook.cooks.set_text(number, "twin_zero", str(board.clock.pair.of(0) - outside))
        self._logbook.cooks.set_text(number, BEGAN, msgspec.json.encode(Began.of(board)).decode())
        self.hands.begin(number)
        self.take_up(self._logbook.cooks.get(number))
        self.settle()
        return number

    def take_up(self, cook: Cook | None) -> None:
        """Go on with a cook as the logbook knows it; None for none."""
        number = cook.id if cook is not None else None
        self.cook, self.restarted = cook, False
        self.score = Score(cook.started, cook.meat_on) if cook is not None else Score(0)
        self._trend_after = self.cycles = self.recorded = 0
        self.minutes, self.breathing = Minutes(), Breathing()
        self.hands.take_up()
        self.kitchen = kitchen.read(self._logbook, cook.id) if cook is not None else snapshot.Kitchen()
        self.serve = int((self._logbook.cooks.text(cook.id, SERVE) if cook is not None else None) or 0)
        self._before = going_on.read(self._logbook.cooks.text(cook.id, going_on.NAME) if cook is not None else None)
        self.missing = self._logbook.reading.counts(cook.id).missing if cook is not None else 0
        self.began = Began.read(self._logbook.cooks.text(cook.id, BEGAN) if cook is not None else None)
        self._stood_text = (self._logbook.cooks.text(cook.id, STOOD) if cook is not None else None) or ""
        self.stood = Stood.read(self._stood_text)
        self._alarms.take_up(number, self._logbook.alarms.of(number, standing_only=True))
        self.refresh()
        self._diary = Diary(self._logbook, cook.id, self.phase_name) if cook is not None else None
        self._score()

    def read_again(self) -> None:
        """All times have moved: count and read again; the alarms stay as they are. If the logbook cannot be read now,
        it is read with the next `count`: the times must not move a second time."""
        self._unread = True
        with contextlib.suppress(LogbookError):
            self._read()

    def _read(self) -> None:
        self.cook = self._logbook.cooks.get(self.cook.id) if self.cook is not None else None
        self.score = Score(self.cook.started, self.cook.meat_on) if self.cook is not None else Score(0)
        self._trend_after = self.cycles = 0
        self.minutes = Minutes()
        self.refresh()
        self._score()
        self._unread = False

    def end_stale(self, cook: Cook) -> None:
        """Close a simulated cook whose pit is gone, at its last cycle."""
        trend = self._logbook.reading.trend(cook.id)
        self._logbook.cooks.end(cook.id, max(trend.at[-1] if trend.at else 0, cook.started))
        self.take_up(None)

    def change_kitchen(self, given: dict[str, Any]) -> None:
        """Change with what and where the open cook is cooked and held; Refusal without one, or says what is wrong."""
        if (cook := self.open) is None:
            raise Refusal("no cook is open: start one first")
        self.kitchen = kitchen.change(self._logbook, cook.id, self.kitchen, given)
        self._on_change()

    def change_serve(self, at: int) -> None:
        """Serve the open cook at `at`, UTC ms; 0: at no time that is known. Refusal without one."""
        if (cook := self.open) is None:
            raise Refusal("no cook is open: start one first")
        self._logbook.cooks.set_text(cook.id, SERVE, str(at))
        self.serve = at
        self._on_change()

    def keep_goes_on(self, before: dict[int, int]) -> None:
        """Keep when the plan has each piece of the open cook go on, ms before serving."""
        if (cook := self.open) is not None:
            self._logbook.cooks.set_text(cook.id, going_on.NAME, going_on.written(before))
            self._before = before

    def goes_on(self, piece: int) -> int:
        """When the plan has a piece go on, UTC ms; 0: no plan says it, or no serving time is known."""
        return self.serve - self._before[piece] if self.serve and piece in self._before else 0

    def refresh(self) -> None:
        """Read pieces, events and alarms again: something was written."""
        number = self.cook.id if self.cook is not None else None
        self.pieces, self.events, self.last_note = [], [], None
        if number is not None:
            self.cook = self._logbook.cooks.get(number)
            self.pieces = self._logbook.pieces.of(number)
            found = self._logbook.events.of(number)
            self.events = from_rows.events(found)
            notes = [event for event in self.events if not event.by]
            self.last_note = max(notes, key=lambda event: event.id, default=None)
        raised = self._logbook.alarms.of(number)
        self.standing = from_rows.alarms([alarm for alarm in raised if not alarm.cleared])
        self.doubted = _doubted(raised, self.events)
        self.read_phases()
        self._on_change()

    def read_phases(self) -> None:
        """The board's programme with the words kept here."""
        kept = (self._logbook.cooks.text(self.cook.id, programme.PHASES) if self.cook is not None else None) or ""
        self.phases = programme.phases(self._board.readout.rows, kept)

    def keep_phases(self, phases: Sequence[snapshot.Phase]) -> None:
        """The board has taken these: keep what it does not."""
        if (cook := self.open) is not None:
            self._logbook.cooks.set_text(cook.id, programme.PHASES, programme.texts(phases))
        self.refresh()

    def phase_name(self, row: int) -> str:
        """The words of a row of the programme."""
        return board_events.phase_name([phase.name for phase in self.phases], row)

    def count(self) -> bool:
        """Take the new cycles into score and log; True if an event was written."""
        if self._unread:
            self._read()
        else:
            self._score()
        if self._diary is None or not self._diary.take(self._now()):
            return False
        self.refresh()
        return True

    def _score(self) -> None:
        if self.cook is not None:
            fresh = self._logbook.reading.trend(self.cook.id, self._trend_after)
            self._trend_after = fresh.last
            self.cycles += len(fresh.at)
            self.score.add(fresh.at, fresh.pit, fresh.low, fresh.high)
            self.minutes.add(fresh)
            self.hands.take(fresh)
            self.recorded = self._logbook.reading.stored(self.cook.id)

    def note_once(self, kind: str, source: str, text: Said, at: int | None = None) -> None:
        """Write an event that no person noted into the open cook's log; by default at the cook's time."""
        if (cook := self.open) is not None:
            now = self._now()
            self._logbook.events.note_once(cook.id, kind, at or now, now, source, text=text)
            self.refresh()

    # -- how the board stood -----------------------------------------------------------------

    def settle(self) -> None:
        """Follow the present boot from now on; its state is right."""
        if self.open is not None and self._board.session.standing:
            self.stood.settled = self._board.session.boot
            self.follow()

    @property
    def settled(self) -> bool:
        """Whether the present boot is in the state that the cook needs; True as well if no state is known."""
        return self.open is None or self.stood.settled in (-1, self._board.session.boot)

    def follow(self) -> None:
        """A cycle of the present boot has come, or an order was acknowledged."""
        cook = self.open
        if cook is None:
            return
        if self.stood.settled == -1 and self._board.session.standing:
            self.stood.settled = self._board.session.boot
        self.stood.follow(self._board.session.board, self._board.session.boot, self._board.readout)
        text = self.stood.text()
        if text != self._stood_text:
            try:
                self._logbook.cooks.set_text(cook.id, STOOD, text)
            except LogbookError as error:  # the night goes on; it is tried again with the next cycle
                self._log(str(error))
                return
            self._stood_text = text

    # -- what is known ------------------------------------------------------------------------

    def opened_for(self) -> int:
        """How long the lid has stood open, ms; 0 if it does not."""
        cycle = self._board.readout.cycle
        if cycle is None or cycle.state != "opened":
            return 0
        since = next((event.at for event in self.events if event.kind in OPENINGS), self._board.readout.state_since)
        return max(0, cycle.at - since)

    def care(self) -> care.Care:
        """What the meat asks of the fire, by the newest cycle."""
        cycle, now = self._board.readout.cycle, self._now()
        shown = from_rows.pieces(self.pieces, cycle)
        found = care.Care(
            empty=care.emptied(self.cook, shown),
            limit=kitchen.limit(self.kitchen).c or 60.0,
            allowed=safety.left_out_hours(self.kitchen.room),
            now=now,
        )
        if cycle is None or self.cook is None:
            return found
        found.changes = care.changes_ahead(self.phases, cycle)
        inside = care.inside(self.cook, shown)
        found.probe_out = bool(cycle.lost and shown) and all(piece.probe != cycle.lost for piece in inside)
        away = [piece for piece in shown if piece.place in care.AWAY]
        looked = self.safety.looked(self.cook, [*inside, *away], self.minutes, self.events, now, self.kitchen, shown)
        found.spoilt = [piece.name for piece in away if looked[piece.id].decision.verdict == food_safety.THROW_AWAY]
        for piece in inside:
            piece.decision = looked[piece.id].decision
        highest = {piece.id: top for piece in inside if (top := self.safety.highest(piece)) is not None}
        found.needs = care.needs(self.cook, cycle, shown, self.events, highest, limit=found.limit, now=now)
        return found

    def followed(self) -> list[snapshot.Phase]:
        """The programme with the present phase ended by the probe that it should follow now; empty: as it is."""
        cycle = self._board.readout.cycle
        if self.open is None or cycle is None:
            return []
        return care.followed(self.phases, cycle, from_rows.pieces(self.pieces, cycle))

    def lost_piece(self) -> str:
        """The name of the piece whose probe the board misses."""
        cycle = self._board.readout.cycle
        lost = cycle.lost if cycle is not None else 0
        return next((piece.name for piece in self.pieces if lost and piece.probe == lost), "")


def _doubted(raised: Sequence[rows.Alarm], events: Sequence[snapshot.Event]) -> bool:
    """Whether the pit probe has been doubted since somebody last looked at it, or something else settled that."""
    looked = max((event.at for event in events if event.kind in SETTLES), default=0)
    return any(alarm.code in faults.DOUBTS and alarm.raised > looked for alarm in raised)
