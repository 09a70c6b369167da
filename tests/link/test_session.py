"""The host's side of the protocol against the firmware's own: any stream, any cut, any loss."""

from __future__ import annotations

import json
import struct

from fake_board import FakeBoard, Wire
from hearth.core import fields
from hearth.link import lines, messages
from hearth.link.talk import Talk
from hearth.loop import Loop
from hearth.store.ring import Ring
from hypothesis import given, settings
from hypothesis import strategies as st
from tuyere.link.session import GIVE_UP, Answer, Cut, Gap, Hello, Notice, Record, Refused, Session

HELLO = {"link": 1, "board": "b", "boot": 7, "at": 1000, "first": 0, "next": 0}


def messages_of(data: bytes) -> list[tuple[str, bytes]]:
    return lines.Lines().feed(data)


def hello_line(session: Session, **changes: object) -> bytes:
    asks = [json.loads(body)["ask"] for kind, body in messages_of(session.take()) if kind == messages.ASK]
    return lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": asks[-1], **changes}).encode())


def record_line(sequence: int, boot: int = 7) -> bytes:
    return lines.encode(messages.RECORD, struct.pack(messages.HEAD, messages.CYCLE, boot, sequence, sequence * 2000, 0))


def standing(expected: int = 0, **hello: object) -> Session:
    session = Session(lambda board, boot: expected)
    session.opened(0.0)
    session.feed(hello_line(session, **hello), 0.1)
    return session


class Board:
    """The firmware's talk and ring with records of ten bytes' worth, on a wire."""

    def __init__(self, ring: int, boot: int = 7) -> None:
        self.wire = Wire()
        self.boot = boot
        self.ring = Ring(ring)
        self.talk = Talk(self.wire, self.ring, boot, self.hello)
        self.made: dict[int, bytes] = {}

    def hello(self) -> dict[str, object]:
        return {**HELLO, "boot": self.boot, "first": self.ring.first, "next": self.ring.next}

    def make(self) -> None:
        data = (
            struct.pack(messages.HEAD, messages.CYCLE, self.boot, self.ring.next, self.ring.next * 2000, 0) + b"payload"
        )
        self.made[self.ring.next] = data
        self.ring.append(data)


@given(st.lists(st.one_of(st.binary(max_size=60), st.integers(0, 5).map(record_line)), max_size=30))
def test_no_stream_raises(portions: list[bytes]) -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    for i, data in enumerate(portions):
        session.feed(data + b"\n", i * 0.1)
        session.tick(i * 0.1)


@given(
    st.lists(
        st.tuples(
            st.sampled_from("HRANhkfoX~"),
            st.one_of(
                st.binary(max_size=40),
                st.recursive(
                    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
                    lambda inner: (
                        st.lists(inner, max_size=3)
                        | st.dictionaries(
                            st.sampled_from(["ask", "link", "board", "boot", "at", "first", "next", "id", "ok", "why"]),
                            inner,
                        )
                    ),
                    max_leaves=8,
                ).map(lambda body: json.dumps(body).encode()),
            ),
        ),
        max_size=20,
    )
)
def test_no_message_raises(said: list[tuple[str, bytes]]) -> None:
    session = Session(lambda board, boot: 0, first_ask=0)
    session.opened(0.0)
    session.order("start", 0.0)
    for i, (kind, body) in enumerate(said):
        session.feed(lines.encode(kind, body), float(i))
        session.tick(float(i))


def test_deep_json_is_only_a_damaged_line() -> None:
    session = Session(lambda board, boot: 0)
    session.opened(0.0)
    assert session.feed(lines.encode(messages.HELLO, b"[" * 5000), 0.1) == []
    assert session.damaged == 1


def test_half_a_line_from_before_a_loss_of_the_port_spoils_nothing() -> None:
    session = standing()
    session.feed(record_line(0)[:9], 1.0)
    session.closed()
    session.opened(2.0)
    (found,) = session.feed(hello_line(session), 2.1)
    assert isinstance(found, Hello) and session.damaged == 0


HARM = st.lists(st.sampled_from(["", "", "", "", "drop", "double", "bend", "swap", "noise"]), min_size=1, max_size=40)


@settings(deadline=None, max_examples=200)
@given(
    HARM,
    HARM,
    st.integers(150, 2000),
    st.lists(st.integers(1, 4), min_size=3, max_size=40),
    st.integers(1, 200),
    st.booleans(),
)
def test_each_record_once_and_in_order(
    up: list[str], down: list[str], ring: int, made: list[int], cut: int, slow: bool
) -> None:
    """Whatever the wire does, each record comes once, in order, and a gap is only what the ring had let go."""
    board = Board(ring)
    kept = {"to": 0}
    session = Session(lambda name, boot: kept["to"])
    session.opened(0.0)
    got: list[Record | Gap] = []
    now = 0.0
    harm = {"up": iter(up), "down": iter(down)}

    def spoil(data: bytes, way: str) -> bytes:
        whole = data.split(b"\n")[:-1]
        out: list[bytes] = []
        for line in whole:
            what = next(harm[way], "")
            sent = bytes([line[0] ^ 1]) + line[1:] if what == "bend" else line
            out += [] if what == "drop" else [sent, sent] if what == "double" else [sent]
            if what == "noise":
                out.append(b"\xff\x00=noise")
            if what == "swap" and len(out) > 1:
                out[-1], out[-2] = out[-2], out[-1]
        return b"".join(line + b"\n" for line in out)

    def exchange() -> None:
        board.wire.to_board += spoil(session.take(), "down")
        board.talk.serve()
        data = spoil(board.wire.take(), "up")
        for start in range(0, len(data), cut):
            got.extend(e for e in session.feed(data[start : start + cut], now) if isinstance(e, Record | Gap))
        if got and not (slow and len(got) % 3):
            last = got[-1]
            kept["to"] = (last.last if isinstance(last, Gap) else last.sequence) + 1
            session.keep(7, kept["to"] - 1)

    for count in made:
        for _ in range(count):
            board.make()
        now += 2.0
        session.tick(now)
        exchange()
    slow = False
    for _ in range(60):  # the wire is good from here on: everything must arrive
        harm = {"up": iter(()), "down": iter(())}
        now += 1.0
        session.tick(now)
        exchange()

    place = 0
    for event in got:
        if isinstance(event, Gap):
            assert event.first == place
            place = event.last + 1
        else:
            assert event.sequence == place
            assert event.data == board.made[place]
            place += 1
    assert place == board.ring.next
    missing = sum(e.last - e.first + 1 for e in got if isinstance(e, Gap))
    assert missing <= board.ring.lost
    assert board.ring.used == 0  # and the board was told that all is kept


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


def test_what_a_board_says_is_cut_to_a_length_that_a_log_bears() -> None:
    session = standing()
    (notice,) = session.feed(lines.encode(messages.NOTICE, b"x" * 3999 + b"yz"), 1.0)
    assert notice == Notice("x" * 3999 + "y")
    number = session.order("stop", 1.0)
    said = json.dumps({"id": number, "ok": False, "why": "w" * 199 + "xy"}).encode()
    assert session.feed(lines.encode(messages.ANSWER, said), 1.5) == [Answer(number, "stop", False, "w" * 199 + "x")]


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
