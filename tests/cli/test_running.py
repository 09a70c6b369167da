"""What `watch` and `doctor` say of an engine that runs already."""

from __future__ import annotations

import asyncio
import json
import threading
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from tuyere import paths
from tuyere.cli import doctor, running
from tuyere.cli.watch import watch
from tuyere.cook.snapshot import About, Link
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook

TWIN = About(41, 7500.0, twin=True, speed=60.0, cooker="drum", seed=3, cook="Saturday")
BOARD = About(41, 30.0, port="/dev/ttyACM0", link=Link(state="open", port="/dev/ttyACM0", words="connected"))


@pytest.mark.parametrize(
    ("found", "asked", "fits"),
    [
        (None, {"port": "x", "speed": 5.0}, True),
        (TWIN, {}, True),
        (TWIN, {"speed": 60.0, "cooker": "drum", "seed": 3}, True),
        (TWIN, {"speed": 600.0}, False),
        (TWIN, {"cooker": "upright"}, False),
        (TWIN, {"seed": 4}, False),
        (TWIN, {"port": "/dev/ttyACM0"}, False),
        (BOARD, {"port": "/dev/ttyACM0"}, True),
        (BOARD, {"port": "/dev/ttyACM1"}, False),
        (BOARD, {"speed": 60.0}, False),
    ],
)
def test_options_that_contradict_what_runs_are_refused(found: About | None, asked: dict[str, Any], fits: bool) -> None:
    if fits:
        running.refuse_other(found, asked)
        return
    with pytest.raises(click.ClickException, match=r"already runs here and keeps the .* `tuyere keep --end`") as said:
        running.refuse_other(found, asked)
    [(name, value)] = asked.items()
    assert f"--{name} {value:g}" if isinstance(value, float) else f"--{name} {value}" in said.value.message


def test_a_twin_whose_last_screen_has_gone_makes_way() -> None:
    """`q` and a quick reopening with other options: the engine of the first lingers for some seconds."""
    left = About(41, 9.0, twin=True, speed=60.0, stays=False, screens=1)  # the one that asks
    assert running.leaves(left) and not running.fits(left, {"speed": 600.0})
    assert not running.leaves(About(41, 9.0, twin=True, speed=60.0, stays=False, screens=2))
    assert not running.leaves(TWIN) and not running.leaves(BOARD) and not running.leaves(None)


def test_what_it_keeps_in_words() -> None:
    assert running.keeps(TWIN) == "the twin (drum, seed 3, at 60x)"
    assert running.keeps(About(1, 1.0, twin=True)).endswith("as fast as it goes)")
    assert running.keeps(BOARD) == "the board on /dev/ttyACM0"
    assert "first board" in running.keeps(About(1, 1.0))


@pytest.fixture
def engine(tmp_path: Path) -> Any:
    """An engine in a thread, waiting for a port that is not there."""
    made: list[Engine] = []
    ready = threading.Event()

    async def scene() -> None:
        made.append(Engine(tmp_path, port=str(tmp_path / "no port"), log=lambda line: None))
        task = asyncio.create_task(made[0].run())
        while not paths.engine_file(tmp_path).exists():
            await asyncio.sleep(0)
        loops.append(asyncio.get_running_loop())
        ready.set()
        await task

    loops: list[asyncio.AbstractEventLoop] = []
    thread = threading.Thread(target=lambda: asyncio.run(scene()))
    thread.start()
    assert ready.wait(20)
    yield tmp_path
    loops[0].call_soon_threadsafe(made[0].stop)
    thread.join(20)


def test_watch_with_another_port_and_doctor_ask_the_engine_that_runs(engine: Path) -> None:
    env = {"TUYERE_HOME": str(engine)}
    done = CliRunner().invoke(watch, ["--plain", "--port", "/dev/other"], env=env)
    assert done.exit_code == 1 and "--port /dev/other does not apply" in done.output and "no port" in done.output
    done = CliRunner().invoke(doctor.doctor, ["--json"], env=env)
    found = json.loads(done.output)
    assert done.exit_code == 1 and found["engine"].startswith("runs for ") and "keeps the board on" in found["engine"]
    assert found["verdict"].startswith("this needs attention: the engine has no board: there is no port")


def test_doctor_without_an_engine_gives_its_verdict_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tuyere.link.find.boards", list)
    done = CliRunner().invoke(doctor.doctor, [], env={"TUYERE_HOME": str(tmp_path)})
    lines = done.output.splitlines()
    assert done.exit_code == 0 and any(line.split() == ["engine", "none", "runs"] for line in lines)
    assert lines[-1].split(maxsplit=1) == [
        "verdict",
        "all is well: no board is plugged in, `tuyere watch` opens the twin",
    ]


@pytest.mark.parametrize(("count", "said"), [(0, "(0 cooks, "), (1, "(1 cook, "), (2, "(2 cooks, ")])
def test_doctor_counts_the_cooks(tmp_path: Path, count: int, said: str) -> None:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        for i in range(count):
            book.cooks.start(f"cook {i}", 1_000 + i, "fake-1", True)
            book.cooks.end(i + 1, 2_000 + i)
    assert said in CliRunner().invoke(doctor.doctor, [], env={"TUYERE_HOME": str(tmp_path)}).output


def test_doctor_names_a_logbook_that_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    paths.logbook_path(tmp_path).write_bytes(b"something else entirely" * 20)
    done = CliRunner().invoke(doctor.doctor, [], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 1 and "this needs attention: " in done.output and "not a logbook" in done.output


def test_verdicts() -> None:
    assert "--port a" in doctor.verdict([], None, ["a", "b"]) and "is on a" in doctor.verdict([], None, ["a"])
    assert "attaches" in doctor.verdict([], TWIN, [])
    assert doctor.verdict(["x", "y"], None, []) == "this needs attention: x (and 1 more, see trouble)"
    assert doctor._age(5) == "5 s" and doctor._age(600) == "10 min" and doctor._age(7500) == "2 h 05 min"
