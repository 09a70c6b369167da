"""What needs KiCad's own Python (`pcbnew` of KiCad 6): footprints, board file, design rule check, fab files, pictures.

`make.py` runs it: `kicad_side.py place` and `kicad_side.py finish`, with a folder in which `circuit.json` (from the net
list), `pads.json` and `routes.json` (from the router) pass between the two Pythons.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pcbnew

FOOTPRINTS = Path("/usr/share/kicad/footprints")
MM = pcbnew.FromMM
TO_MM = 1e-6
TURNS = {"": 0.0, "'": 270.0, "<": 90.0}
TRACK_CLEARANCE = 0.2


def at(x: float, y: float) -> pcbnew.wxPoint:
    """A point, mm from the corner of the sheet."""
    return pcbnew.wxPoint(MM(x), MM(y))


def pico(board: pcbnew.BOARD) -> pcbnew.FOOTPRINT:
    """Two rows of twenty holes, 17.78 mm apart, counted from the USB socket down and up again (Pico data sheet)."""
    made = pcbnew.FOOTPRINT(board)
    for number in range(1, 41):
        pad = pcbnew.PAD(made)
        left = number <= 20
        x, row = (0.0, number - 1) if left else (17.78, 40 - number)
        pad.SetNumber(str(number))
        pad.SetShape(pcbnew.PAD_SHAPE_RECT if number == 1 else pcbnew.PAD_SHAPE_CIRCLE)
        pad.SetSize(pcbnew.wxSize(MM(1.7), MM(1.7)))
        pad.SetDrillSize(pcbnew.wxSize(MM(1.0), MM(1.0)))
        pad.SetAttribute(pcbnew.PAD_ATTRIB_PTH)
        pad.SetLayerSet(pad.PTHMask())
        pad.SetPos0(at(x, row * 2.54))
        pad.SetPosition(at(x, row * 2.54))
        made.Add(pad)
    for layer, width, left, top, right, bottom in (
        (pcbnew.F_SilkS, 0.15, -1.6, -1.4, 19.4, 49.7),
        (pcbnew.F_CrtYd, 0.05, -1.9, -1.9, 19.7, 50.0),
        (pcbnew.F_SilkS, 0.15, 5.0, -2.7, 12.8, 2.0),
    ):
        shape = pcbnew.FP_SHAPE(made)
        shape.SetShape(pcbnew.SHAPE_T_RECT)
        shape.SetStart0(at(left, top))
        shape.SetEnd0(at(right, bottom))
        shape.SetStart(at(left, top))
        shape.SetEnd(at(right, bottom))
        shape.SetLayer(layer)
        shape.SetWidth(MM(width))
        made.Add(shape)
    return made


def made(board: pcbnew.BOARD, name: str) -> pcbnew.FOOTPRINT:
    """A footprint from KiCad's libraries, or our own."""
    if name == "own":
        return pico(board)
    library, what = name.split(":")
    found = pcbnew.FootprintLoad(str(FOOTPRINTS / f"{library}.pretty"), what)
    if found is None:
        raise SystemExit(f"KiCad's libraries have no footprint {name}; install the package kicad-footprints")
    return found


