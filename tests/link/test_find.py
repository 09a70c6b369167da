"""Which port is the board's."""

from __future__ import annotations

from pathlib import Path

from tuyere.link.find import Finder, Found, boards

PICO = Found("/dev/ttyACM0", "Board in FS mode", "E661")


def test_boards_are_known_by_their_usb_id() -> None:
    listed = [
        ("/dev/ttyS0", "n/a", None, None, ""),
        ("/dev/ttyUSB0", "adapter", 0x0403, 0x6001, "A1"),
        ("/dev/ttyACM0", "Board in FS mode", 0x2E8A, 0x0005, "E661"),
    ]
    assert boards(listed) == [PICO]


def test_the_only_board_is_taken_and_known_again_under_another_name() -> None:
    now = [PICO]
    finder = Finder(look=lambda: now)
    assert finder.where() == "/dev/ttyACM0"
    now[:] = []
    assert finder.where() is None and "plug it in" in finder.words
    now[:] = [Found("/dev/ttyACM0", "", "other"), Found("/dev/ttyACM1", "", "E661")]
    assert finder.where() == "/dev/ttyACM1"


def test_of_two_boards_none_is_guessed() -> None:
    finder = Finder(look=lambda: [PICO, Found("/dev/ttyACM1", "", "E662")])
    assert finder.where() is None
    assert "/dev/ttyACM1" in finder.words and "--port" in finder.words


def test_a_named_port_that_is_not_there_is_said(tmp_path: Path) -> None:
    finder = Finder(str(tmp_path / "none"), look=list)
    assert finder.where() is None and "none" in finder.words


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
