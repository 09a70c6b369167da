"""What pyserial and the system say of a port, as a sentence for a person."""

from __future__ import annotations

import pytest
import serial
from tuyere.link.port import open_line, words_of

# texts of pyserial 3.5, serialposix.py and protocol_socket.py
SAID = [
    (
        serial.SerialException(
            "device reports readiness to read but returned no data (device disconnected or multiple access on port?)"
        ),
        "another program has the port open, or it was unplugged",
    ),
    (
        serial.SerialException(
            "Could not exclusively lock port /dev/ttyX: [Errno 11] Resource temporarily unavailable"
        ),
        "another program has the port open: close it there",
    ),
    (
        serial.SerialException(13, "could not open port /dev/ttyX: [Errno 13] Permission denied: '/dev/ttyX'"),
        "this user may not open the port: join the group that owns it (often dialout)",
    ),
    (
        serial.SerialException(2, "could not open port /dev/ttyX: [Errno 2] No such file or directory: '/dev/ttyX'"),
        "there is no port /dev/ttyX now: plug the board in, or name another with --port",
    ),
    (
        serial.SerialException("Could not open port socket://h:1: [Errno 111] Connection refused"),
        "nobody listens at /dev/ttyX: start what serves it, or see that its number is right",
    ),
    (
        serial.SerialException("Could not configure port: (25, 'Inappropriate ioctl for device')"),
        "/dev/ttyX is no serial port: `tuyere board find` lists the ports there are",
    ),
    (
        serial.SerialException(21, "could not open port /dev/ttyX: [Errno 21] Is a directory: '/dev/ttyX'"),
        "/dev/ttyX is no serial port: `tuyere board find` lists the ports there are",
    ),
    (
        ValueError("invalid URL, protocol 'foo' not known"),
        "/dev/ttyX is no kind of port: give a device, such as /dev/ttyACM0, or socket://host:port",
    ),
    (OSError("No such device or address: '/dev/ttyX'"), "No such device or address: '/dev/ttyX'"),
    (OSError("Connection reset by peer"), "Connection reset by peer"),
    (OSError("Could not open port"), "Could not open port"),
    (OSError("No such luck, permission denied"), "No such luck, permission denied"),
    (OSError("the device reports readiness to read"), "the device reports readiness to read"),
    (OSError("x" * 300), "x" * 200),
    (OSError("one\ntwo"), "one"),
    (RuntimeError(), "RuntimeError"),
]


@pytest.mark.parametrize(("error", "words"), SAID, ids=lambda value: str(value)[:30])
def test_it_is_said_for_a_person(error: Exception, words: str) -> None:
    assert words_of(error, "/dev/ttyX") == words


@pytest.mark.parametrize(
    ("name", "reads", "writes", "alone"),
    [
        ("/dev/ttyX", 0.2, 1.0, True),
        ("socket://h:1", 0.02, 1.0, None),
        ("rfc2217://h:1", 0.2, None, None),  # pyserial has no timeout of writing there
        ("loop://", 0.2, 1.0, None),
    ],
)
def test_how_each_kind_of_port_is_opened(
    name: str, reads: float, writes: float | None, alone: bool | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: dict[str, object] = {}
    monkeypatch.setattr(serial, "serial_for_url", lambda url, **how: asked.update(how, url=url))
    open_line(name)
    assert asked == {
        "url": name, "baudrate": 115200, "timeout": reads, "write_timeout": writes, "exclusive": alone,
    }  # fmt: skip
