"""`tuyere keep --end`, a home that cannot be used, and the command line a screen starts the engine with."""

from __future__ import annotations

import asyncio
import importlib
import os
import signal
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from real_terminal import bound
from tuyere import paths
from tuyere.cli import doctor
from tuyere.cli.keep import keep
from tuyere.cli.watch import watch
from tuyere.client import client as attaching
from tuyere.client import launch
from tuyere.client.client import Client, EngineEnded, EngineError
from tuyere.cook.errors import Refusal
from tuyere.engine.engine import Engine
from tuyere.link import find
from tuyere.logbook import Logbook

keeping = importlib.import_module("tuyere.cli.keep_end")


def test_end_without_an_engine_is_one_sentence(tmp_path: Path) -> None:
    done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 1 and "nothing to end" in done.output and len(done.output.strip().splitlines()) == 1


def test_end_ends_the_engine_and_gives_the_logbook_free(tmp_path: Path) -> None:
    async def begin() -> None:
        await (await Client.open(tmp_path, launch=True, port=str(tmp_path / "no port"))).close()

    asyncio.run(begin())
    done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 0 and done.output.startswith("The engine has ended")
    Logbook(paths.logbook_path(tmp_path)).close()
    said = paths.engine_log(tmp_path).read_text()
    assert said.rstrip().endswith("engine ended") and "Traceback" not in said


def test_end_returns_only_when_the_lock_is_released(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Gone:
        """An engine whose door is shut and whose logbook is not yet."""

        async def call(self, method: str) -> None:
            raise EngineError("the engine is gone")

        async def close(self) -> None:
            pass

    async def opened(home: Path) -> Gone:
        return Gone()

    held = Logbook(paths.logbook_path(tmp_path))
    looks = 0

    async def pause(seconds: float) -> None:
        nonlocal looks
        looks += 1
        if looks == 3:
            held.close()

    monkeypatch.setattr(Client, "open", opened)
    monkeypatch.setattr("tuyere.cli.keep_end.asyncio.sleep", pause)
    done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 0 and looks == 3, done.output


def test_an_engine_ends_quietly_with_screens_attached(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    async def once() -> list[str]:
        said: list[str] = []
        engine = Engine(tmp_path, port=str(tmp_path / "no port"), log=said.append, forecaster=())
        run = asyncio.create_task(engine.run())
        while not paths.engine_file(tmp_path).exists():
            await asyncio.sleep(0)
        screen = await Client.open(tmp_path)
        await screen.call("subscribe")
        _, stranger = await asyncio.open_connection("127.0.0.1", engine.server.port)  # who never says a word
        await screen.call("about")
        engine.stop()
        await run
        left = asyncio.all_tasks() - {asyncio.current_task(), screen._task}
        assert not left, left
        await screen.close()
        stranger.close()
        return said

    said = asyncio.run(once())
    assert said[-1].endswith("engine ended") and not caplog.records


def test_a_signal_ends_the_engine_without_a_traceback(tmp_path: Path) -> None:
    async def once() -> None:
        client = await Client.open(tmp_path, launch=True, port=str(tmp_path / "no port"))
        about = await client.call("about")
        await client.call("subscribe")
        os.kill(about["pid"], signal.SIGTERM)
        async for _ in client.notifications():
            pass
        await client.close()
        async with asyncio.timeout(60):
            await keeping._given_free(tmp_path)

    asyncio.run(once())
    said = paths.engine_log(tmp_path).read_text()
    assert said.rstrip().endswith("engine ended") and "Traceback" not in said


@pytest.mark.parametrize(
    ("port", "plugged", "wanted"),
    [
        ("/dev/ttyX", [], ["keep", "--for-screens", "--port", "/dev/ttyX"]),
        ("", ["a board"], ["keep", "--for-screens"]),
        ("", [], ["keep", "--for-screens", "--twin", "--speed", "60"]),
    ],
)
def test_the_command_line_that_watch_starts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, port: str, plugged: list[Any], wanted: list[str]
) -> None:
    given: list[list[str]] = []

    def detached(arguments: list[str], log: Path, home: Path) -> Any:
        given.append(arguments)
        raise OSError(5, "far enough")

    monkeypatch.setattr(find, "boards", lambda: plugged)
    monkeypatch.setattr(launch, "detached", detached)
    options = ["--plain", *(["--port", port] if port else [])]

    async def once(connect: Any, *_: Any, **__: Any) -> None:
        with pytest.raises(EngineError, match="far enough"):
            await connect()

    monkeypatch.setattr("tuyere.tui.plain_screen.watch", once)
    done = CliRunner().invoke(watch, options, env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 0, done.output
    assert [line[len(launch.command()) :] for line in given] == [wanted]


@pytest.fixture
def impossible(tmp_path: Path) -> Path:
    """A home that nobody can make, not even root."""
    (tmp_path / "file").write_text("in the way")
    return tmp_path / "file" / "home"


def test_keep_names_the_home_that_cannot_be_made(impossible: Path) -> None:
    done = CliRunner().invoke(keep, [], env={"TUYERE_HOME": str(impossible)})
    assert done.exit_code == 1 and len(done.output.strip().splitlines()) == 1
    assert str(impossible) in done.output and "set TUYERE_HOME" in done.output


def test_doctor_tries_the_home_for_real(impossible: Path, tmp_path: Path) -> None:
    assert not doctor._writable(impossible)
    home = tmp_path / "new"
    assert doctor._writable(home) and list(home.iterdir()) == []


def test_an_unknown_setting_is_answered_with_the_names_there_are(tmp_path: Path) -> None:
    engine = Engine(tmp_path, port="none", forecaster=())
    with pytest.raises(Refusal, match="the settings are") as said:
        asyncio.run(engine.orders.order("settings", values={"nonsense": 1}))
    engine.logbook.close()
    assert "tuyere board" not in str(said.value)


def frozen(home: Path) -> tuple[int, Any]:
    """An engine in a process of its own that is stopped in the middle of its work: (its pid, what thaws it)."""

    async def begin() -> int:
        client = await Client.open(home, launch=True, port=str(home / "no port"))
        pid = int((await client.call("about"))["pid"])
        await client.close()
        return pid

    pid = asyncio.run(begin())
    os.kill(pid, signal.SIGSTOP)
    return pid, lambda: os.kill(pid, signal.SIGCONT)


def test_an_engine_that_holds_the_lock_and_does_not_answer_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pid, thaw = frozen(tmp_path)
    try:
        for time in ("ATTACHES", "DETACHES"):  # it never answers: no need to wait for as long as a person would
            monkeypatch.setattr(attaching, time, 0.1)
        done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path)})
        assert done.exit_code == 1 and f"process {pid} holds the logbook" in done.output, done.output
        assert f"`kill {pid}`" in done.output and "A board goes on by itself" in done.output
        assert len(done.output.strip().splitlines()) == 1
    finally:
        monkeypatch.undo()
        thaw()
    done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 0, done.output


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are others there")
def test_end_after_the_permissions_were_taken_away_is_a_sentence(tmp_path: Path) -> None:
    """Run as a user whom permissions bind: root is given up, or its power to pass them by."""
    home = tmp_path / "pit"

    async def begin() -> None:
        await (await Client.open(home, launch=True, port=str(tmp_path / "no port"))).close()

    asyncio.run(begin())
    lock = home / "logbook.sqlite.lock"
    try:
        for what, mode, words in ((home, 0, "Permission denied"), (lock, 0, "The engine has ended")):
            before = what.stat().st_mode
            what.chmod(mode)
            done = bound([sys.executable, "-m", "tuyere", "keep", "--end"], home)
            what.chmod(before)
            assert words in done.stdout + done.stderr and "Traceback" not in done.stderr, done.stderr
            assert len((done.stdout + done.stderr).strip().splitlines()) == 1
    finally:
        CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(home)})


