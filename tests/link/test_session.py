"""The host's side of the protocol against the firmware's own: any stream, any cut, any loss."""

from __future__ import annotations

import json
import struct

from fake_board import Wire
from hearth.link import lines, messages
from hearth.link.talk import Talk
from hearth.store.ring import Ring
from hypothesis import given, settings
from hypothesis import strategies as st
from session_kit import HELLO, hello_line, record_line, standing
from tuyere.link.session import Gap, Hello, Record, Session


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
