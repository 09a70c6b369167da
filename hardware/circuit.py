"""A circuit as data: parts, the net that each of their pins is on, and what each kind of part withstands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
GROUND = "gnd"
CONTROLS = {
    "nmos": {"G": "gate", "D": "drain", "S": "source"},
    "pmos": {"G": "gate", "D": "drain", "S": "source"},
    "npn": {"B": "gate", "C": "drain", "E": "source"},
}


def read(name: str) -> dict[str, Any]:
    """One of the tables beside this file."""
    return tomllib.loads((HERE / name).read_text())


@dataclass(frozen=True)
class Part:
    """`pins`: pin -> net. `value`: ohm or F. `near`: the chip at whose pins it must sit. `sheet`: where it is drawn.
    `place`: "module" if a bought module carries it; "" leaves it to the stock, on the board or outside."""

    ref: str
    type: str
    pins: Mapping[str, str]
    does: str
    sheet: str
    value: float = 0.0
    near: str = ""
    place: str = ""

    def other(self, net: str) -> str:
        """The net at the other end of a part with two pins."""
        first, second = self.pins.values()
        return second if first == net else first


@dataclass(frozen=True)
class Circuit:
    """Parts by reference, and the stock they come from."""

    parts: Mapping[str, Part]
    stock: Mapping[str, Mapping[str, Any]]
    outputs: tuple[str, ...] = ()  # nets that a pin of the Pico drives

    def of(self, part: Part) -> Mapping[str, Any]:
        """What the stock says of a part."""
        return self.stock[part.type]

    def on_board(self, part: Part) -> bool:
        """Whether it is soldered to the board."""
        return not part.place and bool(self.of(part).get("board", True))

    def kind(self, *kinds: str) -> list[Part]:
        """All parts of these kinds, in the order of the net list."""
        return [part for part, kind in self._kinds if kind in kinds]

    def on(self, net: str) -> list[tuple[Part, str]]:
        """Every pin on a net, with its part."""
        return list(self._pins.get(net, ()))

    def nets(self) -> list[str]:
        """All nets, in the order in which they turn up."""
        return list(self._pins)

    # The rules ask these thousands of times of one circuit, which never changes.

    @cached_property
    def _kinds(self) -> list[tuple[Part, str]]:
        return [(part, self.of(part)["kind"]) for part in self.parts.values()]

    @cached_property
    def _pins(self) -> dict[str, list[tuple[Part, str]]]:
        found: dict[str, list[tuple[Part, str]]] = {}
        for part in self.parts.values():
            for pin, net in part.pins.items():
                found.setdefault(net, []).append((part, pin))
        return found

    @cached_property
    def solved(self) -> dict[Any, dict[str, float]]:
        """What `stress.voltages` has found of this circuit."""
        return {}

    def between(self, first: str, second: str, *kinds: str) -> list[Part]:
        """Parts of these kinds with one pin on each of the two nets."""
        return [part for part in self.kind(*kinds) if {first, second} <= set(part.pins.values())]

    def resistors(self, net: str) -> Iterator[tuple[Part, str]]:
        """Resistors at a net, each with the net at its other end."""
        for part, _ in self.on(net):
            if self.of(part)["kind"] == "resistor":
                yield part, part.other(net)

    def role(self, part: Part, pin: str) -> str:
        """What a pin is: gate, drain, in, out, analog, power, ground, ...; "" where nothing is said."""
        of = self.of(part)
        named = CONTROLS.get(of["kind"], of.get("pins", {}))
        return str(named.get(pin, ""))

    # -- the same circuit with one thing changed: what the tests of the rules are made of --------------------------

    def without(self, ref: str) -> Circuit:
        """Left out."""
        return replace(self, parts={name: part for name, part in self.parts.items() if name != ref})

    def turned(self, ref: str) -> Circuit:
        """A part with two pins the wrong way round."""
        part = self.parts[ref]
        names, nets = list(part.pins), list(part.pins.values())
        return self.changed(ref, pins=dict(zip(names, reversed(nets), strict=True)))

    def changed(self, ref: str, **new: Any) -> Circuit:
        """A part with another value, type or pins."""
        return replace(self, parts={**self.parts, ref: replace(self.parts[ref], **new)})

    def moved(self, ref: str, pin: str, net: str) -> Circuit:
        """One pin on another net."""
        return self.changed(ref, pins={**self.parts[ref].pins, pin: net})

    def rated(self, type_: str, **new: Any) -> Circuit:
        """Another rating in the stock."""
        return replace(self, stock={**self.stock, type_: {**self.stock[type_], **new}})
