"""Settings are changed by acknowledged orders, directly or through the engine; and ports are found."""

from __future__ import annotations

import asyncio
import json
import os
import re
import threading
from pathlib import Path
from typing import Any

import pytest
from board_kit import bare, running
from click.testing import CliRunner
from tuyere.board import bench
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


@pytest.mark.parametrize("command", [["settings"], ["check"], ["listen"]])
def test_at_a_bare_prompt_it_says_what_to_load(tmp_path: Path, command: list[str]) -> None:
    with bare() as twin:
        found = run(tmp_path, *command, "--port", twin.line.path)
    assert found.exit_code == 1 and "`tuyere board load`" in found.stderr
    assert "unknown message" not in found.stdout


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
