"""One history, one verdict: the screen, its prompts, `log show` and `plan move` say the same of a piece."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from plan_kit import LONDON, at, cook
from tuyere import paths
from tuyere.cli import log
from tuyere.cli.plan import _running
from tuyere.cook import follows, food_safety, from_rows, prompts
from tuyere.cook.snapshot import Cook, Link, Snapshot
from tuyere.engine.night.minutes import Minutes
from tuyere.engine.night.safety_cache import Shown
from tuyere.logbook import Logbook
from tuyere.plan import move
from tuyere.plan.times import HOUR, MINUTE
from tuyere.text import Reader, render

ON, OUT = at(28, "02:00"), at(28, "13:00")  # 11 h to 95 C
HISTORIES = {
    "lay out for 18 h": (["out"], 18.0, [], food_safety.THROW_AWAY),
    "boxed for 18 h": (["in_box"], 18.0, [], food_safety.THROW_AWAY),
    "boxed for 18 h and read hot": (["in_box"], 18.0, [(18.0, 66.0)], food_safety.HOT),
    "lay out for 90 min": (["out"], 1.5, [], food_safety.MEASURE),
    "read cold": (["out"], 1.5, [(1.4, 57.0)], food_safety.HEAT),
    "read cold long ago": (["in_box"], 4.0, [(1.4, 57.0)], food_safety.THROW_AWAY),
    "just out": (["out"], 0.2, [], food_safety.HOT),
}


@pytest.mark.parametrize("name", HISTORIES)
def test_every_page_says_the_same(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kinds, hours, read, verdict = HISTORIES[name]
    now = OUT + round(hours * HOUR)
    with Logbook(paths.logbook_path(tmp_path)) as book:
        number = cook(book, ON, hours=11.0, ended=False, out=False)
        [piece] = book.pieces.of(number)
        for kind in kinds:
            book.events.note(number, kind, OUT, OUT, piece.id)
            book.pieces.change(piece.id, place=follows.PLACES[kind][0])
        for after, c in read:
            book.events.note(number, "hand_reading", OUT + round(after * HOUR), now, piece.id, c)
        title, known = _running(book, now)
        moved = move.choices(title, known, "2026-11-30 18:00", False, lambda known: [], LONDON)
        minutes, row, events = Minutes(), book.cooks.get(number), from_rows.events(book.events.of(number))
        minutes.add(book.reading.trend(number))
        shot = Snapshot(now, Link(), [], cook=Cook(id=number, name=row.name, started=row.started, meat_on=row.meat_on))
        shot.pieces = from_rows.pieces(book.pieces.of(number), None)
        for one in shot.pieces:
            one.place_since = follows.place_since(one.id, events)
        Shown().show(shot, minutes, events)
        asked = prompts.prompts(shot.cook, shot.pieces, events, now)
    monkeypatch.setattr(log, "wall_clock", lambda: now)
    told = json.loads(_show(tmp_path, "--json"))["safety"]
    [screen] = shot.pieces
    assert screen.decision.verdict == verdict and told["verdicts"] == {str(piece.id): verdict}
    reader = Reader("F", None, now)
    for said in [screen.decision.said[0]] if verdict in food_safety.ASKS else []:
        first = render(said, reader)
        assert said in moved.hold and first in _show(tmp_path, "--unit", "F") and said in screen.safe
        assert [first] == [render(one.words, reader) for one in asked if one.piece == piece.id][:1]
    if verdict == food_safety.THROW_AWAY:
        assert moved.choices[0].odds == 0.0 and len(moved.choices) == 1


def _show(home: Path, *options: str) -> str:
    found = CliRunner().invoke(log.log, ["show", "last", *options], env={"TUYERE_HOME": str(home)})
    assert found.exit_code == 0, found.output
    return found.output


def test_a_piece_in_the_pit_that_went_cold_is_never_ready(tmp_path: Path) -> None:
    """Hot, then two hours and more below the limit in a pit that went out: no choice of `plan move` serves it."""
    with Logbook(paths.logbook_path(tmp_path)) as book:
        number = cook(book, ON, hours=11.0, ended=False, out=False)
        [piece] = book.pieces.of(number)
        book.events.note(number, "hand_reading", OUT + 10 * MINUTE, OUT, piece.id, 95.0)
        book.events.note(number, "hand_reading", OUT + 20 * MINUTE, OUT, piece.id, 45.0)
        early = move.choices(*_running(book, OUT + HOUR), "20:00", False, lambda known: [], LONDON)
        late = move.choices(*_running(book, OUT + 3 * HOUR), "20:00", False, lambda known: [], LONDON)
    assert "past" in render(early.hold[0], Reader("C"))
    assert render(late.hold[0], Reader("C")).startswith("Throw Alder away: it was below 60 C for 2 h 4")
    assert [one.odds for one in late.choices] == [0.0]
