"""The top line: which cook, how the board is linked, whether anybody would be woken, the count, the cook's clock."""

from __future__ import annotations

from tuyere.cook import say, woken
from tuyere.cook.in_short import link_words, recorded
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel


def status_line(view: View, width: int) -> Line:
    """What does not fit is left out: the count first, then words of the link, minutes of the cook's age, its name.
    That nobody would be woken stands in place of the count, and is never left out."""
    shot = view.shot
    clock = "--:--"
    if shot:  # a long cook's clock has its day
        long = view.past is not None or (shot.cook is not None and shot.now - shot.cook.started >= 24 * say.HOUR)
        clock = f"{say.weekday(shot.now)} {say.clock(shot.now)}" if long else say.clock(shot.now)
    gone = view.where in ("lost", "ended") or view.quiet
    bad = gone or view.past is not None or (shot is not None and (shot.link.state != "open" or shot.stale))
    link = link_words(view)
    lost = shot is not None and shot.link.missing > 0
    asleep = woken.header(shot.waking) if shot else ""
    cook = age = hours = ""
    if shot and shot.cook:
        cook, ended = shot.cook.name, ", ended" if shot.cook.ended else ""
        ms = (shot.cook.ended or shot.now) - shot.cook.started
        age, hours = f"{say.span(ms)}{ended}", f"{say.hours(ms)}{ended}"
    brief = link_words(view, brief=True)
    for parts, count, words in (
        ((cook, age), asleep or recorded(view), link), ((cook, age), asleep, link), ((cook, age), asleep, brief),
        ((cook, hours), asleep, brief), ((age,), asleep, link), ((), asleep, link), ((), asleep, brief),
        ((), asleep, ""),
    ):  # fmt: skip
        left, link = ", ".join(part for part in parts if part), words
        room = width - len("Tuyere") - len(clock) - 2 - (len(left) + 2 if left else 0)
        room -= len(link) + 2 + (len(count) + 2 if count else 0)
        if room >= 0:
            break
    else:
        room, link = 0, say.cut(link, width - len("Tuyere") - len(clock) - 4)
    line: Line = [("Tuyere", "strong")]
    if left:
        line.append((f"  {left}", ""))
    line.append((" " * (room + 2), ""))
    line.append((link, "hand" if bad else "muted"))
    if count:
        line.append((f"  {count}", "hand" if lost or asleep else "muted"))
    return [*line, (f"  {clock}", "strong")]


class Status(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        return [status_line(view, width)]
