"""One message a line: base64 (RFC 4648) of kind, payload and CRC-32, then a newline.

Base64 leaves only printable bytes, so a console in between sees no command, and a
lost byte costs one line. The CRC-32 is the one of zlib (IEEE 802.3), little-endian.

Guard: corrupt or hostile lines, a host that does not read
    cause: noise on the line, a faulty program, a host that sleeps
    evidence: CRC-32, bounds on length, number, portions and time (20 ms at a time); sends only what there is room for
    clears: -
    does: dropped and counted; no cycle is late by more than 10 %, and the watchdog is fed within 4 s
    bounds: none
    reads: Damaged lines, in the detail view
    tests: case_carried, test_session, test_stream, test_worst, test_twin, test_twin_inhibits
"""

import binascii

LONGEST = 13312  # bytes in a line from a board (the hello); a longer one is noise and is dropped
GROUP = 48  # bytes that make 64 characters: what the USB line takes at a time; less it fills up with ends of lines
PORTION = 8 * GROUP  # bytes of a long message that are encoded at once: the most a board may have room for in one piece
LONGEST_TO_BOARD = 2048  # bytes in a line to a board, which has little memory in one piece


def encode(kind, payload):
    """(one-character kind, bytes) -> a whole line with its newline."""
    body = kind.encode() + payload
    crc = binascii.crc32(body)
    return binascii.b2a_base64(body + bytes((crc & 255, crc >> 8 & 255, crc >> 16 & 255, crc >> 24 & 255)))


def encode_portions(kind, portions):
    """As `encode`, of a payload in portions: a list of pieces that make one line, none of them long, all but the last
    of whole 64 characters. A board has no room for a whole hello in one piece."""
    made, rest, crc = [], kind.encode(), 0
    for portion in portions:
        rest += portion
        if len(rest) < PORTION:
            continue
        whole = len(rest) // GROUP * GROUP
        crc = binascii.crc32(rest[:whole], crc)
        made.append(binascii.b2a_base64(rest[:whole])[:-1])
        rest = rest[whole:]
    crc = binascii.crc32(rest, crc)
    made.append(binascii.b2a_base64(rest + bytes((crc & 255, crc >> 8 & 255, crc >> 16 & 255, crc >> 24 & 255))))
    return made


def decode(line):
    """A line without its newline -> (kind, payload), or None if it is damaged."""
    try:
        raw = binascii.a2b_base64(line)
    except (ValueError, TypeError):
        return None
    if len(raw) < 5 or not 32 < raw[0] < 127:
        return None
    body = raw[:-4]
    crc = binascii.crc32(body)
    if bytes((crc & 255, crc >> 8 & 255, crc >> 16 & 255, crc >> 24 & 255)) != raw[-4:]:
        return None
    return chr(body[0]), body[1:]


class Lines:
    """Bytes in any portions -> messages; counts what was damaged. No line longer than `longest` is ever held."""

    def __init__(self, longest=LONGEST):
        self._longest = longest
        self.damaged = 0
        self._part = b""
        self._drop = False  # inside a line that grew too long

    def feed(self, data):
        """Take bytes, return the list of (kind, payload) that they complete."""
        found = []
        pieces = (self._part + data).split(b"\n")
        self._part = pieces.pop()
        for line in pieces:
            if self._drop:
                self._drop = False
                continue
            line = line.strip()
            if not line:
                continue
            message = decode(line)
            if message is None:
                self.damaged += 1
            else:
                found.append(message)
        if len(self._part) > self._longest:
            self._part = b""
            if not self._drop:
                self.damaged += 1
            self._drop = True
        return found
