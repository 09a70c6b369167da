"""The electrical rule check of what the parts withstand: voltage, current, heat, at their worst."""

from __future__ import annotations

from collections.abc import Iterator

from circuit import Circuit
from stress import FUSES, LEAST, PWM, budget, fuse_for, heat, voltages

CASES = ("dead", "rest", "fed", "drive")
PIN_AMPS = 0.004  # A from a pin of the Pico at its usual drive strength


def gate_level(circuit: Circuit) -> Iterator[str]:
    """A MOSFET is driven at least as far as its data sheet states a resistance for, and never past its gate's limit."""
    low, high = voltages(circuit, "drive", LEAST), voltages(circuit, "drive")
    for part in circuit.kind("nmos", "pmos"):
        of, gate, source = circuit.of(part), part.pins["G"], part.pins["S"]
        if gate not in low:
            continue  # rules.py says so
        zeners = [z for z in circuit.between(gate, source, "zener") if z.pins["K"] == source]
        held = [circuit.of(z)["volts"] for z in zeners]
        reached = min([heat(circuit, part.ref, 0.0).gate, *held])
        if reached < of["ohms_at"]:
            yield (
                f"{part.ref}: its gate gets {reached:.1f} V, but its resistance is stated from {of['ohms_at']} V on; "
                "choose a MOSFET for this gate."
            )
        most = abs(high[gate] - high[source])
        if of["kind"] == "pmos":
            most = min([surge(circuit), *held])
        if most > of["gate_volts"]:
            yield f"{part.ref}: up to {most:.1f} V at its gate, which bears {of['gate_volts']} V; fit its zener diode."


def switches_stay_cool(circuit: Circuit) -> Iterator[str]:
    """No MOSFET's junction gets hotter than it may, in a warm box, without a heat sink; and none carries too much."""
    low = voltages(circuit, "drive", LEAST)
    for part in circuit.kind("nmos", "pmos"):
        if part.pins["G"] not in low:
            continue
        of = circuit.of(part)
        motor = next((m for m in circuit.kind("load") if part.pins["D"] in (m.pins["+"], m.pins["-"])), None)
        amps, worst = (budget(circuit, "12V").usual, budget(circuit, "12V").worst)
        if motor is not None:
            amps, worst = circuit.of(motor)["draws_12v"]
        found = heat(circuit, part.ref, amps, PWM if of["kind"] == "nmos" else 0.0)
        if found.junction > of["junction"] - 25.0:
            yield (
                f"{part.ref}: its junction would reach {found.junction:.0f} C of {of['junction']} C; "
                "choose a lower resistance."
            )
        if worst > of["amps"]:
            yield f"{part.ref}: carries {worst:.1f} A, but is made for {of['amps']} A."


def diodes(circuit: Circuit) -> Iterator[str]:
    """A diode bears the voltage against it and the current through it."""
    stands = surge(circuit)
    for part in circuit.kind("diode"):
        of = circuit.of(part)
        against = stands if any(net.startswith("12V") for net in part.pins.values()) else 5.25
        if against > of["volts"]:
            yield f"{part.ref}: {against:.1f} V stand against it, it bears {of['volts']} V."
        motor = [m for m in circuit.kind("load") if set(part.pins.values()) == {m.pins["+"], m.pins["-"]}]
        amps = 0.0
        if motor:  # pulsed, it carries D (1 - D) of the fan's current; a supply that is switched once a minute, nothing
            pulsed = any(n.pins["D"] in part.pins.values() for n in circuit.kind("nmos"))
            usual, start = circuit.of(motor[0])["draws_12v"]
            amps = usual * (0.25 if pulsed else 0.0)
            if pulsed and start > of["amps"]:
                yield f"{part.ref}: takes {start} A at the fan's start, but is made for {of['amps']} A."
            for switch in circuit.kind("nmos") if pulsed else ():
                rise = heat(circuit, switch.ref, usual, PWM).rise_us * 1e3
                if of.get("recovers_ns", 0.0) > rise / 5:
                    yield (
                        f"{part.ref}: blocks after {of['recovers_ns']} ns, but {switch.ref} conducts after {rise:.0f} "
                        "ns: each pulse would short the 12 V; take a fast diode."
                    )
        elif "vsys" in part.pins.values():
            amps = circuit.stock["pico"]["draws_5v"][1] + budget(circuit, "3V3").worst
        hot = 50.0 + amps * of["drop"] * of["theta"]
        if amps > of["amps"] or hot > of["junction"] - 25.0:
            yield f"{part.ref}: {amps:.2f} A make it {hot:.0f} C hot; it bears {of['amps']} A and {of['junction']} C."


