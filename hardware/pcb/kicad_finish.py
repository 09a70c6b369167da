"""The routed board: tracks, ground on both sides, print, design rule check, fab files, pictures. KiCad's Python."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pcbnew
from kicad_side import MM, TO_MM, at

NAME = "tuyere"
FAB = (
    ("F_Cu", pcbnew.F_Cu), ("B_Cu", pcbnew.B_Cu), ("F_Mask", pcbnew.F_Mask), ("B_Mask", pcbnew.B_Mask),
    ("F_Silkscreen", pcbnew.F_SilkS), ("B_Silkscreen", pcbnew.B_SilkS), ("Edge_Cuts", pcbnew.Edge_Cuts),
)  # fmt: skip


def finish(board: pcbnew.BOARD, folder: Path, out: Path) -> None:
    """Draw `routes.json` on the board, check it, and write what `out` keeps."""
    routes = json.loads((folder / "routes.json").read_text())
    given = json.loads((folder / "circuit.json").read_text())
    nets = board.GetNetsByName()
    layers = (pcbnew.F_Cu, pcbnew.B_Cu)
    for net, layer, width, x1, y1, x2, y2 in routes["tracks"]:
        track = pcbnew.PCB_TRACK(board)
        track.SetStart(at(x1, y1))
        track.SetEnd(at(x2, y2))
        track.SetWidth(MM(width))
        track.SetLayer(layers[layer])
        track.SetNet(nets[net])
        board.Add(track)
    for net, x, y in [*routes["vias"], *(["gnd", x, y] for x, y in routes["stitches"])]:
        via = pcbnew.PCB_VIA(board)
        via.SetPosition(at(x, y))
        via.SetWidth(MM(given["widths"]["via"]))
        via.SetDrill(MM(given["widths"]["drill"]))
        via.SetNet(nets[net])
        board.Add(via)
    for layer in layers:
        ground(board, layer, nets["gnd"], given["layout"])
    prints(board, given)
    made = folder / f"{NAME}.kicad_pcb"
    pcbnew.SaveBoard(str(made), board)
    board = pcbnew.LoadBoard(str(made))  # a board without a project of its own cannot be filled
    rules(board)
    pcbnew.ZONE_FILLER(board).Fill(board.Zones())
    pcbnew.SaveBoard(str(made), board)
    text = kept(made.read_text())
    (out / f"{NAME}.kicad_pcb").write_text(text)
    made.write_text(text)
    board = pcbnew.LoadBoard(str(made))  # what is stored is what is checked and plotted
    rules(board)
    pcbnew.ZONE_FILLER(board).Fill(board.Zones())
    report(board, out, hashlib.sha256(text.encode()).hexdigest())
    fab(board, out / "fab")


def kept(text: str) -> str:
    """The board file as it is stored: the same bytes for the same board. Ground is filled when it is opened (B)."""
    text = re.sub(r"\n    \(filled_polygon.*?\n    \)(?=\n)", "", text, flags=re.S)
    head, *items = blocks(text.rstrip().removesuffix(")").rstrip(), 2)
    mixed = [item for item in items if item.startswith(MIXED)]
    whole = [item for item in items if not item.startswith(MIXED)]
    for i, item in enumerate(mixed):
        if item.startswith("  (footprint"):
            begin, *inner = blocks(item, 4)
            tail = "\n  )"
            inner[-1] = inner[-1].removesuffix(tail)
            mixed[i] = "\n".join([begin, *sorted(inner, key=bare)]) + tail
    text = "\n".join([head, *whole, *sorted(mixed, key=bare), ")", ""])
    count = iter(range(1, 1 << 30))
    return re.sub(r"tstamp [-0-9a-f]{36}", lambda m: f"tstamp 00000000-0000-0000-0000-{next(count):012x}", text)


MIXED = (
    "  (footprint",
    "  (gr_",
    "  (segment",
    "  (via",
    "  (zone",
)  # KiCad writes these in the order of random numbers


def blocks(text: str, indent: int) -> list[str]:
    """What comes first, and each piece that begins at this indent with all its lines."""
    return [piece.rstrip() for piece in re.split(rf"\n(?={' ' * indent}\()", text)]


def bare(piece: str) -> str:
    """A piece without its random numbers."""
    return re.sub(r"tstamp [-0-9a-f]{36}", "", piece)


def rules(board: pcbnew.BOARD) -> None:
    """What a cheap maker of boards can do, with room: 0.2 mm apart, holes of 0.5 mm."""
    settings = board.GetDesignSettings()
    for netclass in board.GetAllNetClasses().values():
        netclass.SetClearance(MM(0.2))
    settings.m_MinClearance = MM(0.2)
    settings.m_TrackMinWidth = MM(0.3)
    settings.m_CopperEdgeClearance = MM(0.5)
    settings.m_HoleClearance = MM(0.25)
    settings.m_HoleToHoleMin = MM(0.25)


def ground(board: pcbnew.BOARD, layer: int, net: pcbnew.NETINFO_ITEM, layout: dict) -> None:
    """Ground wherever nothing else is."""
    zone = pcbnew.ZONE(board)
    zone.SetLayer(layer)
    zone.SetNet(net)
    zone.SetLocalClearance(MM(0.3))
    zone.SetMinThickness(MM(0.25))
    zone.SetThermalReliefGap(MM(0.4))
    zone.SetThermalReliefSpokeWidth(MM(0.6))
    zone.SetPadConnection(pcbnew.ZONE_CONNECTION_THERMAL)
    zone.SetIslandRemovalMode(pcbnew.ISLAND_REMOVAL_MODE_ALWAYS)
    outline = zone.Outline()
    outline.NewOutline()
    for x, y in (
        (0.6, 0.6),
        (layout["wide"] - 0.6, 0.6),
        (layout["wide"] - 0.6, layout["high"] - 0.6),
        (0.6, layout["high"] - 0.6),
    ):
        outline.Append(MM(x), MM(y))
    board.Add(zone)


def words(
    board: pcbnew.BOARD, said: str, x: float, y: float, size: float = 1.2, angle: float = 0.0,
    begins: bool = False, ends: bool = False,
) -> None:  # fmt: skip
    """Print on the front: in the middle of a place, beginning there or ending there."""
    text = pcbnew.PCB_TEXT(board)
    text.SetText(said)
    text.SetPosition(at(x, y))
    text.SetLayer(pcbnew.F_SilkS)
    text.SetTextSize(pcbnew.wxSize(MM(size), MM(size)))
    text.SetTextThickness(MM(max(0.13, size * 0.14)))
    text.SetTextAngle(angle * 10)
    if begins or ends:
        text.SetHorizJustify(pcbnew.GR_TEXT_HJUSTIFY_LEFT if begins else pcbnew.GR_TEXT_HJUSTIFY_RIGHT)
    board.Add(text)


def prints(board: pcbnew.BOARD, given: dict) -> None:
    """References, values and plain words, as `layout.toml` has them. A diode is marked by its ring, not by a K."""
    spots = given["layout"]["print"]
    for footprint in board.GetFootprints():
        ref = footprint.GetReference()
        footprint.Value().SetVisible(False)
        if ref not in given["parts"]:
            footprint.Reference().SetVisible(False)
            continue
        for item in list(footprint.GraphicalItems()):
            if item.GetClass() == "MTEXT" and item.GetText() == "K":
                footprint.Remove(item)
        kind = given["parts"][ref]["type"]
        if kind in spots["inside"]:
            within(board, footprint, kind, spots)
            continue
        where = spots["at"].get(ref, spots["at"].get(kind))
        if where:
            first = next(p for p in footprint.Pads() if p.GetNumber() == "1").GetPosition()
            footprint.Reference().SetPosition(pcbnew.wxPoint(first.x + MM(where[0]), first.y + MM(where[1])))
        shape(footprint.Reference(), 1.0)
    for said, x, y, *more in spots["words"]:
        words(board, said, x, y, *more)


def within(board: pcbnew.BOARD, footprint: pcbnew.FOOTPRINT, kind: str, spots: dict) -> None:
    """Reference and value in the body of a part with two pads, clear of a diode's ring."""
    ends = [pad.GetPosition() for pad in footprint.Pads()]
    dx, dy = ends[-1].x - ends[0].x, ends[-1].y - ends[0].y
    if next(iter(footprint.Pads())).GetNumber() != "1":
        dx, dy = -dx, -dy
    share = MM(spots["past_ring"].get(kind, 0.0)) / max(abs(dx), abs(dy))
    middle = pcbnew.wxPoint(
        (ends[0].x + ends[-1].x) // 2 + round(dx * share), (ends[0].y + ends[-1].y) // 2 + round(dy * share)
    )
    upright = abs(dy) > abs(dx)
    stacked = kind in spots["stacked"]
    worth = "" if kind in spots["alone"] else footprint.GetValue()
    both = f"{footprint.GetReference()}{chr(10) if stacked else ' '}{worth}".strip()
    longest = max(len(line) for line in both.split("\n"))
    footprint.Reference().SetVisible(False)
    text = pcbnew.PCB_TEXT(board)
    text.SetText(both)
    text.SetPosition(middle)
    text.SetLayer(pcbnew.F_SilkS)
    size = min(0.8 if stacked else 1.0, spots["inside"][kind] / longest / 0.95)
    text.SetTextSize(pcbnew.wxSize(MM(size), MM(max(size, 0.8))))
    text.SetTextThickness(MM(0.13))
    text.SetTextAngle(900 if upright else 0)
    board.Add(text)


