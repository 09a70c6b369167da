"""The electrical rule check of how things are connected: each rule gives sentences, and a good circuit gives none.

`check` runs all of it. ratings.py has the rules for what parts withstand, faults.py what a single fault does,
leakage.py what leaks, values.py what each part must be worth. Run this file to see the sentences.
"""

from __future__ import annotations

from collections.abc import Iterator

import faults
import leakage
import ratings
import values
from circuit import GROUND, Circuit, Part
from netlist import PROBES, build
from stress import LOGIC, MOST, voltages

SELECTS = ("mux_1", "mux_2", "mux_4")
# Which wire of the thing outside goes to which pin. The four-wire fan's order is Intel's (stock.toml, header_4).
PLUGS = {
    "X1": ("PS1", {"1": "+", "2": "-"}),
    "X2": ("M1", {"1": "+", "2": "-"}),
    "X3": ("M2", {"1": "-", "2": "+", "3": "turns", "4": "speed"}),
    "X4": ("M3", {"1": "+", "2": "-", "3": "in"}),
    "X5": ("B1", {"+": "+", "-": "-"}),
    "X10": ("S1", {"1": "1", "2": "2", "3": "A"}),
    "X11": ("LS1", {"1": "+", "2": "-"}),
}
RAILS = (GROUND, "3V3", "vref", "5V", "vsys", "12V")


def check(circuit: Circuit) -> list[str]:
    """Everything that is wrong, one sentence each; empty if the circuit may be built."""
    return [
        said
        for rule in (*RULES, *faults.RULES, *leakage.RULES, *ratings.RULES, *values.RULES)
        for said in rule(circuit)
    ]


def fuse_first(circuit: Circuit) -> Iterator[str]:
    """A fuse lies between the supply and all parts, and behind it the guard against reverse polarity."""
    fuses = [fuse for fuse in circuit.kind("fuse") if "12V_in" in fuse.pins.values()]
    if not fuses:
        yield "No fuse between the 12 V supply and the board: a short would make the wires glow; fit F1."
        return
    before = {
        part.ref for part, _ in circuit.on("12V_in") if circuit.of(part)["kind"] not in ("fuse", "source", "terminal")
    }
    for ref in sorted(before):
        yield f"{ref} is fed from before the fuse; connect it to a net behind the fuse."
    behind = fuses[0].other("12V_in")
    guards = [p for p in circuit.kind("pmos") if p.pins["D"] == behind]
    if not guards:
        yield "Nothing guards against a supply the wrong way round: fit Q2, drain to the fuse, source to the board."
        return
    for part, _ in circuit.on(behind):
        if part not in (fuses[0], guards[0]):
            yield f"{part.ref} is fed from before the guard {guards[0].ref}; connect it behind it."
    guard = guards[0]
    if not any(r.value <= 100e3 for r in circuit.between(guard.pins["G"], GROUND, "resistor")):
        yield f"{guard.ref}: no resistor takes its gate to ground, so it never conducts well; fit R1 of 10 k."
    if not circuit.between(guard.pins["S"], GROUND, "tvs"):
        yield f"No suppressor across {guard.pins['S']}: a supply of 19 V or 24 V would reach every part; fit D1."


def all_fed(circuit: Circuit) -> Iterator[str]:
    """Each rail has its source, and each wire that leaves the board its terminal."""
    for net, kind, what in (
        ("12V_in", "source", "the 12 V supply PS1"),
        ("5V", "module", "the step-down module U2"),
        ("vsys", "diode", "the diode D3; without it USB would feed the 5 V side"),
        ("3V3", "chip", "the Pico U1"),
    ):
        if not any(circuit.of(part)["kind"] == kind for part, _ in circuit.on(net)):
            yield f"Nothing feeds {net}: fit {what}."
    for part in circuit.kind("diode"):
        if part.pins["A"] == "vsys":
            yield f"{part.ref}: the wrong way round, it feeds nothing; its band goes to vsys."
    for part in circuit.parts.values():
        if circuit.of(part).get("board", True) or circuit.of(part)["kind"] in ("ferrite", "terminal"):
            continue
        for net in part.pins.values():
            if not any(circuit.of(p)["kind"] == "terminal" for p, _ in circuit.on(net)):
                yield f"{part.ref}: no terminal on the board for its wire {net}."


