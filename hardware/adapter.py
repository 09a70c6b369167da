"""A fan-to-vent adapter with a flap against reverse flow, as watertight meshes for a printer; sizes in mm or inches.

Three parts: the inlet takes the blower's outlet and ends in the flap's seat; the chamber carries the flap and ends in
a spigot for the vent pipe; the flap hangs from a steel wire. The seat leans by `lean`, so the flap's own weight
shuts it: fan off, nothing comes back to the fan, and a weak draught does not pull air through it either (`lifts_at`).
Both flanges are screwed together with four M3 screws.

What must be metal: everything that touches the hot vent. Printed parts stand behind at least METAL_PIPE mm of bare
metal pipe, never on the cooker itself (common practice, no source). Feel the pipe's cool end after an hour of the
first cook: too hot to hold (some 55 C) is too hot for a printed part; lengthen the pipe.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np
from manifold3d import Manifold, OpType

METAL_PIPE = 150.0  # mm
INCH = 25.4
AIR_GAP = 0.1  # mm between the shut flap and its seat, as drawn
METAL = (
    f"vent pipe between cooker and adapter: steel, at least {METAL_PIPE:.0f} mm, with the flange or nut at the cooker",
    "pin of the flap: steel wire, bent over at both ends",
    "four screws and nuts M3",
)
PRINTED = "inlet, chamber, flap: ASA, ABS or polycarbonate; PLA softens in the sun"


@dataclass(frozen=True)
class Adapter:
    """Sizes in mm. `outlet_wide`, `outlet_high`: outside of the blower's outlet. `pipe`: inside of the vent pipe.

    gap: play of a printed fit. lip: how far the flap overlaps its seat. lean: degrees.
    """

    outlet_wide: float = 26.0
    outlet_high: float = 20.0
    pipe: float = 27.0
    socket: float = 12.0
    loft: float = 20.0
    spigot: float = 25.0
    wall: float = 2.4
    gap: float = 0.3
    lip: float = 3.0
    flap: float = 2.0
    pin: float = 2.0
    lean: float = 10.0
    flange: float = 8.0

    def __post_init__(self) -> None:
        for field in fields(self):
            if not getattr(self, field.name) > 0.0:
                raise ValueError(f"{field.name} is {getattr(self, field.name):g} mm; it must be more than nothing")
        if self.bore < 12.0:
            raise ValueError(
                f"a pipe of {self.pipe:g} mm leaves a bore of {self.bore:.1f} mm; take a wider pipe or a thinner wall"
            )
        if min(self.outlet_wide, self.outlet_high) <= 2.0 * self.stop + 4.0:
            raise ValueError(
                f"a blower outlet of {self.outlet_wide:g} x {self.outlet_high:g} mm leaves no passage; "
                "measure its outside again"
            )
        if not 0.0 < self.lean <= 25.0 or self.shuts_by <= 0.0:
            raise ValueError(f"a seat that leans by {self.lean:g} degrees does not shut by weight; take 8 to 15")

    @classmethod
    def inches(cls, **sizes: float) -> Adapter:
        """Sizes in inches (`lean` in degrees)."""
        return cls(**{name: size if name == "lean" else size * INCH for name, size in sizes.items()})

    # -- what follows from the sizes ------------------------------------------------------------------------------

    @property
    def stop(self) -> float:
        """How far the blower's outlet rests on the end of its socket."""
        return 1.5

    @property
    def bore(self) -> float:
        """Inside of the spigot, and of the seat: the air sees one width."""
        return self.pipe - 2.0 * self.gap - 2.0 * self.wall

    @property
    def knuckle(self) -> float:
        """Radius of the flap's knuckle round the pin."""
        return self.pin / 2.0 + 1.2

    @property
    def seat(self) -> float:
        """z at which the seat's plane crosses the axis."""
        return self.socket + self.loft + self.half_high * math.tan(math.radians(self.lean)) + 2.0

    @property
    def hinge(self) -> tuple[float, float]:
        """The pin in the seat's own frame: (up from the axis, out of the seat)."""
        return self.bore / 2.0 + self.lip + self.knuckle, AIR_GAP + self.knuckle

    @property
    def half_wide(self) -> float:
        """Half the inside width of the chamber: the flap with play."""
        return self.bore / 2.0 + self.lip + 1.0

    @property
    def half_high(self) -> float:
        """Half its inside height."""
        return self.hinge[0] + self.knuckle + 1.5

    @property
    def drop(self) -> float:
        """From the pin to the flap's lower edge."""
        return self.hinge[0] + self.bore / 2.0 + self.lip

    @property
    def shuts_by(self) -> float:
        """mm by which the shut flap's weight hangs out on the pin's fire side: more than nothing shuts it."""
        out = self.hinge[1] - AIR_GAP - self.flap / 2.0
        lean = math.radians(self.lean)
        return self.drop / 2.0 * math.sin(lean) - out * math.cos(lean)

    @property
    def length(self) -> float:
        """From the open end of the socket to the end of the spigot."""
        return self._chamber_end() + 12.0 + self.spigot

    def lifts_at(self, density: float = 1070.0) -> float:
        """Pa of the blower at which the flap begins to open; `density` in kg/m3 (ASA; from memory)."""
        mass = 2.0 * (self.half_wide - 1.0) * self.drop * self.flap * 1e-9 * density
        arm = self.hinge[0] * 1e-3
        return mass * 9.81 * self.shuts_by * 1e-3 / (math.pi * (self.bore / 2000.0) ** 2 * arm)

    # -- the solids -----------------------------------------------------------------------------------------------

    def parts(self) -> dict[str, Manifold]:
        """inlet, chamber and flap (shut), as they stand together; z from the blower to the fire, y up."""
        up, down = self._outside().split_by_plane(*self._plane())
        inlet = down - self._passage() - self._screws()
        chamber = up - self._cavity() - self._screws() - self._pin_hole()
        return {"inlet": inlet, "chamber": chamber, "flap": self.flap_at(0.0)}

    def flap_at(self, angle: float) -> Manifold:
        """The flap, opened by `angle` degrees."""
        high, out = self.hinge
        wide = 2.0 * (self.half_wide - 1.0)
        plate = _box(wide, self.drop, self.flap, 0.0, -self.drop / 2.0, AIR_GAP + self.flap / 2.0 - out)
        round_ = _rod(self.knuckle, wide)
        flap = plate + round_ - _rod(self.pin / 2.0 + 0.15, wide + 2.0)
        return self._on_seat(flap.rotate((-angle, 0.0, 0.0)).translate((0.0, high, out)))

    def _on_seat(self, solid: Manifold) -> Manifold:
        """From the seat's frame to the adapter's: the foot of the seat leans towards the fire."""
        return solid.rotate((-self.lean, 0.0, 0.0)).translate((0.0, 0.0, self.seat))

    def _plane(self) -> tuple[tuple[float, float, float], float]:
        lean = math.radians(self.lean)
        normal = (0.0, math.sin(lean), math.cos(lean))
        return normal, self.seat * math.cos(lean)

    def _outside(self) -> Manifold:
        wide, high = self._socket_inside()
        case = (2.0 * (self.half_wide + self.wall), 2.0 * (self.half_high + self.wall))
        end, long = self.seat, self._chamber_end()
        socket = _box(wide + 2 * self.wall, high + 2 * self.wall, self.socket, 0, 0, self.socket / 2)
        loft = Manifold.batch_hull([socket, _box(*case, 1.0, 0, 0, self.seat - self._tip() - 0.5)])
        middle = _box(*case, long - end + 2 * self._tip(), 0, 0, (end + long) / 2 + 0.0)
        cone = Manifold.batch_hull([_box(*case, 1.0, 0, 0, long), self._tube(self.bore / 2 + self.wall, long + 8, 4.0)])
        shoulder = self._tube(self.pipe / 2 + self.wall, long + 8, 4.0)
        spigot = self._tube(self.bore / 2 + self.wall, long + 8, 4.0 + self.spigot)
        rim = (case[0] + 2 * self.flange, case[1] + 2 * self.flange)
        flange = self._on_seat(_box(*rim, 8.0, 0, 0, 0))
        return socket + loft + middle + cone + shoulder + spigot + flange

    def _passage(self) -> Manifold:
        """The air's way through the inlet."""
        wide, high = self._socket_inside()
        socket = _box(wide, high, self.socket + 1.0, 0, 0, self.socket / 2 - 0.5)
        mouth = _box(self.outlet_wide - 2 * self.stop, self.outlet_high - 2 * self.stop, 0.2, 0, 0, self.socket)
        throat = self._tube(self.bore / 2, self.socket + self.loft, 0.2)
        run = self._tube(self.bore / 2, self.socket + self.loft, 3 * self.half_high)
        return socket + Manifold.batch_hull([mouth, throat]) + run

    def _cavity(self) -> Manifold:
        """The flap's room and the way out."""
        begin, end = self.seat - self._tip() - 20.0, self._chamber_end()
        room = _box(2 * self.half_wide, 2 * self.half_high, end - begin, 0, 0, (begin + end) / 2)
        cone = Manifold.batch_hull(
            [_box(2 * self.half_wide, 2 * self.half_high, 0.2, 0, 0, end), self._tube(self.bore / 2, end + 8, 0.2)]
        )
        return room + cone + self._tube(self.bore / 2, end + 8, self.spigot + 10)

    def _screws(self) -> Manifold:
        x = self.half_wide + self.wall + self.flange / 2
        y = self.half_high + self.wall + self.flange / 2
        holes = [
            Manifold.cylinder(40.0, 1.7, circular_segments=24, center=True).translate((sx * x, sy * y, 0.0))
            for sx in (-1, 1)
            for sy in (-1, 1)
        ]
        return self._on_seat(Manifold.batch_boolean(holes, OpType.Add))

    def _pin_hole(self) -> Manifold:
        hole = _rod(self.pin / 2 + 0.1, 4 * self.half_wide + 4 * self.flange)
        return self._on_seat(hole.translate((0.0, *self.hinge)))

    def _socket_inside(self) -> tuple[float, float]:
        return self.outlet_wide + 2 * self.gap, self.outlet_high + 2 * self.gap

    def _tip(self) -> float:
        """How far the leaning seat reaches along the axis, above and below it."""
        return self.half_high * math.tan(math.radians(self.lean))

    def _chamber_end(self) -> float:
        """z where the flap's room ends: the opened flap with play."""
        return self.seat + self.drop + 2.0

    @staticmethod
    def _tube(radius: float, z: float, long: float) -> Manifold:
        return Manifold.cylinder(long, radius, circular_segments=96).translate((0.0, 0.0, z))


