"""The paper of the circuit diagram: parts, wires and names, checked against the net list as they are drawn.

A wire between pins of two nets is refused. So is a pin that is not drawn, or has neither wire nor name. The picture
therefore always agrees with the circuit.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import schemdraw
import schemdraw.elements as elm
from circuit import GROUND, Circuit
from parts import value

RAILS = ("12V", "12V_fan", "5V", "3V3", "vref", "vsys")
schemdraw.use("svg")  # words stay words, and no plotting library is needed
TWO: dict[str, type[elm.Element2Term]] = {
    "resistor": elm.ResistorIEC,
    "ceramic": elm.Capacitor,
    "electrolytic": elm.Capacitor2,
    "fuse": elm.FuseIEC,
    "fuse_5v": elm.FuseIEC,
    "fuse_call": elm.FuseIEC,
    "ferrite": elm.Inductor2,
    "zener": elm.Zener,
    "zener_5v6": elm.Zener,
    "tvs": elm.Zener,
    "fast_3a": elm.Diode,
    "schottky_1a": elm.Schottky,
    "schottky_small": elm.Schottky,
    "blower": elm.Motor,
    "mains_supply": elm.Battery,
    "probe": elm.Thermistor,
}
Point = tuple[float, float]


class Sheet:
    """A drawing that knows the net of every pin it has drawn."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.picture = schemdraw.Drawing(show=False)
        self.picture.config(unit=2, fontsize=9, lw=1.2, font="DejaVu Sans", bgcolor="white")
        self.at: dict[str, Point] = {}
        self._group: dict[str, str] = {}
        self._named: set[str] = set()
        self._wired: set[str] = set()
        self._lined: set[str] = set()  # pins on which a line with their net's name hangs, or a rail's sign stands
        self._dotted: set[Point] = set()

    def net(self, pin: str) -> str:
        """The net of "R1.2"."""
        ref, _, name = pin.partition(".")
        return self.circuit.parts[ref].pins[name]

    def _set(self, ref: str, **anchors: Any) -> None:
        for name, point in anchors.items():
            self.at[f"{ref}.{name}"] = (round(float(point[0]), 3), round(float(point[1]), 3))
            self._group[f"{ref}.{name}"] = f"{ref}.{name}"

    def two(self, ref: str, start: Point, end: Point, side: str = "") -> None:
        """A part with two pins, its first pin at `start`; for a diode that is the end without the ring."""
        part = self.circuit.parts[ref]
        first, second = part.pins
        upright = start[0] == end[0]
        where = side or ("right" if upright else "top")
        worth = value(part) or str(self.circuit.of(part).get("type", ""))
        words = f"{ref}\n{worth}".strip() if upright else f"{ref} {worth}".strip()
        wide = 0.4 if part.type in ("blower", "mains_supply", "probe") else 0.0
        at, align = {
            "right": ((start[0] + 0.3 + wide, (start[1] + end[1]) / 2), ("left", "center")),
            "left": ((start[0] - 0.5 - wide, (start[1] + end[1]) / 2), ("right", "center")),
            "top": (((start[0] + end[0]) / 2, start[1] + 0.35), ("center", "bottom")),
            "bottom": (((start[0] + end[0]) / 2, start[1] - 0.45), ("center", "top")),
        }[where]
        self.picture.add(TWO[part.type]().endpoints(start, end))
        self.words(at, words, align)
        self._set(ref, **{first: start, second: end})

    def words(self, at: Point, words: str, align: tuple[str, str] = ("left", "center"), size: float = 9) -> None:
        """Text beside a part."""
        self.picture.add(
            elm.Label().at(at).theta(0).label(words, ofst=0, halign=align[0], valign=align[1], fontsize=size)
        )

    def transistor(self, ref: str, at: Point) -> None:
        """An NPN or an N-channel MOSFET upright, its gate or base to the left at `at`; a P-channel one, source up."""
        kind = self.circuit.of(self.circuit.parts[ref])["kind"]
        x, y = at
        if kind == "npn":
            drawn = self.picture.add(elm.BjtNpn(circle=True).anchor("base").at(at).theta(0))
            self._set(ref, B=drawn.base, C=drawn.collector, E=drawn.emitter)
        else:
            symbol = elm.NMos(diode=True) if kind == "nmos" else elm.PMos(diode=True)
            drawn = self.picture.add(symbol.anchor("gate").at(at).theta(0))
            self._set(ref, G=drawn.gate, D=drawn.drain, S=drawn.source)
            upper = 1 if drawn.drain[1] > drawn.source[1] else -1
            for name, point, up in (("D", drawn.drain, upper), ("S", drawn.source, -upper)):
                self.words((point[0] + 0.1, point[1] - 0.18 * up), name, ("left", "center"), 7)
            self.words((x + 0.1, y + 0.12), "G", ("left", "bottom"), 7)
        self.words((x + 1.75, y), f"{ref}\n{self.circuit.of(self.circuit.parts[ref])['type']}")

    def thyristor(self, ref: str, anode: Point, cathode: Point) -> None:
        """Upright, its gate to the right."""
        drawn = self.picture.add(elm.SCR().flip().endpoints(anode, cathode))
        self._set(ref, A=anode, K=cathode, G=drawn.gate)
        self.words(
            (anode[0] - 0.5, (anode[1] + cathode[1]) / 2),
            f"{ref}\n{self.circuit.of(self.circuit.parts[ref])['type']}",
            ("right", "center"),
        )
        for name, point, down in (("A", anode, -0.3), ("K", cathode, 0.3), ("G", drawn.gate, 0.2)):
            self.words((point[0] + 0.12, point[1] + down), name, ("left", "center"), 7)

    def spot(self, at: Point) -> None:
        """A dot where a wire meets another one amid its length."""
        self.picture.add(elm.Dot(radius=0.06).at(at))

    def guard(self, ref: str, at: Point) -> None:
        """A P-channel MOSFET lying in a rail, drain left at `at`, gate down."""
        drawn = self.picture.add(elm.PMos2(diode=True).reverse().at(at).to((at[0] + 3, at[1])))
        self._set(ref, D=drawn.start, S=drawn.end, G=drawn.gate)
        self.words(
            (at[0] + 1.5, at[1] + 0.45),
            f"{ref} {self.circuit.of(self.circuit.parts[ref])['type']}",
            ("center", "bottom"),
        )
        self.words((at[0] + 0.2, at[1] + 0.15), "D", ("left", "bottom"), 7)
        self.words((at[0] + 2.8, at[1] + 0.15), "S", ("right", "bottom"), 7)
        self.words((drawn.gate[0] + 0.12, drawn.gate[1]), "G", ("left", "center"), 7)

    def box(self, ref: str, at: Point, left: str, right: str, words: str, wide: float = 3.0) -> None:
        """A chip or terminal as a box, `at` its top left corner; pins from top to bottom, "_" leaves a gap."""
        sides = (left.split(), right.split())
        high = 0.7 * max(len(side) for side in sides) + 0.3
        x, y = at
        self.picture.add(elm.Rect(corner1=(0, 0), corner2=(wide, -high)).at(at).theta(0))
        self.words((x + wide / 2, y + 0.15), f"{ref} {words}".strip(), ("center", "bottom"))
        for side, pins in enumerate(sides):
            for row, pin in enumerate(pins):
                if pin == "_":
                    continue
                py = y - 0.5 - 0.7 * row
                edge, out = (x, x - 0.5) if side == 0 else (x + wide, x + wide + 0.5)
                self.picture.add(elm.Line().endpoints((edge, py), (out, py)))
                self.words((edge + (0.12, -0.3)[side], py), pin, (("left", "right")[side], "center"), 8)
                self._set(ref, **{pin: (out, py)})

    def terminal(self, ref: str, **pins: Point) -> None:
        """Screws: open dots."""
        for name, point in pins.items():
            self.picture.add(elm.Dot(open=True).at(point))
            self.words((point[0], point[1] + 0.25), f"{ref}.{name}", ("center", "bottom"), 8)
        self._set(ref, **pins)

    def wire(self, *pins: str, shape: str = "-") -> None:
        """Wires from each pin to the next: "-" straight, "-|" first across, "|-" first up or down."""
        for first, second in pairwise(pins):
            if self.net(first) != self.net(second):
                raise ValueError(f"sheets.py joins {first} ({self.net(first)}) and {second} ({self.net(second)})")
            self._wired |= {first, second}
            if self.at[first] != self.at[second]:
                self.picture.add(elm.Wire(shape).at(self.at[first]).to(self.at[second]))
            old, new = self._root(first), self._root(second)
            self._group[old] = new
        self.dot(*(pin for pin in pins[1:-1] if not pin.startswith("X")))

    def dot(self, *pins: str) -> None:
        """A dot where more than two wires meet."""
        for pin in pins:
            if self.at[pin] not in self._dotted:
                self._dotted.add(self.at[pin])
                self.picture.add(elm.Dot(radius=0.06).at(self.at[pin]))

    def tag(self, *pins: str, to: str = "") -> None:
        """The name of a pin's net: ground and rails by their sign, others in words to the left or right."""
        for pin in pins:
            net, (x, y) = self.net(pin), self.at[pin]
            self._named.add(pin)
            if net == GROUND and not to:
                self.picture.add(elm.Ground().at((x, y)).theta(0))
            elif net in RAILS and not to:
                self.picture.add(elm.Vdd().at((x, y)).theta(0).label(net, fontsize=8))
                self._lined.add(pin)
            else:
                self._lined.add(pin)
                step = -0.4 if to == "left" else 0.4
                self.picture.add(elm.Line().endpoints((x, y), (x + step, y)))
                self.words(
                    (x + step * (1.6 if to == "left" else 1.25), y),
                    net,
                    ("right" if to == "left" else "left", "center"),
                    8,
                )

    def name(self, pin: str) -> None:
        """The name of a pin's net above its wire."""
        x, y = self.at[pin]
        self._named.add(pin)
        self.words((x, y + 0.12), self.net(pin), ("center", "bottom"), 8)

    def _root(self, pin: str) -> str:
        while self._group[pin] != pin:
            pin = self._group[pin]
        return pin

    def finish(self) -> str:
        """The picture as SVG, after a check that it shows the whole circuit."""
        pins = {f"{part.ref}.{name}": net for part in self.circuit.parts.values() for name, net in part.pins.items()}
        for pin in pins:
            if pin not in self.at:
                raise ValueError(f"sheets.py does not draw {pin}")
        self.dot(*sorted(self._wired & self._lined))  # a part, a wire and a name's line meet
        for pin, net in pins.items():
            group = {other for other in self.at if self._root(other) == self._root(pin)}
            whole = {f"{other.ref}.{at}" for other, at in self.circuit.on(net)}
            if not group & self._named and group != whole:
                raise ValueError(f"sheets.py leaves {pin} (net {net}) without wire and name")
        return self.picture.get_imagedata("svg").decode()