def off_when_silent(circuit: Circuit) -> Iterator[str]:
    """With the Pico silent every switch is open: its gate or base is pulled to its source or emitter."""
    dead = voltages(circuit, "dead")
    for part in circuit.kind("nmos", "pmos", "npn"):
        gate, source = _control(part)
        if part.pins.get("D") == "12V_fused":
            continue  # the reverse polarity guard is meant to conduct
        if any("speed" in m.pins and m.pins["speed"] == part.pins.get("C") for m in circuit.kind("load")):
            continue  # holds a four-wire fan's wire low while the Pico is silent: faults.py
        name = "base" if "B" in part.pins else "gate"
        if not any(net == source and r.value <= 100e3 for r, net in circuit.resistors(gate)):
            way = "pull-up" if circuit.of(part)["kind"] == "pmos" else "pull-down"
            yield (
                f"{part.ref}: no {way} from its {name} to {source}, so it may switch on while the Pico is silent; "
                "fit 10 k."
            )
        elif gate not in dead or abs(dead[gate] - dead.get(source, 0.0)) > 0.4:
            yield f"{part.ref}: its {name} is not held at {source} while the Pico is silent."
    for part in circuit.kind("load"):
        if "in" in part.pins and dead.get(part.pins["in"], 1.0) > 0.4:
            yield f"{part.ref}: its wire {part.pins['in']} is not held low while the Pico is silent; pull it down."
        if (
            circuit.of(part).get("load") == "sounder"
            and dead.get(part.pins["+"], 0.0) - dead.get(part.pins["-"], 0.0) > 0.5
        ):
            yield f"{part.ref}: sounds while the Pico is silent."


def gate_resistor(circuit: Circuit) -> Iterator[str]:
    """Between a pin of the Pico and a gate or base there is a resistor."""
    for part in circuit.kind("nmos", "npn"):
        gate, _ = _control(part)
        drives = any(circuit.role(p, pin) == "drives" for p, pin in circuit.on(gate))
        if drives or gate in circuit.outputs or any(circuit.of(p)["kind"] == "link" for p, _ in circuit.on(gate)):
            yield f"{part.ref}: its gate or base is on a pin of a chip without a resistor between."


def flyback(circuit: Circuit) -> Iterator[str]:
    """Every motor has a diode, the right way round, that takes its current when its switch opens."""
    for part in circuit.parts.values():
        if circuit.of(part).get("load") not in ("motor", "sounder"):
            continue
        plus, minus = part.pins["+"], part.pins["-"]
        diodes = circuit.between(plus, minus, "diode")
        if not diodes:
            yield f"{part.ref}: no flyback diode across it; its switch would be destroyed at the first pulse."
        elif not any(diode.pins["K"] == plus for diode in diodes):
            yield (
                f"{diodes[0].ref}: the flyback diode of {part.ref} is the wrong way round and shorts the supply; "
                f"its band goes to {plus}."
            )


def two_ways_to_stop(circuit: Circuit) -> Iterator[str]:
    """Each motor's 12 V are switched, and it has a second switch of its own. faults.py works out that either of them
    stops it.

    The second one of a two-wire blower is its low side; of a four-wire fan its speed wire, held low while it is off.
    """
    dead = voltages(circuit, "dead")
    for part in circuit.parts.values():
        if circuit.of(part).get("load") != "motor":
            continue
        if not any(m.pins["D"] == part.pins["+"] for m in circuit.kind("pmos")):
            yield f"{part.ref}: no switch in its 12 V, so nothing stops it when another part has failed."
        if "speed" not in part.pins:
            if not any(m.pins["D"] == part.pins["-"] for m in circuit.kind("nmos")):
                yield f"{part.ref}: no switch in its minus, so nothing sets its speed."
            continue
        if dead.get(part.pins["+"], 0.0) - dead.get(part.pins["-"], 0.0) > 0.5:
            yield f"{part.ref}: 12 V are on while the Pico is silent, and its speed wire rises by itself: full speed."
        speed = [
            p for p, _ in circuit.on(part.pins["speed"]) if circuit.of(p)["kind"] not in ("load", "terminal", "test")
        ]
        if [circuit.of(p)["kind"] for p in speed] != ["npn"]:
            yield f"{part.ref}: its speed wire must see an open collector and nothing else; it has {_refs(speed)}."


def decoupled(circuit: Circuit) -> Iterator[str]:
    """Each chip has 100 nF at its own pins; a module has a capacitor at its input. (The Pico carries its own.)"""
    for part in circuit.kind("chip", "module"):
        if part.type == "pico":
            continue
        for pin, net in part.pins.items():
            if circuit.role(part, pin) != "power":
                continue
            caps = [c for c in circuit.between(net, GROUND, "capacitor") if c.near == part.ref and c.value >= 100e-9]
            if not caps:
                yield f"{part.ref}: no decoupling at its pin {pin}; fit 100 nF from {net} to ground beside it."
    motors = [p for p in circuit.parts.values() if circuit.of(p).get("load") == "motor"]
    bulk = sum(c.value for c in circuit.between("12V", GROUND, "capacitor"))
    if motors and bulk < 220e-6:
        yield "No bulk capacitor on 12 V for what the flyback diode gives back; fit C1 of 470 uF."
    servos = [p for p in circuit.parts.values() if circuit.of(p).get("load") == "electronic"]
    if servos and sum(c.value for c in circuit.between("5V", GROUND, "capacitor")) < 220e-6:
        yield "No bulk capacitor on 5 V: the servo's first pull would restart the Pico; fit C3 of 470 uF."


