"""A service's file: a systemd unit (systemd.service(5)) or a launchd agent (launchd.plist(5))."""

from __future__ import annotations

import hashlib
import os
import plistlib
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import platformdirs

WATCHDOG = 60  # s without a sign of life after which systemd ends the engine and starts it again
STOP = 20  # s for everything of the service to end
FIRST, SLOWEST, STEPS = 2, 60, 6  # s before the first restart, before the later ones, and how many steps lead there
STEPS_SINCE = 254  # the first version of systemd with RestartSteps= (NEWS of 254)
EVEN = 10  # s before every restart where there are no steps
KEPT = ("TZ", "LANG", "LC_ALL", "LC_TIME")  # of the environment: the zone and the characters of the log


class Unfit(ValueError):
    """A path or a name that does not fit into a service file, in one sentence."""


@dataclass(frozen=True)
class Service:
    """What is kept: the folder, the port ("" to look for a board), the Python that has Tuyere, and the zone."""

    home: Path
    port: str = ""
    python: str = ""
    environment: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, home: Path, port: str, environment: Mapping[str, str] = os.environ) -> Service:
        """The service of this installation for a home."""
        kept = {name: environment[name] for name in KEPT if environment.get(name)}
        made = cls(home, port, sys.executable, kept)
        for text in (str(home), port, made.python, *kept.values()):
            if not text.isprintable():  # nor is a byte that is no UTF-8
                raise Unfit(f"{text!a} holds characters that a service's file cannot hold: choose another path")
        return made

    @property
    def command(self) -> list[str]:
        """What the service runs."""
        return [self.python, "-m", "tuyere", "keep", *(["--port", self.port] if self.port else [])]

    @property
    def variables(self) -> dict[str, str]:
        """Its environment."""
        return {"TUYERE_HOME": str(self.home), **self.environment}


def name(home: Path) -> str:
    """'tuyere', or with a few digits behind it for a home that is not the user's usual one."""
    if home == Path(platformdirs.user_data_dir("tuyere", False)):
        return "tuyere"
    return f"tuyere-{hashlib.sha256(os.fsencode(home)).hexdigest()[:8]}"


# -- systemd ----------------------------------------------------------------------------


def unit(service: Service, version: int) -> str:
    """A unit for the user's manager of that version of systemd."""
    program, *rest = service.command  # in the first word a $ means itself
    words = " ".join([_quoted(program), *(_quoted(part.replace("$", "$$")) for part in rest)])
    variables = "\n".join(f"Environment={_quoted(f'{name}={value}')}" for name, value in service.variables.items())
    steps = f"RestartSec={EVEN}"
    if version >= STEPS_SINCE:
        steps = f"RestartSec={FIRST}\nRestartMaxDelaySec={SLOWEST}\nRestartSteps={STEPS}"
    return f"""\
# Written by `tuyere keep --install`; `tuyere keep --uninstall` takes it away.
[Unit]
Description=Tuyere: watches and records the pit
# It is tried again for as long as it takes: a night is long.
StartLimitIntervalSec=0

[Service]
Type=notify
ExecStart={words}
{variables}
# The engine says several times a minute that it lives. Ended by a person it stays ended.
WatchdogSec={WATCHDOG}
Restart=on-failure
{steps}
# What a dead engine leaves behind (a forecast under way) must not hold up the next one.
TimeoutStopSec={STOP}
LimitCORE=0

[Install]
WantedBy=default.target
"""


def of_unit(text: str) -> Service:
    """What a unit starts; Unfit if it is none of ours."""
    found = [line.partition("=")[2] for line in text.splitlines() if line.startswith("ExecStart=")]
    variables = [
        part for line in text.splitlines() if line.startswith("Environment=") for part in _parts(line.partition("=")[2])
    ]
    if len(found) != 1:
        raise Unfit("it has no single ExecStart= line")
    program, *rest = _parts(found[0]) or [""]
    given = dict(v.split("=", 1) for v in variables if "=" in v)
    return _read([program, *(part.replace("$$", "$") for part in rest)], given)


def _quoted(text: str) -> str:
    """As systemd.syntax(7) wants it, with the specifiers of systemd.unit(5) shut off."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%") + '"'


def _parts(line: str) -> list[str]:
    """The words of a line that `_quoted` made."""
    found = re.findall(r'"((?:[^"\\]|\\.)*)"', line)
    return [re.sub(r"\\(.)", r"\1", part).replace("%%", "%") for part in found]


# -- launchd ----------------------------------------------------------------------------


def agent(service: Service) -> bytes:
    """A launchd agent: started at log-in, and again when it ends with a failure, after ten seconds at the earliest."""
    log = str(service.home / "service.log")
    return plistlib.dumps(
        {
            "Label": name(service.home),
            "ProgramArguments": service.command,
            "EnvironmentVariables": service.variables,
            "RunAtLoad": True,
            "KeepAlive": {"SuccessfulExit": False},
            "ThrottleInterval": EVEN,
            "StandardOutPath": log,
            "StandardErrorPath": log,
        },
        sort_keys=False,
    )


def of_agent(data: bytes) -> Service:
    """What an agent starts; Unfit if it is none of ours."""
    try:
        found = plistlib.loads(data)
        return _read(list(found["ProgramArguments"]), dict(found["EnvironmentVariables"]))
    except (plistlib.InvalidFileException, KeyError, TypeError, ValueError) as error:
        raise Unfit(f"it cannot be read ({error})") from error


def _read(command: list[str], variables: dict[str, str]) -> Service:
    if command[1:4] != ["-m", "tuyere", "keep"] or "TUYERE_HOME" not in variables:
        raise Unfit("it starts something else than `tuyere keep`")
    rest, home = command[4:], Path(variables.pop("TUYERE_HOME"))
    port = rest[1] if len(rest) == 2 and rest[0] == "--port" else ""
    return Service(home, port, command[0], variables)