def suppressor(circuit: Circuit) -> Iterator[str]:
    """The suppressor does not conduct at 12 V and clamps below what every part on 12 V bears."""
    for part in circuit.kind("tvs"):
        of = circuit.of(part)
        if part.pins["A"] != "gnd":
            yield f"{part.ref}: the wrong way round, it shorts the supply; its band goes to {part.pins['A']}."
        if of["standoff"] < 12.6:
            yield f"{part.ref}: conducts from {of['standoff']} V, below a supply of 12 V and 5 %."
    stands = surge(circuit)
    for part in circuit.kind("tvs"):
        if circuit.of(part)["watts"] < 400:
            yield f"{part.ref}: {circuit.of(part)['watts']} W are too few for what a long cable can give; take 600 W."
    for part in circuit.parts.values():
        of = circuit.of(part)
        twelve = any(net.startswith("12V") for net in part.pins.values())
        against = stands if twelve else 3.3 if of["kind"] == "button" else 0.0
        if (
            of["kind"] in ("module", "pmos", "capacitor", "terminal", "fuse", "button")
            and of.get("volts", 99) < against
        ):
            yield f"{part.ref}: bears {of['volts']} V, but {against} V may stand on it."
    for part in circuit.kind("nmos"):
        drops = [circuit.of(d)["drop"] for d in circuit.kind("diode") if d.pins["A"] == part.pins["D"]]
        reached = stands + max(drops, default=0.0)
        if circuit.of(part)["volts"] < reached:
            yield f"{part.ref}: bears {circuit.of(part)['volts']} V, but {reached:.1f} V may stand at its drain."


def zener_heat(circuit: Circuit) -> Iterator[str]:
    """A zener diode bears what the surge drives through it."""
    stands = surge(circuit)
    for part in circuit.kind("zener"):
        of = circuit.of(part)
        paths = [r.value for r, net in circuit.resistors(part.pins["A"]) if not net.startswith("12V")]
        if paths and (stands - of["volts"]) / min(paths) * of["volts"] > of["watts"]:
            yield f"{part.ref}: {stands} V drive more than {of['watts']} W through it; enlarge its resistor."


def resistors_and_capacitors(circuit: Circuit) -> Iterator[str]:
    """No resistor gets more than half its power, no capacitor more than its voltage or the wrong way."""
    worst: dict[str, float] = {}
    for case, wires in ((case, wires) for case in CASES for wires in (2, 4)):
        at = voltages(circuit, case, wires=wires)
        for part in circuit.kind("resistor", "capacitor"):
            a, b = (at.get(net, 0.0) for net in part.pins.values())
            worst[part.ref] = max(worst.get(part.ref, 0.0), abs(a - b))
    at = voltages(circuit, "rest")
    for part in circuit.kind("capacitor"):
        if part.type == "electrolytic" and at.get(part.pins["+"], 0.0) < at.get(part.pins["-"], 0.0):
            yield f"{part.ref}: the wrong way round; its plus goes to {part.pins['-']}."
    for part in circuit.kind("resistor"):
        watts = worst[part.ref] ** 2 / part.value
        if watts > circuit.of(part)["watts"] / 2:
            yield f"{part.ref}: {watts:.2f} W in a resistor of {circuit.of(part)['watts']} W."
    for part in circuit.kind("capacitor"):
        if worst[part.ref] > circuit.of(part)["volts"]:
            yield f"{part.ref}: {worst[part.ref]:.1f} V on a capacitor of {circuit.of(part)['volts']} V."


def pins_of_the_pico(circuit: Circuit) -> Iterator[str]:
    """No pin of the Pico gives more than it can, and a base gets enough to conduct."""
    for net in circuit.outputs:
        amps = 0.0
        for wires, side in ((2, "two"), (4, "four")):
            at = voltages(circuit, "drive", wires=wires)
            sides = [p.pins[side] for p, _ in circuit.on(net) if circuit.of(p)["kind"] == "link"]
            drawn = [
                max(0.0, at[net] - at[o]) / r.value for n in (net, *sides) for r, o in circuit.resistors(n) if o in at
            ]
            amps = max(amps, sum(drawn))
        if amps > PIN_AMPS:
            yield f"U1: {amps * 1e3:.1f} mA from its pin of {net}; more than {PIN_AMPS * 1e3:.0f} mA."
    for part in circuit.kind("npn"):
        of = circuit.of(part)
        at = voltages(circuit, "drive", wires=4 if part.sheet == "four_wire" else 2)
        base = [(r, net) for r, net in circuit.resistors(part.pins["B"]) if net != part.pins["E"]]
        into = sum((at[net] - of.get("base", 0.7)) / r.value for r, net in base if net in at)
        out = sum((at[net] - 0.1) / r.value for r, net in circuit.resistors(part.pins["C"]) if net in at)
        if any("speed" in m.pins and m.pins["speed"] == part.pins["C"] for m in circuit.kind("load")):
            out += 0.008  # Intel's rule for four-wire fans: a driver sinks 5 mA, better 8 mA
        calls = [m for m in circuit.kind("load") if m.pins["-"] == part.pins["C"]]
        out += sum(circuit.of(m)["draws_12v"][1] for m in calls)
        if out > of["amps"]:
            yield f"{part.ref}: carries {out:.2f} A, but is made for {of['amps']} A."
        if out > into * of["gain"] / 5.0:
            yield f"{part.ref}: its base gets {into * 1e3:.2f} mA for {out * 1e3:.1f} mA; it would not conduct well."


