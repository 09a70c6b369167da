"""The logbook: one SQLite file, opened by one owner and any number of readers."""

from __future__ import annotations

import sqlite3
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import Any

from tuyere.logbook.boards import Boards
from tuyere.logbook.call_steps import CallSteps
from tuyere.logbook.clock_steps import ClockSteps
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.errors import LogbookBusy, LogbookError, LogbookGone
from tuyere.logbook.kept import Alarms, Cores, Forecasts
from tuyere.logbook.lock import Lock
from tuyere.logbook.missing import Spans
from tuyere.logbook.people import Events, Pieces
from tuyere.logbook.reading import Reading
from tuyere.logbook.records import Records
from tuyere.logbook.soundness import Soundness
from tuyere.logbook.store import Store
from tuyere.logbook.transfer import Transfer

TAKEN, USABLE, NOT_YET = "taken", "usable", "not yet"


class Logbook:
    """Everything kept of all cooks. `Logbook(path)` owns and may write; `Logbook(path, owner=False)` reads.

    Every method that writes has its data on the disk when it returns. Errors are in `errors`.
    """

    def __init__(self, path: Path, *, owner: bool = True) -> None:
        self._store = store = Store(path, owner=owner)
        self.boards = Boards(store)
        self.records = Records(store, self.boards)
        self.cooks = Cooks(store, self.boards)
        self.pieces = Pieces(store, self.cooks)
        self.events = Events(store, self.cooks)
        self.forecasts = Forecasts(store)
        self.alarms = Alarms(store, self.cooks)
        self.calls = CallSteps(store)
        self.cores = Cores(store)
        self.clock = ClockSteps(store, self.boards)
        self.reading = Reading(store, self.boards, self.cooks)
        self.transfer = Transfer(store, self.boards, self.cooks, self.records)
        self.soundness = Soundness(store, self.boards, Spans(store, self.boards, self.cooks))

    @property
    def path(self) -> Path:
        """The file."""
        return self._store.path

    @property
    def owner(self) -> bool:
        """Whether it may be written through this object."""
        return self._store.owner

    def away(self) -> LogbookGone | None:
        """Why nothing can be stored now: the open file is no longer at its path. None if it is."""
        try:
            self._store.must_be_there()
        except LogbookGone as error:
            return error
        return None

    def together(self) -> AbstractContextManager[None]:
        """Everything written inside is stored together, durably, or not at all. May be nested.

        Other threads wait meanwhile; so in a coroutine never `await` inside.
        """
        return self._store.together()

    def check(self) -> list[str]:
        """What SQLite finds broken in the whole file; empty when sound. Slow on big files."""
        return self._store.check()

    @property
    def damaged(self) -> str:
        """SQLite's message about a damaged page that was read; "" if there was none."""
        return self._store.damaged

    def forgive(self) -> None:
        """Reset `damaged`: the damage concerns only an old cook."""
        self._store.damaged = ""

    def incident(self, kind: str, **detail: Any) -> None:
        """Note what happened to the file itself (`incidents`)."""
        with self._store.together():
            self._store.chain_of_owner.incident(kind, **detail)

    def writing(self) -> sqlite3.Connection:
        """The connection, for code that fills a new file; inside `together`."""
        return self._store.db

    def close(self) -> None:
        """Close the file and give the lock back; a second close does nothing."""
        self._store.close()

    def __enter__(self) -> Logbook:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def lies_at(path: Path) -> str:
    """What lies where a logbook was: TAKEN if another engine owns it, USABLE if it is a whole logbook, else NOT_YET.

    Reads all of the file, which may take seconds.
    """
    if not path.exists():
        return NOT_YET
    try:
        Lock(path).release()
        with Logbook(path, owner=False) as book:
            return NOT_YET if book.check() else USABLE
    except LogbookBusy:
        return TAKEN
    except LogbookError:
        return NOT_YET
