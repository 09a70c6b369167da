"""The timetable as lines: the day where it changes, rounds in one line on the short page, sleep as a frame."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import msgspec

from tuyere.plan.result import Row
from tuyere.plan.times import MINUTE, local
from tuyere.text import Reader, render

ASIDE = 15  # columns of the times
UNIT = re.compile(r"(?<=\d) (?=(?:%|(?:F|C|h|min|kg|g|lb|oz|l|qt|m|cm|mm|ft|in)\b))")
RUN = 125 * MINUTE  # rounds that follow each other so soon stand in one line
PREFIX, MANY = "Round: ", "Rounds, hourly: "


def table(rows: Sequence[Row], reader: Reader, width: int, full: bool, numbered: bool) -> Iterator[str]:
    """The lines, of at most `width` columns. full: every round, and all that is said of each. numbered: with the
    numbers of the pits."""
    nights = [row for row in rows if row.kind == "asleep"]
    shown = [row for row in rows if row.kind != "asleep"]
    lines = _Lines(reader, width, numbered)
    for row in shown if full else _runs(shown):
        while nights and nights[0].at <= row.at:
            night = nights.pop(0)
            yield from lines.begin(night, any(night.at <= one.at < night.until for one in shown))
        yield from lines.end(row.at)
        yield from lines.row(row, full)
    yield from lines.end(1 << 62)


def wrapped(words: str, width: int, lead: str = "", inset: int = 0) -> list[str]:
    """Words in lines of a width behind `lead`, the later ones set in; a number keeps its unit beside it."""
    whole = UNIT.sub("\u00a0", words)  # textwrap breaks at plain spaces alone
    lines = textwrap.wrap(whole, width, initial_indent=lead, subsequent_indent=" " * inset) or [lead]
    return [line.replace("\u00a0", " ") for line in lines]


@dataclass
class _Lines:
    reader: Reader
    width: int
    numbered: bool
    day: date | None = None
    night: Row | None = None  # the sleep whose frame is open

    def begin(self, night: Row, touched: bool) -> Iterator[str]:
        """The head of a night's frame, or one line where nothing lies in it."""
        yield from self._day(night.at)
        words = f"sleep; {night.detail}" if night.detail else "sleep"
        if not touched:
            yield from self._hung(f"  {self._clock(night.at)}-{self._clock(night.until)}", words.capitalize())
            return
        self.night = night
        lead, rule = f"{f'  {self._clock(night.at)}':{ASIDE}}+-- ", self.width - 2
        if len(lead) + len(words) > rule - 2 and night.detail:
            yield f"{lead}sleep ".ljust(rule, "-")
            yield from self._hung("", words.partition("; ")[2].capitalize())
        else:
            yield f"{lead}{words} ".ljust(rule, "-")

    def end(self, at: int) -> Iterator[str]:
        """The foot of the frame, if the night is over by then."""
        if self.night is not None and self.night.until <= at:
            yield from self._day(self.night.until)
            yield f"{f'  {self._clock(self.night.until)}':{ASIDE}}+-- awake ".ljust(self.width - 2, "-")
            self.night = None

    def row(self, row: Row, full: bool) -> Iterator[str]:
        """A line of the table, in the frame while the cook sleeps."""
        yield from self._day(row.at)
        times = f"  {self._clock(row.at)}" + (f"-{self._clock(row.until)}" if row.until else "")
        said = [f"{f'Pit {row.pit}: ' if self.numbered and row.pit else ''}{render(row.what, self.reader)}"]
        said += [render(one, self.reader) for one in (row.detail, row.more if full else "") if one]
        yield from self._hung(times, ". ".join(one.rstrip(".") for one in said))

    def _hung(self, times: str, words: str) -> Iterator[str]:
        edge = "| " if self.night is not None else ""
        lead = f"{times:{ASIDE}}"
        for i, line in enumerate(wrapped(words, self.width - ASIDE - len(edge))):
            yield f"{lead if not i else ' ' * ASIDE}{edge}{line}"

    def _day(self, at: int) -> Iterator[str]:
        then = local(at, self.reader.zone)
        if self.day is None or then.date() != self.day:
            self.day = then.date()
            yield f"{then:%A %d %B}"

    def _clock(self, at: int) -> str:
        return f"{local(at, self.reader.zone):%H:%M}"


def _runs(rows: Sequence[Row]) -> list[Row]:
    """The rows with rounds of a pit that follow one another put together."""
    out: list[Row] = []
    for row in rows:
        last = out[-1] if out else None
        if last is None or not (_joins(last) and _joins(row)) or row.at - last.until > RUN or row.pit != last.pit:
            out.append(row)
            continue
        dues = [str(one.what).removeprefix(PREFIX).removeprefix(MANY).split(", ") for one in (last, row)]
        both = list(dict.fromkeys(due for one in dues for due in one))
        out[-1] = msgspec.structs.replace(last, until=row.until, what=MANY + ", ".join(both))
    return out


def _joins(row: Row) -> bool:
    return row.kind == "round" and str(row.what).startswith((PREFIX, MANY))
