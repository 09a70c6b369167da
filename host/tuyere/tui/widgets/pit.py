"""The pit against its band, the fan, the phase."""

from __future__ import annotations

from tuyere.cook import ahead, say
from tuyere.cook.in_short import phase_matters, phase_words
from tuyere.measures import percent
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading, length

LABEL = 7


def gauge(value: float | None, low: float, high: float, width: int, live: bool, ascii: bool) -> Line:
    """A scale with the band in its middle quarter and the pit on it; an arrow where it is off the scale."""
    track, inside, mark, left, right = ".=O<>" if ascii else "┈━●◀▶"
    if not live and not ascii:
        mark = "○"
    spread = max(high - low, 1.0)
    bottom, top = low - 1.5 * spread, high + 1.5 * spread

    def place(v: float) -> int:
        return int((v - bottom) / (top - bottom) * width)

    a, b = place(low), max(place(low) + 1, place(high))
    cells = [(inside, "") if a <= i < b else (track, "muted") for i in range(width)]
    if value is not None:
        if value < bottom:
            cells[0] = (left, "strong")
        elif value >= top:
            cells[-1] = (right, "strong")
        else:
            cells[place(value)] = (mark, "strong")
    return merged(cells)


def merged(cells: list[tuple[str, str]]) -> Line:
    """Neighbours of one role as one run."""
    out: Line = []
    for text, role in cells:
        if out and out[-1][1] == role:
            out[-1] = (out[-1][0] + text, role)
        else:
            out.append((text, role))
    return out


def bar(share: float, width: int, ascii: bool) -> Line:
    """A share of `width`."""
    filled = round(min(1.0, max(0.0, share)) * width)
    full, rest = ("=", ".") if ascii else ("━", "┈")
    return merged([(full, "") if i < filled else (rest, "muted") for i in range(width)])


def pit_words(view: View) -> tuple[str, str]:
    """(the reading, its role); an old reading carries its time."""
    cycle = view.cycle
    if cycle is None:
        return f"- {view.units}", "muted"
    if view.live:
        return (view.degrees(cycle.pit), "strong") if cycle.pit is not None else ("no reading", "hand")
    return f"({view.degrees(cycle.pit)} at {say.when(cycle.at, view.now)})", "muted"


def band_words(view: View) -> Line:
    """The band as the board has it; what was asked for is said beside it until the board has it."""
    cycle = view.cycle
    if cycle is None:
        return [("-", "muted")]
    line: Line = [(view.band(cycle.low, cycle.high), "")]
    asked = next((a for a in view.asked if a.name == "band"), None)
    if asked:
        line.append((f", asked {view.band(asked.low, asked.high)}", "asked"))
    elif view.shot and view.shot.cook and view.shot.cook.in_band is not None:
        line.append((f", {percent(view.shot.cook.in_band)} in it", "muted"))
    return line


def fan_words(view: View) -> str:
    return percent(view.cycle.fan) if view.cycle and view.live else "-"


def more_words(view: View) -> list[tuple[str, str, str]]:
    """(label, words, role) of what is there only at times: what was asked for, what is expected of the fuel."""
    out = []
    asked = ", ".join(a.words for a in view.asked if a.name != "band")
    if asked:
        out.append(("asked", asked, "asked"))
    if view.shot and (fuel := ahead.fuel_words(view.shot, view.units)):
        out.append(("fuel", fuel, ""))
    return out


def labelled(label: str, text: str, width: int, role: str = "") -> list[Line]:
    """A label and all of its words, on as many lines as they need."""
    texts = say.wrap(text, width - LABEL)
    return [[((label if i == 0 else "").ljust(LABEL), "muted"), (part, role)] for i, part in enumerate(texts)]


def pit_lines(view: View, width: int) -> list[Line]:
    """Label, value and scale in aligned columns."""
    cycle = view.cycle
    reading, role = pit_words(view)
    top: Line = [(reading.ljust(LABEL), role), (" " if len(reading) >= LABEL else "", "")]
    low, high = (cycle.low, cycle.high) if cycle else (121.1, 135.0)
    top += gauge(cycle.pit if cycle else None, low, high, width - length(top) - 1, view.live, view.ascii)
    out: list[Line] = [top, [("band".ljust(LABEL), "muted"), *band_words(view)]]
    share = cycle.fan if cycle and view.live else 0.0
    fan: Line = [("fan".ljust(LABEL), "muted"), (fan_words(view).ljust(7), "")]
    out.append([*fan, *bar(share, width - LABEL - 8, view.ascii)])
    name, end = phase_words(view) if phase_matters(view) else ("", "")
    if not name:
        pass
    elif end and len(name) + 2 + len(end) > width - LABEL:
        out += [*labelled("phase", name, width), *labelled("", end, width)]
    else:
        out += labelled("phase", f"{name}, {end}" if end else name, width)
    for label, words, how in more_words(view):
        out += labelled(label, words, width, how)
    return out


def pit_brief(view: View, width: int) -> list[Line]:
    """The same in two lines, more if the phase has many words, for a small terminal."""
    cycle = view.cycle
    low, high = (cycle.low, cycle.high) if cycle else (121.1, 135.0)
    reading, role = pit_words(view)
    band = view.band(low, high) if cycle else "-"
    asked = next((a for a in view.asked if a.name == "band"), None)
    first: Line = [("pit ", "muted"), (reading, role), ("  ", "")]
    tail: Line = [(f"  band {band}", "")]
    if asked:
        tail.append((f", asked {view.band(asked.low, asked.high)}", "asked"))
    first += [*gauge(cycle.pit if cycle else None, low, high, max(4, width - length(first) - length(tail)), view.live,
                     view.ascii), *tail]  # fmt: skip
    name, end = phase_words(view)
    fan = f"fan {fan_words(view)}"
    phase = (f"  {name}, {end}" if end else f"  {name}") if phase_matters(view) else ""
    texts = say.hanging(fan + phase if cycle else fan, width, len(fan) + 2)
    out = [first, [("fan ", "muted"), (texts[0].removeprefix("fan "), "")], *([(text, "")] for text in texts[1:])]
    for label, words, how in more_words(view):
        out += [[(text, how)] for text in say.hanging(f"{label}: {words}", width)]
    return out


class Pit(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        if self.brief:
            return pit_brief(view, width)
        return [heading("Pit", width, view.ascii), *pit_lines(view, width)]
