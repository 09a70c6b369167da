"""Numbers of a field table as a person reads them."""

from __future__ import annotations

from collections.abc import Mapping

from hearth.link import messages

from tuyere.codes import REASONS, STATES, TRIPS
from tuyere.logbook.decode import Value
from tuyere.replay.cores import Core
from tuyere.replay.found import Shown

Side = tuple[str, str, str, Shown, Shown]  # field, help, unit, recorded, replayed

# field -> words of its codes, and what stands before them in the names of the field table
CODES = {
    "state": (STATES, ""),
    "reason": (REASONS, ""),
    "trip": (("none", *TRIPS[1:]), "TRIP_"),
    "answer": (messages.WHY, ""),
}


def sides(core: Core, part: str, recorded: Mapping[str, Value], replayed: Mapping[str, Value]) -> list[Side]:
    """Fields that differ, in the order of the table, both sides in units."""
    found: list[Side] = []
    for name, (_, scale, unit, told) in core.table[part].items():
        left, right = recorded.get(name), replayed.get(name)
        if left == right or left is None or right is None:
            continue
        if isinstance(left, list) and isinstance(right, list):
            i = next(i for i, pair in enumerate(zip(left, right, strict=True)) if pair[0] != pair[1])
            found.append(
                (f"{name}[{i}]", told, unit, _shown(core, "", scale, left[i]), _shown(core, "", scale, right[i]))
            )
        elif isinstance(left, int) and isinstance(right, int):
            shown_unit = "" if unit == "code" else unit
            found.append((name, told, shown_unit, _shown(core, name, scale, left), _shown(core, name, scale, right)))
    return found


def _shown(core: Core, name: str, scale: int, number: int) -> Shown:
    """A number in its unit; a code by its word, if this core calls it so."""
    known, prefix = CODES.get(name, ((), ""))
    if 0 < number < len(known) or (known and number == 0 and not prefix):
        word = known[number]
        if getattr(core.fields, (prefix + word).upper(), None) == number:
            return word
    return number if scale == 1 else number / scale


def text(value: Shown, unit: str) -> str:
    """A side in words: enough digits that two numbers of the table never look alike."""
    if isinstance(value, float):
        value = f"{value:.6f}".rstrip("0").rstrip(".")
    return f"{value} {unit}".rstrip()
