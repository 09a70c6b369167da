"""sd_notify(3) over a real Unix socket: what the manager hears, and how often."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from tuyere.service.notify import Notifier

pytestmark = pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="no Unix sockets here")


@pytest.fixture(params=["file", "abstract"])
def manager(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[socket.socket, str]]:
    """The manager's end, and its address as in NOTIFY_SOCKET."""
    if request.param == "abstract" and sys.platform != "linux":
        pytest.skip("abstract sockets are Linux's")
    address = str(tmp_path / "n") if request.param == "file" else f"@tuyere-test-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(address.replace("@", "\0", 1))
        heard.setblocking(False)
        yield heard, address


def all_of(heard: socket.socket) -> list[str]:
    found = []
    while True:
        try:
            found.append(heard.recv(4096).decode())
        except BlockingIOError:
            return found


def test_the_manager_hears_each_thing_once(manager: tuple[socket.socket, str]) -> None:
    heard, address = manager
    said = {"NOTIFY_SOCKET": address, "WATCHDOG_USEC": "60000000", "WATCHDOG_PID": str(os.getpid()), "HOME": "/"}
    notifier = Notifier.from_environment(said)
    assert said == {"HOME": "/"}  # children do not speak for us
    notifier.ready()
    notifier.status("cook 'Saturday'\nis open")
    notifier.status("cook 'Saturday' is open")
    notifier.stopping()
    assert all_of(heard) == ["READY=1", "STATUS=cook 'Saturday' is open", "STOPPING=1"]
    notifier.close()


def test_signs_of_life_come_often_enough_and_no_oftener(manager: tuple[socket.socket, str]) -> None:
    heard, address = manager
    notifier = Notifier(address, watchdog=60.0)
    for tick in range(4 * 120):  # two minutes of ticks
        notifier.alive(tick / 4)
    signs = all_of(heard)
    assert signs == ["WATCHDOG=1"] * 6  # sd_watchdog_enabled(3) advises half of the span: 4 would do


@pytest.mark.parametrize(("span", "pid"), [("", ""), ("60000000", "1"), ("soon", ""), ("-5", "")])
def test_a_watchdog_that_is_not_ours_hears_nothing(manager: tuple[socket.socket, str], span: str, pid: str) -> None:
    heard, address = manager
    notifier = Notifier.from_environment({"NOTIFY_SOCKET": address, "WATCHDOG_USEC": span, "WATCHDOG_PID": pid})
    notifier.alive(0.0)
    assert all_of(heard) == []


def test_without_a_manager_or_with_a_deaf_one_nothing_happens(tmp_path: Path) -> None:
    for address in ("", str(tmp_path / "nobody"), "vsock:2:1", "x" * 300, "/" + "x" * 300):
        notifier = Notifier(address, 10.0)
        notifier.ready()
        notifier.alive(0.0)
        notifier.close()


def test_a_manager_that_does_not_read_stops_nothing(manager: tuple[socket.socket, str]) -> None:
    heard, address = manager
    notifier = Notifier(address)
    for number in range(5000):  # far more than a socket holds
        notifier.status(f"line {number}")
    assert len(all_of(heard)) < 5000
