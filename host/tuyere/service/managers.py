"""The managers that can run the engine as a service of this user: systemd on Linux, launchd on macOS."""

from __future__ import annotations

import contextlib
import getpass
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tuyere.service import definition
from tuyere.service.definition import Service, Unfit

WITHIN = 120.0  # s for one command of the manager; a start waits until the engine serves
Run = Callable[..., Any]


class ManagerError(Exception):
    """The manager refused or cannot be reached, in one sentence."""


@dataclass
class State:
    """The state of the service of one home."""

    service: Service | None = None  # as it was written; None if there is none, or it cannot be read
    unread: str = ""  # why it cannot be read
    enabled: bool = False  # started again after the machine was off
    running: bool = False
    unasked: str = ""  # why the manager could not be asked
    alone: bool = True  # also while nobody is logged in
    words: str = ""  # the manager's own


class Manager:
    """What both have in common. `run` is that of subprocess."""

    kind = ""

    def __init__(self, home: Path, run: Run = subprocess.run) -> None:
        self.home = home
        self.name = definition.name(home)
        self._run = run

    @property
    def path(self) -> Path:
        """Where the service's file lies."""
        raise NotImplementedError

    def text(self, service: Service) -> str:
        """What stands in that file."""
        raise NotImplementedError

    def installed(self) -> tuple[Service | None, str]:
        """(what the file says, why it cannot be read); (None, "") if there is no file."""
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return None, ""
        except OSError as error:
            return None, f"{self.path} cannot be read ({error.strerror})"
        try:
            return self.read(data), ""
        except (Unfit, UnicodeDecodeError) as error:
            return None, f"{self.path} is not as `tuyere keep --install` writes it: {error}"

    def read(self, data: bytes) -> Service:
        """What such a file starts; Unfit if it is none of ours."""
        raise NotImplementedError

    def unreachable(self) -> str:
        """Why the manager cannot be asked, "" if it can."""
        raise NotImplementedError

    def install(self, service: Service) -> None:
        """Write the file, have it started with the machine, and start it now. ManagerError says what went wrong."""
        raise NotImplementedError

    def uninstall(self) -> None:
        """End it and delete the file."""
        raise NotImplementedError

    def start_command(self) -> list[str]:
        """What starts the installed service, and returns when it is up or has failed."""
        raise NotImplementedError

    def hold_back(self) -> str:
        """Stop a service whose engine does not answer, or that waits for its next start; it stays installed.

        What was done, "" if it was stopped already.
        """
        raise NotImplementedError

    def state(self) -> State:
        """Its state."""
        raise NotImplementedError

    @property
    def after(self) -> str:
        """What a person must know or do besides, in one sentence."""
        raise NotImplementedError

    def _write(self, service: Service) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            new = self.path.with_name(self.path.name + ".new")
            new.write_text(self.text(service), encoding="utf-8")
            os.replace(new, self.path)
        except OSError as error:
            raise ManagerError(f"{self.path} cannot be written ({error.strerror}): change its permissions") from error

    def _remove(self) -> None:
        try:
            self.path.unlink(missing_ok=True)
        except OSError as error:
            raise ManagerError(f"{self.path} cannot be deleted ({error.strerror})") from error

    def _ask(self, command: Sequence[str]) -> tuple[int, str, str]:
        """(exit code, standard output, the last line of standard error)."""
        try:
            done = self._run(
                list(command), capture_output=True, encoding="utf-8", errors="replace", timeout=WITHIN, check=False
            )
        except (OSError, subprocess.SubprocessError) as error:
            return -1, "", f"{command[0]} does not run: {getattr(error, 'strerror', None) or error}"
        last = (done.stderr or "").strip().splitlines()
        return done.returncode, (done.stdout or "").strip(), last[-1].strip() if last else ""

    def _must(self, *command: str) -> str:
        code, said, complaint = self._ask(command)
        if code:
            raise ManagerError(f"`{' '.join(command)}` failed: {complaint or said or f'exit code {code}'}")
        return said


