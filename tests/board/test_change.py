"""Settings are changed by acknowledged orders, directly or through the engine; and the board heard."""

from __future__ import annotations

import asyncio
import json
import os
import re
import subprocess
import sys
import threading
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from board_kit import bare, running
from click.testing import CliRunner
from hearth.link import lines, messages
from tuyere.board import bench, listen
from tuyere.board import console as line
from tuyere.board.change import change
from tuyere.board.trouble import Trouble
from tuyere.cli.main import main
from tuyere.engine.engine import Engine
from tuyere.link import find as ports
from tuyere.sim.bath import Bath


@pytest.fixture
def twin() -> Any:
    with running(Bath(), speed=60.0) as made:
        yield made


def run(home: Path, *arguments: str) -> Any:
    return CliRunner(env={"TUYERE_HOME": str(home)}).invoke(main, ["board", *arguments])


def test_without_a_board_settings_have_their_defaults_and_meanings(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(ports, "boards", list)
    monkeypatch.setattr(bench, "ANSWERS_WITHIN", 0.0)
    done = run(tmp_path, "settings", "--unit", "C")
    assert done.exit_code == 0 and "no board is plugged in" in done.stderr
    [gain] = [text for text in done.stdout.splitlines() if text.startswith("band_low ")]
    assert re.fullmatch(r"band_low +- C +\S.* \(.* to .*, default 121\.1\)", gain), gain
    assert all(row["value"] is None and row["help"] for row in json.loads(run(tmp_path, "settings", "--json").stdout))
    assert run(tmp_path, "settings", "gain=5").exit_code == 1  # an order needs one
    assert run(tmp_path, "settings", "--port", "/dev/none").exit_code == 1


def test_settings_are_shown_and_changed_on_the_board_itself(tmp_path: Path, twin: Any) -> None:
    done = run(tmp_path, "settings", "high=270", "probe_beta=3435", "--unit", "F", "--port", twin.line.path)
    assert done.exit_code == 0, done.output
    assert "the board has acknowledged" in done.stderr
    assert [row.split()[0] for row in done.stdout.splitlines()] == ["band_high", "probe_beta"]
    shown = json.loads(run(tmp_path, "settings", "--json", "--port", twin.line.path).stdout)
    values = {row["name"]: row["value"] for row in shown}
    assert values["band_high"] == 132.22 and values["probe_beta"] == 3435
    with line.Line(twin.line.path) as talk:  # what the board says itself
        hello = talk.hello()
    assert hello and hello["settings"]["band_high"] == 13222


def test_what_was_learned_is_shown_and_forgotten(tmp_path: Path, twin: Any) -> None:
    shown = json.loads(run(tmp_path, "settings", "--json", "--port", twin.line.path).stdout)
    assert {row["name"]: row["value"] for row in shown}["learned"] == 100.0
    done = run(tmp_path, "settings", "--forget", "--port", twin.line.path)
    assert done.exit_code == 0 and "the board has acknowledged" in done.stderr, done.output
    [learned] = done.stdout.splitlines()
    assert re.match(r"learned +100 % .*--forget forgets it", learned), learned


def test_a_refused_change_changes_nothing(tmp_path: Path, twin: Any) -> None:
    for wrong, words in (("high=122", "do not fit together"), ("high=400", "is out of range"), ("hi=1", "no setting")):
        done = run(tmp_path, "settings", wrong, "--unit", "C", "--port", twin.line.path)
        assert done.exit_code == 1 and words in done.stderr, done.output
    with line.Line(twin.line.path) as talk:
        hello = talk.hello()
    assert hello and hello["settings_number"] == 0


def test_through_the_engine_that_runs(tmp_path: Path, twin: Any) -> None:
    port = twin.line.path
    began, ended = threading.Event(), threading.Event()

    async def keep() -> None:
        engine = Engine(tmp_path, port=port, log=lambda line: None)
        task = asyncio.create_task(engine.run())
        while not engine.board.readout.settings:
            await asyncio.sleep(0.05)
        began.set()
        await asyncio.to_thread(ended.wait)
        engine.stop()
        await task

    thread = threading.Thread(target=lambda: asyncio.run(keep()))
    thread.start()
    try:
        assert began.wait(30)
        assert asyncio.run(change(tmp_path, port, {"gain": 410, "pit_offset": -25}))["gain"] == 410
        standing = asyncio.run(change(tmp_path, "", {}))
        assert standing["pit_offset"] == -25 and standing["learned"] == 1000
        assert asyncio.run(change(tmp_path, "", {}, forget=True))["learned"] == 1000
        with pytest.raises(Trouble, match=r"an engine runs here with the board on .*`tuyere keep --end`"):
            asyncio.run(change(tmp_path, "/dev/ttyOTHER", {}))
        for command in ("load", "check", "release"):
            done = run(tmp_path, command, "--port", port)
            assert done.exit_code == 1 and "`tuyere keep --end`" in done.stderr, done.output
    finally:
        ended.set()
        thread.join()


def test_what_the_board_says_is_printed_and_damage_counted(tmp_path: Path, twin: Any) -> None:
    done = run(tmp_path, "listen", "--messages", "60", "--port", twin.line.path)
    assert done.exit_code == 0 and "60 messages, 0 damaged lines" in done.stderr, done.output
    assert "hello from twin-bench (twin)" in done.stdout and re.search(r"pit +\d+\.\d\d C  meat", done.stdout)
    done = run(tmp_path, "listen", "--json", "--messages", "40", "--port", twin.line.path)
    heard = [json.loads(row) for row in done.stdout.splitlines()]
    cycles = [each["body"] for each in heard if each["kind"] == "cycle"]
    assert len(cycles) >= 30 and all(18 < cycle["now_pit"] < 22 for cycle in cycles)
    with line.Line(twin.line.path) as talk:
        hello = talk.hello()
    assert hello and line.held(hello) >= 40  # listening takes nothing from the board


def test_a_reader_that_goes_away_ends_listening_quietly(tmp_path: Path, twin: Any) -> None:
    command = [sys.executable, "-m", "tuyere", "board", "listen", "--port", twin.line.path]
    env = {**os.environ, "TUYERE_HOME": str(tmp_path)}
    with subprocess.Popen(command, env=env, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as heard:
        assert heard.stdout and "hello from twin-bench" in heard.stdout.readline() + heard.stdout.readline()
        heard.stdout.close()
        said = heard.stderr.read() if heard.stderr else ""
    assert heard.returncode == 0 and said.rstrip().endswith("0 damaged lines"), said
    assert len(said.splitlines()) == 1


class Said:
    """A port that has said something already."""

    damaged = 1
    prompts = False

    def __init__(self, *said: tuple[str, bytes]) -> None:
        self._said = said

    def ask(self) -> None:
        """Nothing."""

    def messages(self, seconds: float) -> Any:
        yield from self._said


@pytest.mark.parametrize("command", [["settings"], ["check"], ["listen"]])
def test_at_a_bare_prompt_it_says_what_to_load(tmp_path: Path, command: list[str]) -> None:
    with bare() as twin:
        found = run(tmp_path, *command, "--port", twin.line.path)
    assert found.exit_code == 1 and "`tuyere board load`" in found.stderr
    assert "unknown message" not in found.stdout


def test_what_cannot_be_read_is_said_to_be_so() -> None:
    port: Any = Said(("R", b""), ("R", b"\x01short"), ("H", b"{"), ("A", b"[]"), ("N", b"a word"), ("?", b"12"))
    heard = [listen.words(each) for each in islice(listen.Listener(port).listen(), 6)]
    assert heard[:4] == [
        "unknown message 'R' of 0 bytes", "unknown message 'R' of 6 bytes", "unknown message 'H' of 1 bytes",
        "unknown message 'A' of 2 bytes",
    ]  # fmt: skip
    assert heard[4:] == ["notice: a word", "unknown message '?' of 2 bytes"]
    answer = lines.encode(messages.ANSWER, b'{"id": 3, "ok": false, "why": "busy"}')
    kind, payload = lines.decode(answer.strip())
    assert listen.words(listen.Listener(port).read(kind, payload)) == "answer to order 3: busy"


def test_a_port_of_another_group_says_which_to_join(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    port = tmp_path / "port"
    port.touch()
    monkeypatch.setattr(os, "access", lambda path, mode: path != str(port))
    told = "cannot be opened by this user: join the group that owns it (often dialout)"
    assert line.who(str(port)) == (line.CLOSED, told, {})


def test_find_says_who_is_there_and_asks_nobody_else(
    tmp_path: Path, twin: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    listed = [
        ("/dev/ttyS0", "n/a", None, None, ""),
        (twin.line.path, "Board in FS mode", *ports.USB_IDS[0], "E661"),
        (str(tmp_path / "gone"), "Board in FS mode", *ports.USB_IDS[0], "E662"),
    ]
    monkeypatch.setattr(ports, "ports", lambda: listed)
    rows = {row["port"]: row for row in json.loads(run(tmp_path, "find", "--json").stdout)}
    assert rows[twin.line.path]["runs"] == line.FIRMWARE and len(rows[twin.line.path]["firmware"]) == 64
    assert not rows["/dev/ttyS0"]["likely"] and rows["/dev/ttyS0"]["runs"] == ""
    assert rows[str(tmp_path / "gone")]["runs"] == line.CLOSED
    monkeypatch.setattr(ports, "ports", list)
    assert "no board found" in run(tmp_path, "find").stderr