def shape(text: pcbnew.FP_TEXT, size: float) -> None:
    """Size and stroke of a reference, level or upright as it is."""
    text.SetTextSize(pcbnew.wxSize(MM(size), MM(size)))
    text.SetTextThickness(MM(0.14))
    text.SetVisible(True)
    text.SetKeepUpright(True)


def report(board: pcbnew.BOARD, out: Path, digest: str) -> None:
    """KiCad's design rule check of the board whose file has this digest; SystemExit if it finds an error or a net in
    pieces. Its warnings are of the print alone."""
    file = out / "drc.txt"
    pcbnew.WriteDRCReport(board, str(file), pcbnew.EDA_UNITS_MILLIMETRES, True)
    text = re.sub(
        r"\*\* Created on .*", f"** KiCad 6, 0.2 mm between coppers; board file sha256 {digest} **", file.read_text()
    )
    text = re.sub(r"\*\* Drc report for .*", f"** Drc report for {NAME}.kicad_pcb **", text)
    text = re.sub(r"(?:^\[.*\n(?:    .*\n)+)+", in_order, text, flags=re.M)
    file.write_text(text)
    errors = re.findall(r"^\[(\w+)\]: (.*)\n.*Severity: error((?:\n    @.*)*)", text, re.M)
    pieces = re.search(r"Found (\d+) unconnected", text)
    found, warnings = pieces[1] if pieces else "?", text.count("Severity: warning")
    print(f"DRC: {len(errors)} errors, {found} unconnected, {warnings} warnings")
    if errors or not pieces or pieces[1] != "0":
        raise SystemExit("\n".join(f"{kind}: {what} {' '.join(where.split())}" for kind, what, where in errors) or text)


