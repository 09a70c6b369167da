"""An error nobody expected in the intake is said and tried again; nothing is thrown away."""

from __future__ import annotations

from pathlib import Path

from tuyere.engine.device.recorder import Intake
from tuyere.logbook import Logbook


def test_a_surprise_is_said_and_nothing_is_dropped(tmp_path: Path) -> None:
    done: list[str] = []

    def surprise() -> None:
        if not done:
            done.append("once")
            raise ZeroDivisionError("of all things")
        done.append("again")

    with Logbook(tmp_path / "logbook.sqlite") as book:
        intake = Intake(book.records, tmp_path / "refused.jsonl", lambda batch: None)
        intake.then(surprise)
        intake.then(lambda: done.append("next"))
        assert intake.write() is False and "of all things" in intake.trouble and intake.waiting
        assert intake.write() is True and intake.trouble == ""
    assert done == ["once", "again", "next"]
