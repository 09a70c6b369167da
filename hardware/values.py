"""The rules on values and places: each part is worth what it must be for its job, each leg is where its data sheet
has it, each pin on the rail that it needs."""

from __future__ import annotations

from collections.abc import Iterator

from circuit import GROUND, Circuit, Part, read
from hearth.drivers import mux, supply

# A capacitor by the two nets it joins: (least, most) farad, and why not more.
CAPACITORS: dict[frozenset[str], tuple[float, float, str]] = {
    frozenset(("couple_plus", "couple_minus")): (47e-9, 220e-9, "the reading would lag"),
    frozenset(("couple_plus", GROUND)): (4.7e-9, 22e-9, "the two sides would no longer be alike"),
    frozenset(("couple_minus", GROUND)): (4.7e-9, 22e-9, "the two sides would no longer be alike"),
    frozenset(("tach", GROUND)): (1e-9, 22e-9, "fast turns would no longer be counted"),
    frozenset(("button", GROUND)): (22e-9, 220e-9, "a short press would be missed"),
    frozenset(("supply", GROUND)): (10e-9, 1e-6, "a sagging supply would be seen late"),
    frozenset(("drain", GROUND)): (220e-12, 2.2e-9, "a pulse would be seen late"),
    frozenset(("fires", GROUND)): (22e-9, 220e-9, "it would fire late"),
}
PROBE_FILTER = (22e-9, 470e-9)  # F behind 1 k: the multiplexer waits for it
BULK = (220e-6, 1000e-6)  # F on 12V: less does nothing for the cable, more blows the fuse as it fills
SERIES = (470.0, 2.2e3)  # ohm between a socket and a chip's input
PULL = (4.7e3, 22e3)  # ohm of an ordinary pull-up or pull-down
# The edge of the Pico that each GP stands at, for the pins in use (Raspberry Pi Pico data sheet; from memory).
EDGE = {
    2: 4, 3: 5, 4: 6, 12: 16, 13: 17, 14: 19, 15: 20, 16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31,
    27: 32, 28: 34,
}  # fmt: skip


def capacitors(circuit: Circuit) -> Iterator[str]:
    """Every capacitor with a job of its own is within its window."""
    for part in circuit.kind("capacitor"):
        nets = frozenset(part.pins.values())
        least, most, why = CAPACITORS.get(nets, (0.0, 1e-2, ""))
        if any(pin.startswith("Y") for net in nets for p, pin in circuit.on(net) if p.type == "mux" and net != GROUND):
            (least, most), why = PROBE_FILTER, "the reading would not settle before it is taken"
        if part.type == "electrolytic" and "12V" in nets:
            (least, most), why = BULK, "the fuse blows as it fills"
        if not least <= part.value <= most:
            reason = why if part.value > most else "it would filter nothing"
            yield f"{part.ref}: {part.value * 1e9:g} nF; {least * 1e9:g} to {most * 1e9:g} nF do here, else {reason}."
    for module in circuit.kind("module"):
        behind = sum(c.value for c in circuit.between(module.pins["OUT"], GROUND, "capacitor")) * 1e6
        if behind > circuit.of(module)["load_uf"]:
            yield f"{module.ref}: {behind:.0f} uF behind it; it starts with {circuit.of(module)['load_uf']} uF at most."


def dividers(circuit: Circuit) -> Iterator[str]:
    """Supply and drain are divided as the firmware counts on, each from its own net."""
    for net, from_net in (("supply", "12V"), ("drain", "cold")):
        ends = {other: part for part, other in circuit.resistors(net)}
        if set(ends) != {from_net, GROUND}:
            yield f"U1: net {net} is not divided from {from_net} to ground."
            continue
        for part, right in ((ends[from_net], supply.TOP), (ends[GROUND], supply.BOTTOM)):
            if abs(part.value / right - 1.0) > 0.01:
                yield f"{part.ref}: {part.value:g} ohm; the firmware counts on {right} (hearth/drivers/supply.py)."


def known_resistor(circuit: Circuit) -> Iterator[str]:
    """The channel that checks the others has the resistance that the firmware knows, under the setting's pull-up."""
    from hearth.core.fields import SETTINGS

    series = {row[0]: row[5] for row in SETTINGS}["series_ohms"]
    for chip in circuit.kind("chip"):
        if chip.type != "mux":
            continue
        for channel in range(8):
            net = chip.pins.get(f"Y{channel}", GROUND)
            if net == GROUND:
                continue
            near = [net, *(other for part, other in circuit.resistors(net) if SERIES[0] <= part.value <= SERIES[1])]
            pulls = [part for n in near for part, other in circuit.resistors(n) if other == "vref"]
            for part in pulls:
                if abs(part.value / series - 1.0) > 0.01:
                    yield f"{part.ref}: {part.value:g} ohm; the setting series_ohms says {series}."
            if channel == mux.REFERENCE:
                feet = [part for part, other in circuit.resistors(net) if other == GROUND]
                if not any(abs(part.value / mux.REFERENCE_OHMS - 1.0) <= 0.01 for part in feet):
                    yield f"{chip.ref}: channel {channel} is no known resistance of {mux.REFERENCE_OHMS} ohm; fit R22."
            elif len(near) < 2:
                yield f"{chip.ref}: no resistor of {SERIES[0]:g} to {SERIES[1]:g} ohm before its channel Y{channel}."


