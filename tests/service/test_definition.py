"""The unit and the agent: what they start, read back, and judged by the system's own checker where it is at hand."""

from __future__ import annotations

import os
import plistlib
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tuyere.service import definition
from tuyere.service.definition import Service, Unfit

PRINTABLE = st.text(st.characters(min_codepoint=32, max_codepoint=0x2FFF), min_size=1, max_size=40).filter(
    lambda text: text.isprintable()
)
HARD = Service(Path('/srv/my "pit" 100%$x\\n'), "socket://[::1]:7%$HOME", "/opt/a b/$y/%n/python3", {"TZ": ":Europe/X"})


def lines(text: str) -> dict[str, str]:
    """Keys of a unit that come once."""
    return dict(line.split("=", 1) for line in text.splitlines() if "=" in line and not line.startswith("#"))


def test_the_unit_says_what_a_night_needs() -> None:
    said = lines(definition.unit(HARD, 252))
    assert said["Type"] == "notify" and said["Restart"] == "on-failure" and said["StartLimitIntervalSec"] == "0"
    assert int(said["WatchdogSec"]) == definition.WATCHDOG and said["WantedBy"] == "default.target"
    assert "KillMode" not in said  # what a dead engine leaves is ended at once, or the next one waits for it
    assert said["RestartSec"] == "10" and "RestartSteps" not in said  # unknown before systemd 254
    later = lines(definition.unit(HARD, 254))
    assert (later["RestartSec"], later["RestartMaxDelaySec"], later["RestartSteps"]) == ("2", "60", "6")


@given(PRINTABLE, PRINTABLE, PRINTABLE, PRINTABLE)
def test_both_are_read_back_as_they_were_written(home: str, port: str, python: str, zone: str) -> None:
    service = Service(Path("/" + home), port, "/" + python, {"TZ": zone})
    assert definition.of_unit(definition.unit(service, 255)) == service
    assert definition.of_agent(definition.agent(service)) == service


def test_the_agent_is_started_again_only_after_a_failure() -> None:
    said = plistlib.loads(definition.agent(HARD))
    assert said["KeepAlive"] == {"SuccessfulExit": False} and said["RunAtLoad"] is True
    assert said["ProgramArguments"] == HARD.command and said["EnvironmentVariables"]["TUYERE_HOME"] == str(HARD.home)


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
@pytest.mark.parametrize("port", ["", "/dev/serial/by-id/a board 100%$x"])
def test_systemd_has_nothing_to_say_against_the_unit(tmp_path: Path, port: str) -> None:
    done = subprocess.run(["systemctl", "--version"], capture_output=True, text=True, check=True)
    service = Service.of(tmp_path / "my pit 100%$x", port, {"TZ": "Europe/Zurich", "LANG": "C.UTF-8"})
    unit = tmp_path / "tuyere.service"
    unit.write_text(definition.unit(service, int(done.stdout.split()[1])))
    env = {**os.environ, "XDG_RUNTIME_DIR": str(tmp_path)}

    def verified() -> tuple[int, str]:
        done = subprocess.run(
            ["systemd-analyze", "verify", "--user", unit], capture_output=True, text=True, env=env, check=False
        )
        return done.returncode, done.stdout + done.stderr

    assert verified() == (0, "")
    unit.write_text(definition.unit(Service(service.home, port, str(tmp_path / "gone")), 252))
    code, said = verified()
    assert code != 0 and "not executable" in said  # it does look


def test_what_a_file_cannot_hold_is_refused() -> None:
    for home, port in ((Path("/a\nExecStart=b"), ""), (Path("/caf\udce9"), ""), (Path("/a"), "x\ny")):
        with pytest.raises(Unfit, match="choose another path"):
            Service.of(home, port, {})


@pytest.mark.parametrize(
    "text",
    [
        "",
        "ExecStart=\n",
        'ExecStart="/bin/sh" "-c" "x"\nEnvironment="TUYERE_HOME=/a"',
        'ExecStart="a" "-m" "tuyere" "keep"',
    ],
)
def test_a_unit_that_is_none_of_ours(text: str) -> None:
    with pytest.raises(Unfit):
        definition.of_unit(text)


def test_an_agent_that_is_none_of_ours() -> None:
    for data in (b"", b"junk", plistlib.dumps({"Label": "x"}), plistlib.dumps([1])):
        with pytest.raises(Unfit):
            definition.of_agent(data)


def test_each_home_has_a_service_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(definition.platformdirs, "user_data_dir", lambda *_: str(tmp_path))
    assert definition.name(tmp_path) == "tuyere"
    other, third = definition.name(tmp_path / "b"), definition.name(tmp_path / "c")
    assert other.startswith("tuyere-") and other != third


def test_the_zone_is_kept_and_nothing_private() -> None:
    made = Service.of(Path("/a"), "", {"TZ": "Asia/Tokyo", "SECRET": "x", "LANG": ""})
    assert made.environment == {"TZ": "Asia/Tokyo"} and made.python == sys.executable
