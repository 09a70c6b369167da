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
from tuyere.meat import piece_slots
from tuyere.sim import compiled

SET = ("hearth.core.whole", "hearth.core.drive")  # `duty` of the second uses `clip` of the first
PROGRAM = f"""
from hearth.core import Memory, Settings
from tuyere.sim import compiled
drive = compiled.load({SET})
settings, memory = compiled.record(Settings), compiled.record(Memory)
drive.duty(settings, memory, 5000)
print(int(memory.credit), drive.__name__)
"""


def credit(folder: Path, processes: int = 1) -> tuple[int, str]:
    """What fresh processes, all at once, make of the sources in a folder, with one cache for all of them."""
    env = {"PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(folder / "cache"), "HOME": str(folder), "PATH": ""}
    command = [sys.executable, "-c", PROGRAM]
    running = [
        subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(processes)
    ]
    found = set()
    for process in running:
        said, wrong = process.communicate()
        assert process.returncode == 0, wrong
        found.add(said)
    [one] = found
    number, name = one.split()
    return int(number), name


def test_an_edited_law_is_never_run_stale(tmp_path: Path) -> None:
    pytest.importorskip("numba")
    for package in (hearth, tuyere):
        assert package.__file__
        source = Path(package.__file__).parent
        shutil.copytree(source, tmp_path / source.name, ignore=shutil.ignore_patterns("__pycache__"))
    first, name = credit(tmp_path, processes=3)  # all three compile it
    assert credit(tmp_path) == (first, name)
    # an edit of a file that only an imported one uses: numba's own stamp would not see it
    law = tmp_path / "hearth" / "core" / "whole.py"
    text, ends = law.read_text(), "return low if value < low else high if value > high else value"
    assert ends in text
    law.write_text(text.replace(ends, ends + " + 1"))
    second, other = credit(tmp_path)
    assert second != first and name != other


def test_a_module_has_one_key_in_all_sets_and_another_after_an_edit_of_what_it_imports(tmp_path, monkeypatch) -> None:
    kernel = compiled.keys(compiled.CORE + compiled.PIT)
    assert {name: kernel[name] for name in compiled.CORE} == compiled.keys(compiled.CORE)
    assert {name: kernel[name] for name in compiled.MEAT} == compiled.keys(compiled.MEAT)
    edits = {"hearth.core.law": ("hearth.core.decide", "tuyere.sim.kernel"),
             "tuyere.meat.water": ("tuyere.meat.cooking", "tuyere.sim.kernel"),
             "tuyere.meat.tables": (*compiled.CORE, *compiled.PIT)}  # fmt: skip
    for name, affected in edits.items():
        module = importlib.import_module(name)
        copy = tmp_path / "changed.py"
        copy.write_text("# changed\n" + Path(str(module.__file__)).read_text())
        with monkeypatch.context() as patch:
            patch.setattr(module, "__file__", str(copy))
            now = compiled.keys(compiled.CORE + compiled.PIT)
        assert {one for one in now if now[one] == kernel[one]}.isdisjoint(affected), name


def test_a_table_that_was_imported_before_its_edit_does_not_count_as_the_new_one(monkeypatch) -> None:
    before = compiled.keys(compiled.MEAT)
    monkeypatch.setattr(piece_slots, "ROWS", piece_slots.ROWS + 1)
    assert set(compiled.keys(compiled.MEAT).values()).isdisjoint(before.values())


def test_every_file_of_the_law_is_among_the_sources() -> None:
    assert hearth.__file__
    named = {name.rpartition(".")[2] for name in (*compiled.CORE, *compiled.TABLES) if name.startswith("hearth.core.")}
    there = {path.stem for path in (Path(hearth.__file__).parent / "core").glob("*.py")} - {"__init__"}
    assert named == there
    for name in compiled.CORE + compiled.PIT:
        assert importlib.import_module(name)


def test_compiled_it_has_what_python_may_call_and_nothing_else() -> None:
    pytest.importorskip("numba")
    for name, functions in compiled.CALLED.items():
        plain = importlib.import_module(name)
        assert all(getattr(plain, function).__module__ == name for function in functions), name
    drive = compiled.load(SET)
    assert drive.duty.py_func.__name__ == "duty" and drive.FULL == importlib.import_module("hearth.core.drive").FULL
    assert not hasattr(drive, "clip")  # called from Python, it would end the process
