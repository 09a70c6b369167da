"""From the session to the logbook: records are written in order, and only then acknowledged.

A full disk or a locked file stops the writing, not the engine. The records wait here, unacknowledged, and the write is
tried again every second. When too much waits, the port is read no further.
"""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tuyere import paths
from tuyere.logbook import LogbookError, RecordConflict
from tuyere.logbook.errors import BadEntry, BadRecord, HelloConflict, NoSuchEntry
from tuyere.logbook.records import Records

MOST = 4000  # records in one transaction
FULL = 20_000  # records waiting, some 3 MB: half a day of a cook
TRIES = 5  # tries of an item that fails unexpectedly; then it is set aside, so that the rest goes on


@dataclass
class Batch:
    """Records of one boot for one cook, in order."""

    board: str
    boot: int
    cook: int | None
    first: int
    records: list[bytes] = field(default_factory=list)


class Intake:
    """A queue of things to write. `kept(batch)` is called when a batch is on the disk."""

    def __init__(self, records: Records, aside: Path, kept: Callable[[Batch], None]) -> None:
        self._records = records
        self._aside = aside  # the file for records that the logbook refuses
        self._kept = kept
        self._todo: deque[Batch | Callable[[], None]] = deque()
        self._surprises = 0  # tries of the first item, if it failed unexpectedly
        self.trouble = ""  # why it cannot write just now
        self.refused = ""  # why it will not write something at all

    def record(self, board: str, boot: int, sequence: int, data: bytes, cook: int | None) -> None:
        """Take a record in order."""
        last = self._todo[-1] if self._todo else None
        if (
            not isinstance(last, Batch)
            or (last.board, last.boot, last.cook) != (board, boot, cook)
            or len(last.records) >= MOST
        ):
            last = Batch(board, boot, cook, sequence)
            self._todo.append(last)
        last.records.append(data)

    def then(self, action: Callable[[], None]) -> None:
        """Queue something else, to be written after everything that came before it."""
        self._todo.append(action)

    @property
    def full(self) -> bool:
        """Whether too much waits to take more from the port."""
        return sum(len(item.records) if isinstance(item, Batch) else 1 for item in self._todo) >= FULL

    @property
    def waiting(self) -> bool:
        """Whether anything is still to be written."""
        return bool(self._todo)

    def write(self) -> bool:
        """Write everything that waits; False if it must be tried again."""
        while self._todo:
            item = self._todo[0]
            try:
                if isinstance(item, Batch):
                    self._add(item)
                else:
                    item()
            except (HelloConflict, BadEntry) as error:  # trying again would not help
                self.refused = str(error)
            except LogbookError as error:
                self.trouble = str(error)
                return False
            except Exception as error:  # report it, try again, then set it aside: one bad item must not stop the night
                self.trouble = f"an error nobody expected: {error!r}"
                self._surprises += 1
                if self._surprises < TRIES or not self._put_aside(item, self.trouble):
                    return False
            self.trouble = ""
            self._surprises = 0
            self._todo.popleft()
            if isinstance(item, Batch):
                self._kept(item)
        return True

    def _add(self, batch: Batch) -> None:
        try:
            self._records.add(batch.board, batch.boot, batch.records, batch.cook)
        except (RecordConflict, BadRecord, NoSuchEntry):
            self._one_by_one(batch)

    def _one_by_one(self, batch: Batch) -> None:
        """Store what can be stored. What the logbook refuses goes to a file beside it and is a gap with a cause."""
        for i, data in enumerate(batch.records):
            sequence = batch.first + i
            try:
                self._records.add(batch.board, batch.boot, [data], batch.cook)
            except (RecordConflict, BadRecord, NoSuchEntry) as error:
                self._aside_record(batch, sequence, data, str(error))

    def _put_aside(self, item: Batch | Callable[[], None], why: str) -> bool:
        """Set the first item aside and keep its bytes; False if that fails too."""
        try:
            if not isinstance(item, Batch):
                self._say_aside({"what": getattr(item, "__qualname__", repr(item)), "why": why})
                self.refused = why
                return True
            for i, data in enumerate(item.records):
                try:
                    self._records.add(item.board, item.boot, [data], item.cook)  # one stored before is stored once
                except (RecordConflict, BadRecord, NoSuchEntry) as error:
                    self._aside_record(item, item.first + i, data, str(error))
                except LogbookError:
                    raise
                except Exception as error:
                    self._aside_record(item, item.first + i, data, repr(error))
        except Exception as error:
            self.trouble = f"{why}; and it cannot be put aside: {error}"
            return False
        return True

    def _aside_record(self, batch: Batch, sequence: int, data: bytes, why: str) -> None:
        self.refused = why
        said = {"board": batch.board, "boot": batch.boot, "sequence": sequence, "why": why}
        self._say_aside({**said, "bytes": data.hex()})
        self._records.gap(batch.board, batch.boot, sequence, sequence, "the logbook refused it")

    def _say_aside(self, said: dict[str, object]) -> None:
        with open(self._aside, "a", encoding="utf-8", opener=paths.private) as out:
            out.write(json.dumps(said) + "\n")
            out.flush()
            os.fsync(out.fileno())  # on disk before the record is acknowledged
