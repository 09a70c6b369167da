"""A kept plan: its pieces and its programme for the cook that begins on its day."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import msgspec

from tuyere.cook import kept_programmes, planned, programme
from tuyere.cook.errors import Refusal
from tuyere.cook.snapshot import Next, Phase
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.twin_events import TWINS
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.checks import PIECE_FIELDS
from tuyere.text import CELSIUS, Clock, Count, Reader, render, text

GIVEN = "plan"  # text of a cook: the plan's programme, until the board has taken it
SLEEP = "sleep"  # text of a cook: the plan's hours of sleep


class FromPlan:
    """The plan kept in a home, and the cook that begins from it."""

    def __init__(
        self, home: Path, logbook: Logbook, board: Board, cooking: Cooking, log: Callable[[str], None]
    ) -> None:
        self._home, self._logbook, self._board, self._cooking, self._log = home, logbook, board, cooking, log

    def next(self) -> Next | None:
        """What a cook that begins now would take; None while one is open, or if no plan is kept for now."""
        plan = None if self._cooking.open is not None else planned.due(self._home, self._board.clock.now())
        return Next(_name(plan), [piece.name for piece in plan.pieces]) if plan is not None else None

    def begin(self, name: str = "") -> bool:
        """Open a cook from the plan that is kept for now, with its pieces; False if none is. name: instead of its
        own."""
        plan = planned.due(self._home, self._board.clock.now())
        if plan is None:
            return False
        number = self._cooking.begin(name or _name(plan))
        before: dict[int, int] = {}
        for piece in plan.pieces:
            fields = {name: value for name, value in msgspec.to_builtins(piece).items() if name in PIECE_FIELDS}
            try:
                added = self._logbook.pieces.add(number, **fields)
                if piece.on:
                    before[added] = plan.serve - piece.on
            except LogbookError as error:  # a plan written by hand; the cook goes on without that piece
                self._log(f"of the plan, {piece.name} was not taken: {error}")
        try:
            self._cooking.change_kitchen(msgspec.to_builtins(plan.kitchen))
        except Refusal as error:
            self._log(f"of the plan, cooker and place were not taken: {error}")
        self._cooking.change_serve(plan.serve)
        self._cooking.keep_goes_on(before)
        self._logbook.cooks.set_text(number, SLEEP, plan.sleep)
        self._logbook.cooks.set_text(number, GIVEN, msgspec.json.encode(plan.phases).decode())
        its = self._board.hello.get("plan") == planned.mark(plan)
        if its:
            self._logbook.cooks.set_text(number, TWINS, "1")
        said = text(
            "{pieces} and the programme, to serve {serve}{twin}",
            pieces=Count(len(self._logbook.pieces.of(number)), "piece"),
            serve=Clock(plan.serve, day=True),
            twin="; the twin cooks meat of its own" if self._board.link.simulated and not its else "",
        )
        self._cooking.note_once("plan_taken", f"plan/{plan.serve}", said)
        self._cooking.refresh()
        return True

    def phases(self) -> list[Phase]:
        """The plan's programme, while the board has not been given it; else none."""
        cook = self._cooking.open
        kept = self._logbook.cooks.text(cook.id, GIVEN) if cook is not None else None
        try:
            found = msgspec.json.decode(kept, type=list[planned.Phase]) if kept else []
        except msgspec.MsgspecError:
            return []
        if not found:
            return []
        now = self._board.clock.now()
        phases = [kept_programmes.from_plan(row) for row in found]
        try:
            phases = programme.counted(phases, 0, now, now)
        except ValueError as error:
            self._log(f"the plan's programme was not taken: {error}")
            return []
        if wrong := programme.wrong(phases, self._board.readout.settings):
            self._log(f"the plan's programme was not taken: {render(wrong, Reader(CELSIUS))}")
            return []
        return phases

    def taken(self, phases: list[Phase]) -> None:
        """The board has it: its texts stay here."""
        cook = self._cooking.open
        if cook is not None:
            self._logbook.cooks.set_text(cook.id, GIVEN, "")
            self._cooking.keep_phases(phases)


def _name(plan: planned.Planned) -> str:
    return " ".join(plan.name.split())[:200] or "Supper"
