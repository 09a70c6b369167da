"""Writes `tests/forecast/told.json`: what the forecasts tell of made-up pieces, pits and notes.

Run it with `python tests/forecast/told.py` after a change of a forecast. The diff says which forecasts are others than
before; look at each. A change that was meant to put the source in order leaves the page as it is. Figures that were
measured with the forecast of before are older than a page that has changed.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1] / "text"))

import finish_kit as kit
import msgspec
from rendered import words
from tuyere.forecast import cooling, fuel, shade
from tuyere.forecast.exchange import Columns, Earlier, Known, KnownPiece, Note, Range
from tuyere.forecast.finish import Finish, before

PAGE = Path(__file__).with_name("told.json")
ON, MINUTE = kit.ON, kit.MINUTE
HOUR = 60 * MINUTE
MEMBERS = 16

Told = dict[str, Any]
Telling = Iterator[tuple[str, Callable[[], Told]]]


def hours(when: int | Range | None) -> Any:
    """After it went on, to a minute."""
    if isinstance(when, Range):
        return [hours(when.early), hours(when.likely), hours(when.late)]
    return round((when - ON) / HOUR, 2) if when else None


def noted(hour: float, kind: str, value: float | None = None, text: str = "") -> Note:
    return Note(ON + round(hour * HOUR), kind, value, text)


def finishes() -> Telling:
    """Pieces with and without a probe, bare and wrapped, in the pit and in an oven, early and late."""
    bare, late = kit.probes(wrap_min=2000), kit.probes()
    there = kit.there(late) + 3
    earlier = [
        Earlier(
            cook=i, piece=msgspec.structs.replace(kit.ada(), probe=0), pit_c=125.0, wrap_h=6.0, altitude=0.0, hours=h
        )
        for i, h in enumerate((11.0, 12.5))
    ]
    oven = msgspec.structs.replace(kit.ada(kit.wrapped(), noted(7.0, "in_oven")), place="oven")
    other = msgspec.structs.replace(kit.ada(kit.wrapped(200)), id=2, probe=2, mass=4.0, cut="flat", flat=0.045)
    nights = {
        "nothing read, of unknown mass": (kit.known(0, piece=KnownPiece(id=1, on_at=ON)), {}),
        "half an hour in": (kit.known(30, bare), {}),
        "two hours in": (kit.known(120, bare), {"cooker": "upright"}),
        "on the plateau, to be wrapped in foil": (kit.known(300, bare, piece=kit.ada(wrap_with="foil")), {}),
        "wrapped in paper": (kit.known(400, late, piece=kit.ada(kit.wrapped())), {"cooker": "drum", "altitude": 600.0}),
        "in an oven": (kit.known(430, late, piece=oven), {}),
        "a probe by the surface": (kit.known(90, kit.probes(off_m=0.019)), {}),
        "a probe moved, and a reading by hand": (
            kit.known(300, tuple(c + 6.0 * (i > 200) for i, c in enumerate(bare)),
                      piece=kit.ada(noted(4.5, "hand_reading", 66.0))), {}
        ),
        "after nights of one's own": (kit.known(240, bare), {"earlier": earlier}),
        "cooked low, by its feel": (kit.known(300, bare, piece=kit.ada(target=80.0)), {"done_by": ON + 12 * HOUR}),
        "at its target, in time": (kit.known(there, late, piece=kit.ada(kit.wrapped())), {"done_by": known_at(there)}),
        "at its target, too late": (kit.known(there, late, piece=kit.ada(kit.wrapped())),
                                    {"done_by": known_at(there) - 1}),
        "at its target, to be felt for longer": (
            kit.known(there, late, piece=kit.ada(kit.wrapped(), target=80.0)), {"done_by": ON + 24 * HOUR}
        ),
        "high up, where its target may never come": (kit.known(200, bare), {"altitude": 1800.0}),
        "in a cool pit, to stay bare": (
            kit.known(420, kit.probes(wrap_min=2000, pit=104.0), pit=104.0, piece=kit.ada(wrap_with="")), {}
        ),
        "slow in its wrap": (kit.known(270, kit.probes(wrap_min=240), piece=kit.ada(kit.wrapped(240))), {}),
        "slow still in its wrap": (
            kit.known(350, tuple(min(c, 66.0) for c in bare), piece=kit.ada(kit.wrapped(300))), {}
        ),
        "bare for half a day": (
            kit.known(760, kit.probes(wrap_min=2000, pit=104.0), pit=104.0, piece=kit.ada(target=98.0)), {}
        ),
        "a piece that cannot be": (kit.known(60, piece=kit.ada(mass=200.0)), {}),
        "not on yet": (kit.known(60, piece=kit.ada(on_at=0)), {}),
        "on the counter": (kit.known(60, piece=kit.ada(place="counter")), {}),
        "held in the pit": (kit.known(60, piece=kit.ada(held=True)), {}),
    }  # fmt: skip
    for name, (known, changes) in nights.items():
        yield name, partial(finish, msgspec.structs.replace(known, **changes), 0)
    both = kit.known(330, late, piece=kit.ada(kit.wrapped(300)))
    both.columns.meats[1] = [c - 2.0 for c in bare[:330]]
    yield "beside another piece", partial(finish, msgspec.structs.replace(both, pieces=[*both.pieces, other]), 1)
    yield "before the cook", foretold
    yield "before the cook, the wrap's time known", partial(foretold, wrap_h=4.0, pit_sd=9.0, altitude=900.0)


def known_at(minutes: int) -> int:
    return ON + minutes * MINUTE


def foretold(**more: float) -> Told:
    return {"hours": [round(h, 2) for h in before(kit.ada(), 125.0, members=MEMBERS, **more)[:: MEMBERS // 4]]}  # type: ignore[arg-type]


def finish(known: Known, place: int) -> Told:
    """What is told of one of its pieces."""
    found = Finish(MEMBERS).ahead(known)[place]
    return {
        "hours": hours(found.finish),
        "in time": found.in_time,
        "probe": [column[3::16] for column in (found.low, found.mid, found.high)],
        "words": [words(said) for said in found.words],
        "its probe": words(found.probe_words),
    }


def shades() -> Telling:
    """Windows to wrap, from notes of the shade."""
    of = {
        "no note": [],
        "one note": [(4.0, 4.1)],
        "three notes": [(4.0, 4.1), (5.0, 5.4), (6.0, 6.1)],
        "pale": [(4.0, 1.0), (6.0, 1.4), (8.0, 1.6)],
        "too pale": [(4.0, 0.3), (6.0, 0.4), (8.0, 0.4)],
        "pale for ever": [(float(t), 0.2) for t in range(2, 24, 2)],
        "there": [(7.0, 8.0)],
    }
    now = ON + 8 * HOUR
    for name, notes in of.items():
        for wrap in ("paper", ""):
            one = kit.ada(*(noted(t, "shade", value) for t, value in notes), wrap_with=wrap)
            yield f"{name}, {wrap or 'to stay bare'}", partial(shaded, Known(now=now), one)
    early = noted(5.0, "shade", 5.0)
    yield "wrapped", partial(shaded, Known(now=now), kit.ada(early, kit.wrapped(330), noted(6.0, "shade", 9.0)))
    yield "wrapped late", partial(shaded, Known(now=now), kit.ada(noted(9.0, "shade", 9.5), kit.wrapped(545)))
    yield "wrapped, with no note before", partial(shaded, Known(now=now), kit.ada(kit.wrapped(330)))
    yield "unwrapped again", partial(shaded, Known(now=now), kit.ada(early, kit.wrapped(330), kit.wrapped(360, "")))
    yield "in an oven", partial(shaded, Known(now=now), kit.ada(early, place="oven"))
    yield "in foil, with little lead", partial(shaded, Known(now=now, lead=20.0), kit.ada(early, wrap_with="foil"))
    own = Earlier(cook=1, piece=KnownPiece(id=1), pit_c=125.0, wrap_h=6.0, altitude=0.0, hours=12.0, shade_h=6.0)
    later = msgspec.structs.replace(own, cook=2, shade_h=7.0)
    slips = [msgspec.structs.replace(own, cook=3, shade_h=hours) for hours in (0.0, 3.8, 15.6)]
    other = msgspec.structs.replace(own, cook=4, piece=KnownPiece(id=1, cut="flat"))
    for name, earlier in (
        ("after a night of one's own", [own]),
        ("after two", [own, later, msgspec.structs.replace(later, shade_h=8.0)]),
        ("after slips, and another cut", [*slips, other]),
    ):
        yield name, partial(shaded, Known(now=ON + 5 * HOUR, earlier=earlier), kit.ada(early))


def shaded(known: Known, one: KnownPiece) -> Told:
    window, said = shade.window(known, one)
    return {"hours": hours(window), "words": words(said)}


def holds() -> Telling:
    """How long a piece stays hot."""
    told = [noted(12.0, "out"), noted(12.25, "in_box")]
    ada = msgspec.structs.replace(kit.ada(*told), place="box", probe=0)
    read = msgspec.structs.replace(ada, notes=[*told, noted(14.0, "hand_reading", 80.0)])
    beside = msgspec.structs.replace(ada, id=2, mass=4.0, notes=[noted(12.0, "out"), noted(13.0, "in_box")])
    later = msgspec.structs.replace(beside, notes=[noted(13.0, "out"), noted(13.5, "in_box")])
    hot = msgspec.structs.replace(ada, notes=[noted(11.8, "hand_reading", 92.0), *told])
    for name, pieces, changes in (
        ("in a box", [ada], {}),
        ("in towels, at 57 C, high up", [ada], {"hold": "box with towels", "limit": 57.0, "altitude": 1500.0}),
        ("on the counter, in the cold", [ada], {"hold": "counter", "room": 5.0}),
        ("in a low oven", [ada], {"hold": "low oven"}),
        ("in a place that is none", [ada], {"hold": "oven"}),
        ("read in the box", [read], {}),
        ("read in the box a while ago", [read], {"now": ON + 20 * HOUR}),
        ("beside another", [ada, beside], {}),
        ("long before another", [ada, later], {}),
        ("beside one that cannot be", [ada, msgspec.structs.replace(beside, mass=200.0)], {}),
        ("read as it came out", [hot], {"hold": "box with towels"}),
        ("with no word of when it came out", [msgspec.structs.replace(ada, notes=told[1:])], {"vented": 10.0}),
        ("out for long before the box", [msgspec.structs.replace(ada, notes=[noted(8.0, "out"), told[1]])], {}),
        ("in the pit", [msgspec.structs.replace(ada, place="pit")], {}),
    ):  # fmt: skip
        known = msgspec.structs.replace(Known(now=ON + 15 * HOUR, pieces=pieces), **changes)
        yield name, partial(held, known, pieces[0])
    low = msgspec.structs.replace(ada, target=80.0)
    yield "the ways to hold one that was cooked low", partial(ways, Known(now=ON), low)
    for room in (20.0, 2.0):
        yield f"the ways to hold it at {room:g} C", partial(ways, Known(now=ON, room=room), ada)
    yield "the ways to hold what cannot be", partial(ways, Known(now=ON), msgspec.structs.replace(ada, mass=200.0))


def held(known: Known, one: KnownPiece) -> Told:
    return {"hours": hours(cooling.until(known, one))}


def ways(known: Known, one: KnownPiece) -> Told:
    return {"words": words(cooling.words(known, one))}


def fuels() -> Telling:
    """What is left of the coal."""
    usual = (128.0, 0.20)
    lit = noted(3.0, "fuel_added", 1.0, "lit")
    for name, cooker, kg, pits, notes, outside in (
        ("a drum", "drum", 3.2, [usual] * 300, [], 14.0),
        ("a ceramic one in the cold", "ceramic", 4.0, [(128.0, 0.05)] * 300, [], -5.0),
        ("of unknown kind and fill", "", None, [usual] * 120, [], None),
        ("refilled", "upright", 2.0, [usual] * 240, [lit, noted(3.5, "fuel_added")], 14.0),
        ("in need of air", "offset", 6.0, [usual] * 300 + [(124.0, 0.75)] * 25, [], 14.0),
        ("out", "drum", 3.2, [usual] * 240 + [(128.0 - i, 1.0) for i in range(90)], [], 14.0),
        ("far below its band for 30 min", "drum", 3.2, [usual] * 240 + [(90.0, 0.3)] * 31, [], 14.0),
        ("far below its band for 29 min", "drum", 3.2, [usual] * 240 + [(90.0, 0.3)] * 30, [], 14.0),
        ("soon enough", "drum", 3.2, [usual] * 20, [], 14.0),
        ("too soon", "drum", 3.2, [usual] * 19, [], 14.0),
        ("refilled before it was lit", "drum", 2.0, [usual] * 120, [noted(-0.9, "fuel_added", 1.0)], 14.0),
        ("refilled the day before", "drum", 2.0, [usual] * 120, [noted(-1.1, "fuel_added", 1.0)], 14.0),
        ("warming up", "ceramic", 4.0, [(20.0 + i, 0.5) for i in range(108)], [], 14.0),
        ("with two hours unread", "drum", 3.2, [usual] * 60 + [(None, 0.0)] * 120 + [usual] * 60, [], 14.0),
        ("with four hours unread", "drum", 3.2, [usual] * 60 + [(None, 0.0)] * 240 + [usual] * 60, [], 14.0),
        ("nearly gone", "drum", 0.9, [usual] * 300, [], 14.0),
        ("in need of a little air", "offset", 6.0, [usual] * 300 + [(124.0, 0.34)] * 25, [], 14.0),
        ("cool, but rising", "drum", 3.2, [usual] * 240 + [(88.0 + 0.1 * i, 0.3) for i in range(31)], [], 14.0),
        ("cool from the start", "drum", 3.2, [(88.0, 0.3)] * 240, [], 14.0),
    ):
        yield name, partial(fuelled, cooker, kg, pits, notes, outside)


def fuelled(
    cooker: str, kg: float | None, pits: list[tuple[float | None, float]], notes: list[Note], outside: float | None
) -> Told:
    count = len(pits)
    columns = Columns(
        [ON + (i + 1) * MINUTE for i in range(count)], [pit for pit, _ in pits], [fan for _, fan in pits],
        [121.1] * count, [135.0] * count, [outside] * count, [[None] * count] * 3,
    )  # fmt: skip
    known = Known(
        now=ON + count * MINUTE, cooker=cooker, fuel=kg, notes=notes, columns=columns,
        pieces=[KnownPiece(id=1, mass=6.0, on_at=ON), KnownPiece(id=2, mass=6.0, on_at=ON, place="oven")],
    )  # fmt: skip
    left, ends, said = fuel.ahead(known)
    return {"kg": left and round(left, 3), "hours": hours(ends), "words": words(said)}


PARTS = {"finish": finishes, "shade": shades, "hold": holds, "fuel": fuels}


if __name__ == "__main__":
    page = {part: {name: told() for name, told in tellings()} for part, tellings in PARTS.items()}
    PAGE.write_text(json.dumps(page, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
