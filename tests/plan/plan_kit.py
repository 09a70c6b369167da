"""A supper of a village hall (invented), and a forecast that is quick: a lognormal around 11 h for 5.5 kg."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from logbook_kit import cycle, hello
from tuyere.logbook import Logbook
from tuyere.plan import box, draws, times
from tuyere.plan import make as supper
from tuyere.plan.burning import Burning
from tuyere.plan.buying import amounts
from tuyere.plan.capacity import places
from tuyere.plan.draws import Drawing
from tuyere.plan.learnt import Learnt
from tuyere.plan.loads import PANS
from tuyere.plan.request import Asked
from tuyere.plan.result import Plan
from tuyere.plan.start import Choosing, carve_begins, must_be_done

LONDON = ZoneInfo("Europe/London")
WEDNESDAY = times.utc(datetime(2026, 11, 25, 12, 0), LONDON)


def before(
    piece: Any, pit_c: float, *, wrap_at_c: float = 68.0, members: int = 200, seed: int = 1, **_: Any
) -> list[float]:
    r = random.Random(seed)
    late = 0.05 * (wrap_at_c - 68.0) if piece.wrap_with else 2.5
    hours = late + 11.0 * (piece.mass / 5.5) ** 0.5 * (100.0 / (pit_c - 28.0)) ** 0.5
    return [hours * math.exp(r.gauss(0.0, 0.10)) for _ in range(members)]


def lighten(put: Callable[[object, str, object], None]) -> None:
    """Plain numbers for what needs rehearsals, a simulated hold or the meat's kernel: for tests of the plan alone."""

    def burns(what: Asked, cooker: str, hours: float, loads: Sequence[object]) -> Burning:
        by_then = [0.15 * i for i in range(math.ceil(2.0 * hours) + 1)]
        wet = 0.15 * hours if cooker in PANS else 0.0
        return Burning(0.25 * hours, 0.4 * hours, 6.0, wet, "plain numbers", by_then)

    def keeps(what: Asked, own: Sequence[object], limit: float, most_h: float | None) -> box.Keeping:
        if what.oven:
            return box.Keeping(
                box.OVEN, what.where, max(limit + what.oven_error, what.oven_lowest or 0.0), most_h or 14.0, 14.0
            )
        return box.Keeping(box.BOX if what.towels else box.PLAIN, what.where, None, 8.0, 8.6)

    put(supper, "burning", burns)
    put(supper, "keeping", keeps)
    put(draws, "usual_c", lambda one, pit_c, altitude, hours: min(max(5.0 + 10.0 * hours, 50.0), 94.0))


def at(day: int, clock: str, month: int = 11, zone: ZoneInfo = LONDON, year: int = 2026) -> int:
    hour, minute = clock.split(":")
    return times.utc(datetime(year, month, day, int(hour), int(minute)), zone)


def asked(**changed: Any) -> Asked:
    given: dict[str, Any] = {
        "now": WEDNESDAY,
        "serve": at(28, "18:00"),
        "name": "Village hall supper",
        "guests": 40,
        "sleep": times.Sleep(23 * 60, 6 * 60, LONDON),
    }
    return Asked(**{**given, **changed})


def make(learnt: Learnt | None = None, **changed: Any) -> Plan:
    return supper.make(asked(**changed), learnt or Learnt(), before)


def judged(**changed: Any) -> Choosing:
    what = asked(**changed)
    _, own = amounts(what, Learnt().shares())
    drawn = Drawing(own, [95.5] * len(own), what, 1.0, before, slots=places(what, own))
    return Choosing(what, drawn, carve_begins(own, what.serve), must_be_done(own, what.serve), 8.0)


def cook(
    book: Logbook,
    began: int,
    hours: float = 11.0,
    *,
    simulated: bool = False,
    mass: float = 5.5,
    carved: float = 0.0,
    shades: Sequence[tuple[float, int]] = (),
    ended: bool = True,
    out: bool = True,
    pit: float = 128.0,
    wrap_h: float = 0.0,
    end_c: float = 95.0,
    cut: str = "packer",
    wrap: str = "paper",
) -> int:
    """A cook in the logbook, one piece on the board's probe 1, a cycle every 10 min; its number."""
    boot = 0xA0000000 + began // 60_000 % 0xFFFFFF
    book.boards.hello("pico", boot, hello(), began)
    book.boards.pair("pico", boot, 0, began)
    number = book.cooks.start("Saturday", began, "pico", simulated)
    minutes = range(0, round(hours * 60) + 1, 10)
    meat = [round(500 + 100 * (end_c - 5.0) * minute / (60 * hours)) for minute in minutes]
    rows = [cycle(i, boot, minute * 60_000, pit=round(pit * 100), meat_1=meat[i], low=12110, high=13500)
            for i, minute in enumerate(minutes)]  # fmt: skip
    book.records.add("pico", boot, rows, number)
    piece = book.pieces.add(number, name="Alder", cut=cut, mass=mass, probe=1, on_at=began)
    book.events.note(number, "meat_on", began, began)
    book.cooks.set_meat_on(number, began)
    for hour, shade in shades:
        when = began + round(hour * times.HOUR)
        book.events.note(number, "shade", when, when, piece, float(shade))
    if wrap_h:
        book.events.note(number, "wrapped", began + round(wrap_h * times.HOUR), began, piece, text=wrap)
    end = began + round(hours * times.HOUR)
    if out:
        book.events.note(number, "out", end, end, piece)
        book.pieces.change(piece, place="out")
    if carved:
        book.events.note(number, "carved", end + times.HOUR, end + times.HOUR, piece, carved)
    if ended:
        book.cooks.end(number, end + 2 * times.HOUR)
    return number
