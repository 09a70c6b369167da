"""The machine is kept awake by a child that ends with us, however we end."""

from __future__ import annotations

import os
import select
import subprocess
import sys
from pathlib import Path

import pytest
from tuyere.service import awake
from tuyere.service.awake import AGAIN, HELD, LASTED, Awake, trial
from tuyere.service.upkeep import Upkeep

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such helper there")
WITHIN = 20.0  # s


def helper(folder: Path, name: str, body: str) -> list[str]:
    """A program in place of the system's helper; it is given the command to run."""
    path = folder / name
    path.write_text(f"#!/bin/sh\n{body}\n")
    path.chmod(0o755)
    return [str(path)]


def ended(pid: int) -> bool:
    """Wait until that process, which may not be our child, has ended."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return True
    try:
        return bool(select.select([handle], [], [], WITHIN)[0])
    finally:
        os.close(handle)


HOLDER = """
import sys
from tuyere.service.awake import Awake
awake = Awake([("sleep", [sys.argv[1]])])
awake.look(True, 0.0)
print(awake._child.pid, awake.words, flush=True)
sys.stdin.read()
"""


@pytest.mark.skipif(not hasattr(os, "pidfd_open"), reason="it is watched by a pidfd")
@pytest.mark.parametrize("signal", [9, 15, 6])
def test_the_helper_ends_with_us_however_we_end(tmp_path: Path, signal: int) -> None:
    held = tmp_path / "pid of what it runs"
    [program] = helper(tmp_path, "inhibit", f'exec 3<&0; "$@" <&3 & echo $! > "{held}"; wait')
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as us:
        assert us.stdout is not None
        pid, _, words = us.stdout.readline().partition(" ")
        assert words.strip() == f"{HELD} against sleep"
        os.kill(int(pid), 0)  # it is there
        os.kill(us.pid, signal)
        assert ended(int(pid)) and ended(int(held.read_text()))


def test_it_is_held_while_wanted_and_let_go(tmp_path: Path) -> None:
    kept = Awake([("sleep", helper(tmp_path, "inhibit", 'exec "$@"'))])
    kept.look(False, 0.0)
    assert kept._child is None and kept.words == ""
    kept.look(True, 1.0)
    child = kept._child
    assert child is not None and kept.held
    kept.look(True, 2.0)
    assert kept._child is child  # one is enough
    kept.look(False, 3.0)
    assert child.returncode == 0 and not kept.held and kept.words == ""


def test_a_refused_way_is_followed_by_the_next_and_all_are_tried_again_later(tmp_path: Path) -> None:
    refused = helper(tmp_path, "no", "echo 'Failed to inhibit: Access denied' >&2; exit 1")
    kept = Awake([("a closed lid", refused), ("sleep", [str(tmp_path / "missing")])])

    def settle(now: float) -> None:
        kept.look(True, now)
        if kept._child is not None:
            kept._child.wait(WITHIN)
        kept.look(True, now)

    settle(0.0)
    assert not kept.held and "may sleep" in kept.words and "cannot be started" in kept.words
    kept._ways = [("a closed lid", refused), ("sleep", refused)]
    kept.look(True, AGAIN - 1)
    assert kept._child is None  # not yet
    settle(AGAIN)
    settle(AGAIN)
    assert "Access denied" in kept.words and not kept.held
    kept._ways = [("a closed lid", refused), ("sleep", helper(tmp_path, "yes", 'exec "$@"'))]
    settle_at = 2 * AGAIN
    kept.look(True, settle_at)
    assert kept._child is not None
    kept._child.wait(WITHIN)
    kept.look(True, settle_at)
    assert kept.held and kept.words == f"{HELD} against sleep"
    kept.close()


def test_a_helper_that_somebody_ends_is_started_again(tmp_path: Path) -> None:
    kept = Awake([("sleep", helper(tmp_path, "inhibit", 'exec "$@"')), ("less", ["nothing"])])
    kept.look(True, 0.0)
    first = kept._child
    assert first is not None
    first.kill()
    first.wait()
    assert LASTED == 60.0
    kept.look(True, LASTED)
    assert kept._child not in (None, first) and kept.words == f"{HELD} against sleep"
    assert kept._child is not None
    kept._child.kill()
    kept._child.wait()
    kept.look(True, 2 * LASTED - 0.1)  # it had not lasted: it counts as refused, and the next way is tried
    assert kept._child is None and "nothing cannot be started" in kept.words
    kept.close()


def test_the_trial_asks_for_real(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(awake.platform, "release", lambda: "6.1.0-x")
    yes, no = helper(tmp_path, "yes", 'exec "$@"'), helper(tmp_path, "no", "echo denied >&2; exit 1")
    assert trial([("all", no), ("sleep", yes)]) == (True, "yes, while a cook is open, against sleep")
    assert trial([("all", no)]) == (False, f"no: {no[0]} was refused (denied)")
    assert trial([("all", ["/nowhere/helper"])]) == (False, "no: /nowhere/helper is not installed")
    assert trial([])[0] is False
    monkeypatch.setattr(awake.platform, "release", lambda: "5.15.1-microsoft-standard-WSL2")
    assert trial([("sleep", yes)]) == (
        False, "no: Windows decides when this machine sleeps; set its power plan to never sleep",
    )  # fmt: skip


def test_the_ways_of_each_system() -> None:
    assert [command[1] for _, command in awake.ways("linux")] == [
        "--what=sleep:idle:handle-lid-switch", "--what=sleep:idle", "--what=idle",
    ]  # fmt: skip
    assert awake.ways("darwin")[0][1][0] == "caffeinate" and awake.ways("win32") == ()


def test_the_log_hears_of_changes_only(tmp_path: Path) -> None:
    upkeep = Upkeep(awake=Awake([("sleep", helper(tmp_path, "inhibit", 'exec "$@"'))]), steady=lambda: 0.0)
    said = [upkeep.tick(cooking, "") for cooking in (False, True, True, False, False)]
    assert said == ["", f"{HELD} against sleep", "", "the machine may sleep again: no cook is open", ""]
    upkeep.close()
    idle = Upkeep()
    assert [idle.tick(True, ""), idle.words] == ["", ""]
