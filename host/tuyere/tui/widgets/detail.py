"""The detail view: the parts of the fan demand, the link, and what was noted."""

from __future__ import annotations

from tuyere.tui import say, units
from tuyere.tui.view import Line, View, event_words, letter
from tuyere.tui.widgets.panel import Panel, heading

PARTS = (
    ("pull", "P", "how far the pit is from the aim"),
    ("owed", "I", "what the pit has turned out to need"),
    ("brake", "D", "what the present rise still brings"),
    ("need", "feed-forward", "what this aim is known to need"),
)


def detail_lines(view: View, width: int, height: int) -> list[Line]:
    """As much as fits `height` lines; what was noted fills the rest, newest first."""
    shot, cycle = view.shot, view.cycle
    out: list[Line] = [heading("Why the fan", width, view.ascii)]
    if cycle is None or shot is None:
        return [*out, [("no cycle yet", "muted")]]
    explain = width >= 64
    for name, kind, words in PARTS:
        line: Line = [(name.ljust(7), ""), (_percent(getattr(cycle, name)).rjust(9), "")]
        out.append([*line, (f"  {kind}{', ' + words if explain else ''}", "muted")])
    out.append([("fan".ljust(7), ""), (_percent(cycle.fan, signed=False).rjust(9), "strong"), ("  driven", "muted")])
    out.append([("aim".ljust(7), ""), (f"{units.shown(cycle.aim, view.units):.1f} {view.units}".rjust(9), ""),
                ("  target now", "muted")])  # fmt: skip
    reason = cycle.reason.replace("_", " ")
    out.append([("reason".ljust(9), ""), (say.cut(reason, width - 9), "strong")])
    link = shot.link
    rows = [
        ("board", f"{link.board or '-'}, boot {link.boot:08x}" if link.boot else link.board or "-"),
        ("port", link.port or "-"),
        ("firmware", link.firmware[:12] or "-"),
        ("heap", f"{link.heap_free:,} bytes free at hello"),
        ("stored", f"{link.recorded:,}, {link.missing:,} missing"),
        ("damaged", f"{link.damaged:,} lines dropped"),
    ]
    if cycle.ambient is not None:
        rows.insert(0, ("outside", view.degrees(cycle.ambient)))
    spare = height - len(out)
    if spare >= len(rows) + 2:
        out += [[], heading("Link", width, view.ascii)]
        out += [[(name.ljust(9), "muted"), (say.cut(value, width - 9), "")] for name, value in rows]
    spare = height - len(out)
    if spare >= 3:
        out += [[], heading("Noted", width, view.ascii)]
        for event in shot.events[: spare - 2]:
            text = say.cut(event_words(view, event), width - 9)
            out.append([(f"{say.clock(event.at)} ", "muted"), (f"{letter(event)} ", ""), (text, "")])
        if not shot.events:
            out.append([("nothing yet; n notes something", "muted")])
    return out[:height]


def _percent(share: float, signed: bool = True) -> str:
    return f"{share * 100:+.1f} %" if signed else f"{share * 100:.1f} %"


class Detail(Panel):
    DEFAULT_CSS = "Detail { height: 1fr; }"

    def lines(self, view: View, width: int) -> list[Line]:
        return detail_lines(view, width, max(1, self.content_size.height or self.app.size.height))
