"""The board's side of the link: takes what came, sends what waits, never blocks."""

import json
import struct

from . import messages
from .lines import LONGEST_TO_BOARD, Lines, encode

MOST_ORDERS = 8  # waiting; one is carried out each cycle
MOST_READS = 8  # portions taken at a time
MOST_LINES = 12  # waiting to be sent; a host that does not read gets no more


class Talk:
    """Messages over a byte stream of the board.

    `stream.read()` gives the bytes that have come (maybe none); `stream.write(data)` takes as many
    as it can at once and says how many. `hello()` gives the hello as a dict.
    """

    def __init__(self, stream, ring, boot, hello):
        self._stream = stream
        self._ring = ring
        self._boot = boot
        self._hello = hello
        self._lines = Lines(LONGEST_TO_BOARD)
        self._out = b""  # bytes of a line that the stream has not taken yet
        self._first = []  # whole lines that go before any record
        self.orders = []  # dicts that `messages.check` has passed, with "code", "first" and "second" added

    def serve(self):
        """Take everything that has come, send what the stream takes; returns how full the ring is, in percent."""
        for _ in range(MOST_READS):  # a host that never stops must not hold up a cycle
            data = self._stream.read()
            if not data:
                break
            for kind, payload in self._lines.feed(data):
                self._take(kind, payload)
        while True:
            if not self._out:
                if self._first:
                    self._out = self._first.pop(0)
                else:
                    record = self._ring.take()
                    if record is None:
                        break
                    self._out = encode(messages.RECORD, record)
            sent = self._stream.write(self._out)
            if not sent:
                break
            self._out = self._out[sent:]
        return self._ring.percent()

    def answer(self, number, why):
        """Answer an order by its id; `why` is an index into messages.WHY."""
        word = messages.WHY[why] if type(why) is int else why
        self._say(messages.ANSWER, {"id": number, "ok": word == "accepted", "why": word})

    def notice(self, text):
        """Let the host know something in words."""
        if len(self._first) < MOST_LINES:
            self._first.append(encode(messages.NOTICE, text.encode()[:2000]))

    def _say(self, kind, body):
        if len(self._first) < MOST_LINES:
            self._first.append(encode(kind, json.dumps(body).encode()))

    def _greeting(self):
        """A hello waits already: it is long, and one is enough."""
        return any([len(line) > 1000 for line in self._first])

    def _take(self, kind, payload):
        try:
            if kind == messages.KEEP or kind == messages.FETCH:
                boot, sequence = struct.unpack(messages.POSITION, payload)
                if boot != self._boot:
                    return
                if kind == messages.KEEP:
                    self._ring.keep(sequence)
                else:
                    self._ring.rewind(sequence)
            elif kind == messages.ASK and not self._greeting():
                hello = self._hello()
                hello["ask"] = json.loads(payload).get("ask")
                self._say(messages.HELLO, hello)
            elif kind == messages.ORDER:
                self._order(json.loads(payload))
        except Exception:  # whatever a line holds, it must not stop the fire being watched
            self.notice("a message of kind %s made no sense" % kind)

    def _order(self, order):
        known = messages.check(order)
        if type(known) is str:
            self.answer(order.get("id"), known)
        elif len(self.orders) >= MOST_ORDERS:
            self.answer(order.get("id"), "busy")
        else:
            order["code"], order["first"], order["second"] = known
            self.orders.append(order)
