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
            most = min([_surge(circuit), *held])
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
    surge = _surge(circuit)
    for part in circuit.kind("diode"):
        of = circuit.of(part)
        against = surge if any(net.startswith("12V") for net in part.pins.values()) else 5.25
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
    surge = _surge(circuit)
    for part, _ in circuit.on("12V"):
        of = circuit.of(part)
        if of["kind"] in ("module", "pmos", "capacitor") and of["volts"] < surge:
            yield f"{part.ref}: bears {of['volts']} V, but {surge} V may stand on 12V until the fuse blows."
    for part in circuit.kind("nmos"):
        if circuit.of(part)["volts"] < surge + 0.6:
            yield f"{part.ref}: bears {circuit.of(part)['volts']} V, but {surge + 0.6:.1f} V may stand at its drain."


def zener_heat(circuit: Circuit) -> Iterator[str]:
    """A zener diode bears what the surge drives through it."""
    surge = _surge(circuit)
    for part in circuit.kind("zener"):
        of = circuit.of(part)
        paths = [r.value for r, net in circuit.resistors(part.pins["A"]) if not net.startswith("12V")]
        if paths and (surge - of["volts"]) / min(paths) * of["volts"] > of["watts"]:
            yield f"{part.ref}: {surge} V drive more than {of['watts']} W through it; enlarge the resistor at its gate."


def resistors_and_capacitors(circuit: Circuit) -> Iterator[str]:
    """No resistor gets more than half its power, no capacitor more than its voltage or the wrong way."""
    worst: dict[str, float] = {}
    for case in CASES:
        at = voltages(circuit, case)
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
    at = voltages(circuit, "drive")
    for net in circuit.outputs:
        amps = sum(max(0.0, at[net] - at[other]) / r.value for r, other in circuit.resistors(net))
        for link in (p for p, _ in circuit.on(net) if circuit.of(p)["kind"] == "link"):
            for side in (link.pins["two"], link.pins["four"]):
                amps = max(amps, sum(max(0.0, at[net] - at[o]) / r.value for r, o in circuit.resistors(side)))
        if amps > PIN_AMPS:
            yield f"U1: {amps * 1e3:.1f} mA from its pin of {net}; more than {PIN_AMPS * 1e3:.0f} mA."
    for part in circuit.kind("npn"):
        base = [(r, net) for r, net in circuit.resistors(part.pins["B"]) if net != part.pins["E"]]
        into = sum((at[net] - 0.7) / r.value for r, net in base if net in at)
        out = sum((at[net] - 0.1) / r.value for r, net in circuit.resistors(part.pins["C"]) if net in at)
        if any("speed" in m.pins and m.pins["speed"] == part.pins["C"] for m in circuit.kind("load")):
            out += 0.008  # Intel's rule for four-wire fans: a driver sinks 5 mA, better 8 mA
        if out > into * 20.0:
            yield f"{part.ref}: its base gets {into * 1e3:.2f} mA for {out * 1e3:.1f} mA; it would not conduct well."


def supplies(circuit: Circuit) -> Iterator[str]:
    """Fuse, 12 V supply, step-down module and the Pico's 3.3 V carry the parts that they feed."""
    twelve, five, logic = (budget(circuit, rail) for rail in ("12V", "5V", "3V3"))
    for part in circuit.kind("fuse"):
        of = circuit.of(part)
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


def _surge(circuit: Circuit) -> float:
    """V that may stand on 12 V until the fuse blows: what the suppressor lets through, or a supply of 24 V."""
    clamps = [float(circuit.of(part)["clamp"]) for part in circuit.kind("tvs")]
    return min(clamps, default=25.2)


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
)