def no_high_voltage_on_logic(circuit: Circuit) -> Iterator[str]:
    """No pin of a chip sees more than it bears, with a supply of 15 V and in a surge, at rest and driven."""
    surge = ratings.surge(circuit)
    said = set()
    for case, wires in (("rest", 2), ("fed", 2), ("fed", 4), ("drive", 2), ("drive", 4)):
        for supply in (MOST, surge):
            at = voltages(circuit, case, supply, wires)
            for part in circuit.kind("chip"):
                for pin, net in part.pins.items():
                    most = _bears(circuit, part, pin)
                    if most and at.get(net, 0.0) > most and (part.ref, pin) not in said:
                        said.add((part.ref, pin))
                        yield f"{part.ref}: {at[net]:.1f} V on its pin {pin} (net {net}), which bears {most} V."


def pulled_up(circuit: Circuit) -> Iterator[str]:
    """An open collector that the Pico reads has a pull-up to 3.3 V; and a wire from a fan is held back and led away."""
    for part in circuit.kind("load"):
        if "turns" not in part.pins:
            continue
        turns = part.pins["turns"]
        if not circuit.between(turns, "3V3", "resistor"):
            yield f"{part.ref}: its open collector has no pull-up to 3.3 V; fit R10."
        if not circuit.between(turns, "tach", "resistor"):
            yield f"{part.ref}: its turns wire does not reach the Pico by a resistor; fit R11."
        onward = [(r, net) for r, net in circuit.resistors(turns) if net != "3V3"]
        surge = ratings.surge(circuit)
        for resistor, net in onward:
            for diode in circuit.between(net, "3V3", "diode"):
                led_away = LOGIC + circuit.of(diode)["drop_small"]
                if (surge - led_away) / resistor.value > 0.001:
                    yield f"{diode.ref}: a fan that pulls its wire to {surge} V gives it more than 1 mA; enlarge R11."
        if not any(r.value >= 4.7e3 and circuit.between(net, "3V3", "diode") for r, net in onward):
            yield f"{part.ref}: a fan that pulls its turns wire to 12 V would reach the Pico; fit R11 and D7."
        for _, net in onward:
            for diode in circuit.between(net, "3V3", "diode"):
                if diode.pins["K"] != "3V3":
                    yield f"{diode.ref}: the wrong way round; it holds {net} at 3.3 V. Its band goes to 3V3."


def senses_make_sense(circuit: Circuit) -> Iterator[str]:
    """An analog pin sees its voltage divided; the multiplexer's known channel a resistance; long wires are filtered."""
    at = voltages(circuit, "fed")
    for net in ("supply", "drain"):
        if not 1.0 < at.get(net, 0.0) <= 3.3:
            yield f"U1: {at.get(net, 0.0):.1f} V on net {net} with 15 V outside; its divider is not 47 k over 8.2 k."
    for part in circuit.kind("chip"):
        for pin, net in part.pins.items():
            if part.type == "mux" and pin.startswith("Y") and net != GROUND:
                near = [net, *(other for _, other in circuit.resistors(net))]
                if not any(circuit.between(n, "vref", "resistor") for n in near):
                    yield f"{part.ref}: no pull-up to vref for its channel {pin}."
                if not any(circuit.between(n, GROUND, "resistor", "probe") for n in near):
                    yield f"{part.ref}: neither probe nor known resistor at its channel {pin}."
            far = [other for _, other in circuit.resistors(net) if other not in RAILS]
            long = any(circuit.of(p)["kind"] == "terminal" for other in far for p, _ in circuit.on(other))
            reads = circuit.role(part, pin) == "in" or (pin.startswith("GP") and net not in circuit.outputs)
            if reads and (long or net in ("supply", "drain")) and not circuit.between(net, GROUND, "capacitor"):
                yield f"{part.ref}: no capacitor from its pin {pin} (net {net}) to ground, at the end of a long wire."


def couple_filtered(circuit: Circuit) -> Iterator[str]:
    """The filter of the MAX31856 data sheet: 100 nF across the couple, 10 nF from each side to ground; and ferrites."""
    for part in circuit.kind("chip"):
        if part.type != "converter":
            continue
        plus, minus = part.pins["T+"], part.pins["T-"]
        for a, b, least in ((plus, minus, 100e-9), (plus, GROUND, 10e-9), (minus, GROUND, 10e-9)):
            if not any(c.value >= least for c in circuit.between(a, b, "capacitor")):
                yield f"{part.ref}: no filter capacitor of {least * 1e9:.0f} nF between {a} and {b}."
        for net in (plus, minus):
            if not any(circuit.of(p)["kind"] == "ferrite" for p, _ in circuit.on(net)):
                yield f"{part.ref}: no ferrite bead in the couple's wire to {net}."


