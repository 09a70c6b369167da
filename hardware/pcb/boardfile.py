"""The board file of KiCad as data, read without KiCad: pads, tracks, vias, print."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

FILE = Path(__file__).parent / "tuyere.kicad_pcb"
_TOKEN = re.compile(r'\(|\)|"((?:[^"\\]|\\.)*)"|[^\s()"]+')


@dataclass(frozen=True)
class Pad:
    """mm; `shape` is circle, rect, oval or roundrect; a bare hole has no net and no copper."""

    ref: str
    number: str
    net: str
    x: float
    y: float
    wide: float
    high: float
    drill: float
    shape: str
    copper: bool


@dataclass(frozen=True)
class Track:
    """A straight piece, mm; `layer` is F.Cu or B.Cu."""

    net: str
    layer: str
    width: float
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class Via:
    """A plated hole between the sides, mm."""

    net: str
    x: float
    y: float
    wide: float
    drill: float


@dataclass(frozen=True)
class Print:
    """A line (several points, mm) or a text on the print of a side."""

    layer: str
    points: tuple[tuple[float, float], ...]
    width: float
    text: str = ""
    size: float = 0.0
    angle: float = 0.0
    closed: bool = False
    anchor: str = "middle"


@dataclass(frozen=True)
class Board:
    """All of it; `values` is reference -> value."""

    wide: float
    high: float
    pads: tuple[Pad, ...]
    tracks: tuple[Track, ...]
    vias: tuple[Via, ...]
    prints: tuple[Print, ...]
    values: dict[str, str]


def parse(text: str) -> list:
    """An S-expression as nested lists of strings."""
    stack: list[list] = [[]]
    for match in _TOKEN.finditer(text):
        token = match[0]
        if token == "(":
            stack.append([])
        elif token == ")":
            done = stack.pop()
            stack[-1].append(done)
        else:
            stack[-1].append(match[1] if match[1] is not None else token)
    return stack[0][0]


def _get(node: list, name: str) -> list | None:
    return next((child for child in node if isinstance(child, list) and child and child[0] == name), None)


def _all(node: list, *names: str) -> list[list]:
    return [child for child in node if isinstance(child, list) and child and child[0] in names]


def _xy(node: list | None) -> tuple[float, float]:
    return (float(node[1]), float(node[2])) if node else (0.0, 0.0)


def _turned(x: float, y: float, degrees: float) -> tuple[float, float]:
    """KiCad turns counterclockwise, with y down."""
    a = math.radians(degrees)
    return x * math.cos(a) + y * math.sin(a), -x * math.sin(a) + y * math.cos(a)


def _arc(start: tuple[float, float], mid: tuple[float, float], end: tuple[float, float]) -> list[tuple[float, float]]:
    (ax, ay), (bx, by), (cx, cy) = start, mid, end
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if abs(d) < 1e-9:
        return [start, mid, end]
    ux = ((ax * ax + ay * ay) * (by - cy) + (bx * bx + by * by) * (cy - ay) + (cx * cx + cy * cy) * (ay - by)) / d
    uy = ((ax * ax + ay * ay) * (cx - bx) + (bx * bx + by * by) * (ax - cx) + (cx * cx + cy * cy) * (bx - ax)) / d
    radius = math.hypot(ax - ux, ay - uy)
    a0, a1, a2 = (math.atan2(y - uy, x - ux) for x, y in (start, mid, end))
    way = (a2 - a0) % (2 * math.pi)
    if (a1 - a0) % (2 * math.pi) > way:
        way -= 2 * math.pi
    return [(ux + radius * math.cos(a0 + way * i / 12), uy + radius * math.sin(a0 + way * i / 12)) for i in range(13)]


def _points(node: list) -> tuple[list[tuple[float, float]], bool]:
    kind = node[0].split("_")[1]
    if kind == "line":
        return [_xy(_get(node, "start")), _xy(_get(node, "end"))], False
    if kind == "rect":
        (x1, y1), (x2, y2) = _xy(_get(node, "start")), _xy(_get(node, "end"))
        return [(x1, y1), (x2, y1), (x2, y2), (x1, y2)], True
    if kind == "circle":
        (x, y), (ex, ey) = _xy(_get(node, "center")), _xy(_get(node, "end"))
        r = math.hypot(ex - x, ey - y)
        return [(x + r * math.cos(i * math.pi / 12), y + r * math.sin(i * math.pi / 12)) for i in range(24)], True
    if kind == "arc":
        return _arc(_xy(_get(node, "start")), _xy(_get(node, "mid")), _xy(_get(node, "end"))), False
    return [_xy(point) for point in _all(_get(node, "pts") or [], "xy")], True


def _print(node: list, ox: float, oy: float, turn: float, names: dict[str, str]) -> Print | None:
    layer = (_get(node, "layer") or ["", ""])[1]
    if "SilkS" not in layer and layer != "Edge.Cuts":
        return None
    if node[0] in ("fp_text", "gr_text"):
        if "hide" in node:
            return None
        at = _get(node, "at") or ["at", "0", "0"]
        x, y = _turned(float(at[1]), float(at[2]), turn)
        font = _get(_get(node, "effects") or [], "font") or []
        size = _xy(_get(font, "size"))
        said = node[2] if node[0] == "fp_text" else node[1]
        said = said.replace("\\n", "\n")
        for key, word in names.items():
            said = said.replace(key, word)
        justify = _get(_get(node, "effects") or [], "justify") or []
        anchor = "start" if "left" in justify else "end" if "right" in justify else "middle"
        angle = float(at[3]) if len(at) > 3 else 0.0
        return Print(layer, ((ox + x, oy + y),), 0.15, said, size[0], angle, anchor=anchor)
    points, closed = _points(node)
    placed = tuple((ox + x, oy + y) for x, y in (_turned(px, py, turn) for px, py in points))
    width = _get(node, "width") or (_get(_get(node, "stroke") or [], "width"))
    return Print(layer, placed, float(width[1]) if width else 0.12, closed=closed)


def read(file: Path = FILE) -> Board:
    """The board as it is stored."""
    top = parse(file.read_text(encoding="utf-8"))
    nets = {node[1]: node[2] for node in _all(top, "net")}
    pads, prints, values = [], [], {}
    for footprint in _all(top, "footprint"):
        at = _get(footprint, "at") or []
        ox, oy, turn = float(at[1]), float(at[2]), float(at[3]) if len(at) > 3 else 0.0
        texts = {node[1]: node[2] for node in _all(footprint, "fp_text")}
        ref = texts["reference"]
        values[ref] = texts["value"]
        for node in _all(footprint, "fp_text", "fp_line", "fp_circle", "fp_arc", "fp_poly", "fp_rect"):
            if node[0] == "fp_text" and node[1] == "value":
                continue
            found = _print(node, ox, oy, turn, {"${REFERENCE}": ref})
            if found:
                prints.append(found)
        for node in _all(footprint, "pad"):
            where = _get(node, "at") or []
            x, y = _turned(float(where[1]), float(where[2]), turn)
            wide, high = _xy(_get(node, "size"))
            if round(float(where[3]) if len(where) > 3 else 0.0) % 180 == 90:
                wide, high = high, wide
            drill = _get(node, "drill")
            net = _get(node, "net")
            pads.append(
                Pad(ref, node[1], net[2] if net else "", ox + x, oy + y, wide, high,
                    float(next(d for d in drill[1:] if d != "oval")) if drill else 0.0, node[3],
                    node[2] != "np_thru_hole")
            )  # fmt: skip
    for node in _all(top, "gr_text", "gr_line", "gr_circle", "gr_arc", "gr_poly", "gr_rect"):
        found = _print(node, 0.0, 0.0, 0.0, {})
        if found:
            prints.append(found)
    tracks = [
        Track(
            nets[_get(n, "net")[1]],
            _get(n, "layer")[1],
            float(_get(n, "width")[1]),
            _xy(_get(n, "start")),
            _xy(_get(n, "end")),
        )
        for n in _all(top, "segment")
    ]
    vias = [
        Via(nets[_get(n, "net")[1]], *_xy(_get(n, "at")), float(_get(n, "size")[1]), float(_get(n, "drill")[1]))
        for n in _all(top, "via")
    ]
    edge = [point for p in prints if p.layer == "Edge.Cuts" for point in p.points]
    return Board(
        max(x for x, _ in edge), max(y for _, y in edge), tuple(pads), tuple(tracks), tuple(vias), tuple(prints), values
    )