def test_a_screen_hears_that_the_engine_was_ended_on_purpose(tmp_path: Path) -> None:
    async def once() -> None:
        engine = Engine(tmp_path, port=str(tmp_path / "no port"), log=lambda line: None, forecaster=())
        run = asyncio.create_task(engine.run())
        while not paths.engine_file(tmp_path).exists():
            await asyncio.sleep(0)
        screen = await Client.open(tmp_path)
        await screen.call("subscribe")
        other = await Client.open(tmp_path)
        await other.call("stop")
        names = [name async for name, _ in screen.notifications()]
        assert names[-1] == "ended"
        with pytest.raises(EngineEnded, match="keep --end"):
            await screen.call("snapshot")
        await run
        await screen.close()
        await other.close()

    asyncio.run(once())


def test_a_screen_of_a_killed_engine_hears_no_such_thing(tmp_path: Path) -> None:
    async def once() -> None:
        client = await Client.open(tmp_path, launch=True, port=str(tmp_path / "no port"))
        pid = (await client.call("about"))["pid"]
        await client.call("subscribe")
        os.kill(pid, signal.SIGKILL)
        assert "ended" not in [name async for name, _ in client.notifications()]
        with pytest.raises(EngineError) as said:
            await client.call("snapshot")
        assert not isinstance(said.value, EngineEnded)
        await client.close()

    asyncio.run(once())
