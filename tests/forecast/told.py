"""Writes `tests/forecast/told.json`: what the forecasts tell of made-up pieces, pits and notes.

Run it with `python tests/forecast/told.py` after a change of a forecast. The diff says which forecasts are others than
before; look at each. A change that was meant to put the source in order leaves the page as it is. Figures that were
measured with the forecast of before are older than a page that has changed.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
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


def hours(when: int | Range | None) -> Any:
    """After it went on, to a minute."""
    if isinstance(when, Range):
        return [hours(when.early), hours(when.likely), hours(when.late)]
    return round((when - ON) / HOUR, 2) if when else None


def noted(hour: float, kind: str, value: float | None = None, text: str = "") -> Note:
    return Note(ON + round(hour * HOUR), kind, value, text)


def finishes() -> Iterator[tuple[str, Told]]:
    """Pieces with and without a probe, bare and wrapped, in the pit and in an oven, early and late."""
    bare, late = kit.probes(wrap_min=2000), kit.probes()
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
    }  # fmt: skip
    for name, (known, changes) in nights.items():
        yield name, finish(msgspec.structs.replace(known, **changes), 0)
    both = kit.known(330, late, piece=kit.ada(kit.wrapped(300)))
    both.columns.meats[1] = [c - 2.0 for c in bare[:330]]
    yield "beside another piece", finish(msgspec.structs.replace(both, pieces=[*both.pieces, other]), 1)
    foretold = before(kit.ada(), 125.0, members=MEMBERS)
    yield "before the cook", {"hours": [round(h, 2) for h in foretold[:: MEMBERS // 4]]}


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


def shades() -> Iterator[tuple[str, Told]]:
    """Windows to wrap, from notes of the shade."""
    of = {
        "one note": [(4.0, 4.1)],
        "three notes": [(4.0, 4.1), (5.0, 5.4), (6.0, 6.1)],
        "pale": [(4.0, 1.0), (6.0, 1.4), (8.0, 1.6)],
        "there": [(7.0, 8.0)],
    }
    for name, notes in of.items():
        for wrap in ("paper", ""):
            one = kit.ada(*(noted(t, "shade", value) for t, value in notes), wrap_with=wrap)
            window, said = shade.window(Known(now=ON + 8 * HOUR), one)
            yield f"{name}, {wrap or 'to stay bare'}", {"hours": hours(window), "words": words(said)}
    one = kit.ada(noted(5.0, "shade", 5.0), kit.wrapped(330))
    yield "wrapped", {"words": words(shade.window(Known(now=ON + 8 * HOUR), one)[1])}
    own = Earlier(cook=1, piece=KnownPiece(id=1), pit_c=125.0, wrap_h=6.0, altitude=0.0, hours=12.0, shade_h=6.0)
    window, said = shade.window(Known(now=ON + 5 * HOUR, earlier=[own]), kit.ada(noted(5.0, "shade", 5.0)))
    yield "after a night of one's own", {"hours": hours(window), "words": words(said)}


def holds() -> Iterator[tuple[str, Told]]:
    """How long a piece stays hot."""
    told = [noted(12.0, "out"), noted(12.25, "in_box")]
    ada = msgspec.structs.replace(kit.ada(*told), place="box", probe=0)
    read = msgspec.structs.replace(ada, notes=[*told, noted(14.0, "hand_reading", 80.0)])
    beside = msgspec.structs.replace(ada, id=2, mass=4.0, notes=[noted(12.0, "out"), noted(13.0, "in_box")])
    hot = msgspec.structs.replace(ada, notes=[noted(11.8, "hand_reading", 92.0), *told])
    for name, pieces, changes in (
        ("in a box", [ada], {}),
        ("in towels, at 57 C, high up", [ada], {"hold": "box with towels", "limit": 57.0, "altitude": 1500.0}),
        ("on the counter, in the cold", [ada], {"hold": "counter", "room": 5.0}),
        ("read in the box", [read], {}),
        ("beside another", [ada, beside], {}),
        ("read as it came out", [hot], {"hold": "box with towels"}),
    ):
        known = Known(now=ON + 15 * HOUR, pieces=pieces, **changes)
        yield name, {"hours": hours(cooling.until(known, pieces[0]))}
    low = msgspec.structs.replace(ada, target=80.0)
    yield "the ways to hold one that was cooked low", {"words": words(cooling.words(Known(now=ON), low))}
    for room in (20.0, 2.0):
        yield f"the ways to hold it at {room:g} C", {"words": words(cooling.words(Known(now=ON, room=room), ada))}


def fuels() -> Iterator[tuple[str, Told]]:
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
    ):
        count = len(pits)
        columns = Columns(
            [ON + (i + 1) * MINUTE for i in range(count)], [pit for pit, _ in pits], [fan for _, fan in pits],
            [121.1] * count, [135.0] * count, [outside] * count, [[None] * count] * 3,
        )  # fmt: skip
        known = Known(
            now=ON + count * MINUTE, cooker=cooker, fuel=kg, notes=notes, columns=columns,
            pieces=[KnownPiece(id=1, mass=6.0, on_at=ON)],
        )  # fmt: skip
        left, ends, said = fuel.ahead(known)
        yield name, {"kg": left and round(left, 3), "hours": hours(ends), "words": words(said)}


PARTS = {"finish": finishes, "shade": shades, "hold": holds, "fuel": fuels}


if __name__ == "__main__":
    page = {part: dict(told()) for part, told in PARTS.items()}
    PAGE.write_text(json.dumps(page, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
