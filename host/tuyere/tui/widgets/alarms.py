"""Alarms: what, why, what to look at in which order, and the keys that answer."""

from __future__ import annotations

from tuyere.engine.model import Alarm
from tuyere.tui import say
from tuyere.tui.colours import Palette
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, length


def alarm_lines(view: View, width: int, most: int = 6) -> list[Line]:
    """The first alarm in full, the others a line each, at most `most` lines; nothing when none stands."""
    if view.shot is None:
        return []
    now = view.shot.now
    alarms = [a for a in view.shot.alarms if not a.cleared and a.shelved <= now]
    aside = [a for a in view.shot.alarms if not a.cleared and a.shelved > now]
    alarms.sort(key=lambda a: (bool(a.acknowledged), a.level != "urgent"))
    out: list[Line] = []
    for i, alarm in enumerate(alarms):
        if len(out) >= most:
            break
        out += _alarm(view, alarm, now, width, most - len(out) - min(len(alarms) - 1 - i, 1) if i == 0 else 1)
    if len(alarms) > len(out) and out:
        out[-1] = [(say.cut(f"and {len(alarms) - 1} more alarms", width), "hand")]
    if aside and len(out) < most:
        names = ", ".join(f"{a.what} until {say.clock(a.shelved)}" for a in aside)
        out.append([(say.cut(f"shelved: {names}", width), "muted")])
    return out


def _alarm(view: View, alarm: Alarm, now: int, width: int, most: int) -> list[Line]:
    seen = bool(alarm.acknowledged)
    role = "hand" if seen or alarm.level != "urgent" else "urgent"
    tag = f" {alarm.level.upper()} " if not seen else f" {alarm.level}, seen {say.clock(alarm.acknowledged)} "
    line: Line = [(tag, role), (f" {say.clock(alarm.raised)}  ", "muted")]
    for keys in ("  a acknowledges, l shelves", "  a acknowledges", ""):
        room = width - length(line) - len(keys)
        if len(alarm.what) <= room:
            break
    if seen:
        keys, room = "", width - length(line)
    text = say.cut(alarm.what, room)
    line.append((text, "strong"))
    if keys:
        line += [(" " * (room - len(text)), ""), (keys, "muted")]
    out = [line]
    if most > 1:
        # A long reason may take a second line, but never all the room of the checks.
        out += [
            [(text, "")] for text in say.wrap(view.said(alarm.why), width, 2 if most > 3 or not alarm.checks else 1)
        ]
    if most > 2 and alarm.checks:
        texts = [f"{i} {view.said(check)}" for i, check in enumerate(alarm.checks, 1)]
        out += [[(say.cut(part, width), "")] for part in packed(texts, width)[: most - len(out)]]
    return out[:most]


def packed(texts: list[str], width: int, between: str = "   ") -> list[str]:
    """Texts side by side while they fit, none broken over two lines."""
    out: list[str] = []
    for text in texts:
        if out and len(out[-1]) + len(between) + len(text) <= width:
            out[-1] += between + text
        else:
            out.append(text)
    return out


class Alarms(Panel):
    def show(self, view: View, palette: Palette) -> None:
        super().show(view, palette)
        self.display = bool(alarm_lines(view, 80))

    def lines(self, view: View, width: int) -> list[Line]:
        return alarm_lines(view, width, 3 if self.short else 4 if self.narrow or self.app.size.height < 35 else 6)
