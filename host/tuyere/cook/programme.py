"""Programmes: what the board holds as rows of whole numbers, with the words that stay here.

A row is [low, high, end kind, end value] in board units (`hearth.core.fields`). A phase that ends at a time of day goes
to the board as minutes; the time itself stays here, so that the minutes can be counted again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from math import ceil
from typing import Any

import msgspec
from hearth import order_checks
from hearth.core import Settings, fields
from hearth.core import orders as board_orders
from hearth.core import programme as board

from tuyere.cook.snapshot import Phase
from tuyere.text import Duration, Listed, Said, Span, Temperature, band, text

LOW, HIGH = 121.1, 135.0  # C, 250-275 F, the default band
BY_HAND, AFTER = fields.END_BY_HAND, fields.END_AFTER  # above: the meat probe of that number less one
SAME = 0.01  # C; the board keeps hundredths
MINUTE = 60_000
LONGEST = 5760  # min, the board's limit for a phase

PHASES = "phases"  # the text of a cook that `texts` makes

# What a phase is for. BARK ends when the pieces are wrapped; the others end by their own end or by feel.
BARK, FINISH, HOLD = "bark", "finish", "hold"
PURPOSES = {
    BARK: "smoke and bark, until the wrap",
    FINISH: "on to the finish",
    HOLD: "to hold hot what is done",
    "": "not said",
}


def default() -> list[Phase]:
    """One band until the hands end it. Other bands are a person's choice: see `cook.kept_programmes`."""
    return [phase("straight through", LOW, HIGH, fields.END_BY_HAND, purpose=FINISH)]


def phase(
    name: str,
    low: float,
    high: float,
    kind: int = fields.END_BY_HAND,
    value: float = 0.0,
    *,
    purpose: str = "",
    clock: str = "",
) -> Phase:
    """A phase with its end in words. `value` is minutes after END_AFTER, degrees C after END_MEAT_n; low, high: C."""
    return Phase(name, low, high, end_words(kind, value, clock), kind, value, purpose, clock)


def end_words(kind: int, value: float, clock: str = "") -> Said:
    """'by hand', 'after 2 h', 'at 06:00', 'when probe 1 reaches 95 C'."""
    if kind == fields.END_AFTER:
        return f"at {clock}" if clock else text("after {time}", time=Duration(60.0 * value))
    if fields.END_MEAT_1 <= kind <= fields.END_MEAT_3:
        probe = kind - fields.END_MEAT_1 + 1
        return text("when probe {probe} reaches {temperature}", probe=probe, temperature=Temperature(value))
    return "by hand"


def said(phases: Sequence[Phase]) -> Said:
    """'low overnight 107-121 C, ends at 06:00; daylight 121-135 C, ends by hand'."""
    each = [text("{name} {band}, ends {end}", name=p.name, band=band(p.low, p.high), end=p.end) for p in phases]
    return text("{phases}", phases=Listed(tuple(each), by="; "))


def idle(phases: Sequence[Phase], row: int) -> bool:
    """Whether entering this row changes nothing: it has the band of the one before it."""
    if not 0 < row < len(phases):
        return False
    before, new = phases[row - 1], phases[row]
    return abs(before.low - new.low) < SAME and abs(before.high - new.high) < SAME


# -- the board's rows -------------------------------------------------------------------------


def rows(phases: Sequence[Phase]) -> list[list[int]]:
    """Phases -> rows for the board."""
    return [[round(p.low * 100), round(p.high * 100), p.end_kind, _board(p.end_kind, p.end_value)] for p in phases]


def _board(kind: int, value: float) -> int:
    return 0 if kind == fields.END_BY_HAND else round(value) if kind == fields.END_AFTER else round(value * 100)


def phases(board_rows: Sequence[Sequence[int]], kept: str = "") -> list[Phase]:
    """Rows of a board -> phases; `kept` as `texts` made it. Without it, a programme that is the default one has its
    words, and others have numbers for names."""
    words = [line.split("\t") for line in kept.split("\n")] if kept else []
    if not words and [list(row) for row in board_rows] == rows(default()):
        words = [[p.name, p.purpose, p.clock] for p in default()]
    found = []
    for i, (low, high, kind, value) in enumerate(board_rows):
        name, purpose, clock = [*(words[i] if i < len(words) else []), "", "", ""][:3]
        shown = value / 100 if kind > fields.END_AFTER else float(value)
        found.append(phase(name or f"phase {i + 1}", low / 100, high / 100, kind, shown,
                           purpose=purpose if purpose in PURPOSES else "",
                           clock=clock if kind == fields.END_AFTER else ""))  # fmt: skip
    return found


def texts(phases: Sequence[Phase]) -> str:
    """What the board does not keep, a line a phase: its name, what it is for, the time of day that ends it."""
    return "\n".join("\t".join((" ".join(p.name.split()), p.purpose, p.clock)).rstrip("\t") for p in phases)


