"""The parts list, made from the circuit: what to order, how many, and where each goes.

Run it to write parts.csv anew.
"""

from __future__ import annotations

import csv
import io

from circuit import HERE, Circuit, Part
from netlist import build

FILE = HERE / "parts.csv"
HEAD = ("count", "part", "value", "withstands", "goes to", "figures from")
# Parts that are in no net list but belong to the box (common practice, no source).
BESIDE = (
    (1, "box, polycarbonate or ABS, IP65, lid with seal, some 160 x 120 x 60 mm", "", "", "the board", ""),
    (5, "cable gland M12, IP68, to fit the cables", "", "", "walls of the box, all in its floor", ""),
    (1, "vent plug with membrane, M12", "", "", "floor of the box: lets it breathe, keeps water out", ""),
    (1, "perforated board 100 x 80 mm, 2.54 mm", "", "", "carries it all", ""),
    (2, "pin socket 20 poles 2.54 mm", "", "", "the Pico, so that it can be taken out", ""),
    (1, "stranded wire 0.75 mm2 (18 AWG), red and black, 2 m each", "", "6 A", "12 V, ground and fan", ""),
    (1, "hook-up wire 0.25 mm2 (24 AWG), some colours", "", "", "everything else", ""),
    (4, "spacer M3 10 mm with screws", "", "", "board to box", ""),
)
UNITS = ((1e6, "M"), (1e3, "k"), (1.0, ""))


def value(part: Part) -> str:
    """10 k, 330, 100 nF, 470 uF; "" for a part without a value."""
    if not part.value:
        return ""
    if part.ref.startswith("C"):
        for size, unit in ((1e-6, "uF"), (1e-9, "nF")):
            if part.value >= size:
                return f"{part.value / size:g} {unit}"
    size, unit = next(row for row in UNITS if part.value >= row[0])
    return f"{part.value / size:g} {unit}".strip()


def rows(circuit: Circuit) -> list[tuple[int, str, str, str, str, str]]:
    """The list: (count, part, value, withstands, refs, source), in the order of the net list."""
    groups: dict[tuple[str, str], list[Part]] = {}
    for part in circuit.parts.values():
        groups.setdefault((part.type, value(part)), []).append(part)
    listed = []
    for (type_, worth), parts in groups.items():
        of = circuit.stock[type_]
        bears = ", ".join(f"{of[key]:g} {unit}" for key, unit in _BEARS if isinstance(of.get(key), int | float))
        refs = " ".join(part.ref for part in parts)
        listed.append((len(parts), of["part"], worth, bears, refs, of["source"].removeprefix("-")))
    return [*listed, *BESIDE]


_BEARS = (("volts", "V"), ("amps", "A"), ("watts", "W"))


def table(circuit: Circuit) -> str:
    """The list as CSV."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    writer.writerows(rows(circuit))
    return out.getvalue()


if __name__ == "__main__":
    FILE.write_text(table(build()))
    print(f"{FILE.name}: {len(rows(build()))} lines")