def supplies(circuit: Circuit) -> Iterator[str]:
    """Fuse, 12 V supply, step-down module and the Pico's 3.3 V carry the parts that they feed."""
    twelve, five, logic = (budget(circuit, rail) for rail in ("12V", "5V", "3V3"))
    for part in circuit.kind("fuse"):
        of = circuit.of(part)
        if part.type != "fuse":
            carries = five.worst * 5.25 / 10.8 / 0.85
            for load in circuit.kind("load"):
                if load.pins["+"] in part.pins.values():
                    carries = circuit.of(load)["draws_12v"][1]
            if not carries <= of["amps"] <= 5.0 * carries:
                yield f"{part.ref}: {of['amps']} A do not fit {carries:.2f} A at worst."
            continue
        try:
            right = fuse_for(twelve.usual)
        except ValueError as error:
            yield f"{part.ref}: {error}."
            continue
        if not right <= of["amps"] <= FUSES[min(FUSES.index(right) + 1, len(FUSES) - 1)]:
            yield f"{part.ref}: {of['amps']} A do not fit {twelve.usual:.2f} A all the time; take {right:g} A."
        carriers = [p for p in circuit.kind("terminal", "pmos") if {"12V_in", "12V_fan"} & set(p.pins.values())]
        for carrier in carriers:
            if circuit.of(carrier)["amps"] < of["amps"]:
                yield f"{carrier.ref}: bears {circuit.of(carrier)['amps']} A, less than the fuse."
    for part in circuit.kind("source"):
        if circuit.of(part)["amps"] < max(twelve.worst, 1.5 * twelve.usual):
            yield f"{part.ref}: gives {circuit.of(part)['amps']} A, too little for {twelve.worst:.1f} A."
    for part in circuit.kind("module"):
        if circuit.of(part)["supplies"] < five.worst:
            yield f"{part.ref}: gives {circuit.of(part)['supplies']} A, too little for {five.worst:.2f} A."
    if logic.worst > circuit.stock["pico"]["supplies"]:
        gives = circuit.stock["pico"]["supplies"]
        yield f"U1: {logic.worst * 1e3:.0f} mA from its 3.3 V, which gives {gives * 1e3:.0f} mA."


def surge(circuit: Circuit) -> float:
    """V that may stand on 12 V until the fuse blows: what the suppressor lets through, or a supply of 24 V."""
    clamps = [float(circuit.of(part)["clamp"]) for part in circuit.kind("tvs")]
    return min(clamps, default=25.2)


def small_transistors(circuit: Circuit) -> Iterator[str]:
    """An NPN bears the supply's surge at its collector, a thyristor and a driver what they meet."""
    for part in circuit.kind("npn"):
        of = circuit.of(part)
        reaches = {part.pins["C"], *(net for _, net in circuit.resistors(part.pins["C"]))}
        loads = [m.pins["+"] for m in circuit.kind("load") if part.pins["C"] in m.pins.values()]
        against = surge(circuit) if any(net.startswith("12V") for net in (*reaches, *loads)) else 5.25
        amps = max(
            (circuit.of(m)["draws_12v"][1] for m in circuit.kind("load") if m.pins["-"] == part.pins["C"]), default=0
        )
        if amps * of.get("saturated", 0.1) > of["watts"] / 2:
            yield f"{part.ref}: {amps} A make it hotter than {of['watts']} W."
        if against > of["volts"]:
            yield f"{part.ref}: {against:.1f} V at its collector, which bears {of['volts']} V."
    for part in circuit.kind("thyristor"):
        if circuit.of(part)["volts"] < 2 * surge(circuit) or circuit.of(part)["amps"] < 5.0:
            yield f"{part.ref}: is made for less than the 12 V and 5 A that it has to short."


def drain_follows(circuit: Circuit) -> Iterator[str]:
    """The divider of the drain settles within a fifth of the shortest pulse it must show: 10 % of 1 ms."""
    for part in circuit.kind("capacitor"):
        if "drain" not in part.pins.values():
            continue
        legs = [1.0 / r.value for r, _ in circuit.resistors("drain")]
        if legs and part.value / sum(legs) > 20e-6:
            yield f"{part.ref}: too large; the drain would be seen {part.value / sum(legs) * 1e6:.0f} us late."


RULES = (
    gate_level,
    switches_stay_cool,
    diodes,
    suppressor,
    zener_heat,
    resistors_and_capacitors,
    pins_of_the_pico,
    supplies,
    drain_follows,
    small_transistors,
)
