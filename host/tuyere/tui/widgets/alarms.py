"""Alarms: what, why, what to look at in which order, and the keys that answer."""

from __future__ import annotations

from tuyere.chart.colours import Palette
from tuyere.cook import say
from tuyere.cook.snapshot import Alarm
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, length, packed

Block = list[str]  # lines that are shown together or not at all


def alarm_lines(view: View, width: int, most: int = 99) -> list[Line]:
    """The first alarm in full, the others by name, in at most `most` lines: what does not fit whole is left out, and
    the last line says so. Nothing when none stands."""
    standing, aside = view.alarms, view.shelved
    if not standing and not aside:
        return []
    heads = [_head(view, alarm, width) for alarm in standing]
    named = [line for head in heads[1:] for line in head]
    for alarm in aside:
        words = f"shelved until {say.when(alarm.shelved, view.now)}: {alarm.what}"
        named += [[(text, "muted")] for text in say.hanging(words, width)]
    blocks = _reasons(view, standing[0], width) if standing else []
    out = list(heads[0]) if heads else []
    keys = [f"{view.key('acknowledge')} acknowledges", f"{view.key('shelve')} shelves"]
    if view.shot is not None and view.shot.waking.calling:
        keys.insert(0, f"{view.key('awake')}: I'm awake")
    tail = keys if view.past is None and any(not alarm.acknowledged for alarm in standing) else []
    if tail and length(out[0]) + 2 + len(", ".join(tail)) <= width and len(heads[0]) == 1:
        text = ", ".join(tail)
        out[0] = [*out[0], (" " * (width - length(out[0]) - len(text)), ""), (text, "muted")]
        tail = []
    room = most - len(out) - bool(tail)
    if len(named) > room:  # the others are counted at least
        count = len(standing) - 1 + len(aside)
        named = [[(f"and {count} more: {view.key('read')} reads them", "hand")]] if count and room > 0 else []
    room -= len(named)
    kept = _fitting(blocks, room)
    if len(kept) < len(blocks) and not tail:
        kept = _fitting(blocks, room - 1)
    if len(kept) < len(blocks):
        tail = [view.more, *tail]
    out += [[(text, "")] for block in kept for text in block]
    if tail:
        text = ", ".join(tail)
        out.append([(text if len(text) <= width else tail[0], "muted")])
    return (out + named)[:most]


def _head(view: View, alarm: Alarm, width: int) -> list[Line]:
    seen = bool(alarm.acknowledged)
    role = "hand" if seen or alarm.level != "urgent" else "urgent"
    line: Line = [(f" {alarm.level.upper()} ", role), (f" {say.when(alarm.raised, view.now)}  ", "muted")]
    if seen:
        line = [(f" {alarm.level}, seen {say.when(alarm.acknowledged, view.now)} ", role), (" ", "")]
    first, *rest = say.hanging(
        "\0" * length(line) + view.said(alarm.what), width
    )  # the filler is not parted from the words
    return [[*line, (first[length(line) :], "strong")], *([(text, "strong")] for text in rest)]


def _reasons(view: View, alarm: Alarm, width: int) -> list[Block]:
    """Why, then the checks in their order; short ones side by side."""
    why = [say.wrap(view.said(alarm.why), width)] if alarm.why else []
    checks = packed([f"{i} {view.said(check)}" for i, check in enumerate(alarm.checks, 1)], width)
    return [*why, *(say.hanging(text, width) for text in checks)]


def _fitting(blocks: list[Block], room: int) -> list[Block]:
    """The first blocks that have room together."""
    kept = []
    for block in blocks:
        room -= len(block)
        if room < 0:
            break
        kept.append(block)
    return kept


class Alarms(Panel):
    @property
    def likely_width(self) -> int:
        """An alarm may come at any time, so its height decides what the other panels get."""
        return self.app.size.width - 2

    def show(self, view: View, palette: Palette) -> None:
        super().show(view, palette)
        self.display = bool(view.alarms or view.shelved)

    def lines(self, view: View, width: int) -> list[Line]:
        return alarm_lines(view, width, self.room)
