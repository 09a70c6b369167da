"""The newest cycle, read from the firmware's own records."""

from __future__ import annotations

import json
from typing import Any

from fake_board import FakeBoard, Wire
from hearth.core import fields
from hearth.link import lines, messages
from hearth.link.talk import portions
from hearth.loop import Loop
from rendered import words
from tuyere.cook import programme
from tuyere.engine.device.latest import Readout


def said(loop: Loop) -> dict[str, Any]:
    """The board's hello as it goes over the line."""
    found: dict[str, Any] = json.loads(b"".join(portions(loop.hello())))
    return found


class Desk:
    """A firmware loop whose records go straight into a readout; 1 s UTC a record."""

    def __init__(self) -> None:
        self.board = FakeBoard(Wire())
        self.loop = Loop(self.board)
        self.readout = Readout()
        self.readout.hello(said(self.loop), True)
        self.utc = 0

    def step(self, name: str = "", **arguments: object) -> None:
        if name:
            body = json.dumps({"id": 1, "name": name, **arguments}).encode()
            self.board.stream.to_board += lines.encode(messages.ORDER, body)
            self.loop.talk.serve()
        self.loop.step()
        for kind, body in lines.Lines().feed(self.board.stream.take()):
            if kind == messages.RECORD:
                self.utc += 1000
                self.readout.take(body, self.utc)


def test_a_cycle_in_a_persons_units() -> None:
    desk = Desk()
    desk.step()
    desk.step("start")
    cycle = desk.readout.cycle
    assert cycle is not None and cycle.state == "climbing" and cycle.reason == "below_band"
    assert cycle.pit is not None and 19 < cycle.pit < 21 and cycle.ambient == 15.0
    assert (cycle.low, cycle.high, cycle.fan) == (121.1, 135.0, 0.25)  # a climb begins gently
    assert len(cycle.meats) == 3


def test_the_band_is_the_boards_through_orders_and_phases() -> None:
    desk = Desk()
    rows = [[12110, 13500, 0, 0], [10700, 11800, 0, 0]]
    desk.step("programme", rows=rows)
    desk.step("start")
    desk.step("band", low=11000, high=12500)
    assert desk.readout.cycle is not None
    assert (desk.readout.cycle.low, desk.readout.cycle.high) == (110.0, 125.0)
    desk.step("band", low=12500, high=11000)  # refused by the board, so not shown
    assert (desk.readout.cycle.low, desk.readout.cycle.high) == (110.0, 125.0)
    desk.step("phase", row=1)
    assert (desk.readout.cycle.low, desk.readout.cycle.high) == (107.0, 118.0)
    assert desk.readout.phase == 1 and desk.readout.phase_since == desk.readout.cycle.at


def test_one_cycle_is_enough_to_know_the_band() -> None:
    desk = Desk()
    desk.step("start")
    desk.step("band", low=11000, high=12500)
    desk.readout = Readout()  # an engine that comes up now
    desk.readout.hello(said(desk.loop), True)
    desk.step()
    assert desk.readout.cycle is not None
    assert (desk.readout.cycle.low, desk.readout.cycle.high) == (110.0, 125.0)


def test_a_bad_reading_is_no_number() -> None:
    desk = Desk()
    desk.board.faults = fields.PROBE_OPEN
    desk.step()
    assert desk.readout.cycle is not None and desk.readout.cycle.pit is None
    assert desk.readout.fault_bits == fields.PROBE_OPEN


def test_what_core_found_wrong_is_no_reading_either_and_the_boards_own_health_is_read() -> None:
    desk = Desk()
    desk.step()
    assert desk.readout.cycle is not None
    assert (desk.readout.cycle.supply, desk.readout.cycle.turns, desk.readout.cycle.resume) == (None, None, "")
    assert desk.readout.settings["gain"] == desk.loop.settings.gain
    plain = desk.board.read

    def odd(now: object) -> None:
        plain(now)
        now.pit, now.supply, now.turns = -4000, 11800, 900  # type: ignore[attr-defined]

    desk.board.read = odd
    desk.step()
    cycle = desk.readout.cycle
    assert cycle.pit is None and desk.readout.fault_bits == fields.PROBE_REVERSED
    assert (cycle.supply, cycle.turns) == (11.8, 900)


def test_a_record_from_before_an_acknowledged_programme_does_not_bring_the_old_one_back() -> None:
    """The answer may come before the records that the board still has to send."""
    desk = Desk()
    desk.step()
    old = list(desk.readout.rows)
    first = [[12110, 13500, 0, 0], [10700, 11800, 0, 0]]
    second = [[10700, 11800, 0, 0], [12110, 13500, 0, 0]]
    desk.readout.programme(first)
    desk.readout.programme(second)
    desk.step("settings", values={"gain": 50})  # a state record with the programme that it still has
    assert desk.readout.settings["gain"] == 50
    assert desk.readout.rows == second != old
    desk.step("programme", rows=first)
    assert desk.readout.rows == second
    desk.step("programme", rows=second)
    assert desk.readout.rows == second
    desk.step("programme", rows=first)  # and from then on by the records
    assert desk.readout.rows == first


def test_records_it_cannot_read_are_passed_over() -> None:
    desk = Desk()
    desk.step()
    before = desk.readout.cycle
    desk.readout.take(b"\x01" + b"\0" * 40, 5)
    desk.readout.hello({"layout": "nonsense", "programme": [[1], "x"], "settings": 5, "period_ms": -1}, False)
    assert desk.readout.cycle is before and desk.readout.rows == []


def test_programmes_go_to_the_board_and_back() -> None:
    made = [
        programme.phase("a", 107.2, 118.3),
        programme.phase("b", 110, 120, fields.END_AFTER, 90),
        programme.phase("c", 110, 120, fields.END_MEAT_2, 95.5),
    ]
    rows = programme.rows(made)
    assert rows == [[10720, 11830, 0, 0], [11000, 12000, 1, 90], [11000, 12000, 3, 9550]]
    assert programme.phases(rows, programme.texts(made)) == made
    assert [words(p.end) for p in made] == ["by hand", "after 1 h 30 min", "when probe 2 reaches 96 C"]
    assert [p.name for p in programme.phases(rows)] == ["phase 1", "phase 2", "phase 3"]
    assert programme.phases(programme.rows(programme.default())) == programme.default()
