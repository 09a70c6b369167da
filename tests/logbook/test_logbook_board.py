"""The logbook fed by the firmware's own loop: its hello, its records, its bands."""

import json

import pytest
from hearth.link import messages
from hearth.link.lines import Lines, encode
from hearth.loop import Loop
from tuyere.logbook import Logbook

UTC = 1_778_000_000_000


class Desk:
    """A board without hardware: a clock that jumps, a warming pit, and a host at the other end of the wire."""

    ring_size = 0
    folder = None
    identity = {"board": "desk", "kind": "desk"}

    def __init__(self):
        self.ms = 4_000
        self.stream = self
        self.sent = b""
        self.orders = []

    def draw_boot(self):
        return 0xDEADBEEF

    def elapsed(self):
        return self.ms

    def sleep_until(self, due, serve):
        serve()
        self.ms = due

    def read(self, now=None):
        if now is None:  # the stream's read
            said, self.orders = b"".join(self.orders), []
            return said
        now.pit, now.faults = min(12800, 2000 + self.ms // 400), 0
        return None

    def write(self, data):
        self.sent += data
        return len(data)

    def told(self):
        return False

    def held(self):
        return False

    def let_go(self):
        return False

    def finished(self):
        return -1

    def configure(self, settings):
        pass

    def cause(self):
        return "power"

    def fan(self, duty, demand):
        pass

    def show(self, out):
        pass

    def feed(self, cycles):
        pass


def test_a_boot_of_the_real_loop_is_read_as_it_was(path):
    desk = Desk()
    loop = Loop(desk)
    desk.orders.append(encode(messages.ASK, json.dumps({"ask": 1}).encode()))
    orders = {
        5: {"id": 1, "name": "start"},
        50: {"id": 2, "name": "band", "low": 9000, "high": 10000},
        80: {"id": 3, "name": "programme", "rows": [[11000, 12000, 1, 3], [12000, 13000, 0, 0]]},
        120: {"id": 4, "name": "settings", "values": {"gain": 500}},
    }
    bands = []
    for i in range(200):
        if i in orders:
            desk.orders.append(encode(messages.ORDER, json.dumps(orders[i]).encode()))
        loop.step()
        bands.append((loop.out.low / 100, loop.out.high / 100, loop.out.fan / 10000, loop.now.pit / 100))
    desk.sleep_until(desk.ms, loop.talk.serve)
    said = Lines().feed(desk.sent)
    (hello,) = [json.loads(payload) for kind, payload in said if kind == messages.HELLO]
    records = [payload for kind, payload in said if kind == messages.RECORD]
    answers = [json.loads(payload) for kind, payload in said if kind == messages.ANSWER]
    assert [answer["ok"] for answer in answers] == [True] * 4
    with Logbook(path) as book:
        book.boards.hello("desk", loop.boot, hello, UTC)
        book.boards.pair("desk", loop.boot, hello["at"], UTC)
        cook = book.cooks.start("one", UTC, "desk", False)
        assert book.records.add("desk", loop.boot, records, cook) == len(records) == loop.ring.next
        trend = book.reading.trend(cook)
        # an order is acted on a cycle after it was sent; a programme between two cycles
        assert list(zip(trend.low, trend.high, trend.fan, trend.pit, strict=True)) == bands
        assert len({band[:2] for band in bands}) == 4 and max(band[2] for band in bands) > 0.5
        assert trend.at == [UTC + (i * 2000) - (hello["at"] - 4_000) for i in range(200)]
        assert (book.boards.boots("desk")[0].core, book.boards.boots("desk")[0].firmware) == (
            hello["core"],
            hello["firmware"],
        )
        causes = [found.cause for found in book.reading.states(cook)]
        # the band, the programme, the settings, the first phase's end
        assert causes == [messages.BOOTED, *[messages.CHANGED] * 4]
        last = book.reading.states(cook)[-1]
        assert last.settings["gain"] == 500 and last.memory["phases"] == 2
        assert hello["core"].startswith(last.core)
        assert book.reading.gaps(cook) == []


@pytest.mark.parametrize("name", ["share", "learned"])
def test_each_change_of_what_was_learned_is_a_state_record(path, name):
    desk = Desk()
    loop = Loop(desk)
    desk.orders.append(encode(messages.ASK, json.dumps({"ask": 1}).encode()))
    setattr(loop.memory, name, 640)
    for i in range(20):
        if i == 10:
            desk.orders.append(encode(messages.ORDER, json.dumps({"id": 1, "name": "forget"}).encode()))
        loop.step()
    said = Lines().feed(desk.sent)
    (hello,) = [json.loads(payload) for kind, payload in said if kind == messages.HELLO]
    with Logbook(path) as book:
        book.boards.hello("desk", loop.boot, hello, UTC)
        book.boards.pair("desk", loop.boot, hello["at"], UTC)
        cook = book.cooks.start("one", UTC, "desk", False)
        book.records.add("desk", loop.boot, [payload for kind, payload in said if kind == messages.RECORD], cook)
        found = [(state.cause, state.memory[name]) for state in book.reading.states(cook)]
    assert found == [(messages.BOOTED, 1000), (messages.CHANGED, 640), (messages.CHANGED, 1000)]
