"""What carries the decisions: record bytes, lines, the ring."""

from hearth.core import Memory, Now, Out, Settings, fields
from hearth.core.records import codes, layout
from hearth.link import messages
from hearth.link.lines import Lines, decode, encode
from hearth.link.talk import Talk
from hearth.store.ring import Ring


def test_records_survive_their_bytes():
    for kind in (Now, Memory, Out, Settings):
        one, other = kind(), kind()
        for row, (name, count) in zip(kind.TABLE, kind.NAMES):
            setattr(one, name, [row[3]] * count if count else row[4])
        assert one.wrong() is None
        assert other.unpack(one.pack()) == len(one.pack())
        assert other.values() == one.values()


def test_defaults_are_in_range_and_what_is_not_is_named():
    for kind in (Now, Memory, Out, Settings):
        assert kind().wrong() is None, kind().wrong()
    settings = Settings()
    settings.gain = 99999
    assert settings.wrong() == ("gain", 99999, 10, 5000)


def test_layout_says_what_codes_pack():
    for table in (fields.NOW, fields.OUT, fields.MEMORY, fields.SETTINGS):
        assert "".join([code * (count or 1) for _, code, count, _ in layout(table)]) == codes(table)


def test_lines_in_any_portions():
    wanted = [("R", bytes(range(256))), ("H", b"{}"), ("A", b"\n\r\x03")]
    stream = b"".join([encode(kind, payload) for kind, payload in wanted])
    for size in (1, 3, 7, 1000):
        lines, got = Lines(), []
        for i in range(0, len(stream), size):
            got.extend(lines.feed(stream[i : i + size]))
        assert got == wanted and lines.damaged == 0


def test_a_damaged_line_is_counted_and_costs_only_itself():
    good = encode("R", b"record")
    bad = bytearray(good)
    bad[3] = bad[3] ^ 1
    lines = Lines()
    assert lines.feed(bytes(bad) + b"noise\n" + good) == [("R", b"record")]
    assert lines.damaged == 2
    assert decode(b"") is None


def test_endless_noise_does_not_fill_the_memory():
    lines = Lines(2000)
    for _ in range(40):
        assert lines.feed(b"x" * 1000) == []
    assert lines.damaged == 1
    assert lines.feed(b"\n" + encode("R", b"after")) == [("R", b"after")]


def test_crc_is_the_one_of_zlib():
    # "123456789" -> 0xCBF43926, the check value of CRC-32/ISO-HDLC (reveng catalogue)
    import binascii

    assert binascii.crc32(b"123456789") & 0xFFFFFFFF == 0xCBF43926


def test_ring_keeps_order_and_forgets_what_is_kept():
    ring = Ring(100)
    for i in range(40):
        ring.append(bytes([i]) * (i % 5 + 1))
        assert ring.take() == bytes([i]) * (i % 5 + 1)
    assert ring.next == 40 and ring.first > 0 and ring.lost == ring.first
    ring.rewind(0)
    assert ring.cursor == ring.first and ring.take()[0] == ring.first
    ring.keep(38)
    assert ring.first == 39
    ring.rewind(39)
    assert ring.take() == bytes([39]) * 5 and ring.take() is None
    ring.keep(1000)
    assert ring.first == ring.next == 40 and ring.used == 0


def test_orders_are_checked_before_they_reach_the_core():
    assert messages.check({"name": "band", "low": 12110, "high": 13500}) == (fields.ORDER_BAND, 12110, 13500)
    assert messages.check({"name": "fan", "demand": 20000, "seconds": 5}) == "out_of_range"
    assert messages.check({"name": "fan", "demand": True, "seconds": 5}) == "bad_arguments"
    assert messages.check({"name": "fan", "demand": "1"}) == "bad_arguments"
    assert messages.check({"name": "dance"}) == "unknown_order"
    assert messages.check({}) == "unknown_order"


class Flood:
    """A host that never stops talking and never listens."""

    def __init__(self, line):
        self.line = line
        self.reads = 0

    def read(self):
        self.reads += 1
        return self.line

    def write(self, data):
        return 0


def test_a_host_that_never_stops_neither_holds_up_a_cycle_nor_fills_the_memory():
    for line in (encode("o", b"{}"), encode("h", b"{}")):
        stream = Flood(line)
        talk = Talk(stream, Ring(1000), 1, lambda: {"long": "x" * 1000})
        for _ in range(4):
            talk.serve()
        assert stream.reads <= 32
        assert sum([len(part) for part in talk._first]) < 8000
