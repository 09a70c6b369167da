"""The box to print, and its drilling plan: a tray, a lid, and where the holes go in a bought box as well.

All cables come through the floor, which hangs down when the box is on its wall. Needs `pip install '.[hardware]'`.

    python hardware/box.py --into folder      # writes box.stl and lid.stl
    python hardware/box.py --plan             # writes pictures/drilling.svg anew

Printed boxes are not proof against rain by themselves: PETG, ABS or ASA, four walls, and a bead of silicone in the
lid's groove; or buy one and drill it by the plan.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

from circuit import HERE, read
from page import GREY, PALE, Page

FILE = HERE / "pictures" / "drilling.svg"
M12, M16, SOCKET, BUTTON = 12.5, 16.5, 8.0, 16.2  # mm, diameters of holes


@dataclass(frozen=True)
class Hole:
    """A hole in the floor (x from the left, y from the back wall, mm) or in the lid (y from the floor up)."""

    what: str
    x: float
    y: float
    wide: float


@dataclass(frozen=True)
class Box:
    """mm. `wide` and `high` inside, as it hangs; `deep` from the back wall to the lid."""

    wide: float = 184.0
    high: float = 154.0
    deep: float = 60.0
    wall: float = 3.0
    post: float = 10.0  # of the spacers under the board
    above: float = 32.0  # over the board: the plug of the USB cable and its bend

    def floor(self) -> list[Hole]:
        """The holes of the floor, in two rows: cables in front, probe sockets behind."""
        front, back = self.deep - 20.0, 18.0
        cables = [("12 V in", M12), ("fan", M12), ("buzzer", M12), ("USB", M16), ("servo", M12)]
        step = self.wide / (len(cables) + 1)
        holes = [Hole(what, step * (i + 1), front, wide) for i, (what, wide) in enumerate(cables)]
        sockets = [
            ("pit (type K)", M16),
            ("meat 1", SOCKET),
            ("meat 2", SOCKET),
            ("meat 3", SOCKET),
            ("ambient", SOCKET),
            ("vent", M12),
        ]
        step = self.wide / (len(sockets) + 1)
        return holes + [Hole(what, step * (i + 1), back, wide) for i, (what, wide) in enumerate(sockets)]

    def lid(self) -> list[Hole]:
        """The hole of the lid: the button, below the board, its body between the cables of fan and buzzer."""
        fan, buzzer = self.floor()[1:3]
        return [Hole("button S1", (fan.x + buzzer.x) / 2, self.board_low / 2, BUTTON)]

    def posts(self) -> list[tuple[float, float]]:
        """Where the board's four screws go into the back wall, x from the left, y from the floor up."""
        layout = read("pcb/layout.toml")
        left = (self.wide - layout["wide"]) / 2
        return [(left + x, self.board_low + layout["high"] - y) for x, y in layout["holes"]]

    @property
    def board_low(self) -> float:
        """How far the board's lower edge is above the floor: room for glands and the bend of the cables."""
        return self.high - read("pcb/layout.toml")["high"] - self.above

    def parts(self):
        """The two bodies, as manifolds, printed lying on their largest face."""
        from manifold3d import Manifold

        w, full = self.wall, (self.wide + 2 * self.wall, self.high + 2 * self.wall, self.deep + self.wall)
        tray = Manifold.cube(full) - Manifold.cube((self.wide, self.high, self.deep + 1)).translate((w, w, w))
        for x, y in self.posts():
            post = Manifold.cylinder(self.post + 0.5, 4.0, 4.0, 32) - Manifold.cylinder(self.post + 2, 1.25, 1.25, 24)
            tray += post.translate((w + x, w + y, w - 0.5))
        corners = [(x, y) for x in (w + 4.0, w + self.wide - 4.0) for y in (w + 4.0, w + self.high - 4.0)]
        for x, y in corners:
            block = Manifold.cube((9.0, 9.0, self.deep), center=False).translate((x - 4.5, y - 4.5, w))
            tray += block
            tray -= Manifold.cylinder(16.0, 1.25, 1.25, 24).translate((x, y, self.deep + w - 15.0))
        for hole in self.floor():
            tube = Manifold.cylinder(3 * w, hole.wide / 2, hole.wide / 2, 48).rotate((-90.0, 0.0, 0.0))
            tray -= tube.translate((w + hole.x, -w, w + hole.y))
        lid = Manifold.cube((full[0], full[1], w))
        rim = Manifold.cube((self.wide - 0.6, self.high - 0.6, w + 3.0)) - Manifold.cube(
            (self.wide - 5.6, self.high - 5.6, w + 9.0)
        ).translate((2.5, 2.5, -1.0))
        lid += rim.translate((w + 0.3, w + 0.3, 0.0))
        for x, y in corners:
            lid -= Manifold.cube((10.0, 10.0, 9.0), center=True).translate((x, y, w + 4.5))
            lid -= Manifold.cylinder(9.0, 1.7, 1.7, 24).translate((x, y, -1.0))
        for hole in self.lid():  # the lid is printed face down: left is right
            rod = Manifold.cylinder(w + 6.0, hole.wide / 2, hole.wide / 2, 48)
            lid -= rod.translate((full[0] - w - hole.x, w + hole.y, -1.0))
        return {"box": tray, "lid": lid}


