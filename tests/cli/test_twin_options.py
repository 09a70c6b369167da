"""Options of `tuyere twin`, those that contradict each other, and the plan that it cooks."""

from __future__ import annotations

import time
from pathlib import Path
from types import SimpleNamespace

import msgspec
import pytest
from click.testing import CliRunner
from tuyere.cli.twin import twin
from tuyere.cook import planned


@pytest.mark.parametrize(("given", "named"), [(["--cooker", "drum"], "--cooker"), (["--hours", "3"], "--hours")])
def test_a_bath_has_no_pit_to_choose(tmp_path: Path, given: list[str], named: str) -> None:
    done = CliRunner().invoke(twin, ["--bath", *given, "--home", str(tmp_path)])
    assert done.exit_code == 2 and f"--bath has no pit: leave out {named}" in done.stderr


def test_where_there_is_no_pseudo_terminal_it_says_where_there_is_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tuyere.cli.twin.sys", SimpleNamespace(platform="win32"))
    monkeypatch.setattr("tuyere.cli.twin.run", lambda *_: None)
    done = CliRunner().invoke(twin, ["--home", str(tmp_path)])
    assert done.exit_code == 1
    assert done.stderr == "Error: the twin needs a pseudo-terminal: run it on Linux, macOS or WSL\n"


def kept(home: Path, cut: str = "packer", hours: float = 12.0) -> planned.Planned:
    """A plan that is kept in this home, to be served in so many hours."""
    now = time.time_ns() // 1_000_000
    plan = planned.Planned(
        "Supper", now, now, now + round(hours * 3_600_000), [planned.PlannedPiece(name="Alder", cut=cut)],
        kitchen=planned.Kitchen("drum"),
    )  # fmt: skip
    planned.write(home, msgspec.json.encode(plan))
    return plan


@pytest.mark.parametrize(
    ("given", "hours", "cooker", "its"),
    [
        ([], 12.0, "drum", True), (["--cooker", "upright"], 12.0, "upright", True), ([], -1.0, "upright", False),
        (["--bath"], 12.0, "upright", False),
    ],
)  # fmt: skip
def test_a_plan_that_is_not_served_yet_is_cooked_on_its_cooker(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: list[str], hours: float, cooker: str, its: bool
) -> None:
    plan, ran = kept(tmp_path, hours=hours), []
    monkeypatch.setattr("tuyere.cli.twin.run", lambda *what: ran.append(what))
    done = CliRunner().invoke(twin, [*given, "--home", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert (ran[0][0], ran[0][-1]) == (cooker, plan if its else None)


def test_a_plan_that_cannot_be_cooked_says_which_file_and_what_to_do(tmp_path: Path) -> None:
    kept(tmp_path, cut="gammon")
    done = CliRunner().invoke(twin, ["--home", str(tmp_path)])
    assert done.exit_code == 1 and f"the plan in {planned.path(tmp_path)} does not work: " in done.stderr
    assert "gammon" in done.stderr and done.stderr.endswith("Plan again with `tuyere plan --save`.\n")
