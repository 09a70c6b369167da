"""The compiled law is never an old one: the cache is named by all the sources it is made from."""

from __future__ import annotations

import importlib
import shutil
import subprocess
import sys
from pathlib import Path

import hearth
import pytest
import tuyere
from tuyere.sim import compiled

PROGRAM = """
from hearth.core import Memory, Now, Out, Settings
from tuyere.sim import compiled
cycle = compiled.load(compiled.CORE).cycle
given = [compiled.record(kind) for kind in (Settings, Now, Memory, Out)]
given[1].order = 1
for _ in range(3):
    cycle(*given)
print(int(given[3].pull), compiled.load(compiled.CORE).__name__)
"""


def pulled(folder: Path) -> tuple[int, str]:
    """What a fresh process makes of the sources in a folder, with one cache for all of them."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        env={"PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(folder / "cache"), "HOME": str(folder), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    number, name = done.stdout.split()
    return int(number), name


def test_an_edited_law_is_never_run_stale(tmp_path: Path) -> None:
    pytest.importorskip("numba")
    for package in (hearth, tuyere):
        assert package.__file__
        source = Path(package.__file__).parent
        shutil.copytree(source, tmp_path / source.name, ignore=shutil.ignore_patterns("__pycache__"))
    first, name = pulled(tmp_path)
    assert pulled(tmp_path) == (first, name)
    # an edit of a file that only an imported one uses: numba's own stamp would not see it
    law = tmp_path / "hearth" / "core" / "law.py"
    text = law.read_text()
    assert "MOST_PART = 32000" in text
    law.write_text(text.replace("MOST_PART = 32000", "MOST_PART = 31000"))
    second, other = pulled(tmp_path)
    assert (first, second) == (32000, 31000) and name != other


def test_every_file_of_the_law_is_among_the_sources() -> None:
    assert hearth.__file__
    named = {name.rpartition(".")[2] for name in (*compiled.CORE, *compiled.TABLES) if name.startswith("hearth.core.")}
    there = {path.stem for path in (Path(hearth.__file__).parent / "core").glob("*.py")} - {"__init__"}
    assert named == there
    for name in compiled.CORE + compiled.PIT:
        assert importlib.import_module(name)