def in_order(found: re.Match) -> str:
    """What KiCad found, sorted: it reports in the order of random numbers, and so the two items of one finding."""
    pieces = []
    for piece in re.split(r"^(?=\[)", found[0], flags=re.M)[1:]:
        lines = piece.splitlines()
        pieces.append("\n".join([*lines[:2], *sorted(lines[2:]), ""]))
    return "".join(sorted(pieces))


def fab(board: pcbnew.BOARD, out: Path) -> None:
    """Gerber, drill and positions."""
    out.mkdir(exist_ok=True)
    for old in out.iterdir():
        old.unlink()
    plotter = pcbnew.PLOT_CONTROLLER(board)
    options = plotter.GetPlotOptions()
    options.SetOutputDirectory(str(out))
    options.SetPlotFrameRef(False)
    options.SetUseGerberProtelExtensions(False)
    options.SetIncludeGerberNetlistInfo(True)
    options.SetSubtractMaskFromSilk(True)
    for name, layer in FAB:
        plotter.SetLayer(layer)
        plotter.OpenPlotfile(name, pcbnew.PLOT_FORMAT_GERBER, name)
        plotter.PlotLayer()
        plotter.ClosePlot()
    drill = pcbnew.EXCELLON_WRITER(board)
    drill.SetOptions(False, False, pcbnew.wxPoint(0, 0), False)
    drill.SetFormat(True)
    drill.CreateDrillandMapFilesSet(str(out), True, False)
    rows = ["ref,value,footprint,x mm,y mm,turn,side"]
    for footprint in sorted(board.GetFootprints(), key=lambda f: f.GetReference()):
        where = footprint.GetPosition()
        rows.append(
            f"{footprint.GetReference()},{footprint.GetValue()},{footprint.GetFPID().GetLibItemName()},"
            f"{where.x * TO_MM:.3f},{where.y * TO_MM:.3f},{footprint.GetOrientationDegrees():.0f},front"
        )
    (out / "positions.csv").write_text("\n".join(rows) + "\n")
    for file in out.iterdir():
        if file.suffix in (".gbr", ".drl"):
            file.write_text(undated(file.read_text()))
    listed = [f"{hashlib.sha256(file.read_bytes()).hexdigest()}  fab/{file.name}\n" for file in sorted(out.iterdir())]
    (out.parent / "fab.sha256").write_text("".join(listed))


def undated(text: str) -> str:
    """A Gerber or drill file without the day it was made, which is no part of a board."""
    day = r"\d{4}-\d\d-\d\dT[0-9:+]+|\w{3} \w{3} +\d+ [0-9:]+ \d{4}|\d{4}-\d\d-\d\d [0-9:]+"
    return re.sub(rf"(CreationDate,|date )({day})", r"\g<1>2000-01-01T00:00:00", text)
