"""The portable cases take every line and every branch of the law."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import hearth

HERE = Path(__file__).parent


def test_every_branch_of_the_law_is_taken(tmp_path: Path) -> None:
    firmware = Path(hearth.__file__).parent.parent
    data, report = tmp_path / "data", tmp_path / "report.json"
    # dynamic_context and the like of a developer's own settings must not matter: no config file
    start = [sys.executable, "-m", "coverage"]
    ran = subprocess.run(
        [*start, "run", "--rcfile=/dev/null", f"--data-file={data}", "--branch", "--source=hearth.core", "run.py"],
        cwd=HERE,
        env={"PYTHONPATH": str(firmware), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    subprocess.run([*start, "json", "--rcfile=/dev/null", f"--data-file={data}", "-o", str(report), "-q"], check=True)
    found = json.loads(report.read_text())["files"]
    law = [name for name in found if not name.endswith("records.py")]  # records.py only makes tables, no decision
    assert len(law) >= 9
    missing = {name: (found[name]["missing_lines"], found[name]["missing_branches"]) for name in law}
    assert all(not lines and not branches for lines, branches in missing.values()), missing
