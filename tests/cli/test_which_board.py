"""`watch` and `keep`: a board if there is one, the twin only if there is none and no real cook stands open."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest
from tuyere import paths
from tuyere.cli.watch import wants_twin
from tuyere.client.launch import TwinOptions
from tuyere.engine.engine import Engine, RealCookOpen
from tuyere.engine.night.orders import Orders
from tuyere.logbook import Logbook


def test_a_named_port_or_a_board_plugged_in_means_no_twin() -> None:
    assert not wants_twin("/dev/ttyACM0", list)
    assert not wants_twin("", lambda: ["a board"])
    assert wants_twin("", list)


def test_a_twin_never_enters_a_real_cook(tmp_path: Path) -> None:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        book.cooks.start("Saturday", 1_000, "pico", False)
    with pytest.raises(RealCookOpen, match=r"Saturday.*plug its board in"):
        Engine(tmp_path, twin=TwinOptions())
    with Logbook(paths.logbook_path(tmp_path)) as book:  # the lock was given back and nothing was written
        assert book.cooks.open() is not None


def test_the_screen_names_the_fan_as_the_desk_does() -> None:
    from tuyere.tui.handlers import orders

    wanted = set(inspect.signature(Orders._fan).parameters) - {"self"}
    assert wanted == {"share", "seconds"}
    for action in (orders.fan, orders.back):
        source = inspect.getsource(action)
        assert all(f"{name}=" in source for name in wanted) and "demand=" not in source
