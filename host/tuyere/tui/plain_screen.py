"""The watch as lines of text, for pipes and screen readers: a line a minute of the cook's clock and at every change."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import TextIO

from tuyere.client.client import EngineError
from tuyere.client.follow import Follower
from tuyere.client.source import Connect
from tuyere.cook import ahead, say, woken
from tuyere.cook.in_short import link_words, recorded, state_words
from tuyere.cook.snapshot import Alarm, Prompt, Snapshot, Trend
from tuyere.cook.standing import headline, standing
from tuyere.measures import percent
from tuyere.text import gist
from tuyere.tui.bell import Bell, urgent
from tuyere.tui.view import View

Told = tuple[str, int, int, str]


def line(view: View) -> str:
    """Time, state, pit, band, fan, pieces, alarms in one line."""
    shot = view.shot
    if shot is None:
        return headline(view)[0]
    parts = [say.clock(shot.now)]
    cycle = shot.cycle
    if cycle is None:
        parts.append(headline(view)[0].rstrip("."))
    elif not view.live:
        parts += [
            headline(view)[0].rstrip("."),
            f"last pit {view.degrees(cycle.pit)} at {say.when(cycle.at, shot.now)}",
        ]
    else:
        parts += [state_words(view), f"pit {view.degrees(cycle.pit)}", f"band {view.band(cycle.low, cycle.high)}",
                  f"fan {percent(cycle.fan)}"]  # fmt: skip
    for piece in shot.pieces:
        reading = view.degrees(piece.temperature) if piece.temperature is not None else "no reading"
        words = f"{piece.name} {reading}"
        if piece.by_hand:
            words += " by hand"
        if piece.shade is not None:
            words += f" shade {piece.shade}"
        if piece.wrap:
            words += f" in {piece.wrap}"
        if piece.place != "pit":
            words += f" ({say.place(piece.place, piece.place_since, shot.now)})"
        if expected := ahead.brief(piece, shot.now, bare=False):
            words += f" {expected}"
        parts.append(words)
    if left := ahead.fuel_words(shot, view.units):
        parts.append(f"fuel {left}")
    standing = [view.said(alarm.what) for alarm in shot.alarms if not alarm.cleared]
    parts.append("alarms: " + ", ".join(standing) if standing else "no alarm")
    return "; ".join(parts)


def alarm_line(view: View, alarm: Alarm, now: int) -> str:
    """An alarm with why and what to check."""
    checks = " ".join(f"{i}. {view.said(check)}." for i, check in enumerate(alarm.checks, 1))
    said = f"{say.clock(now)} ALARM, {alarm.level}: {view.said(alarm.what)}."
    return " ".join(part for part in (said, view.said(alarm.why), checks) if part)


def changed(shot: Snapshot, view: View) -> tuple[object, ...]:
    """A change of this makes a new line before the minute is over."""
    cycle = shot.cycle
    return (
        view.live, shot.link.state, cycle.state if cycle else "", cycle.trip if cycle else "",
        (cycle.low, cycle.high, cycle.phase) if cycle else (),
        tuple((p.id, p.name, p.place, p.wrap, p.shade) for p in shot.pieces),
        tuple((a.id, bool(a.acknowledged)) for a in shot.alarms),
    )  # fmt: skip


def told(prompt: Prompt) -> Told:
    """What makes a prompt another one: the measures in its words move."""
    return prompt.kind, prompt.piece, prompt.due, gist(prompt.words)


NO_TREND = 2**61  # no cycle has so high an id, and the engine takes it: only snapshots come


class Printer:
    """Takes snapshots, writes lines; a broken pipe comes out as BrokenPipeError."""

    def __init__(
        self, out: TextIO, units: str, *, bell: bool = False, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        """`bell` rings for urgent alarms, where `out` is a terminal."""
        self.out = out
        self.view = View(units=units)
        self.bell, self.chime, self.monotonic = bell, Bell(), monotonic
        self.minute = -1
        self.day = ""
        self.known: tuple[object, ...] = ()
        self.words = ""
        self.asleep = ""  # that nobody would be woken, as last written
        self.alarms: set[int] = set()
        self.prompts: set[Told] = set()

    def write(self, text: str) -> None:
        self.out.write(text + "\n")
        self.out.flush()

    def found(self) -> None:
        """Nothing to write before the first snapshot."""

    def take_trend(self, trend: Trend) -> None:
        """None is asked for."""

    def take_snapshot(self, shot: Snapshot) -> None:
        view = self.view
        first = view.shot is None
        view.shot, view.where = shot, "open"
        if self.day != say.day(shot.now):
            self.day = say.day(shot.now)
            self.write(f"{self.day}:")
        if first:
            cook = f"; {shot.cook.name}" if shot.cook else ""
            self.write(f"{say.clock(shot.now)} {link_words(view)}; {recorded(view)}{cook}")
        words = headline(view)
        # Measures change all the time; a sentence is written again only when something else in it changes.
        same = " ".join(gist(word) for word in standing(view))
        if same != self.words:
            self.words = same
            self.write(f"{say.clock(shot.now)} {'. '.join(word.rstrip('.') for word in words if word)}.")
        for alarm in shot.alarms:
            if alarm.id not in self.alarms:
                self.alarms.add(alarm.id)
                self.write(alarm_line(view, alarm, shot.now))
        if self.bell and self.chime.due(urgent(view), self.monotonic()):
            self.out.write("\a")
        asleep = view.said(woken.why(shot.waking))
        if asleep != self.asleep:
            self.asleep = asleep
            if asleep:
                self.write(f"{say.clock(shot.now)} {asleep}")
        due = {told(prompt): prompt for prompt in shot.prompts if prompt.due <= shot.now}
        # A thing to look at, such as an open lid, may end and come again. What a note answers has a new due time.
        self.prompts = {key for key in self.prompts if key[0] != "look" or key in due}
        for key, prompt in due.items():
            if key not in self.prompts:
                self.prompts.add(key)
                self.write(f"{say.clock(shot.now)} to do now: {view.said(prompt.words)}")
        known, minute = changed(shot, view), shot.now // say.MINUTE
        if known != self.known or minute != self.minute:
            self.known, self.minute = known, minute
            self.write(line(view))

    def lost(self, trouble: str) -> None:
        """There is no engine; each reason is written once."""
        words = f"Looking for the engine: {trouble}" if trouble else "The engine is gone; looking for it again."
        if words != self.words:
            self.words = words
            self.write(words)
        self.view.where = "lost"

    def take_end(self, words: str) -> None:
        """The engine was ended on purpose."""
        clock = f"{say.clock(self.view.shot.now)} " if self.view.shot else ""
        self.write(f"{clock}The engine was ended on purpose. {words} Waiting for another; `tuyere watch` starts one.")
        self.words, self.view.where = "", "ended"


async def watch(
    connect: Connect, out: TextIO, units: str, *, attach: Connect | None = None, bell: bool = False, again: float = 2.0
) -> None:
    """Print until cancelled or until `out` is closed; the source is always closed.

    `connect` finds an engine or starts one, `attach` starts none: it is used after an engine was ended on purpose.
    EngineError if no first engine comes up: a program that reads these lines does not wait for a person to fix that.
    """
    printer = Printer(out, units, bell=bell)
    printer.write("Looking for the engine.")

    def fatal(error: Exception) -> bool:
        return isinstance(error, BrokenPipeError) or (isinstance(error, EngineError) and printer.view.shot is None)

    await Follower(printer, connect, attach or connect, lambda: asyncio.sleep(again), lambda: NO_TREND, fatal).run()
