"""The files that a board is loaded with, laid out as the board sees them; the twin runs this very copy."""

from __future__ import annotations

import hashlib
from pathlib import Path

import hearth

HEARTH = Path(hearth.__file__).parent


def _digest(files: dict[str, str]) -> str:
    total = hashlib.sha256()
    for name in sorted(files):
        total.update(f"{name}\n{len(files[name])}\n{files[name]}".encode())
    return total.hexdigest()


def core_files() -> dict[str, str]:
    """Name -> source of every file of `hearth.core`; its hash names the law in every state record."""
    return {path.name: path.read_text(encoding="utf-8") for path in sorted((HEARTH / "core").glob("*.py"))}


def core_hash() -> str:
    """SHA-256 of `core_files`, hex."""
    return _digest(core_files())


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
