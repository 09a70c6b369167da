"""The files that a board is loaded with, laid out as the board sees them; the twin runs this very copy."""

from __future__ import annotations

import hashlib
from pathlib import Path

import hearth

from tuyere import declared

HEARTH = Path(hearth.__file__).parent


def _digest(files: dict[str, str]) -> str:
    total = hashlib.sha256()
    for name in sorted(files):
        total.update(f"{name}\n{len(files[name])}\n{files[name]}".encode())
    return total.hexdigest()


def core_files() -> dict[str, str]:
    """Name -> source of every file of `hearth.core`; its hash names the law in every state record."""
    return {path.name: path.read_text(encoding="utf-8") for path in sorted((HEARTH / "core").glob("*.py"))}


def core_hash(files: dict[str, str] | None = None) -> str:
    """SHA-256 of `core_files`, hex; or of the files of some other core."""
    return _digest(core_files() if files is None else files)


def board_files() -> dict[str, str]:
    """Path on the board -> text of every file it carries, `main.py` at the root and the hashes filled in."""
    files = {
        f"hearth/{path.relative_to(HEARTH).as_posix()}": path.read_text(encoding="utf-8")
        for path in sorted(HEARTH.rglob("*.py"))
    }
    files["main.py"] = files.pop("hearth/main.py")
    lines = files["hearth/version.py"].splitlines(keepends=True)
    filled = {"CORE": core_hash(), "FIRMWARE": _digest(files)}
    for i, line in enumerate(lines):
        name = line.split(" = ")[0]
        if name in filled:
            lines[i] = line.replace('"00" * 32', f'"{filled[name]}"')
    files["hearth/version.py"] = "".join(lines)
    assert all(value in files["hearth/version.py"] for value in filled.values())
    return files


def stage(folder: Path) -> dict[str, str]:
    """Write `board_files` below `folder`, which is made; returns them."""
    files = board_files()
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return files


def records_stub() -> str:
    """The text of `hearth/core/records.pyi`: each record's attributes with their types, from the field table."""
    from hearth.core import records

    lines = [
        '"""Types of the records, made from the field table by `python -m tuyere.staging`."""',
        "",
        "def layout(table: tuple) -> list: ...",
        "def codes(table: tuple) -> str: ...",
        "",
        "class Record:",
        "    TABLE: tuple",
        "    NAMES: tuple",
        "    FORM: str",
        "    def values(self) -> list[int]: ...",
        "    def set_values(self, flat: list[int] | tuple[int, ...]) -> None: ...",
        "    def pack(self) -> bytes: ...",
        "    def unpack(self, data: bytes) -> int: ...",
        "    def wrong(self) -> tuple[str, int, int, int] | None: ...",
    ]
    for kind in (records.Now, records.Memory, records.Out, records.Settings):
        lines += ["", f"class {kind.__name__}(Record):"]
        lines += [f"    {name}: {'list[int]' if count else 'int'}" for name, count in kind.NAMES]
    return "\n".join(lines) + "\n"


def forget_source() -> str:
    """The text of `hearth/core/forget.py`: what each event makes the memory forget, from the field table."""
    from hearth.core import fields

    lines = ['"""What the memory forgets, and when: made from the field table by `python -m tuyere.staging`."""']
    for name in (name for name in vars(fields) if name.startswith("AT_")):
        rows = [row for row in fields.MEMORY if row[7] & getattr(fields, name)]
        lines += ["", "", f"def {name.lower()}(memory):", f'    """{FORGETS[name]}"""']
        lines += [f"    memory.{row[0]} = {row[5]}" for row in rows]
    return "\n".join(lines) + "\n"


FORGETS = {
    "AT_POWER": "Power-up: what only RAM knew.",
    "AT_START": "A fresh start: what was known of this fire.",
    "AT_BAND": "Another band: what the fire needed for the old one.",
    "AT_LOOKED": "A person has looked at the pit probe: what spoke against its reading.",
    "AT_ACKNOWLEDGE": "A trip is acknowledged: the trip and what led to it.",
    "AT_WITNESS": "A witness is hung up or taken away: what was compared.",
    "AT_STOP": "A stop, a trip, the end of the programme: who has the fan, and the open lid.",
}


def made() -> dict[Path, str]:
    """Every file that is made from the firmware's tables and declarations: path -> its text."""
    return {
        HEARTH / "core" / "records.pyi": records_stub(),
        HEARTH / "core" / "forget.py": forget_source(),
        declared.PAGE: declared.page(),
    }


if __name__ == "__main__":
    for path, text in made().items():
        path.write_text(text, encoding="utf-8")
