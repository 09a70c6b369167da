"""Pictures of both sides of the board, drawn from its file: the copper of ground, tracks, pads, print.

Run it to write pictures/board_front.svg and board_back.svg anew (`make.py` does so too).
"""

from __future__ import annotations

import html
from pathlib import Path

import boardfile
from boardfile import Board, Pad

SCALE = 8.0
GAP = 0.3  # mm between ground and other copper
BASE, COPPER, GROUND, BARE, PRINT = "#f4f1e6", "#c98a4b", "#e6d3b8", "#8c8c8c", "#222222"


def pad_shape(pad: Pad, more: float, colour: str) -> str:
    """A pad, larger by `more` all round."""
    wide, high = pad.wide + 2 * more, pad.high + 2 * more
    if pad.shape == "circle":
        return f'<circle cx="{pad.x:.2f}" cy="{pad.y:.2f}" r="{wide / 2:.2f}" fill="{colour}"/>'
    corner = min(wide, high) / 2 if pad.shape == "oval" else more
    return (
        f'<rect x="{pad.x - wide / 2:.2f}" y="{pad.y - high / 2:.2f}" width="{wide:.2f}" height="{high:.2f}" '
        f'rx="{corner:.2f}" fill="{colour}"/>'
    )


def draw(board: Board, side: str) -> str:
    """One side as SVG; the back as it is seen when the board is turned over sideways."""
    copper, silk = ("F.Cu", "F.SilkS") if side == "front" else ("B.Cu", "B.SilkS")
    out = [f'<rect x="0.6" y="0.6" width="{board.wide - 1.2:.2f}" height="{board.high - 1.2:.2f}" fill="{GROUND}"/>']
    tracks = [t for t in board.tracks if t.layer == copper]
    others = [p for p in board.pads if p.net != "gnd"]
    line = '<line x1="{:.2f}" y1="{:.2f}" x2="{:.2f}" y2="{:.2f}" stroke-width="{:.2f}" stroke="{}"/>'
    for track in tracks:
        out.append(line.format(*track.start, *track.end, track.width + 2 * GAP, BASE))
    out += [
        f'<circle cx="{v.x:.2f}" cy="{v.y:.2f}" r="{v.wide / 2 + GAP:.2f}" fill="{BASE}"/>'
        for v in board.vias
        if v.net != "gnd"
    ]
    out += [pad_shape(pad, GAP, BASE) for pad in others]
    out += [line.format(*t.start, *t.end, t.width, COPPER) for t in tracks]
    out += [f'<circle cx="{v.x:.2f}" cy="{v.y:.2f}" r="{v.wide / 2:.2f}" fill="{COPPER}"/>' for v in board.vias]
    out += [pad_shape(pad, 0.0, BARE) for pad in board.pads if pad.copper]
    out += [f'<circle cx="{p.x:.2f}" cy="{p.y:.2f}" r="{p.drill / 2:.2f}" fill="#fff"/>' for p in board.pads]
    out += [f'<circle cx="{v.x:.2f}" cy="{v.y:.2f}" r="{v.drill / 2:.2f}" fill="#fff"/>' for v in board.vias]
    for mark in board.prints:
        if mark.layer not in (silk, "Edge.Cuts"):
            continue
        if mark.text:
            (x, y) = mark.points[0]
            lines = mark.text.split("\n")
            for number, said in enumerate(lines):
                down = (number - (len(lines) - 1) / 2) * mark.size * 1.6
                out.append(
                    f'<text x="{x:.2f}" y="{y + down:.2f}" font-size="{mark.size * 1.35:.2f}" '
                    f'text-anchor="{mark.anchor}" dominant-baseline="central" fill="{PRINT}" '
                    f'transform="rotate({-mark.angle:g} {x:.2f} {y:.2f})">{html.escape(said)}</text>'
                )
            continue
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.points)
        tag = "polygon" if mark.closed else "polyline"
        out.append(f'<{tag} points="{points}" fill="none" stroke="{PRINT}" stroke-width="{mark.width:.2f}"/>')
    wide, high = board.wide + 2, board.high + 2
    flip = f' transform="translate({board.wide:.2f} 0) scale(-1 1)"' if side == "back" else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide * SCALE:.0f}" height="{high * SCALE:.0f}" '
        f'viewBox="-1 -1 {wide:.2f} {high:.2f}" font-family="DejaVu Sans, sans-serif">'
        f'<rect x="-1" y="-1" width="{wide:.2f}" height="{high:.2f}" fill="#fff"/>'
        f'<g stroke-linecap="round"{flip}>' + "\n".join(out) + "</g></svg>\n"
    )


def files(file: Path = boardfile.FILE) -> dict[str, str]:
    """File name -> picture."""
    board = boardfile.read(file)
    return {f"board_{side}.svg": draw(board, side) for side in ("front", "back")}


if __name__ == "__main__":
    for name, text in files().items():
        (boardfile.FILE.parents[1] / "pictures" / name).write_text(text)
        print(name)
