"""The snapshot for the screens and the facts for the alarms, gathered from the engine's parts."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import msgspec

from tuyere.client.launch import TwinOptions
from tuyere.cook import care, follows, from_rows, kitchen, prompts, ranks, serving, woken, wording
from tuyere.cook import snapshot as model
from tuyere.engine.device import twin_process
from tuyere.engine.device.connection import Board
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.conditions import Facts
from tuyere.engine.night.current import Cooking
from tuyere.engine.outlook.shown import Expected
from tuyere.text import Said

EVENTS_SHOWN = 50
STALE = 10.0  # s
UNSAID = "What is next for the hands cannot be worked out (the engine's log says why): go by the clock and the meat"


def snapshot(
    board: Board, cooking: Cooking, alarms: Alarms, expected: Expected, *, stays: bool, planned: model.Next | None,
    waking: model.Waking, failed: Callable[[Exception], None],
) -> model.Snapshot:  # fmt: skip
    """All that a screen shows but the trend. stays: the engine goes on without a screen. planned: what a cook begun
    now would take. waking: whether somebody would be woken. failed: told what kept the things to do from being
    worked out; readings and alarms are shown all the same."""
    cycle, now, row = board.readout.cycle, board.clock.now(), cooking.cook
    stale = cycle is not None and (board.silent > STALE or board.link.state != "open")
    cook, link = None, board.link
    if row is not None:
        cook = model.Cook(
            id=row.id, name=row.name, started=row.started, ended=row.ended, meat_on=row.meat_on,
            simulated=row.simulated, board=row.board, cycles=cooking.cycles, in_band=cooking.score.share,
        )  # fmt: skip
        link = msgspec.structs.replace(link, recorded=cooking.recorded, missing=cooking.missing)
    live, meat = None if stale else cycle, cooking.care()
    shown = from_rows.pieces(cooking.pieces, live)
    for piece in shown:
        piece.goes_on = cooking.goes_on(piece.id) if not piece.on_at else 0
        piece.place_since = follows.place_since(piece.id, follows.own_events(piece, shown, cooking.events))
    shot = model.Snapshot(
        now=now,
        link=link,
        words=wording.stands(live, board.readout.fault_bits, meat)
        if live is not None
        else wording.without_cycle(board.link),
        cycle=cycle,
        stale=stale,
        cook=cook,
        phases=cooking.phases,
        phase_since=board.readout.phase_since,
        pieces=shown,
        alarms=sorted(alarms.fresh([*cooking.standing, *alarms.unwritten]), key=from_rows.urgent_first),
        events=cooking.events[:EVENTS_SHOWN],
        last_note=cooking.last_note if cooking.open is not None else None,
        logbook=str(cooking.logbook),
        stays=stays,
        doubted=cooking.doubted,
        planned=planned,
        waking=waking,
        hand_most=board.readout.hand_most,
    )
    expected.show(shot)
    care.depends(shot, meat.needs, care.at_rest(live))
    cooking.safety.show(shot, cooking.minutes, cooking.events)
    cooking.breathing.show(shot, cooking.minutes, cooking.events)
    if cook is not None and not cook.ended:
        shot.serving = serving.serving(cooking.serve, shot.pieces, now)
    try:
        shot.prompts = prompts.prompts(
            cook, shot.pieces, cooking.events, now, live, cooking.phases, board.readout.phase_since,
            fuel_ends=shot.fuel_early, limit=kitchen.limit(cooking.kitchen).c or 60.0,
            oven_error=cooking.kitchen.oven_error, meat=meat, serving=shot.serving, breath=shot.breath,
        )  # fmt: skip
    except Exception as error:
        failed(error)
        shot.prompts = [model.Prompt("look", UNSAID, 0, 0, ranks.DANGER)]
    if (bed := woken.prompt(waking)) is not None:
        shot.prompts = ranks.ordered([*shot.prompts, bed], now)
    return shot


def facts(board: Board, cooking: Cooking, *, untold: Said, notice: str) -> Facts:
    """The facts for the alarms; `untold` as in `Orders`, `notice`: the newest message of the board."""
    finder = board.finder
    return Facts(
        now=board.clock.now(),
        cooking=cooking.open is not None,
        simulated=cooking.cook is not None and cooking.cook.simulated and not board.practice,
        cycle=board.readout.cycle,
        fault_bits=board.readout.fault_bits,
        arrived=bool(cooking.score.arrived),
        silent=board.silent,
        beat=board.beat,
        restarted=cooking.restarted,
        forgot=board.readout.forgot,
        opened_for=cooking.opened_for(),
        lost_piece=cooking.lost_piece(),
        meat_on=cooking.cook.meat_on if cooking.cook is not None else 0,
        care=cooking.care(),
        missing=cooking.missing,
        gone=cooking.gone(),
        aside=cooking.aside(),
        trouble=board.intake.trouble,
        unstored=board.intake.refused,
        refused=board.refused,
        untold=untold,
        notice=notice,
        twin_ended=isinstance(finder, twin_process.TwinFinder) and finder.ended,
    )


def about(
    board: Board, cooking: Cooking, home: Path, twin: TwinOptions | None, *, port: str, up: float, stays: bool,
    screens: int, awake: str,
) -> model.About:  # fmt: skip
    """The engine of a home itself; fields as there. twin: the one asked for; one that already ran may differ."""
    cook = cooking.open
    found = model.About(
        os.getpid(), up, port, link=board.link, cook=cook.name if cook else "", stays=stays, screens=screens,
        learned=board.readout.learned, awake=awake,
    )  # fmt: skip
    if twin is not None:
        said = twin_process.live(home) or {}
        found.twin, found.speed = True, said.get("speed", twin.speed)
        found.trouble = said.get("trouble", twin.trouble)
        found.cooker, found.seed = said.get("cooker", twin.cooker), said.get("seed", twin.seed)
    return found
