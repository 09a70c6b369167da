"""What a command says while somebody waits."""

from __future__ import annotations

import io
import os
import sys
import threading
from types import ModuleType

import pytest
from tuyere.cli.doing import doing
from tuyere.cli.working import COMPILING, Doing
from tuyere.sim import compiled, ready


class Terminal(io.StringIO):
    """A stream that is looked at, or not."""

    def __init__(self, looked_at: bool) -> None:
        super().__init__()
        self.looked_at = looked_at

    def isatty(self) -> bool:
        return self.looked_at


class Watch:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_short_work_says_nothing() -> None:
    watch, out = Watch(), Terminal(True)
    work = Doing("planning", out, watch)
    watch.now = 0.9
    work.move(0.5)
    work.show()
    work.clear()
    assert out.getvalue() == ""


def test_long_work_says_how_far_and_how_long() -> None:
    watch, out = Watch(), Terminal(True)
    work = Doing("planning", out, watch)
    watch.now = 4.0
    work.show()
    assert out.getvalue() == "\rplanning, 4 s"
    work.move(0.25)
    assert out.getvalue().endswith("\rplanning [=====               ] 25 %, 12 s to go")
    watch.now = 16.0
    work.move(7.0)
    assert "100 %, 0 s to go" in out.getvalue()
    work.clear()
    assert out.getvalue().endswith("\r") and not out.getvalue().rsplit("\r", 2)[1].strip()


def test_compiling_is_told_as_long_as_any_function_is_not_ready() -> None:
    watch, out = Watch(), Terminal(True)
    work = Doing("planning", out, watch)
    watch.now = 2.0
    work.compiling(True)
    work.compiling(True)  # one that the first one calls
    work.compiling(False)
    assert work.line() == f"{COMPILING}: 1 parts ready, 2 s"
    work.compiling(False)
    assert work.line() == "planning, 2 s"


def test_where_nobody_looks_each_thing_is_said_once() -> None:
    watch, out = Watch(), Terminal(False)
    work = Doing("planning", out, watch)
    watch.now = 2.0
    for _ in range(3):
        work.show()
        work.compiling(True)
        work.compiling(False)
    assert out.getvalue().splitlines() == ["planning...", f"{COMPILING}..."]


def test_nothing_is_left_behind_also_after_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal(True))
    with pytest.raises(ZeroDivisionError), doing("dividing"):
        raise ZeroDivisionError
    assert [thread for thread in threading.enumerate() if thread.name == "progress"] == []
    assert compiled._listeners == []


def test_numba_tells_what_it_compiles_and_not_what_it_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    numba: ModuleType = pytest.importorskip("numba")
    heard: list[bool] = []
    with compiled.told(heard.append):
        made = numba.njit(lambda x: x + 1)
        assert made(1) == 2
        assert heard == [True, False]
        made(2)
        assert heard == [True, False]
    numba.njit(lambda x: x + 2)(1)
    assert heard == [True, False]  # nobody listens any more


def test_what_is_compiled_ahead_is_marked_by_its_sources(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    pytest.importorskip("numba")
    monkeypatch.setattr(ready.platformdirs, "user_cache_dir", lambda *_: str(tmp_path))
    assert ready.needed()
    file = ready.mark()
    file.parent.mkdir(parents=True)
    file.touch()
    assert not ready.needed()
    monkeypatch.setattr(compiled, "keys", lambda modules: dict.fromkeys(modules, "another"))
    assert ready.needed()


def test_a_line_never_fills_a_narrow_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """At its last column a terminal begins a new line, and what is written over it stays on the screen."""
    watch, out = Watch(), Terminal(True)
    monkeypatch.setattr(out, "fileno", lambda: 2)
    monkeypatch.setattr("os.get_terminal_size", lambda number: os.terminal_size((60, 20)))
    work = Doing("planning", out, watch)
    watch.now = 2.0
    work.compiling(True)
    work.clear()
    assert COMPILING[:50] in out.getvalue() and max(map(len, out.getvalue().split("\r"))) == 59
