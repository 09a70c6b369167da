"""The detail view: the parts of the fan demand, the link, and what was noted."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.cook.in_short import event_words, letter
from tuyere.cook.reasons import reason
from tuyere.cook.snapshot import Cycle, Event
from tuyere.measures import TEMPERATURE
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading

PARTS = (
    ("pull", "P", "how far the pit is from the aim"),
    ("owed", "I", "what the pit has turned out to need"),
    ("brake", "D", "what the present rise still brings"),
    ("need", "feed-forward", "what this aim is known to need"),
)
LABEL = 9


def detail_lines(view: View, width: int, height: int) -> list[Line]:
    """As much as fits `height` lines; what was noted fills the rest, newest first."""
    shot, cycle = view.shot, view.cycle
    if cycle is None or shot is None:
        return [heading("Why the fan", width, view.ascii), [("no cycle yet", "muted")]]
    why = why_lines(view, cycle, width)
    out = [heading("Why the fan", width, view.ascii), *why]
    if len(out) > height:  # the result comes before its parts
        kept = [*why[len(PARTS) :], *why[: len(PARTS)]][: height - 1]
        return [*kept, [(view.more, "muted")]]
    link = link_lines(view, width)
    if height - len(out) >= len(link) + 2:
        out += [[], heading("Link", width, view.ascii), *link]
    if height - len(out) >= 3:
        out += [[], heading("Noted", width, view.ascii)]
        if not shot.events:
            out.append([(f"nothing yet; {view.key('note')} notes something", "muted")])
    for i, event in enumerate(shot.events):
        lines = noted_lines(view, event, width)
        last = i == len(shot.events) - 1
        if len(out) + len(lines) + (not last) > height:
            if len(out) < height:
                what = "older" if i else "notes"
                out.append([(f"{len(shot.events) - i} {what}: {view.key('read')} reads them", "muted")])
            break
        out += lines
    return out[:height]


def why_lines(view: View, cycle: Cycle, width: int) -> list[Line]:
    """The parts of the demand, the fan, the aim and the reason, each with its words where they fit."""
    out: list[Line] = []
    shot = view.shot
    for name, kind, words in PARTS:
        line: Line = [(name.ljust(LABEL), ""), (_percent(getattr(cycle, name)).rjust(LABEL), "")]
        out.append([*line, (f"  {kind}{', ' + words if width >= 64 else ''}", "muted")])
    aim = f"{TEMPERATURE.number(cycle.aim, view.units):.1f} {view.units}"
    out.append([("fan".ljust(LABEL), ""), (f"{cycle.fan * 100:.1f} %".rjust(LABEL), "strong"), ("  driven", "muted")])
    if cycle.share != 1.0:
        share = f"{cycle.share * 100:.0f} %".rjust(LABEL)
        out.append([("gain".ljust(LABEL), ""), (share, ""), ("  of the set one", "muted")])
    if shot is not None and (breath := shot.breath.share) is not None:
        out.append(
            [("breath".ljust(LABEL), ""), (f"{breath * 100:.0f} %".rjust(LABEL), ""), ("  of its best", "muted")]
        )
    out.append([("aim".ljust(LABEL), ""), (aim.rjust(LABEL), ""), ("  target now", "muted")])
    return out + _labelled("reason", reason(cycle.reason), width, "strong")


def link_lines(view: View, width: int) -> list[Line]:
    """The board and what came of it."""
    shot = view.shot
    assert shot is not None
    link = shot.link
    rows = [
        ("board", f"{link.board or '-'}, boot {link.boot:08x}" if link.boot else link.board or "-"),
        ("port", link.port or "-"),
        ("firmware", link.firmware[:12] or "-"),
        ("heap", f"{link.heap_free:,} bytes free as it started"),
        ("stored", f"{link.recorded:,}, {link.missing:,} missing"),
        ("damaged", f"{link.damaged:,} lines dropped"),
    ]
    if view.past is not None:  # the rest is known of a live board only
        rows = [row for row in rows if row[0] in ("board", "stored")]
    if shot.cycle is not None and shot.cycle.ambient is not None:
        rows.insert(0, ("outside", view.degrees(shot.cycle.ambient)))
    return [line for name, value in rows for line in _labelled(name, value, width)]


def noted_lines(view: View, event: Event, width: int) -> list[Line]:
    """When, its letter and what, every word of it."""
    time = say.when(event.at, view.now)
    first, *rest = say.hanging(f"{time} {letter(event)} {event_words(view, event)}", width, len(time) + 3)
    at = len(time)
    return [[(first[:at], "muted"), (first[at:], "")], *([(text, "")] for text in rest)]


def _labelled(name: str, value: str, width: int, role: str = "") -> list[Line]:
    texts = say.wrap(value, width - LABEL)
    return [[((name if i == 0 else "").ljust(LABEL), "muted"), (text, role)] for i, text in enumerate(texts)]


def _percent(share: float) -> str:
    return f"{share * 100:+.1f} %"


class Detail(Panel):
    DEFAULT_CSS = "Detail { height: 1fr; }"

    def lines(self, view: View, width: int) -> list[Line]:
        return detail_lines(view, width, max(1, self.content_size.height or self.app.size.height))
