"""The adapter cut along its axis, with its sizes, made from the solids. Run it to write pictures/adapter.svg anew."""

from __future__ import annotations

from adapter import METAL_PIPE, Adapter
from circuit import HERE
from manifold3d import Manifold
from page import GREY, Page

FILE = HERE / "pictures" / "adapter.svg"
SCALE = 6.0  # px a mm
LEFT, AXIS = 190.0, 300.0  # px of the point z = 0, y = 0
OPEN = 55.0  # degrees, the flap as it is drawn open


def draw(adapter: Adapter) -> str:
    """The picture as SVG."""
    page = Page(1260, 560)
    page.text(30, 36, "Fan-to-vent adapter, cut along its axis", 20, bold=True)
    page.text(30, 58, "Sizes in mm. Up is up: the flap's own weight shuts it when the fan is off.", 12)
    parts = adapter.parts()
    for name, fill in (("inlet", "#c9c9c9"), ("chamber", "#e2e2e2"), ("flap", "#444")):
        page.area(_cut(parts[name]), fill)
    for ring in _cut(adapter.flap_at(OPEN)):
        page.line(*ring, ring[0], dash="4 3")
    end = adapter.length
    page.line(*(_at(z, 0.0) for z in (-14.0, end + 60.0)), stroke=GREY, dash="12 4 2 4")
    _pipe(page, adapter, end)
    _words(page, adapter, end)
    return page.svg()


def _pipe(page: Page, adapter: Adapter, end: float) -> None:
    """The metal pipe over the spigot, broken off."""
    begin, stop = end - adapter.spigot + 1.0, end + 55.0
    for side in (-1, 1):
        inner, outer = side * adapter.pipe / 2, side * (adapter.pipe / 2 + 3.0)
        page.area([[_at(begin, inner), _at(stop, inner), _at(stop, outer), _at(begin, outer)]], "#888")


def _words(page: Page, adapter: Adapter, end: float) -> None:
    """Names, sizes, and what is metal."""
    _, top = _at(0, adapter.outlet_high / 2)
    page.line((LEFT - 150, top), (LEFT + adapter.socket * SCALE - 4, top), stroke=GREY, dash="5 4")
    _, low = _at(0, -adapter.outlet_high / 2)
    page.line((LEFT - 150, low), (LEFT + adapter.socket * SCALE - 4, low), stroke=GREY, dash="5 4")
    page.text(LEFT - 155, AXIS - 26, "blower's outlet", 12)
    page.text(LEFT - 155, AXIS - 9, f"{adapter.outlet_wide:g} wide, {adapter.outlet_high:g} high", 11)
    page.text(LEFT - 155, AXIS + 24, "air  >", 12)
    _across(page, 0.0, adapter.socket, 205, f"socket {adapter.socket:g}")
    _across(page, adapter.socket, adapter.seat, 205, f"{adapter.seat - adapter.socket:.1f}")
    _across(page, adapter.seat, end - adapter.spigot, 205, f"flap's room {end - adapter.spigot - adapter.seat:.1f}")
    _across(page, end - adapter.spigot, end, 205, f"spigot {adapter.spigot:g}")
    _across(page, 0.0, end, 232, f"{end:.1f}")
    names = (
        ("inlet, printed", adapter.socket + 7.0, 150),
        ("chamber, printed", adapter.seat + 25.0, 175),
        ("metal pipe", end + 30.0, 120),
    )
    for words, z, up in names:
        page.text(LEFT + z * SCALE, AXIS - up, words, 13, at="middle", bold=True)
    page.text(LEFT + (end + 30) * SCALE, AXIS - 104, f"inside {adapter.pipe:g}", 11, at="middle")
    page.text(LEFT + (end + 30) * SCALE, AXIS + 118, f"at least {METAL_PIPE:.0f} long,", 11, at="middle")
    page.text(LEFT + (end + 30) * SCALE, AXIS + 134, "then the cooker's vent", 11, at="middle")
    high, out = adapter.hinge
    x, y = _at(adapter.seat + out, high)
    page.line((x, y - 4), (x + 20, y - 100), stroke=GREY)
    page.text(x + 24, y - 102, f"pin: steel wire {adapter.pin:g}; the flap is drawn shut, and open (dashed)", 11)
    page.text(LEFT + (end - 14) * SCALE, AXIS - 8, f"bore {adapter.bore:.1f}", 11, at="middle")


def _across(page: Page, begin: float, end: float, down: float, words: str) -> None:
    """A size along the axis, `down` px under it."""
    y = AXIS + down
    for z in (begin, end):
        page.line((LEFT + z * SCALE, y - 6), (LEFT + z * SCALE, y + 6), stroke=GREY)
    page.line((LEFT + begin * SCALE, y), (LEFT + end * SCALE, y), stroke=GREY)
    page.text(LEFT + (begin + end) / 2 * SCALE, y - 5, words, 11, at="middle")


def _cut(solid: Manifold) -> list[list[tuple[float, float]]]:
    """Rings of the solid in the plane x = 0, as px."""
    rings = solid.rotate((0.0, 90.0, 0.0)).slice(0.0).to_polygons()
    return [[_at(float(z), float(y)) for z, y in ring] for ring in rings]


def _at(z: float, y: float) -> tuple[float, float]:
    return LEFT + z * SCALE, AXIS - y * SCALE


if __name__ == "__main__":
    FILE.write_text(draw(Adapter()))
    print(FILE.name)