def draw(box: Box) -> str:
    """The drilling plan: floor, back wall and lid, with sizes. The words of the back row stand above its holes."""
    scale, left, top = 3.4, 60.0, 90.0
    page = Page(box.wide * scale + 140.0, (box.deep + 2 * box.high) * scale + 320.0)
    page.text(30, 34, "Drilling plan of the box", 20, bold=True)
    page.text(30, 56, f"Inside {box.wide:.0f} x {box.high:.0f} x {box.deep:.0f} mm; all sizes in mm, from inside. "
              "Go by the numbers: a print is not to scale.", 12)  # fmt: skip
    page.text(
        left,
        top - 8,
        "floor, seen from inside, the back wall on top: from the left wall | from the back wall",
        13,
        bold=True,
    )
    page.rect(left, top, box.wide * scale, box.deep * scale, PALE)
    for hole in box.floor():
        x, y, r = left + hole.x * scale, top + hole.y * scale, hole.wide / 2 * scale
        page.circle(x, y, r)
        page.text(x, y + 4, f"{hole.wide:g}", 10, at="middle")
        below = hole.y > box.deep / 2
        page.text(x, y + r + 13 if below else y - r - 18, hole.what, 11, at="middle")
        page.text(x, y + r + 25 if below else y - r - 5, f"{hole.x:.1f} | {hole.y:.0f}", 9, at="middle", fill=GREY)
    top += box.deep * scale + 80.0
    page.text(left, top - 8, "back wall, seen from the front: from the left | above the floor", 13, bold=True)
    page.rect(left, top, box.wide * scale, box.high * scale, PALE)
    layout = read("pcb/layout.toml")
    low = top + (box.high - box.board_low) * scale
    edge = left + (box.wide - layout["wide"]) / 2 * scale
    page.rect(edge, low - layout["high"] * scale, layout["wide"] * scale, layout["high"] * scale, "#fff")
    page.text(
        edge + layout["wide"] * scale / 2,
        low - layout["high"] * scale / 2,
        "board, its terminals below",
        13,
        at="middle",
    )
    for x, y in box.posts():
        px, py = left + x * scale, top + (box.high - y) * scale
        page.circle(px, py, 1.6 * scale)
        right = x > box.wide / 2
        page.text(
            px + (-10 if right else 10), py + 4, f"{x:.1f} | {y:.1f}", 9, at="end" if right else "start", fill=GREY
        )
    top += box.high * scale + 50.0
    page.text(left, top - 8, "lid, seen from the front: from the left | above the floor", 13, bold=True)
    page.rect(left, top, box.wide * scale, box.high * scale, PALE)
    for hole in box.lid():
        x, y, r = left + hole.x * scale, top + (box.high - hole.y) * scale, hole.wide / 2 * scale
        page.circle(x, y, r)
        page.text(x, y + 4, f"{hole.wide:g}", 10, at="middle")
        page.text(x + r + 8, y - 2, hole.what, 11)
        page.text(x + r + 8, y + 11, f"{hole.x:.1f} | {hole.y:.0f}", 9, fill=GREY)
    for row, words in enumerate((
        "Each cable: a loop below its gland, so that water drips off.",
        "The button sits between the cables of fan and buzzer; long wires to X10 let the lid open.",
        "The buzzer hangs outside the box, or in the bedroom on its own cable.",
        "Measure glands, sockets and button first: a hole is made for the part that goes through it.",
    )):  # fmt: skip
        page.text(left, top + box.high * scale + 26 + 18 * row, words, 12)
    return page.svg()


def main(argv: list[str] | None = None) -> None:
    """Write the files."""
    parser = argparse.ArgumentParser(description="a box for the board, as STL, and its drilling plan")
    parser.add_argument("--into", type=Path, help="folder for box.stl and lid.stl")
    parser.add_argument("--plan", action="store_true", help="write pictures/drilling.svg anew")
    given = parser.parse_args(argv)
    if given.plan:
        FILE.write_text(draw(Box()))
        print(FILE.name)
    if given.into:
        from adapter import stl

        given.into.mkdir(parents=True, exist_ok=True)
        for name, solid in Box().parts().items():
            (given.into / f"{name}.stl").write_bytes(stl(solid))
            print(given.into / f"{name}.stl")
    if not given.plan and not given.into:
        parser.error("say --into FOLDER, --plan, or both")


if __name__ == "__main__":
    main()