def long_wires(circuit: Circuit) -> Iterator[str]:
    """A pin that reads a wire from outside, or drives one, has a resistor in between of a fitting size."""
    windows = {
        ("press", "button"): SERIES,
        ("press", "3V3"): PULL,
        ("turns", "3V3"): PULL,
        ("turns", "tach"): (15e3, 33e3),
        ("servo", "nudge"): (220.0, 1e3),
        ("lamp", "light"): (220.0, 1e3),
        ("converter", "3V3"): PULL,
    }
    for (a, b), (least, most) in windows.items():
        found = circuit.between(a, b, "resistor")
        if not found:
            yield f"No resistor between {a} and {b}."
        for part in found:
            if not least <= part.value <= most:
                yield f"{part.ref}: {part.value:g} ohm between {a} and {b}; {least:g} to {most:g} ohm do."
    # The tach's low level: the fan's open collector at 0.4 V, and no pull-up of the chip's (hearth/board.py).
    for part in circuit.kind("load"):
        if "turns" in part.pins and not circuit.between("tach", "3V3", "diode"):
            yield f"{part.ref}: its turns wire is not led away to 3.3 V; fit D7."


def controls(circuit: Circuit) -> Iterator[str]:
    """What holds a gate or base off is 4.7 to 22 k; what drives a base 680 ohm to 4.7 k, a gate 33 to 330 ohm."""
    for part in circuit.kind("nmos", "npn", "pmos"):
        name = "B" if "B" in part.pins else "G"
        gate, source = part.pins[name], part.pins["E" if name == "B" else "S"]
        if part.pins.get("D") == "12V_fused":
            continue
        for resistor, net in circuit.resistors(gate):
            if net in (source, GROUND):
                least, most, does = *PULL, "holds it off"
            elif net.startswith("12V"):
                continue  # from the fan's 12 V: faults.py
            else:
                least, most, does = (33.0, 470.0, "drives it") if name == "G" else (680.0, 4.7e3, "drives it")
            if not least <= resistor.value <= most:
                yield f"{resistor.ref}: {resistor.value:g} ohm {does} at {part.ref}; {least:g} to {most:g} ohm do."
    for part in circuit.kind("chip", "load"):
        ins = list(circuit.of(part).get("follows", {}).values()) + ["in"] * ("in" in part.pins)
        for pin in ins:
            for resistor, net in circuit.resistors(part.pins[pin]):
                if net == GROUND and not PULL[0] <= resistor.value <= PULL[1]:
                    yield f"{resistor.ref}: {resistor.value:g} ohm holds {part.ref} off; {PULL[0]:g} to {PULL[1]:g} do."


def guard_of_the_supply(circuit: Circuit) -> Iterator[str]:
    """The reverse polarity guard's gate goes to ground by 1 to 100 k, and a diode feeds the Pico from 5V."""
    for part in circuit.kind("pmos"):
        if part.pins["D"] == "12V_fused":
            for resistor in circuit.between(part.pins["G"], GROUND, "resistor"):
                if not 1e3 <= resistor.value <= 100e3:
                    yield f"{resistor.ref}: {resistor.value:g} ohm; 1 to 100 k turn {part.ref} on."
    feeds = [d for d in circuit.kind("diode") if d.pins["K"] == "vsys"]
    if [d.pins["A"] for d in feeds] != ["5V"]:
        yield "U1: vsys is not fed from 5V by one diode; fit D3."


def only_what_belongs(circuit: Circuit) -> Iterator[str]:
    """A net of microvolts, of a probe, of a channel or of the bus has on it what belongs there, and nothing else."""
    for net in circuit.nets():
        pins = [(p, pin) for p, pin in circuit.on(net) if circuit.of(p)["kind"] != "test"]
        kinds = sorted(circuit.of(p)["kind"] for p, _ in pins)
        if any(circuit.role(p, pin) == "couple" or circuit.of(p)["kind"] == "couple" for p, pin in pins):
            wrong = {*kinds} - {"couple", "terminal", "ferrite", "capacitor", "chip"}
            if wrong or sum(circuit.role(p, pin) not in ("couple", "") for p, pin in pins):
                yield f"Net {net} of the couple also reaches {', '.join(sorted(p.ref for p, _ in pins))}."
        probed = net != GROUND and "probe" in kinds
        if probed and kinds != ["probe", "resistor", "resistor", "terminal"]:
            yield f"Net {net} of a probe has on it {', '.join(kinds)}."
        channel = [pin for p, pin in pins if p.type == "mux" and pin.startswith("Y")]
        if net != GROUND and channel:
            right = (
                ["chip", "resistor", "resistor"]
                if f"Y{mux.REFERENCE}" in channel
                else ["capacitor", "chip", "resistor"]
            )
            if kinds != right or len(channel) > 1:
                yield f"Net {net} of channel {' and '.join(channel)} has on it {', '.join(kinds)}."
        chips = [p.ref for p, _ in pins if circuit.of(p)["kind"] == "chip"]
        if net in circuit.outputs and len(chips) > 2:
            yield f"Net {net} reaches {len(chips)} pins of chips."
        if any(pin == "turns" for _, pin in pins) and kinds != ["load", "resistor", "resistor", "terminal"]:
            yield f"Net {net} of the fan's turns has on it {', '.join(kinds)}."


