"""What is asked of systemd and launchd, and what is made of their answers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from tuyere.cli import doctor_service
from tuyere.cook.snapshot import About
from tuyere.service import managers
from tuyere.service.awake import HELD
from tuyere.service.definition import Service
from tuyere.service.managers import Launchd, ManagerError, Systemd


class Answers:
    """In place of subprocess.run: answers by the words of a command, and keeps what was asked."""

    def __init__(self, **said: tuple[int, str, str]) -> None:
        self.said, self.asked = said, list[str]()

    def __call__(self, command: list[str], **_: Any) -> Any:
        self.asked.append(" ".join(command))
        for word, (code, out, complaint) in self.said.items():
            if word.replace("_", "-") in command:
                return SimpleNamespace(returncode=code, stdout=out, stderr=complaint)
        return SimpleNamespace(returncode=0, stdout="", stderr="")


@pytest.fixture(autouse=True)
def _config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("HOME", str(tmp_path))


def service(home: Path, **changes: Any) -> Service:
    return Service(**{"home": home, "port": "/dev/x", "python": sys.executable, "environment": {}, **changes})


def test_systemd_is_told_of_the_unit_and_starts_it_at_once(tmp_path: Path) -> None:
    answers = Answers(__version=(0, "systemd 255 (255.4-1)\n+PAM", ""))
    manager = Systemd(tmp_path / "pit", answers)
    assert manager.installed() == (None, "")
    manager.install(service(manager.home))
    assert manager.path.parent == tmp_path / "config" / "systemd" / "user"
    assert manager.installed() == (service(manager.home), "") and "RestartSteps=" in manager.path.read_text()
    assert answers.asked[-3:] == [
        "systemctl --user daemon-reload",
        f"systemctl --user enable {manager.name}",
        f"systemctl --user restart {manager.name}",
    ]
    manager.uninstall()
    assert not manager.path.exists() and f"systemctl --user disable --now {manager.name}" in answers.asked
    assert answers.asked[-1] == "systemctl --user daemon-reload"


def test_a_start_that_fails_is_a_sentence(tmp_path: Path) -> None:
    manager = Systemd(tmp_path, Answers(restart=(1, "", "noise\nJob for tuyere failed.\n")))
    with pytest.raises(ManagerError, match=r"restart .*failed: Job for tuyere failed"):
        manager.install(service(tmp_path))


@pytest.mark.parametrize("error", [FileNotFoundError(2, "No such file"), subprocess.TimeoutExpired("x", 1)])
def test_a_manager_that_is_not_there(tmp_path: Path, error: Exception) -> None:
    def run(*_: Any, **__: Any) -> Any:
        raise error

    assert "does not run" in Systemd(tmp_path, run).unreachable()
    assert "does not run" in Launchd(tmp_path, run).unreachable()


def test_a_file_that_cannot_be_written_or_read_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "config").write_text("in the way")
    manager = Systemd(tmp_path, Answers())
    with pytest.raises(ManagerError, match="cannot be written"):
        manager.install(service(tmp_path))
    assert "cannot be read" in manager.installed()[1]
    (tmp_path / "config").unlink()
    manager.path.parent.mkdir(parents=True)
    manager.path.write_bytes(b"\xff\xfe")
    assert "is not as `tuyere keep --install` writes it" in manager.installed()[1]


@pytest.mark.parametrize(
    ("active", "done"), [("active", "did not answer"), ("activating", "about to start"), ("inactive", "")]
)
def test_a_service_that_waits_for_its_next_start_is_stopped(tmp_path: Path, active: str, done: str) -> None:
    answers = Answers(is_active=(3, active, ""))
    manager = Systemd(tmp_path, answers)
    said = manager.hold_back()
    assert (done in said) and bool(said) is bool(done)
    assert (f"systemctl --user stop {manager.name}" in answers.asked) is bool(done)


def test_launchd_is_given_the_agent(tmp_path: Path) -> None:
    if not hasattr(managers.os, "getuid"):
        pytest.skip("no user numbers here")
    answers = Answers(print=(0, "gui/501/x = {\n\tstate = running\n}", ""))
    manager = Launchd(tmp_path / "pit", answers)
    manager.install(service(manager.home))
    assert manager.path.parent == tmp_path / "Library" / "LaunchAgents"
    assert manager.installed() == (service(manager.home), "")
    assert answers.asked[-1].startswith("launchctl bootstrap gui/") and answers.asked[-1].endswith(".plist")
    assert manager.state().running and manager.state().enabled
    manager.uninstall()
    assert not manager.path.exists()


def stands(tmp_path: Path, kept: Service, engine: About | None = None, **said: tuple[int, str, str]) -> tuple[str, str]:
    """What doctor says of a systemd service, and its trouble in one text."""
    usual = {"is_enabled": (0, "enabled", ""), "is_active": (0, "active", ""), "show_user": (0, "yes", "")}
    manager = Systemd(tmp_path / "pit", Answers(**{**usual, **said}))
    manager.install(kept)
    words, trouble = doctor_service.service(manager.home, engine, manager)
    return words, "; ".join(trouble)


def test_doctor_is_content_with_a_service_that_runs(tmp_path: Path) -> None:
    words, trouble = stands(tmp_path, service(tmp_path / "pit"))
    assert trouble == "" and words.endswith("enabled, runs, also with nobody logged in") and "/dev/x" in words


def test_doctor_names_what_a_service_wants(tmp_path: Path) -> None:
    good = service(tmp_path / "pit")
    for kept, engine, said, wanted in (
        (service(tmp_path / "pit", python="/gone/python3"), None, {}, "starts /gone/python3, which is gone"),
        (service(tmp_path / "pit", python="/bin/sh"), None, {}, "another installation, /bin/sh"),
        (service(tmp_path / "old"), None, {}, "written for another folder"),
        (good, None, {"is_enabled": (1, "disabled", "")}, "not started with the machine"),
        (good, None, {"is_active": (3, "failed", "")}, "does not run (failed): start it with `systemctl --user start"),
        (good, About(41, 1.0), {"is_active": (3, "activating", "")}, "(process 41) is not that of the service"),
        (good, None, {"show_user": (0, "no", "")}, "loginctl enable-linger"),
        (good, None, {"show_environment": (1, "", "Failed to connect to bus")}, "cannot be asked about the service"),
    ):
        _, trouble = stands(tmp_path, kept, engine, **said)
        assert wanted in trouble and "; " not in trouble.replace("; and", ""), trouble


def test_doctor_says_whether_the_machine_stays_awake() -> None:
    assert doctor_service.awake(None, (False, "no: x"))[0] == "no: x"
    held = About(1, 1.0, awake=f"{HELD} against sleep")
    assert doctor_service.awake(held) == (f"{HELD} against sleep, by the engine", [])
    words, trouble = doctor_service.awake(About(1, 1.0, awake="the machine may sleep: refused"))
    assert "refused" in words and "do not close its lid" in trouble[0]
