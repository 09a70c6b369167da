"""The board's side of the link: takes what came, sends what waits, never blocks."""

import json
import struct

from ..core.records import layout
from . import messages
from .lines import LONGEST_TO_BOARD, Lines, encode, encode_portions

MOST_ORDERS = 8  # waiting; one is carried out each cycle
MOST_READS = 8  # portions taken at a time
TAKE_MS = 20  # after this long no further message is taken in the same go
HELLO_MS = 400  # a hello is not begun so shortly before a cycle is due; it takes a Pico some 150 ms
ROWS = 12  # of a table's layout at a time
MOST_WRITES = 8  # portions sent at a time
MOST_LINES = 12  # waiting to be sent; a host that does not read gets no more


class Talk:
    """Messages over a byte stream of the board.

    `stream.read()` gives the bytes that have come (maybe none); `stream.write(data)` takes as many
    as it can at once and says how many. `hello()` gives the hello as a dict. `spool` holds what the ring no
    longer does; None without a flash. `clock()` gives ms: whatever comes, one `serve` takes at most TAKE_MS and the
    time of one message, of one portion of bytes and of one record. `due` is when the next cycle is, `heard` when the
    host last spoke.
    """

    def __init__(self, stream, ring, boot, hello, spool=None, clock=lambda: 0):
        self._stream = stream
        self._ring = ring
        self._spool = spool
        self._boot = boot
        self._past = None  # records coming from the spool
        self._past_boot = self._past_next = 0
        self._hello = hello
        self._lines = Lines(LONGEST_TO_BOARD)
        self._clock = clock
        self.due = HELLO_MS
        self.heard = clock()  # when the host last said something whole, ms
        self._came = []  # messages that have come and are not taken yet
        self._asked = None  # a host's hello that waits for its answer
        self._out = memoryview(b"")  # bytes of a line that the stream has not taken yet
        self._first = []  # whole lines that go before any record; a long one is a list of its pieces
        self.orders = []  # dicts that `messages.check` has passed, with "code", "first" and "second" added

    def serve(self, most=1):
        """Take what has come, send what the stream takes; returns how full the ring is, in percent.

        most: records from the spool, each of which costs the time of a cycle; and eight times as many portions sent, so
        that a quick host does not hold one up either.
        """
        self._take_all()
        if self._asked is not None and self.due - self._clock() >= HELLO_MS:
            self._greet()
        for _ in range(MOST_WRITES * most):
            if not self._out:
                if self._first:
                    self._out = memoryview(self._next_line())
                else:
                    if self._past is not None:
                        if most == 0:
                            break
                        most -= 1
                    record = self._take_record()
                    if record is None:
                        break
                    if not record:
                        continue
                    self._out = memoryview(encode(messages.RECORD, record))
            sent = self._stream.write(self._out)
            if not sent:
                break
            self._out = self._out[sent:]
        return self._ring.percent()

    def _next_line(self):
        """The next line that goes before any record, or the next piece of a long one."""
        line = self._first[0]
        if type(line) is not list:
            return self._first.pop(0)
        piece = line.pop(0)
        if not line:
            self._first.pop(0)
        return piece

    def _take_all(self):
        """Take messages until there are none, or no time; a host that never stops must not hold up a cycle."""
        began = self._clock()
        for _ in range(MOST_READS):
            while self._came and self._clock() - began < TAKE_MS:
                kind, payload = self._came.pop(0)
                self._take(kind, payload)
            if self._came or self._clock() - began >= TAKE_MS:
                return
            data = self._stream.read()
            if not data:
                return
            self._came = self._lines.feed(data)
            if self._came:
                self.heard = self._clock()

    def held(self):
        """What can be sent: {"first", "next", "earlier", "lost"}, as in a hello."""
        first = self._ring.first
        earlier = []  # type: list[list[int]]
        for boot, begin, end in self._spool.runs() if self._spool else ():
            if boot == self._boot:
                first = min(first, begin)
            elif earlier and earlier[-1][0] == boot:
                earlier[-1][2] = end
            else:
                earlier.append([boot, begin, end])
        lost = [list(run) for run in self._spool.lost] if self._spool else []
        return {"first": first, "next": self._ring.next, "earlier": earlier, "lost": lost}

    def _take_record(self):
        """The next record's bytes; None if there is none, b"" if it is not ready yet."""
        if self._past is None:
            return self._ring.take()
        try:
            record = next(self._past)
        except StopIteration:
            self._past = None
            if self._past_boot == self._boot:
                self._ring.rewind(self._past_next)
            return b""
        if record:
            self._past_next = struct.unpack_from(messages.HEAD, record)[2] + 1
            if self._past_boot == self._boot and self._past_next >= self._ring.first:  # the ring has the rest
                self._past = None
                self._ring.rewind(self._past_next)
        return record

    def _fetch(self, boot, sequence):
        if self._past is not None and (boot, sequence) == (self._past_boot, self._past_next):
            return  # being made ready: a reader begins at the front of a block, and asking again must not restart it
        self._past = None
        if boot == self._boot and sequence >= self._ring.first:
            self._ring.rewind(sequence)
        elif self._spool:
            self._past = self._spool.read(boot, sequence)
            self._past_boot, self._past_next = boot, sequence

    def answer(self, number, why, numbers=None):
        """Answer an order by its id; `why` is an index into messages.WHY, or a word; `numbers` what it speaks of."""
        word = messages.WHY[why] if type(why) is int else why
        said = {"id": number, "ok": word == "accepted", "why": word}
        if numbers:
            said["numbers"] = numbers
        self._say(messages.ANSWER, said)

    def notice(self, text):
        """Let the host know something in words."""
        if len(self._first) < MOST_LINES:
            self._first.append(encode(messages.NOTICE, text.encode()[:2000]))

    def _say(self, kind, body):
        if len(self._first) < MOST_LINES:
            self._first.append(encode(kind, json.dumps(body).encode()))

    def _greet(self):
        """Answer a hello, if there is room for one and none waits: it is long. One made in vain would cost as much."""
        asked, self._asked = self._asked or b"{}", None
        if len(self._first) >= MOST_LINES or any([type(line) is list for line in self._first]):
            return
        try:
            hello = self._hello()
            hello["ask"] = json.loads(asked).get("ask")
            self._first.append(encode_portions(messages.HELLO, portions(hello)))
        except Exception:
            self._no_sense(messages.ASK)

    def _take(self, kind, payload):
        try:
            if kind == messages.KEEP or kind == messages.FETCH:
                boot, sequence = struct.unpack(messages.POSITION, payload)
                if kind == messages.FETCH:
                    self._fetch(boot, sequence)
                    return
                if boot == self._boot:
                    self._ring.keep(sequence)
                if self._spool:
                    self._spool.kept(boot, sequence)
            elif kind == messages.ASK:
                self._asked = payload
            elif kind == messages.ORDER:
                self._order(json.loads(payload))
        except Exception:  # whatever a line holds, it must not stop the fire being watched
            self._no_sense(kind)

    def _no_sense(self, kind):
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


def portions(hello):
    """A hello's JSON in portions, a name at a time. Its "layout" holds tables of fields, of which some rows are said at
    a time."""
    before = "{"
    for name, value in hello.items():
        if name != "layout":
            yield ('%s"%s": %s' % (before, name, json.dumps(value))).encode()
            before = ", "
    if not hello.get("layout"):
        yield b"}"
        return
    before += '"layout": {'
    for name, table in hello["layout"].items():
        yield ('%s"%s": [' % (before, name)).encode()
        before = ", "
        for i in range(0, len(table), ROWS):
            rows = json.dumps(layout(table[i : i + ROWS]))
            yield ((", " if i else "") + rows[1:-1]).encode()
        yield b"]"
    yield b"}}"
