"""The portable cases take every line and every branch of the law."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import hearth

HERE = Path(__file__).parent
# Most of the cases' time goes by under the tracer, and a fraction of them takes all that all take: `branches.py` has
# found which. The others are run only if these leave something out.
ENOUGH = (HERE / "branches.txt").read_text(encoding="utf-8").splitlines()
PROGRAM = """
import json, sys
import run
named = set(json.loads(sys.argv[1]))
for module in run.CASES:
    for name, case in run.cases(module):
        if (module + " " + name in named) == (sys.argv[2] == "named"):
            case()
"""


def test_every_branch_of_the_law_is_taken(tmp_path: Path) -> None:
    missing = left_out(tmp_path, "named")
    if any(missing.values()):
        missing = left_out(tmp_path, "others")
    assert len(missing) >= 9
    assert not any(missing.values()), missing


def left_out(folder: Path, which: str) -> dict[str, list[object]]:
    """Run these cases, "named" or "others", under the tracer: {file of the law: lines and branches that neither these
    nor those of an earlier call took}."""
    firmware = Path(hearth.__file__).parent.parent
    data, report, program = folder / "data", folder / "report.json", folder / "some_cases.py"
    program.write_text(PROGRAM)
    # dynamic_context and the like of a developer's own settings must not matter: no config file
    start = [sys.executable, "-m", "coverage"]
    own = ["--rcfile=/dev/null", f"--data-file={data}"]
    ran = subprocess.run(
        [*start, "run", *own, "--append", "--branch", "--source=hearth.core", str(program), json.dumps(ENOUGH), which],
        env={"PYTHONPATH": f"{firmware}{os.pathsep}{HERE}", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    subprocess.run([*start, "json", *own, "-o", str(report), "-q"], check=True)
    found = json.loads(report.read_text())["files"]
    law = [name for name in found if not name.endswith("records.py")]  # records.py only makes tables, no decision
    return {name: [*found[name]["missing_lines"], *found[name]["missing_branches"]] for name in law}
