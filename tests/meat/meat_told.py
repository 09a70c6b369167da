"""Writes `tests/meat/meat_told.json`: what the meat's room says and reckons of made-up pieces, places and rules.

Run it with `python tests/meat/meat_told.py` after a change of the room. The diff says what is told otherwise than
before; look at each. Its numbers are no source: the tests beside it check those that were read in one.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1] / "text"))

from meat_kit import cooked, steady
from rendered import words
from tuyere.meat import doneness, hold, regions, safety
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import CUTS
from tuyere.meat.outcome import outcome
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat
from tuyere.meat.water import pressure_at

PAGE = Path(__file__).with_name("meat_told.json")
DIGITS = 5
Telling = Iterator[tuple[str, Callable[[], Any]]]


def short(value: Any) -> Any:
    """The same with floats of DIGITS digits."""
    if isinstance(value, dict):
        return {name: short(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [short(one) for one in value]
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value


def rules() -> Telling:
    """The rules of every place, home and trade."""
    for region in regions.REGIONS:
        for use in regions.USES:
            yield f"{region}, {use}", partial(ruled, use, region)


def ruled(use: str, region: str) -> dict[str, Any]:
    found = regions.rules(use, region)
    told = {name: [words(rule.text), rule.source, rule.c] if isinstance(rule, safety.Rule) else rule
            for name, rule in vars(found).items()}  # fmt: skip
    given = {
        "whole": (True, 5.0), "rolled": (False, 5.0), "come up slowly": (True, 5.0, False, 7.0),
        "cold after 7 h": (True, 5.0, False, None, None, 7.0), "low at the end": (True, 5.0, False, 5.0, 69.0),
        "small, in the trade": (True, 3.0, True), "all": (False, 3.0, True, 7.0, 60.0, 9.0),
    }  # fmt: skip
    cautions = {name: [key for one in regions.cautions(found, *of) for key, rule in vars(found).items() if rule is one]
                for name, of in given.items()}  # fmt: skip
    return {**told, "cautions": cautions}


def holds() -> Telling:
    """Two pieces, one of them small, in each place; and what changes it."""
    for name in hold.PLACES:
        yield name, partial(kept, name)
        yield f"{name}, vented, in the cold", partial(kept, name, room_c=2.0, vent_s=900.0)
    yield "a limit of 70 C", partial(kept, "box", limit_c=70.0)
    yield "a warm lining", partial(kept, "box", wall_c=75.0)


def kept(name: str, **more: float) -> dict[str, Any]:
    pieces = [PieceOfMeat(mass_kg=5.5), PieceOfMeat(cut="pork ribs", mass_kg=1.2)]
    state, constants = hold.cooked(pieces, 96.0, 94.0)
    found = hold.hold(state, constants, hold.place(name), 3.0, **more)
    rest = {key: value for key, value in asdict(found).items() if not isinstance(value, list)}
    ends = {"pieces_h": found.pieces_h, "ends_c": found.ends_c, "middles_c": [row[::15] for row in found.middles_c]}
    return short({**rest, **ends, "coldest": found.coldest[::15], "words": words(found.words())})  # type: ignore[no-any-return]


def cooks() -> Telling:
    """Three hours of each cut, and of one cut with this and that."""
    for name, cut in CUTS.items():
        yield name, partial(cook, PieceOfMeat(cut=name, mass_kg=cut.kg[1]))
    flat = PieceOfMeat(cut="flat", mass_kg=2.5, flat_m=0.03)
    yield "in paper", partial(cook, flat, wrap_h=1.5)
    yield "in foil, then bare", partial(cook, flat, wrap_h=1.0, wrap=at.FOIL, bare_h=2.0)
    yield "high up", partial(cook, flat, pressure=pressure_at(2000.0))
    yield (
        "off the middle, of fat meat, from the freezer",
        partial(cook, PieceOfMeat(cut="flat", mass_kg=2.5, flat_m=0.03, probe_off_m=0.008, fat=0.2, start_c=-1.0)),
    )
    yield "done early", partial(cook, PieceOfMeat(cut="flat", mass_kg=2.5, flat_m=0.03, done_c=60.0, done_feel=0.01))
    yield "of other numbers", partial(cook, flat, parameters=Parameters(crust=400.0, juice_s=900.0, shrink=0.3))


def cook(piece: PieceOfMeat, **more: Any) -> dict[str, Any]:
    state, constants, probe = cooked(piece, steady(hours=3.0), **more)
    return short({**outcome(state, constants).as_dict(), "probe": probe[::30]})  # type: ignore[no-any-return]


def judged() -> Telling:
    """Done or not."""
    for probe in (80.0, 91.9, 92.0, 93.0, 95.0, 97.0):
        yield f"{probe} C", partial(judgement, probe)
    for altitude in (0.0, 1500.0, 3000.0):
        for target in (89.0, 95.0, 99.0):
            yield f"{target} C at {altitude} m", partial(top, target, altitude)


def judgement(probe: float) -> list[list[Any]]:
    felt = [doneness.judge(probe, share, tender) for share in (None, 0.3, 0.9) for tender in (None, True, False)]
    return [[one.done, words(one.words)] for one in felt]


def top(target: float, altitude: float) -> dict[str, Any]:
    found = doneness.ceiling(target, pressure_at(altitude))
    return short({  # type: ignore[no-any-return]
        "boils": found.boils_c, "never": found.may_never_come, "words": words(found.words),
        "choices": [words(one) for one in found.choices],
    })  # fmt: skip


def safe() -> Telling:
    """Lethality, growth and the way up."""
    ways = {"steady": [56.0] * 60, "rising": [2.0 + i for i in range(66)], "hot": [71.0], "cold": [3.0, 4.0, 4.1, 60.0]}
    for name, way in ways.items():
        yield name, partial(heated, way)
    yield "left out", lambda: {str(room): safety.left_out_hours(room) for room in (-5.0, 20.0, 32.0, 32.3, 45.0)}


def heated(way: list[float]) -> Any:
    return short([safety.times_over(way, 60.0), safety.times_over(way, 60.0, 7.0), safety.growth_minutes(way, 60.0),
                  safety.come_up_hours(way, 60.0)])  # fmt: skip


PARTS = {"rules": rules, "holds": holds, "cooks": cooks, "judged": judged, "safe": safe}


if __name__ == "__main__":
    page = {part: {name: told() for name, told in tellings()} for part, tellings in PARTS.items()}
    PAGE.write_text(json.dumps(page, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
