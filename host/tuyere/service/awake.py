"""Keeping the machine awake while a cook is open.

The system's own helper (systemd-inhibit on Linux, caffeinate on macOS) holds the machine awake for as long as the
command behind it runs. That command is `cat` on a pipe whose other end is ours: however this process ends,
the pipe closes, `cat` ends and the machine may sleep again.
"""

from __future__ import annotations

import contextlib
import platform
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from typing import IO, Any

HELD = "held awake"  # how the words begin while it is
WHY = "a cook is open"
AGAIN = 600.0  # s until a refused request is made again
TRIAL = 15.0  # s for a trial of the helper
LASTED = 60.0  # s; a helper that ends later than this was not refused, somebody ended it
LAST_WORDS = 300  # characters of the helper's complaint


def _inhibit(what: str) -> list[str]:
    return ["systemd-inhibit", f"--what={what}", "--who=Tuyere", f"--why={WHY}", "--mode=block"]


# (what it holds off, in words; the helper and its options), best first. A lock against sleep alone does not hold when
# the lid of a laptop is closed (LidSwitchIgnoreInhibited= in logind.conf(5)), and that lock may be refused.
LINUX = (
    ("sleep, idling and a closed lid", _inhibit("sleep:idle:handle-lid-switch")),
    ("sleep and idling, but not a closed lid", _inhibit("sleep:idle")),
    ("idling only: a closed lid or a key still puts it to sleep", _inhibit("idle")),
)
MACOS = (("sleep and idling (on battery: idling only), but not a closed lid", ["caffeinate", "-i", "-s"]),)
Ways = Sequence[tuple[str, list[str]]]


def ways(system: str = sys.platform) -> Ways:
    """The helpers of this system, best first; none where there is no such helper."""
    if system == "darwin":
        return MACOS
    return LINUX if system.startswith("linux") else ()


def told(complaint: str) -> str:
    """The last line of what a helper said on its standard error."""
    lines = complaint.strip().splitlines()
    return lines[-1].strip()[:LAST_WORDS] if lines else "it gave no reason"


class Awake:
    """Holds the machine awake on request. `words` says whether it does, "" while nothing is asked for."""

    def __init__(self, choices: Ways | None = None) -> None:
        self._ways = ways() if choices is None else choices
        self._way = 0
        self._child: subprocess.Popen[bytes] | None = None
        self._complaint: IO[bytes] | None = None  # a file: reading a pipe could block
        self._since = 0.0
        self._refused_at: float | None = None
        self.words = ""
        self.held = False

    def look(self, wanted: bool, now: float) -> None:
        """Call it often, with steady seconds: starts, follows or ends the helper."""
        if not wanted:
            self.close()
            return
        if self._child is not None:
            if self._child.poll() is None:
                return
            self._ended(now)
        elif self._refused_at is not None and now - self._refused_at < AGAIN:
            return
        elif self._refused_at is not None:
            self._refused_at, self._way = None, 0
        if self._refused_at is None:
            self._start(now)

    def close(self) -> None:
        """Let the machine sleep again."""
        self._let_go()
        self._refused_at, self._way, self.words, self.held = None, 0, "", False

    def _start(self, now: float) -> None:
        while self._way < len(self._ways):
            what, command = self._ways[self._way]
            try:
                self._complaint = tempfile.TemporaryFile()  # noqa: SIM115 (closed with the child)
                self._child = subprocess.Popen(
                    [*command, "cat"], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=self._complaint,
                    start_new_session=True,
                )  # fmt: skip
            except OSError as error:
                self._let_go()
                self.words = f"the machine may sleep: {command[0]} cannot be started ({error.strerror or error})"
                self._way += 1
                continue
            self._since = now
            self.words, self.held = f"{HELD} against {what}", True
            return
        if not self._ways:
            self.words = "the machine may sleep: this system has no helper that we know"
        self._refused_at, self.held = now, False

    def _ended(self, now: float) -> None:
        """The helper ended by itself. If it had lasted it is started again, else the next way is tried."""
        complaint = ""
        if self._complaint is not None:
            self._complaint.seek(0)
            complaint = self._complaint.read().decode("utf-8", "replace")
        self.words = f"the machine may sleep: {self._ways[self._way][1][0]} ended ({told(complaint)})"
        self._let_go()
        self.held = False
        if now - self._since < LASTED:
            self._way += 1
        if self._way >= len(self._ways):
            self._refused_at = now

    def _let_go(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            assert child.stdin is not None
            with contextlib.suppress(OSError):
                child.stdin.close()
            try:
                child.wait(2.0)  # `cat` has read the end of the pipe
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
        if self._complaint is not None:
            self._complaint.close()
            self._complaint = None


def trial(choices: Ways | None = None, run: Any = subprocess.run) -> tuple[bool, str]:
    """(whether this machine can be kept awake from here, in words): the helper is asked for a moment, for real."""
    if "microsoft" in platform.release().lower():
        return False, "no: Windows decides when this machine sleeps; set its power plan to never sleep"
    found = ways() if choices is None else choices
    last = "no: this system has no helper that we know"
    for what, command in found:
        if shutil.which(command[0]) is None:
            return False, f"no: {command[0]} is not installed"
        try:
            done = run([*command, "true"], capture_output=True, text=True, timeout=TRIAL, check=False)
        except (OSError, subprocess.SubprocessError) as error:
            return False, f"no: {command[0]} does not run ({error})"
        if done.returncode == 0:
            return True, f"yes, while a cook is open, against {what}"
        last = f"no: {command[0]} was refused ({told(done.stderr)})"
    return False, last
