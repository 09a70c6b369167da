"""What came is written in order; a failing disk stops the writing and loses nothing."""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

from hearth.link import messages
from tuyere.engine.device.recorder import TRIES, Batch, Intake
from tuyere.logbook import Logbook
from tuyere.logbook.errors import DiskFull, HelloConflict
from tuyere.logbook.records import Records


def record(sequence: int, body: bytes = b"x", boot: int = 7) -> bytes:
    return struct.pack(messages.HEAD, messages.CYCLE, boot, sequence, sequence * 2000, 0) + body


class Full:
    """A logbook on a disk that is full for a while."""

    def __init__(self, times: int) -> None:
        self.times = times
        self.stored: list[bytes] = []

    def add(self, board: str, boot: int, records: list[bytes], cook: int | None) -> int:
        if self.times:
            self.times -= 1
            raise DiskFull("the disk is full")
        self.stored += records
        return len(records)


def test_records_are_kept_only_after_they_are_stored_and_in_order(tmp_path: Path) -> None:
    book, kept, order = Full(2), [], []
    intake = Intake(book, tmp_path / "aside", kept.append)  # type: ignore[arg-type]
    for sequence in range(3):
        intake.record("b", 7, sequence, record(sequence), None)
    intake.then(lambda: order.append(len(book.stored)))
    intake.record("b", 7, 3, record(3), 1)
    assert not intake.write() and kept == [] and "full" in intake.trouble
    assert not intake.write()
    intake.record("b", 7, 4, record(4), 1)
    assert intake.write() and intake.trouble == "" and not intake.waiting
    assert book.stored == [record(n) for n in range(5)]
    assert order == [3]
    assert [(b.first, len(b.records), b.cook) for b in kept] == [(0, 3, None), (3, 2, 1)]


def test_a_record_that_comes_with_other_bytes_goes_aside_and_the_rest_is_stored(tmp_path: Path) -> None:
    kept: list[Batch] = []
    with Logbook(tmp_path / "l.sqlite") as book:
        book.records.add("b", 7, [record(1, b"old")], None)
        intake = Intake(book.records, tmp_path / "aside", kept.append)
        for sequence in range(3):
            intake.record("b", 7, sequence, record(sequence, b"new"), None)
        assert intake.write() and "other bytes" in intake.refused
        assert book.records.stored("b", 7) == 3 and len(kept) == 1
    [line] = (tmp_path / "aside").read_text().splitlines()
    said = json.loads(line)
    assert said["sequence"] == 1 and bytes.fromhex(said["bytes"]) == record(1, b"new")


def test_a_hello_that_cannot_be_is_said_and_passed_over(tmp_path: Path) -> None:
    intake = Intake(Full(0), tmp_path / "aside", lambda batch: None)  # type: ignore[arg-type]

    def refuse() -> Any:
        raise HelloConflict("two layouts")

    intake.then(refuse)
    assert intake.write() and intake.refused == "two layouts" and not intake.waiting


def test_a_fault_that_is_not_the_logbooks_is_said_and_put_aside_after_some_tries(tmp_path: Path) -> None:
    book, kept = Full(0), []
    intake = Intake(book, tmp_path / "aside", kept.append)  # type: ignore[arg-type]

    def fail() -> None:
        raise ZeroDivisionError("of all things")

    intake.then(fail)
    intake.record("b", 7, 0, record(0), None)
    for _ in range(TRIES - 1):
        assert not intake.write() and "of all things" in intake.trouble and intake.waiting
    assert intake.write() and not intake.waiting and intake.trouble == ""
    assert "of all things" in intake.refused and book.stored == [record(0)] and len(kept) == 1
    assert "of all things" in (tmp_path / "aside").read_text()


class Odd(Records):
    """Those of a logbook that stumbles over one record in a way nobody expected."""

    def add(self, board: str, boot: int, records: Any, cook: int | None = None) -> Any:
        if record(1) in records:
            raise ZeroDivisionError("of all things")
        return super().add(board, boot, records, cook)


def test_of_a_batch_only_the_record_that_fails_is_put_aside_and_it_is_a_gap(tmp_path: Path) -> None:
    kept: list[Batch] = []
    with Logbook(tmp_path / "l.sqlite") as book:
        intake = Intake(Odd(book._store, book.boards), tmp_path / "aside", kept.append)
        for sequence in range(3):
            intake.record("b", 7, sequence, record(sequence), None)
        assert [intake.write() for _ in range(TRIES)] == [False] * (TRIES - 1) + [True]
        assert book.records.stored("b", 7) == 2 and book.records.missing("b", 7) == 1
    assert [(batch.first, len(batch.records)) for batch in kept] == [(0, 3)]
    [line] = (tmp_path / "aside").read_text().splitlines()
    assert bytes.fromhex(json.loads(line)["bytes"]) == record(1)


def test_what_cannot_be_put_aside_waits(tmp_path: Path) -> None:
    intake = Intake(Full(0), tmp_path / "no folder" / "aside", lambda batch: None)  # type: ignore[arg-type]

    def fail() -> None:
        raise ZeroDivisionError

    intake.then(fail)
    assert not any(intake.write() for _ in range(TRIES + 2))
    assert intake.waiting and "cannot be put aside" in intake.trouble
