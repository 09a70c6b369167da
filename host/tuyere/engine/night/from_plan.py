"""A kept plan, as the engine takes it: its pieces and its programme for a cook that begins on its day."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import msgspec
from hearth.core import programme as board_programme

from tuyere import measures
from tuyere.cook import kitchen, planned, programme
from tuyere.cook.errors import Refusal
from tuyere.logbook import LogbookError
from tuyere.logbook.checks import PIECE_FIELDS

if TYPE_CHECKING:
    from tuyere.engine.engine import Engine

GIVEN = "plan"  # text of a cook: the plan's programme, until the board has taken it
HOTTEST = 17000  # 0.01 C; no plan has a higher band


def begin(engine: Engine) -> bool:
    """Open a cook from the plan that is kept for now, with its pieces; False if none is."""
    plan = planned.due(engine.home, engine.now())
    if plan is None:
        return False
    logbook = engine.logbook
    number = engine.cooking.begin(" ".join(plan.name.split())[:200] or "Supper")
    for piece in plan.pieces:
        fields = {name: value for name, value in msgspec.to_builtins(piece).items() if name in PIECE_FIELDS}
        try:
            logbook.add_piece(number, **fields)
        except LogbookError as error:  # a plan written by hand; the cook goes on without that piece
            engine.log(f"of the plan, {piece.name} was not taken: {error}")
    try:
        given = msgspec.to_builtins(plan.kitchen)
        engine.cooking.kitchen = kitchen.change(logbook, number, engine.cooking.kitchen, given)
    except Refusal as error:
        engine.log(f"of the plan, cooker and place were not taken: {error}")
    logbook.set_text(number, GIVEN, msgspec.json.encode(plan.phases).decode())
    said = f"{measures.count(len(logbook.pieces(number)), 'piece')} and the programme, to serve {_clock(plan.serve)}"
    if engine.board.link.simulated:
        said += "; the twin cooks meat of its own"
    engine.cooking.note_once("plan_taken", f"plan/{plan.serve}", said)
    engine.refresh()
    return True


def _clock(at: int) -> str:
    return f"{datetime.fromtimestamp(at / 1000):%a %H:%M}"


def phases(engine: Engine) -> list[planned.Phase]:
    """The plan's programme, while the board has not been given it; else none."""
    cook = engine.cooking.open
    text = engine.logbook.text(cook.id, GIVEN) if cook is not None else None
    try:
        found = msgspec.json.decode(text, type=list[planned.Phase]) if text else []
    except msgspec.MsgspecError:
        return []
    wrong = board_programme.wrong(rows(found), HOTTEST) if found else ""
    if wrong:
        engine.log(f"the plan's programme was not taken: {wrong}")
        return []
    return found


def rows(found: list[planned.Phase]) -> list[list[int]]:
    """Phases of a plan -> rows for the board."""
    return programme.rows([programme.phase(p.name, p.low, p.high, p.end_kind, p.end_value) for p in found])


def taken(engine: Engine, found: list[planned.Phase]) -> None:
    """The board has it: its texts stay here."""
    cook = engine.cooking.open
    if cook is not None:
        engine.logbook.set_text(cook.id, "phases", "\n".join(phase.name.replace("\n", " ") for phase in found))
        engine.logbook.set_text(cook.id, GIVEN, "")
        engine.refresh()
