"""`tuyere keep --install` and `--uninstall`, and the engine as a manager starts it."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from real_terminal import terminal
from tuyere import paths
from tuyere.cli.keep import keep
from tuyere.cli.watch import watch
from tuyere.client import launch
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook
from tuyere.service import definition, managers
from tuyere.service.awake import HELD, Awake
from tuyere.service.definition import Service
from tuyere.service.upkeep import Upkeep

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="systemd is Linux's")
WITHIN = 60.0  # s; a loaded machine is slow, not wrong


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The environment of a user whose systemctl writes down what it is asked; a file `refuse` makes it refuse."""
    tools, home = tmp_path / "tools", tmp_path / "pit"
    tools.mkdir()
    (tools / "systemctl").write_text(
        f'#!/bin/sh\necho "$*" >> "{tmp_path}/asked"\n'
        f'case "$*" in *--version*) echo systemd 252;; esac\n'
        f'if [ -e "{tmp_path}/refuse" ]; then echo "Failed to connect to bus" >&2; exit 1; fi\n'
    )
    (tools / "systemctl").chmod(0o755)
    env = {
        "PATH": f"{tools}:{os.environ['PATH']}",
        "TUYERE_HOME": str(home),
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path / "config"),
    }
    for name, value in env.items():
        monkeypatch.setenv(name, value)
    return env


def unit(place: dict[str, str]) -> Path:
    name = definition.name(Path(place["TUYERE_HOME"]))
    return Path(place["XDG_CONFIG_HOME"]) / "systemd" / "user" / f"{name}.service"


def test_the_unit_is_shown_and_nothing_is_done_unasked(place: dict[str, str]) -> None:
    done = CliRunner().invoke(keep, ["--install", "--port", "/dev/x"])
    assert done.exit_code == 1 and "give --yes" in done.output and "Type=notify" in done.output
    assert "loginctl enable-linger" in done.output  # told, not done
    assert not unit(place).exists()
    asked = (Path(place["HOME"]) / "asked").read_text()
    assert "enable" not in asked and "restart" not in asked


@pytest.mark.parametrize(("answer", "code"), [(b"n\n", 1), (b"y\n", 0)])
def test_a_person_at_a_terminal_is_asked_after_the_unit_was_shown(
    place: dict[str, str], answer: bytes, code: int
) -> None:
    with terminal(["keep", "--install"], Path(place["TUYERE_HOME"])) as person:
        person.until("Type=notify")
        person.until("Write and start it?")
        assert not unit(place).exists()
        person.keys(answer)
        assert person.wait() == code, person.told()
    assert unit(place).exists() is (code == 0)


def test_with_yes_it_is_written_as_shown_enabled_and_started(place: dict[str, str]) -> None:
    done = CliRunner().invoke(keep, ["--install", "--yes", "--port", "/dev/x"])
    assert done.exit_code == 0, done.output
    text = unit(place).read_text()
    assert text in done.output
    assert definition.of_unit(text) == Service.of(Path(place["TUYERE_HOME"]), "/dev/x")
    asked = (Path(place["HOME"]) / "asked").read_text()
    assert f"--user enable {unit(place).stem}\n--user restart {unit(place).stem}\n" in asked
    again = CliRunner().invoke(keep, ["--install", "--yes"])
    assert "takes the place of the one that is there" in again.output
    gone = CliRunner().invoke(keep, ["--uninstall", "--yes"])
    assert gone.exit_code == 0 and not unit(place).exists()
    none = CliRunner().invoke(keep, ["--uninstall", "--yes"])
    assert none.exit_code == 1 and "no service is installed" in none.output


def test_a_manager_that_cannot_be_reached_is_said_before_anything_is_written(place: dict[str, str]) -> None:
    (Path(place["HOME"]) / "refuse").touch()
    done = CliRunner().invoke(keep, ["--install", "--yes"])
    assert done.exit_code == 1 and "Failed to connect to bus" in done.output and "cron" in done.output
    assert not unit(place).exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [(["--install", "--twin"], "leave out --twin"), (["--install", "--uninstall"], "give one of them")],
)
def test_what_does_not_go_together(place: dict[str, str], options: list[str], words: str) -> None:
    done = CliRunner().invoke(keep, options)
    assert done.exit_code == 2 and words in done.output and not unit(place).exists()


