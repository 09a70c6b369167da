"""The circuit diagram: `sheets` says where a part stands, `sheet` draws it and checks it against the net list.

Run it to write pictures/schematic.svg anew.
"""

from __future__ import annotations

from circuit import HERE, Circuit
from netlist import build
from sheet import Sheet
from sheets import SHEETS

FILE = HERE / "pictures" / "schematic.svg"


def draw(circuit: Circuit) -> str:
    """The whole diagram as SVG."""
    sheet = Sheet(circuit)
    for lay in SHEETS:
        lay(sheet)
    return sheet.finish()


if __name__ == "__main__":
    FILE.write_text(draw(build()))
    print(f"{FILE.name}: {len(build().parts)} parts")
