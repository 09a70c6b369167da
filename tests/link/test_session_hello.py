"""What a hello brings about: who stands, what is asked for, which records are missed, and a board that restarts."""

from __future__ import annotations

import json
import struct

from fake_board import FakeBoard, Wire
from hearth.link import lines, messages
from hearth.loop import Loop
from session_kit import HELLO, hello_line, messages_of, record_line, standing
from tuyere.link.session import Answer, Cut, Gap, Hello, Record, Refused, Session


def test_hello_stands_and_fetches_what_is_wanted() -> None:
    session = Session(lambda board, boot: 3)
    session.opened(0.0)
    found = session.feed(hello_line(session, first=1, next=9), 0.5)
    assert [type(e) for e in found] == [Hello]
    hello = found[0]
    assert isinstance(hello, Hello) and hello.fresh and hello.at == 1000 and hello.received - hello.sent == 0.5
    said = messages_of(session.take())
    assert (messages.KEEP, struct.pack("<II", 7, 2)) in said
    assert (messages.FETCH, struct.pack("<II", 7, 3)) in said


def test_a_hello_to_another_host_is_not_taken() -> None:
    session = Session(lambda board, boot: 0, first_ask=100)
    session.opened(0.0)
    assert session.feed(lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": 5}).encode()), 0.1) == []
    assert not session.standing


def test_another_version_is_refused_in_words() -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    found = session.feed(hello_line(session, link=2), 0.1)
    assert isinstance(found[0], Refused) and "firmware" in found[0].words


def test_asks_once_a_second_then_beats() -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    for tenth in range(1, 31):
        session.tick(tenth / 10)
    asked = [body for kind, body in messages_of(session.take()) if kind == messages.ASK]
    assert len(asked) == 4
    session.feed(lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": json.loads(asked[-1])["ask"]}).encode()), 3.0)
    session.take()
    for tenth in range(31, 129):
        session.tick(tenth / 10)
    assert session.take() == b""
    session.tick(13.0)
    assert [kind for kind, _ in messages_of(session.take())] == [messages.ASK]


def test_a_later_record_fetches_once_and_again_after_a_wait() -> None:
    session = standing(next=0)
    session.take()
    session.feed(record_line(0) + record_line(2) + record_line(3) + record_line(4), 1.0)
    assert messages_of(session.take()) == [(messages.FETCH, struct.pack("<II", 7, 1))]
    session.tick(2.0)
    assert session.take() == b""
    session.tick(3.6)
    assert [kind for kind, _ in messages_of(session.take())] == [messages.FETCH, messages.ASK]
    found = session.feed(record_line(1) + record_line(2), 4.0)
    assert [e.sequence for e in found if isinstance(e, Record)] == [1, 2]


def test_a_double_is_dropped_and_the_keep_repeated() -> None:
    session = standing()
    session.feed(record_line(0) + record_line(1), 1.0)
    session.keep(7, 1)
    session.take()
    assert session.feed(record_line(0) + record_line(1), 2.0) == []
    assert messages_of(session.take()) == [(messages.KEEP, struct.pack("<II", 7, 1))]


def test_a_record_of_another_boot_asks_who_is_there() -> None:
    session = standing()
    session.take()
    assert session.feed(b"".join(record_line(n, boot=8) for n in range(5)), 5.0) == []
    assert [kind for kind, _ in messages_of(session.take())] == [messages.ASK]


def test_a_restart_ends_orders_and_begins_the_new_boot() -> None:
    board = FakeBoard(Wire(), boot=7)
    loop = Loop(board)
    session = Session(lambda name, boot: 0)
    session.opened(0.0)

    def exchange(now: float) -> list[object]:
        board.stream.to_board += session.take()
        loop.step()
        session.tick(now)
        return list(session.feed(board.stream.take(), now))

    exchange(1.0)
    assert any(isinstance(e, Record) for e in exchange(2.0))
    number = session.order("start", 3.0)
    session.take()  # it goes down with the old boot
    board.boot, board.clock = 8, 0
    loop = Loop(board)
    found = [e for now in range(4, 12) for e in exchange(float(now))]
    assert Answer(number, "start", False, "restarted") in found
    after = [e.sequence for e in found if isinstance(e, Record) and e.boot == 8]
    assert after and after == list(range(len(after)))
    assert session.boot == 8


def test_a_gap_at_the_first_hello() -> None:
    session = Session(lambda board, boot: 5)
    session.opened(0.0)
    found = session.feed(hello_line(session, first=40, next=60), 0.1)
    assert Gap(7, 5, 39, "the board no longer held them") in found
    assert [e.sequence for e in session.feed(record_line(40), 0.2) if isinstance(e, Record)] == [40]


def test_each_gap_has_its_extent_and_its_cause() -> None:
    session = Session(lambda board, boot: 5)
    session.opened(0.0)
    lost = [[7, 5, 20, "torn"], [8, 21, 22, "core"], [7, 30, 40, "full"], [7, 60, 70, "mice"]]
    found = session.feed(hello_line(session, first=80, next=90, lost=lost), 0.1)
    unheld = "the board no longer held them"
    assert [happened for happened in found if isinstance(happened, Gap)] == [
        Gap(7, 5, 19, "a power cut tore the block that held them"),
        Gap(7, 20, 29, unheld),
        Gap(7, 30, 39, "the board's flash was full and gave up its oldest records"),
        Gap(7, 40, 59, unheld),
        Gap(7, 60, 69, "the board said: mice"),
        Gap(7, 70, 79, unheld),
    ]
    assert [e.sequence for e in session.feed(record_line(80), 0.2) if isinstance(e, Record)] == [80]


def test_a_boot_number_drawn_twice_is_refused_in_words() -> None:
    session = Session(lambda board, boot: 500)
    session.opened(0.0)
    found = session.feed(hello_line(session, next=20), 0.1)
    assert isinstance(found[0], Refused) and "before" in found[0].words
    assert not session.standing
    assert session.feed(record_line(3), 0.2) == []


def test_an_earlier_boot_that_the_board_no_longer_holds_is_cut_where_the_host_stands() -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    ran = {"ran": [[6, 55, 90]]}
    found = session.feed(hello_line(session, earlier=[[6, 0, 50]], next=5, **ran), 0.1)
    assert session.fetching == 6 and not [event for event in found if isinstance(event, Cut)]
    session.feed(b"".join(record_line(n, boot=6) for n in range(10)), 0.5)
    session.tick(20.0)
    found = session.feed(hello_line(session, earlier=[], next=15, **ran), 20.1)
    assert [event for event in found if isinstance(event, Cut | Gap)] == [Cut(6, 10, 55, 90)]
    assert (session.fetching, session.expected) == (7, 0)
    assert (messages.FETCH, struct.pack("<II", 7, 0)) in messages_of(session.take())


def test_sixty_questions_may_be_open_and_the_oldest_is_forgotten() -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    for second in range(1, 61):
        session.tick(float(second))
    asks = [json.loads(body)["ask"] for kind, body in messages_of(session.take()) if kind == messages.ASK]
    assert len(asks) == 61
    for ask, stands in ((asks[0], False), (asks[1], True)):
        session.feed(lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": ask}).encode()), 61.0)
        assert session.standing is stands
    assert session.hello_at == 61.0


def test_nothing_is_kept_of_a_board_that_was_refused() -> None:
    session = Session(lambda board, boot: 500 if boot == 8 else 0)
    session.opened(0.0)
    session.feed(hello_line(session) + record_line(0), 0.1)
    session.keep(7, 0)
    session.tick(20.0)
    (refused,) = session.feed(hello_line(session, boot=8), 20.1)
    assert isinstance(refused, Refused) and not session.standing
    assert session.feed(record_line(0), 20.2) == [] == messages_of(session.take())
    session.keep(7, 0)
    assert session.take() == b""


def test_a_board_that_holds_nothing_new_is_told_where_the_host_stands_once() -> None:
    session = Session(lambda board, boot: 9)
    session.opened(0.0)
    session.feed(hello_line(session, next=9), 0.1)
    assert (messages.FETCH, struct.pack("<II", 7, 9)) in messages_of(session.take())
    session.tick(20.0)
    session.feed(hello_line(session, next=9), 20.1)
    assert session.take() == b""


def test_a_port_that_was_opened_again_has_said_nothing_yet() -> None:
    session = standing()
    assert session.standing and session.hello_at == 0.1
    session.closed()
    session.opened(5.0)
    assert not session.standing and session.hello_at is None
