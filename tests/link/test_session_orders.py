"""Orders through the host's side of the protocol, what becomes of each, and what a board says in words."""

from __future__ import annotations

import json

from fake_board import FakeBoard, Wire
from hearth.core import fields
from hearth.link import lines, messages
from hearth.loop import Loop
from session_kit import messages_of, standing
from tuyere.link.session import GIVE_UP, Answer, Notice, Session


def test_orders_are_answered_once() -> None:
    session = standing()
    session.take()
    number = session.order("band", 1.0, low=11000, high=12500)
    [(kind, body)] = messages_of(session.take())
    assert kind == messages.ORDER
    assert json.loads(body) == {"id": number, "name": "band", "low": 11000, "high": 12500}
    answer = lines.encode(messages.ANSWER, json.dumps({"id": number, "ok": True, "why": "accepted"}).encode())
    assert session.feed(answer + answer, 2.0) == [Answer(number, "band", True, "accepted")]


def test_a_refusal_brings_its_numbers() -> None:
    wire = Wire()
    loop = Loop(FakeBoard(wire))
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    number = session.order("settings", 0.0, values={"pit_limit": 15000})
    wire.to_board += session.take()
    for _ in range(2):
        loop.step()
    found = [event for event in session.feed(wire.take(), 1.0) if isinstance(event, Answer)]
    assert found == [Answer(number, "settings", False, "over_limit", {"high": 13500, "pit_limit": 15000})]


def test_somebody_has_looked() -> None:
    wire = Wire()
    loop = Loop(FakeBoard(wire))
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    number = session.order("looked", 0.0)
    wire.to_board += session.take()
    orders = []
    for _ in range(3):
        loop.step()
        orders.append(loop.now.order)
    assert orders == [0, fields.ORDER_LOOKED, 0]
    assert Answer(number, "looked", True, "accepted") in session.feed(wire.take(), 1.0)


def test_an_order_is_said_again_and_given_up() -> None:
    session = standing()
    number = session.order("stop", 1.0)
    session.take()
    said = found = []
    for second in range(2, 12):
        found = found + session.tick(float(second))
        said = said + [kind for kind, _ in messages_of(session.take()) if kind == messages.ORDER]
    assert found == [Answer(number, "stop", False, "no_answer")]
    assert 1 <= len(said) <= GIVE_UP / 3


def test_release_is_said_once() -> None:
    session = standing()
    session.order("release", 1.0)
    session.take()
    for second in range(2, 12):
        session.tick(float(second))
    assert messages.ORDER not in [kind for kind, _ in messages_of(session.take())]


def test_a_busy_board_is_asked_again() -> None:
    session = standing()
    number = session.order("start", 1.0)
    session.take()
    busy = lines.encode(messages.ANSWER, json.dumps({"id": number, "ok": False, "why": "busy"}).encode())
    assert session.feed(busy, 1.5) == []
    session.tick(2.6)
    assert messages.ORDER in [kind for kind, _ in messages_of(session.take())]


def test_a_lost_port_ends_orders() -> None:
    session = standing()
    number = session.order("start", 1.0)
    assert session.closed() == [Answer(number, "start", False, "link_lost")]
    assert not session.standing


def test_a_notice_is_passed_on() -> None:
    assert Notice("cold") in standing().feed(lines.encode(messages.NOTICE, b"cold"), 1.0)
    assert Notice("\\x1b[2Jcold\\nnight") in standing().feed(
        lines.encode(messages.NOTICE, b"\x1b[2Jcold\nnight\n"), 1.0
    )  # nothing of it can move a cursor or forge a line of a log


def test_what_a_board_says_is_cut_to_a_length_that_a_log_bears() -> None:
    session = standing()
    (notice,) = session.feed(lines.encode(messages.NOTICE, b"x" * 3999 + b"yz"), 1.0)
    assert notice == Notice("x" * 3999 + "y")
    number = session.order("stop", 1.0)
    said = json.dumps({"id": number, "ok": False, "why": "w" * 199 + "xy"}).encode()
    assert session.feed(lines.encode(messages.ANSWER, said), 1.5) == [Answer(number, "stop", False, "w" * 199 + "x")]
