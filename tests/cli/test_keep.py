"""`tuyere keep` and the engine's start: what is refused, and in which words."""

from __future__ import annotations

import asyncio
import fcntl
import json
import os
from pathlib import Path

import pytest
from click.testing import CliRunner
from tuyere import paths
from tuyere.cli.keep import keep
from tuyere.client import launch
from tuyere.client.client import Client, EngineError
from tuyere.engine import engine as keeping
from tuyere.engine.device import twin_process
from tuyere.logbook import Logbook


def test_a_second_engine_gets_one_sentence_and_a_code_of_its_own(tmp_path: Path) -> None:
    with Logbook(paths.logbook_path(tmp_path)):
        done = CliRunner().invoke(keep, [], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == launch.BUSY
    assert done.output.startswith("Error: ") and len(done.output.strip().splitlines()) == 1


def test_port_and_twin_together_are_refused() -> None:
    done = CliRunner().invoke(keep, ["--port", "x", "--twin"])
    assert done.exit_code == 2 and "one of them" in done.output


def test_an_engine_that_cannot_start_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    paths.logbook_path(tmp_path).write_bytes(b"something else entirely" * 20)

    async def scene() -> None:
        with pytest.raises(EngineError, match="not a logbook"):
            await Client.open(tmp_path, launch=True)

    asyncio.run(scene())


@pytest.mark.parametrize("for_screens", [False, True])
def test_a_twin_kept_by_a_person_goes_on_when_the_last_screen_closes(tmp_path: Path, for_screens: bool) -> None:
    async def scene() -> bool:
        steady, said = [0.0], []
        engine = keeping.Engine(
            tmp_path, twin=launch.TwinOptions(), for_screens=for_screens, steady=lambda: steady[0], log=said.append
        )
        for steady[0] in (1.0, keeping.NOBODY - 1.0):
            engine.tick()
        assert not engine._ending.is_set() and engine.snapshot().stays is not for_screens
        engine.server.left = asyncio.get_running_loop().time() - keeping.LINGER - 1.0
        engine.tick()
        steady[0] = 10 * keeping.NOBODY
        engine.tick()
        ended = engine._ending.is_set()
        assert ended == any("the last screen has gone" in line for line in said)
        await engine._end()
        return ended

    assert asyncio.run(scene()) == for_screens


def test_options_of_the_twin_go_on_as_given() -> None:
    made = launch.TwinOptions(speed=0, cooker="drum", seed=3, hours=2.5)
    assert made.arguments() == ["--speed", "0", "--cooker", "drum", "--seed", "3", "--hours", "2.5"]
    assert launch.TwinOptions().arguments() == ["--speed", "60"]


def test_a_twin_lives_while_it_holds_its_file(tmp_path: Path) -> None:
    file = paths.twin_file(tmp_path)
    finder = twin_process.TwinFinder(tmp_path)
    assert twin_process.live(tmp_path) is None and finder.where() is None and not finder.ended
    file.write_text(json.dumps({"pid": os.getpid(), "port": "/dev/pts/9"}))
    assert twin_process.live(tmp_path) is None  # left behind by a dead one
    with open(file, "r+") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert finder.where() == "/dev/pts/9"
    assert finder.where() is None and finder.ended and "ended" in finder.words


def test_home_is_where_the_user_says(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    assert paths.home() == tmp_path
    monkeypatch.setenv("TUYERE_HOME", "")
    assert paths.home().name == "tuyere"