def pins_as_in_the_firmware(circuit: Circuit) -> Iterator[str]:
    """Each pin of the Pico is on the net that the firmware calls by its number."""
    from hearth.board import PINS

    for name, gp in PINS.items():
        if name == "led":
            continue
        for chip in circuit.kind("chip"):
            if chip.type == "pico" and chip.pins.get(f"GP{gp}") != name:
                yield f"{chip.ref}: its GP{gp} is on {chip.pins.get(f'GP{gp}')}; the firmware has {name} there."
    for name, row in read("pins.toml").items():
        if EDGE.get(row["gp"]) != row["pin"]:
            yield f"pins.toml: GP{row['gp']} ({name}) is pin {EDGE.get(row['gp'])} of the edge, not {row['pin']}."


def legs(circuit: Circuit) -> Iterator[str]:
    """Each leg is the one of the data sheet (datasheets.toml), whatever the stock says."""
    for type_, sheet in read("datasheets.toml").items():
        said = circuit.stock[type_].get("legs", {})
        numbers = {number.split(",")[0]: pin for pin, number in said.items()}
        for number in sorted({*numbers, *sheet["legs"]}, key=int):
            if numbers.get(number) != sheet["legs"].get(number):
                yield (
                    f"stock.toml: leg {number} of {type_} is {numbers.get(number, 'nothing')}; its data sheet has "
                    f"{sheet['legs'].get(number, 'nothing')}."
                )


def rails(circuit: Circuit) -> Iterator[str]:
    """Ground pins are on ground, power pins on their rail, rails that a part makes on their own net."""
    for part in circuit.kind("chip", "module"):
        of = circuit.of(part)
        for pin, net in part.pins.items():
            role = circuit.role(part, pin)
            right = GROUND if role == "ground" else of.get("rails", {}).get(pin, "")
            if right and net != right:
                yield f"{part.ref}: its pin {pin} is on {net}, and belongs on {right}."
    for part in circuit.kind("module"):
        if part.pins["OUT"] != "5V":
            yield f"{part.ref}: its output is on {part.pins['OUT']}, and belongs on 5V."


def polarity_of_the_couple(circuit: Circuit) -> Iterator[str]:
    """Plus of the couple ends at T+, through its ferrite, and nowhere else."""
    for chip in circuit.kind("chip"):
        if chip.type != "converter":
            continue
        for pin, end in (("T+", "+"), ("T-", "-")):
            reached = {chip.pins[pin]} | {f.other(chip.pins[pin]) for f in _ferrites(circuit, chip.pins[pin])}
            for couple in circuit.kind("couple"):
                if couple.pins[end] not in reached:
                    yield f"{chip.ref}: its {pin} does not end at the {end} of {couple.ref}; it would read backwards."


def same_pins(circuit: Circuit) -> Iterator[str]:
    """No part has both of its ends on one net: it would do nothing."""
    for part in circuit.parts.values():
        nets = list(part.pins.values())
        if len(nets) == 2 and nets[0] == nets[1]:
            yield f"{part.ref}: both ends are on {nets[0]}."


def links_in_order(circuit: Circuit) -> Iterator[str]:
    """The jumper joins the fan's pin with the driver of the blower, or with the base of the speed wire's transistor."""
    for part in circuit.kind("link"):
        two, four = part.pins["two"], part.pins["four"]
        if part.pins["common"] != "fan":
            yield f"{part.ref}: its middle is on {part.pins['common']}, and belongs on fan."
        if not any(circuit.role(p, pin) == "in" for p, pin in circuit.on(two)):
            yield f"{part.ref}: its end for two wires does not reach the gate driver."
        bases = {p.pins["B"] for p in circuit.kind("npn")}
        if not any(other in bases for _, other in circuit.resistors(four)):
            yield f"{part.ref}: its end for four wires does not reach the base of Q4."


def _ferrites(circuit: Circuit, net: str) -> list[Part]:
    return [p for p, _ in circuit.on(net) if circuit.of(p)["kind"] == "ferrite"]


RULES = (
    capacitors,
    dividers,
    known_resistor,
    long_wires,
    pins_as_in_the_firmware,
    legs,
    rails,
    polarity_of_the_couple,
    same_pins,
    links_in_order,
    controls,
    guard_of_the_supply,
    only_what_belongs,
)