def as_the_program_counts(circuit: Circuit) -> Iterator[str]:
    """Each line of a bus, and each channel, is where the program counts on it; what is not used is tied to ground."""
    channels = [(f"Y{number}", f"{name}_in") for number, name in enumerate(PROBES)]
    right = {
        "mux": (*zip(("S0", "S1", "S2"), SELECTS, strict=True), ("E", GROUND), ("Z", "probes"), *channels),
        "converter": (("SCK", "clock"), ("SDI", "to_converter"), ("SDO", "from_converter"), ("CS", "converter")),
        "gate_driver": (("INB", GROUND),),
    }
    for part in circuit.parts.values():
        for pin, net in right.get(part.type, ()):
            if part.pins.get(pin) != net:
                yield f"{part.ref}: its pin {pin} is on {part.pins.get(pin)}, and belongs on {net}."
    for number, name in enumerate(PROBES):
        if not circuit.between(name, f"{name}_in", "resistor"):
            yield f"U4: no resistor from the socket of {name} to its channel Y{number}."


def plugs_in_order(circuit: Circuit) -> Iterator[str]:
    """Each plug and terminal has its wires in the order in which the thing at its other end is plugged in."""
    for plug, (ref, wires) in PLUGS.items():
        if plug not in circuit.parts or ref not in circuit.parts:
            continue  # others say so
        at, far = circuit.parts[plug].pins, circuit.parts[ref].pins
        for pin, wire in wires.items():
            if at[pin] != far[wire]:
                yield f"{plug}: its pin {pin} is on {at[pin]}, but {ref} has {far[wire]} there."
    for number, name in enumerate(PROBES):  # a probe has no right way round
        plug, ref = f"X{number + 6}", f"B{number + 2}"
        for part in (p for p in (circuit.parts.get(plug), circuit.parts.get(ref)) if p):
            if set(part.pins.values()) != {name, GROUND}:
                yield f"{part.ref}: joins {' and '.join(part.pins.values())}, and belongs between {name} and ground."


def nothing_floats(circuit: Circuit) -> Iterator[str]:
    """No net ends nowhere, and no input of a chip hangs in the air.

    An input on an output of the Pico is held: the pads of an RP2040 pull down from reset until they are driven
    (RP2040 datasheet, "Pads": pull-down enabled at reset; from memory).
    """
    at = voltages(circuit, "rest")
    dead = voltages(circuit, "dead")
    for net in circuit.nets():
        pins = circuit.on(net)
        if len(pins) < 2:
            yield f"{pins[0][0].ref}: its pin {pins[0][1]} goes nowhere."
    for part in circuit.kind("chip"):
        for pin, net in part.pins.items():
            is_input = circuit.role(part, pin) == "in" or (pin.startswith("GP") and net not in circuit.outputs)
            if is_input and net not in circuit.outputs and (net not in at or net not in dead):
                yield f"{part.ref}: its input {pin} (net {net}) floats; pull it up or down."
        named = circuit.of(part).get("pins", {})
        for pin in named:
            if pin not in part.pins:
                yield f"{part.ref}: its pin {pin} is not connected."
    for part in circuit.kind("chip"):
        if part.type == "converter" and not circuit.between(part.pins["CS"], "3V3", "resistor"):
            yield f"{part.ref}: its select has no pull-up, so it may answer while the Pico is silent; fit R12."


def _control(part: Part) -> tuple[str, str]:
    """The nets of gate and source, or of base and emitter."""
    if "B" in part.pins:
        return part.pins["B"], part.pins["E"]
    return part.pins["G"], part.pins["S"]


def _bears(circuit: Circuit, part: Part, pin: str) -> float:
    """V that a pin bears; 0 where nothing is said."""
    most = circuit.of(part).get("max_v", {})
    if pin.startswith("GP"):
        return float(most["adc" if pin in ("GP26", "GP27", "GP28") else "gpio"])
    return float(most.get(pin, most.get(circuit.role(part, pin), 0.0)))


def _refs(parts: list[Part]) -> str:
    return " and ".join(part.ref for part in parts) or "nothing"


RULES = (
    fuse_first,
    all_fed,
    off_when_silent,
    gate_resistor,
    flyback,
    two_ways_to_stop,
    decoupled,
    no_high_voltage_on_logic,
    pulled_up,
    senses_make_sense,
    couple_filtered,
    as_the_program_counts,
    plugs_in_order,
    nothing_floats,
)

if __name__ == "__main__":
    print("\n".join(check(build())) or "No rule is broken.")