def test_a_screen_starts_the_service_and_no_engine_of_its_own(
    place: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    CliRunner().invoke(keep, ["--install", "--yes"])
    started: list[list[str]] = []

    def detached(arguments: list[str], log: Path, home: Path) -> None:
        started.append(arguments)

    monkeypatch.setattr(launch, "detached", detached)
    launch.start(Path(place["TUYERE_HOME"]), twin=launch.TwinOptions())
    assert started == [["systemctl", "--user", "start", unit(place).stem]]
    done = CliRunner().invoke(watch, ["--plain", "--seed", "3"])
    assert done.exit_code == 1 and "keeps the first board that is plugged in" in done.output


@contextlib.contextmanager
def served(home: Path, heard: socket.socket, address: str) -> Iterator[subprocess.Popen[bytes]]:
    """The engine as its unit starts it, ready."""
    kept = definition.of_unit(definition.unit(Service.of(home, str(home / "no port")), 252))
    env = {**os.environ, **kept.variables, "NOTIFY_SOCKET": address, "WATCHDOG_USEC": "900000"}
    with subprocess.Popen(kept.command, env=env, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL) as process:
        try:
            until(heard, "READY=1")
            yield process
        finally:
            process.kill()


def until(heard: socket.socket, wanted: str) -> list[str]:
    """What the manager hears up to a line that begins so."""
    said: list[str] = []
    while not said or not said[-1].startswith(wanted):
        said.append(heard.recv(4096).decode())
    return said


def test_after_a_crash_the_next_one_takes_up_the_open_cook_with_nobody_there(tmp_path: Path) -> None:
    home, address = tmp_path / "my pit 100%$x", str(tmp_path / "n")
    with Logbook(paths.logbook_path(home)) as book:
        book.cooks.start("Saturday", 1_000, "pico", False)
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(address)
        heard.settimeout(WITHIN)
        for ends in (signal.SIGKILL, signal.SIGTERM):
            with served(home, heard, address) as process:
                said = [*until(heard, "STATUS="), *until(heard, "WATCHDOG=1"), *until(heard, "WATCHDOG=1")]
                assert any(line.startswith("STATUS=cook 'Saturday' is open; ") for line in said), said
                process.send_signal(ends)
                if ends == signal.SIGTERM:
                    until(heard, "STOPPING=1")
                    assert process.wait(WITHIN) == 0  # a success: the manager leaves it ended
                else:
                    assert process.wait(WITHIN) == -signal.SIGKILL  # a failure: it is started again
    with Logbook(paths.logbook_path(home)) as book:
        assert book.cooks.open() is not None


def test_a_real_cook_keeps_the_machine_awake_and_a_simulated_one_does_not(tmp_path: Path) -> None:
    cat = shutil.which("env")
    assert cat is not None
    for simulated, words in ((False, f"{HELD} against sleep"), (True, "")):
        home = tmp_path / str(simulated)
        with Logbook(paths.logbook_path(home)) as book:
            book.cooks.start("Saturday", 1_000, "pico", simulated)
        upkeep = Upkeep(awake=Awake([("sleep", [cat])]))
        said: list[str] = []
        engine = Engine(home, port=str(home / "no port"), log=said.append, forecaster=(), upkeep=upkeep)
        engine.cooking.take_up(engine.logbook.cooks.open())
        engine._look_after_machine()
        assert engine.about().awake == words and any(words and words in line for line in said) is bool(words)
        upkeep.close()
        engine.logbook.close()


def test_no_home_folder_is_no_service(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def none() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.setattr(managers.Path, "home", staticmethod(none))
    assert managers.installed(tmp_path) is None
