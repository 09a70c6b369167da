"""Which port is the board's."""

from __future__ import annotations

from pathlib import Path

import pytest
from serial.tools import list_ports
from serial.tools.list_ports_common import ListPortInfo
from tuyere.link.find import Finder, Found, boards

PICO = Found("/dev/ttyACM0", "Board in FS mode", "E661")


def test_boards_are_known_by_their_usb_id() -> None:
    listed = [
        ("/dev/ttyS0", "n/a", None, None, ""),
        ("/dev/ttyUSB0", "adapter", 0x0403, 0x6001, "A1"),
        ("/dev/ttyACM0", "Board in FS mode", 0x2E8A, 0x0005, "E661"),
    ]
    assert boards(listed) == [PICO]


def test_the_ports_are_those_that_the_system_lists(monkeypatch: pytest.MonkeyPatch) -> None:
    bare, board = ListPortInfo("/dev/ttyS0"), ListPortInfo("/dev/ttyACM0")
    bare.description = None
    board.description, board.vid, board.pid, board.serial_number = "Board in FS mode", 0x2E8A, 0x0005, "E661"
    monkeypatch.setattr(list_ports, "comports", lambda: [bare, board])
    assert boards() == [PICO] and Finder().where() == PICO.port
    monkeypatch.setattr(list_ports, "comports", lambda: [bare])
    assert boards() == []


def test_the_only_board_is_taken_and_known_again_under_another_name() -> None:
    now = [PICO]
    finder = Finder(look=lambda: now)
    assert finder.words == "looking for a board"
    assert finder.where() == "/dev/ttyACM0"
    now[:] = []
    assert finder.where() is None and finder.words == "no board found: plug it in, or name its port with --port"
    now[:] = [Found("/dev/ttyACM0", "", "other"), Found("/dev/ttyACM1", "", "E661")]
    assert finder.where() == "/dev/ttyACM1"


def test_of_two_boards_none_is_guessed() -> None:
    finder = Finder(look=lambda: [PICO, Found("/dev/ttyACM1", "", "E662")])
    assert finder.where() is None
    named = "/dev/ttyACM0, /dev/ttyACM1"
    assert finder.words == f"more than one board is plugged in ({named}): say which with --port"


def test_a_named_port_that_is_not_there_is_said(tmp_path: Path) -> None:
    name = str(tmp_path / "none")
    finder = Finder(name, look=list)
    assert finder.where() is None
    assert finder.words == f"there is no port {name} now: plug the board in, or name another port with --port"


def test_a_named_device_is_followed_by_its_serial_number(tmp_path: Path) -> None:
    device = tmp_path / "ttyACM0"
    device.touch()
    now = [Found(str(device), "", "E661")]
    finder = Finder(str(device), look=lambda: now)
    assert finder.where() == str(device)
    device.unlink()
    now[:] = [Found("/dev/ttyACM7", "", "E661")]
    assert finder.where() == "/dev/ttyACM7"


def test_a_url_is_taken_as_it_is() -> None:
    assert Finder("socket://127.0.0.1:5", look=list).where() == "socket://127.0.0.1:5"
