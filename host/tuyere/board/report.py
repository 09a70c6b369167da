"""What a check found: findings in order, and the dated report of them."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from msgspec import Struct, field

from tuyere.text import CELSIUS, Reader, Said, Span, render, worded

FOLDER = "checks"


class Finding(Struct):
    """One step's outcome. good: True, False, or None where it was skipped."""

    step: str
    good: bool | None
    words: Said
    numbers: dict[str, Any] = field(default_factory=dict)


class Report(Struct):
    """A check of one board; degrees are C."""

    at: str  # local time, ISO 8601 with its offset
    board: str
    kind: str
    simulated: bool
    firmware: str
    findings: list[Finding] = field(default_factory=list)
    offsets: dict[str, float] = field(default_factory=dict)  # as stored on the board, by setting
    whole: bool = False  # False: it was broken off

    def add(self, finding: Finding) -> None:
        """Note an outcome in place of an earlier one of the same step."""
        self.findings = [found for found in self.findings if found.step != finding.step] + [finding]

    @property
    def good(self) -> bool:
        """Whether it went through and nothing was found wrong; what was skipped is not known to be good."""
        return self.whole and not any(found.good is False for found in self.findings)

    @property
    def verdict(self) -> str:
        """One line."""
        wrong = [found.step for found in self.findings if found.good is False]
        skipped = [found.step for found in self.findings if found.good is None]
        if wrong:
            return f"needs attention: {', '.join(wrong)}"
        said = "broken off before its end; nothing wrong so far" if not self.whole else "nothing wrong was found"
        return f"{said}; not checked: {', '.join(skipped)}" if skipped else said


def begin(hello: dict[str, Any], now: datetime) -> Report:
    """A report of the board that said this hello."""
    return Report(
        now.astimezone().isoformat(timespec="seconds"),
        str(hello.get("board", "")),
        str(hello.get("kind", "")),
        hello.get("simulated") is True,
        str(hello.get("firmware", "")),
    )


def text(report: Report, reader: Reader) -> str:
    """The report to read."""
    marks = {True: "good", False: "WRONG", None: "skipped"}
    what = "simulated board (twin)" if report.simulated else f"board, {report.kind}"
    head = [f"Check of {report.board}, {what}", f"{report.at}, firmware {report.firmware[:12]}", ""]
    rows = [f"{found.step:18} {marks[found.good]:8} {render(found.words, reader)}" for found in report.findings]
    stored = [f"{name} = {render(Span(value, 2, sign=True), reader)}" for name, value in report.offsets.items()]
    tail = ["", f"Stored on the board: {', '.join(stored) or 'nothing'}", f"Verdict: {report.verdict}"]
    return "\n".join([*head, *rows, *tail]) + "\n"


def data(report: Report) -> dict[str, Any]:
    """The report as JSON: numbers and sentences metric."""
    found: dict[str, Any] = worded(report, Reader(CELSIUS))
    return {**found, "verdict": report.verdict}


def save(report: Report, home: Path, reader: Reader) -> tuple[Path, Path]:
    """Write it as text for this reader and as JSON, dated, into the data folder; returns both."""
    folder = home / FOLDER
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    name = "check-" + "".join(c if c.isalnum() else "-" for c in report.at[:19]) + f"-{_plain(report.board)}"
    found = folder / f"{name}.txt", folder / f"{name}.json"
    found[0].write_text(text(report, reader), encoding="utf-8")
    found[1].write_text(json.dumps(data(report), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return found


def _plain(name: str) -> str:
    return "".join(c if c.isalnum() or c in "-_" else "-" for c in name)[:40]