def box(footprint: pcbnew.FOOTPRINT) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the courtyard, mm, as it stands."""
    edges = [item.GetBoundingBox() for item in footprint.GraphicalItems() if item.GetLayer() == pcbnew.F_CrtYd]
    return (
        min(edge.GetLeft() for edge in edges) * TO_MM,
        min(edge.GetTop() for edge in edges) * TO_MM,
        max(edge.GetRight() for edge in edges) * TO_MM,
        max(edge.GetBottom() for edge in edges) * TO_MM,
    )


def first(footprint: pcbnew.FOOTPRINT) -> pcbnew.wxPoint:
    """Where its first pad is."""
    return next(pad for pad in footprint.Pads() if pad.GetNumber() == "1").GetPosition()


def put(footprint: pcbnew.FOOTPRINT, x: float, y: float, grid: float) -> None:
    """Move it so that its first pad is at x, y, on the grid."""
    here = first(footprint)
    x, y = round(x / grid) * grid, round(y / grid) * grid
    footprint.Move(pcbnew.wxPoint(MM(x) - here.x, MM(y) - here.y))


def by_corner(footprint: pcbnew.FOOTPRINT, x: float, y: float, grid: float) -> None:
    """Move it so that its courtyard begins at x, y or a little later, its first pad on the grid."""
    left, top, _, _ = box(footprint)
    here = first(footprint)
    px, py = here.x * TO_MM - left + x, here.y * TO_MM - top + y
    up = lambda v: -(-round(v / grid, 4) // 1) * grid  # noqa: E731
    put(footprint, up(px), up(py), grid)


def lay(folder: Path) -> pcbnew.BOARD:
    """A board with every part on its place and every pad on its net."""
    given = json.loads((folder / "circuit.json").read_text())
    layout = given["layout"]
    board = pcbnew.BOARD()
    nets = {}
    for net in given["nets"]:
        nets[net] = pcbnew.NETINFO_ITEM(board, net)
        board.Add(nets[net])
    parts = {}
    for ref, part in given["parts"].items():
        footprint = made(board, part["footprint"])
        footprint.SetReference(ref)
        footprint.SetValue(part["value"])
        for pad in footprint.Pads():
            net = part["pads"].get(pad.GetNumber())
            if net:
                pad.SetNet(nets[net])
        missing = set(part["pads"]) - {pad.GetNumber() for pad in footprint.Pads()}
        if missing:
            raise SystemExit(f"{ref}: its footprint has no pad {', '.join(sorted(missing))}")
        parts[ref] = footprint
        board.Add(footprint)
    placed = set()
    grid, gap = layout["grid"], layout["gap"]
    for row in layout["row"]:
        x = row["x"]
        for stack in row["parts"].split():
            y, widest = row["y"], 0.0
            for token in stack.split("/"):
                ref = token.rstrip("'<")
                footprint = parts[ref]
                footprint.SetOrientationDegrees(TURNS[token[len(ref) :]])
                by_corner(footprint, x, y, grid)
                _, _, right, bottom = box(footprint)
                widest, y = max(widest, right), bottom + gap
                placed.add(ref)
            x = widest + gap
    for ref, where in layout["place"].items():
        parts[ref].SetOrientationDegrees(where.get("turn", 0.0))
        put(parts[ref], where["x"], where["y"], grid)
        placed.add(ref)
    if placed != set(parts):
        raise SystemExit(f"layout.toml has no place for {', '.join(sorted(set(parts) - placed))}")
    holes(board, layout)
    edge(board, layout["wide"], layout["high"])
    return board


def holes(board: pcbnew.BOARD, layout: dict) -> None:
    """Mounting holes."""
    for number, (x, y) in enumerate(layout["holes"], 1):
        hole = made(board, "MountingHole:MountingHole_3.2mm_M3")
        hole.SetReference(f"H{number}")
        hole.Reference().SetVisible(False)
        hole.Value().SetVisible(False)
        hole.SetPosition(at(x, y))
        board.Add(hole)


def edge(board: pcbnew.BOARD, wide: float, high: float) -> None:
    """The outline."""
    corners = [(0, 0), (wide, 0), (wide, high), (0, high)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        line = pcbnew.PCB_SHAPE(board)
        line.SetShape(pcbnew.SHAPE_T_SEGMENT)
        line.SetStart(at(*a))
        line.SetEnd(at(*b))
        line.SetLayer(pcbnew.Edge_Cuts)
        line.SetWidth(MM(0.1))
        board.Add(line)


def pads(board: pcbnew.BOARD) -> list[dict]:
    """Every pad and hole as the router wants it: net, centre, size, mm."""
    found = []
    for footprint in board.GetFootprints():
        for pad in footprint.Pads():
            centre, size = pad.GetPosition(), pad.GetBoundingBox()
            found.append(
                {
                    "ref": footprint.GetReference(),
                    "pad": pad.GetNumber(),
                    "net": pad.GetNetname(),
                    "x": centre.x * TO_MM,
                    "y": centre.y * TO_MM,
                    "wide": size.GetWidth() * TO_MM,
                    "high": size.GetHeight() * TO_MM,
                    "hole": pad.GetAttribute() == pcbnew.PAD_ATTRIB_NPTH,
                }
            )
    return found


def overlaps(board: pcbnew.BOARD) -> list[str]:
    """Parts that stand in each other's way."""
    boxes = [(f.GetReference(), box(f)) for f in board.GetFootprints()]
    said = []
    for i, (a, (l1, t1, r1, b1)) in enumerate(boxes):
        for b, (l2, t2, r2, b2) in boxes[i + 1 :]:
            if l1 < r2 - 0.06 and l2 < r1 - 0.06 and t1 < b2 - 0.06 and t2 < b1 - 0.06:
                said.append(f"{a} and {b} overlap")
    return said


def main() -> None:
    """`place` or `finish`."""
    what, folder = sys.argv[1], Path(sys.argv[2])
    board = lay(folder)
    if what == "place":
        (folder / "pads.json").write_text(json.dumps(pads(board)))
        for said in overlaps(board):
            print(said)
        pcbnew.SaveBoard(str(folder / "placed.kicad_pcb"), board)
        return
    import kicad_finish

    kicad_finish.finish(board, folder, Path(sys.argv[3]))


if __name__ == "__main__":
    main()
