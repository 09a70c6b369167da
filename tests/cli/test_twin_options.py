"""Options of `tuyere twin` that contradict each other."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from tuyere.cli.twin import twin


@pytest.mark.parametrize(("given", "named"), [(["--cooker", "drum"], "--cooker"), (["--hours", "3"], "--hours")])
def test_a_bath_has_no_pit_to_choose(tmp_path: Path, given: list[str], named: str) -> None:
    done = CliRunner().invoke(twin, ["--bath", *given, "--home", str(tmp_path)])
    assert done.exit_code == 2 and f"--bath has no pit: leave out {named}" in done.stderr
