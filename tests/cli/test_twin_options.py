"""Options of `tuyere twin` that contradict each other."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from tuyere.cli.twin import twin


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