def _box(wide: float, high: float, long: float, x: float, y: float, z: float) -> Manifold:
    """A box about its middle."""
    return Manifold.cube((wide, high, long), center=True).translate((x, y, z))


def _rod(radius: float, long: float) -> Manifold:
    """A cylinder along x about the origin."""
    return Manifold.cylinder(long, radius, circular_segments=48, center=True).rotate((0.0, 90.0, 0.0))


def stl(solid: Manifold) -> bytes:
    """Binary STL: 80 bytes, count, and for each triangle normal, three corners and two spare bytes."""
    mesh = solid.to_mesh()
    corners = np.asarray(mesh.vert_properties, dtype="<f4")[:, :3][np.asarray(mesh.tri_verts)]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-30)
    rows = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows["normal"], rows["corners"] = normals, corners
    return b"Tuyere adapter, mm".ljust(80) + np.uint32(len(rows)).tobytes() + rows.tobytes()


def main(argv: Sequence[str] | None = None) -> None:
    """Write inlet.stl, chamber.stl and flap.stl, in mm."""
    ask = argparse.ArgumentParser(description="Fan-to-vent adapter with a flap, as three STL files in mm.")
    ask.add_argument("--outlet", nargs=2, type=float, metavar=("WIDE", "HIGH"), help="outside of the blower's outlet")
    ask.add_argument("--pipe", type=float, help="inside of the vent pipe")
    ask.add_argument("--wall", type=float, help="thickness of the walls")
    ask.add_argument("--inch", action="store_true", help="the sizes given are in inches")
    ask.add_argument("--into", type=Path, default=Path(), help="folder for the files")
    given = ask.parse_args(argv)
    sizes = {"pipe": given.pipe, "wall": given.wall}
    if given.outlet:
        sizes |= {"outlet_wide": given.outlet[0], "outlet_high": given.outlet[1]}
    sizes = {name: size for name, size in sizes.items() if size is not None}
    try:
        adapter = Adapter.inches(**sizes) if given.inch else Adapter(**sizes)
    except ValueError as error:
        ask.error(str(error))
    for name, solid in adapter.parts().items():
        (given.into / f"{name}.stl").write_bytes(stl(solid))
        print(f"{name}.stl: {solid.volume() / 1000.0:.1f} cm3")
    print(f"The flap opens from {adapter.lifts_at():.0f} Pa on.\nPrinted: {PRINTED}.\nMetal: " + "; ".join(METAL) + ".")


if __name__ == "__main__":
    main()