def recorded(memory: Mapping[str, Any], kept: str | None) -> list[Phase]:
    """The programme in the memory of a state record; kept: as `texts` made it, None if nothing is."""
    flat, count = memory.get("rows"), memory.get("phases")
    if not isinstance(flat, list) or not isinstance(count, int):
        return []
    return phases([flat[i * fields.ROW : (i + 1) * fields.ROW] for i in range(count)], kept or "")


# -- what the board will refuse -----------------------------------------------------------------


def wrong(phases: Sequence[Phase], settings: dict[str, int] | None = None) -> Said:
    """What is wrong with a programme, naming the phase, or "". settings: the board's, in its units; None: defaults."""
    if not 1 <= len(phases) <= fields.ROWS:
        return f"a programme has 1 to {fields.ROWS} phases, and this one has {len(phases)}"
    limits = Settings()
    for name, value in (settings or {}).items():
        if (name, 0) in limits.NAMES:
            setattr(limits, name, value)
    for one in phases:
        if trouble := _wrong(one, limits):
            return trouble
    return ""


def _wrong(one: Phase, limits: Any) -> Said:
    """What is wrong with one phase under these settings of the board, or ""."""
    [row] = rows([one])
    narrowest = board_orders.NARROWEST
    if not 4000 <= row[0] <= row[1] - narrowest:
        return text("{name}: its band begins at {least} or above, and is at least {span} wide", name=one.name,
                    least=Temperature(40.0), span=Span(narrowest / 100))  # fmt: skip
    most = min(board_orders.HIGHEST, limits.pit_limit - board_orders.HEADROOM, limits.pit_limit - limits.rest_above)
    if row[1] > board_orders.HIGHEST or order_checks.contradicts(limits, row[1]):
        return text(
            "{name}: its band goes up to {high}, and with this board's limits none may go above {most}",
            name=one.name, high=Temperature(one.high), most=Temperature(most / 100),
        )  # fmt: skip
    if one.end_kind == fields.END_AFTER and not 1 <= row[3] <= LONGEST:
        return text("{name}: a phase lasts {least} to {most}", name=one.name, least=Duration(60.0),
                    most=Duration(60.0 * LONGEST))  # fmt: skip
    if one.end_kind > fields.END_AFTER and not 3000 <= row[3] <= 12000:
        return text("{name}: a piece that ends a phase reads {least} to {most}", name=one.name,
                    least=Temperature(30.0), most=Temperature(120.0))  # fmt: skip
    return f"{one.name}: the board refuses it, {trouble}" if (trouble := board.wrong([row], board_orders.HIGHEST)) \
        else ""  # fmt: skip


# -- ends at a time of day ------------------------------------------------------------------------


def read_clock(typed: str) -> str:
    """'6', '6:00', '06.00' -> '06:00'; "" if it is no time of day."""
    hour, _, minute = typed.strip().replace(".", ":").partition(":")
    if not (hour.isascii() and hour.isdigit() and (not minute or (minute.isascii() and minute.isdigit()))):
        return ""
    return f"{int(hour):02d}:{int(minute or 0):02d}" if int(hour) < 24 and int(minute or 0) < 60 else ""


def begins(phases: Sequence[Phase], row: int, since: int) -> list[int]:
    """When each phase begins as far as the times are known, UTC ms, 0 where they are not. Row `row` began at
    `since`."""
    found = [0] * len(phases)
    at = since
    for i in range(row, len(phases)):
        found[i] = at
        if phases[i].end_kind != fields.END_AFTER:
            break
        at += round(phases[i].end_value * MINUTE)
    return found


def counted(phases: Sequence[Phase], row: int, since: int, now: int) -> list[Phase]:
    """Phases that end at a time of day, with their minutes counted. Row `row` begins or began at `since`; local time.

    ValueError with a sentence names a phase of which it is not known when it begins.
    """
    found = list(phases)
    for i, one in enumerate(found):
        if not one.clock:
            continue
        start = since if i == row else begins(found, row, since)[i] if i > row else now
        if not start:
            raise ValueError(
                f"{one.name} ends at {one.clock}, but nobody knows when it begins: "
                f"give {found[i - 1].name} a time to end, or end {one.name} in another way"
            )
        end = _next(one.clock, max(start, now if i == row else start))
        minutes = min(LONGEST, max(1, ceil((end - start) / MINUTE)))
        found[i] = msgspec.structs.replace(one, end_kind=fields.END_AFTER, end_value=float(minutes))
    return found


def _next(clock: str, after: int) -> int:
    """The next time that the local clock shows this, UTC ms."""
    hour, minute = map(int, clock.split(":"))
    began = datetime.fromtimestamp(after / 1000)
    at = began.replace(hour=hour, minute=minute, second=0, microsecond=0)
    if at <= began:
        at += timedelta(days=1)
    return round(at.timestamp() * 1000)