class Systemd(Manager):
    """The user's manager of systemd."""

    kind = "systemd"

    @property
    def path(self) -> Path:
        chosen = os.environ.get("XDG_CONFIG_HOME", "")
        config = Path(chosen) if chosen.startswith("/") else Path.home() / ".config"
        return config / "systemd" / "user" / f"{self.name}.service"

    def text(self, service: Service) -> str:
        _, said, _ = self._ask(["systemctl", "--version"])
        version = re.search(r"\d+", said)
        return definition.unit(service, int(version[0]) if version else 0)

    def read(self, data: bytes) -> Service:
        return definition.of_unit(data.decode())

    def unreachable(self) -> str:
        code, _, complaint = self._ask(["systemctl", "--user", "show-environment"])
        return "" if code == 0 else complaint or f"exit code {code}"

    def install(self, service: Service) -> None:
        self._write(service)
        self._must("systemctl", "--user", "daemon-reload")
        self._must("systemctl", "--user", "enable", self.name)
        self._must("systemctl", "--user", "restart", self.name)

    def uninstall(self) -> None:
        self._must("systemctl", "--user", "disable", "--now", self.name)
        self._remove()
        self._must("systemctl", "--user", "daemon-reload")

    def start_command(self) -> list[str]:
        return ["systemctl", "--user", "start", self.name]

    def hold_back(self) -> str:
        _, active, _ = self._ask(["systemctl", "--user", "is-active", self.name])
        if active in ("", "inactive", "failed", "unknown"):
            return ""
        self._must("systemctl", "--user", "stop", self.name)
        why = "its engine did not answer" if active == "active" else "it was about to start its engine again"
        return f"The service {self.name} was stopped: {why}"

    def state(self) -> State:
        service, unread = self.installed()
        state = State(service, unread)
        if service is None:
            return state
        state.unasked = self.unreachable()
        if not state.unasked:
            _, enabled, _ = self._ask(["systemctl", "--user", "is-enabled", self.name])
            _, active, _ = self._ask(["systemctl", "--user", "is-active", self.name])
            state.enabled, state.running, state.words = enabled == "enabled", active == "active", active
            state.alone = self._lingers()
        return state

    def _lingers(self) -> bool:
        _, said, _ = self._ask(["loginctl", "show-user", getpass.getuser(), "--property=Linger", "--value"])
        return said == "yes"

    @property
    def after(self) -> str:
        if self._lingers():
            return "It starts with the machine, with nobody logged in."
        return (
            f"It runs while you are logged in. To have it start with the machine, as after a power cut, with nobody "
            f"there, give this command once: loginctl enable-linger {getpass.getuser()}"
        )


class Launchd(Manager):
    """The agents of a logged-in user under launchd."""

    kind = "launchd"

    @property
    def path(self) -> Path:
        return Path.home() / "Library" / "LaunchAgents" / f"{self.name}.plist"

    @property
    def _domain(self) -> str:
        return f"gui/{os.getuid()}"

    def text(self, service: Service) -> str:
        return definition.agent(service).decode()

    def read(self, data: bytes) -> Service:
        return definition.of_agent(data)

    def unreachable(self) -> str:
        code, _, complaint = self._ask(["launchctl", "print", self._domain])
        return "" if code == 0 else complaint or f"exit code {code}"

    def install(self, service: Service) -> None:
        self._ask(["launchctl", "bootout", f"{self._domain}/{self.name}"])  # an older one, if there is one
        self._write(service)
        self._must("launchctl", "bootstrap", self._domain, str(self.path))

    def uninstall(self) -> None:
        self._ask(["launchctl", "bootout", f"{self._domain}/{self.name}"])
        self._remove()

    def start_command(self) -> list[str]:
        return ["launchctl", "kickstart", f"{self._domain}/{self.name}"]

    def hold_back(self) -> str:
        return ""  # launchd waits ten seconds at most and has no way to leave out one start

    def state(self) -> State:
        service, unread = self.installed()
        state = State(service, unread)
        if service is None:
            return state
        state.unasked = self.unreachable()
        if not state.unasked:
            code, said, _ = self._ask(["launchctl", "print", f"{self._domain}/{self.name}"])
            state.enabled, state.running = code == 0, code == 0 and "state = running" in said
            found = re.search(r"state = (\S.*)", said)
            state.words = found[1] if found else "not loaded"
        return state

    @property
    def after(self) -> str:
        return (
            "It runs while you are logged in: after a power cut it waits for a log-in, so let this user log in "
            "automatically (System Settings, Users & Groups) if nobody is there at night."
        )


def manager(home: Path, run: Run = subprocess.run) -> Manager | None:
    """The manager of this system, None where there is none that we know."""
    if sys.platform == "darwin":
        return Launchd(home, run)
    return Systemd(home, run) if sys.platform.startswith("linux") else None


def installed(home: Path) -> tuple[Manager, Service] | None:
    """The manager and the service of this home, if one is installed and can be read."""
    found = None
    with contextlib.suppress(OSError, RuntimeError):  # RuntimeError: a user without a home folder
        found = manager(home)
        service = found.installed()[0] if found is not None else None
        if found is not None and service is not None:
            return found, service
    return None
