"""Programmes kept by name in the data folder, for any cook. A file that a person may edit.

Three are there from the start. Their bands are common practice, no source.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import msgspec
from hearth.core import fields

from tuyere.cook import planned, programme
from tuyere.cook.snapshot import Phase

FILE = "programmes.json"
NAME_MOST = 60  # characters
MOST = 40  # programmes
LOW = (107.2, 121.1)  # C, 225-250 F


class Unusable(Exception):
    """A name or a file that cannot be used; one sentence for a person."""


def given() -> dict[str, list[Phase]]:
    """Those that nobody has to write."""
    band = programme.LOW, programme.HIGH
    return {
        "straight through": programme.default(),
        "open smoke, then wrapped": [
            programme.phase("open smoke", *LOW, purpose=programme.BARK),
            programme.phase("wrapped", *band, purpose=programme.FINISH),
        ],
        "low overnight, up at six": [
            programme.phase("low overnight", *LOW, fields.END_AFTER, purpose=programme.BARK, clock="06:00"),
            programme.phase("daylight", *band, purpose=programme.FINISH),
        ],
    }


def read(home: Path) -> dict[str, list[Phase]]:
    """All programmes by name: the given ones first, unless a person has kept another under that name. Unusable if the
    file cannot be read."""
    return {**given(), **_own(home)}


def keep(home: Path, name: str, phases: Sequence[Phase]) -> None:
    """Keep a programme under a name, in place of one that had it. Unusable says why not."""
    name = " ".join(name.split())
    if not 1 <= len(name) <= NAME_MOST:
        raise Unusable(f"a programme's name has 1 to {NAME_MOST} characters")
    own = _own(home)
    if name not in own and len(own) >= MOST:
        raise Unusable(f"{MOST} programmes are kept already: drop one first")
    _write(home, {**own, name: list(phases)})


def drop(home: Path, name: str) -> None:
    """Keep it no longer. A given one that was changed is as it was; Unusable where there is nothing to drop."""
    own = _own(home)
    if name not in own:
        ours = "comes with the program and stays" if name in given() else "is not kept"
        raise Unusable(f'"{name}" {ours}')
    del own[name]
    _write(home, own)


def _own(home: Path) -> dict[str, list[Phase]]:
    file = home / FILE
    try:
        rows = msgspec.json.decode(file.read_bytes(), type=dict[str, list[planned.Phase]])
    except FileNotFoundError:
        return {}
    except (OSError, ValueError) as error:
        raise Unusable(f"the kept programmes in {file} cannot be read ({error}): mend or remove the file") from error
    return {name: [from_plan(row) for row in found] for name, found in rows.items()}


def _write(home: Path, own: dict[str, list[Phase]]) -> None:
    """The file whole, or as it was."""
    file = home / FILE
    rows = {name: [to_plan(one) for one in phases] for name, phases in own.items()}
    beside = file.with_suffix(".new")
    with open(beside, "wb") as out:
        out.write(msgspec.json.format(msgspec.json.encode(rows), indent=1))
        out.flush()
        os.fsync(out.fileno())
    os.replace(beside, file)


def from_plan(row: planned.Phase) -> Phase:
    """A phase as it is kept -> one with its words."""
    return programme.phase(
        row.name, row.low, row.high, row.end_kind, row.end_value, purpose=row.purpose, clock=row.clock
    )


def to_plan(one: Phase) -> planned.Phase:
    """A phase -> as it is kept."""
    return planned.Phase(one.name, one.low, one.high, one.end_kind, one.end_value, one.purpose, one.clock)
