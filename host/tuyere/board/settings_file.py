"""Settings in a file: TOML, names and units as `tuyere board settings` shows them.

# from cook 3, 2026-11-30
unit = "C"
gain = 2.0
reset = 900
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path

from hearth.core import Settings

from tuyere.board import values
from tuyere.board.trouble import Trouble


def read(file: Path, unit: str) -> dict[str, int]:
    """Numbers of a file in the board's units, by name. unit: of degrees where the file does not say."""
    try:
        found = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as wrong:
        raise Trouble(f"cannot read {file}: {wrong.strerror}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        raise Trouble(f"{file} is no list of settings: {wrong}; write one a line, such as gain = 2.0") from None
    said = found.pop("unit", unit)
    if said not in ("C", "F"):
        raise Trouble(f'{file} has the unit {said!r}; write unit = "C" or unit = "F"')
    return values.edits((f"{name}={value}" for name, value in found.items()), str(said))


def write(file: Path, numbers: dict[str, int], unit: str, comments: Sequence[str] = ()) -> None:
    """Write numbers in the board's units. OSError where the file cannot be written."""
    lines = [f"# {line}" for line in comments] + [f'unit = "{unit}"']
    lines += [f"{name} = {values.ROWS[name].words(raw, unit)}" for name, raw in numbers.items()]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


def made(numbers: dict[str, int]) -> Settings:
    """Whole settings: the defaults with these numbers. Trouble where they do not fit together."""
    one = Settings()
    for name, value in numbers.items():
        setattr(one, name, value)
    values.see_fit({}, numbers)
    return one
