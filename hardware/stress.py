"""What the parts have to bear: voltages of every net, heat of the switches, currents of the supplies, the fuse.

Voltages come from the resistors of the net list in four cases: `dead` (12 V is there, nobody drives the Pico's pins),
`rest` (all outputs low), `fed` (only the fan's 12 V are on, as when the board looks at the drain) and `drive` (all
outputs high, every switch closed, the button pressed).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from circuit import GROUND, Circuit, Part

MOST = 15.0  # V: the highest supply that must do no harm at all
LEAST = 10.8  # V: 12 V less 10 %
LOGIC = 3.3
LOGIC_LEAST = 3.13  # 3.3 V less 5 %, what a gate can count on
PIN_OHMS = 170.0  # (3.3 - 2.62) V / 4 mA: RP2040 datasheet, output high voltage at the usual drive strength
AMBIENT = 50.0  # C in a box in the sun beside a fire (common practice, no source)
HOT = 1.6  # Rds(on) at 125 C over that at 25 C (from memory, from such data sheets' curves)
PWM = 1000.0  # Hz, two-wire blower
FUSES = (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0)  # A, IEC 60127 ratings


def voltages(circuit: Circuit, case: str, supply: float = MOST) -> dict[str, float]:
    """Net -> V in a `case` (see above), without the nets that nothing holds."""
    fixed, links = _held(circuit, case, supply)
    known = set(fixed)
    while True:  # nets that resistors, in any number, tie to a held net
        more = {a for a, b, _ in links if b in known} | {b for a, b, _ in links if a in known}
        if more <= known:
            break
        known |= more
    free = [net for net in circuit.nets() if net in known and net not in fixed]
    at = {net: row for row, net in enumerate(free)}
    matrix, right = np.zeros((len(free), len(free))), np.zeros(len(free))
    for a, b, ohms in links:
        for here, there in ((a, b), (b, a)):
            if here in at:
                matrix[at[here], at[here]] += 1.0 / ohms
                if there in at:
                    matrix[at[here], at[there]] -= 1.0 / ohms
                else:
                    right[at[here]] += fixed[there] / ohms
    solved = np.linalg.solve(matrix, right) if free else right
    return fixed | {net: float(solved[row]) for net, row in at.items()}


def _held(circuit: Circuit, case: str, supply: float) -> tuple[dict[str, float], list[tuple[str, str, float]]]:
    """Nets held by a rail, a driven pin or a closed switch; and what links nets: (net, net, ohm)."""
    high = case == "drive"
    fed = "fan_supply" if case == "fed" else ""  # the output, and the sheet of what it switches
    fixed = {GROUND: 0.0, "12V_in": supply, "12V_fused": supply, "12V": supply}
    fixed |= {"5V": 5.25, "vsys": 5.25, "3V3": LOGIC, "vref": LOGIC}
    links: list[tuple[str, str, float]] = []
    chips = circuit.kind("chip")
    for part in chips:
        for pin, net in part.pins.items():
            role = circuit.role(part, pin)
            if role == "couple":
                fixed[net] = 0.735  # MAX31856 data sheet: bias of the couple
            elif role in ("out", "analog") or (part.type == "pico" and net in circuit.outputs and case != "dead"):
                fixed[net] = LOGIC if high or net == fed else 0.0
    for part in circuit.parts.values():
        kind, pins = circuit.of(part)["kind"], part.pins
        if kind == "resistor":
            links.append((*_two(part), part.value))
        elif kind == "ferrite":
            links.append((*_two(part), 1.0))
        elif kind == "link":
            links += [(pins["common"], pins["two"], 0.1), (pins["common"], pins["four"], 0.1)]
        elif kind == "load":
            usual = circuit.of(part).get("draws_12v", (0.0,))[0]
            if usual:
                links.append((pins["+"], pins["-"], 12.0 / usual))
            if "turns" in pins and high:
                fixed[pins["turns"]] = 0.0
            if "speed" in pins and not high:
                fixed[pins["speed"]] = 5.25
        elif kind == "probe" and high:
            links.append((*_two(part), 1000.0))
        elif kind == "button" and high:
            fixed |= {pins["1"]: 0.0, pins["A"]: 2.0}
        elif kind == "npn" and (high or part.sheet == fed):
            fixed |= {pins["B"]: 0.7, pins["C"]: 0.1}
        elif kind == "nmos" and high:
            fixed[pins["D"]] = 0.0
        elif kind == "pmos" and (high or part.sheet == fed):
            fixed[pins["D"]] = supply
    return fixed, links


def _two(part: Part) -> tuple[str, str]:
    first, second = part.pins.values()
    return first, second


@dataclass(frozen=True)
class Heat:
    """A MOSFET at work: V at its gate, W of conducting and of switching, us to switch on, C of its junction."""

    gate: float
    conducts: float
    switches: float
    rise_us: float
    junction: float


def heat(circuit: Circuit, ref: str, amps: float, hertz: float = 0.0, ambient: float = AMBIENT) -> Heat:
    """The heat of a MOSFET with `amps` all the time, at the lowest gate voltage and hot.

    Conducting: I^2 R. Switching: V I t f / 2 for each edge, t the Miller charge over the gate's current.
    """
    part = circuit.parts[ref]
    of = circuit.of(part)
    low = voltages(circuit, "drive", LEAST)
    gate = abs(low.get(part.pins["G"], 0.0) - low[part.pins["S"]])
    if of["kind"] == "nmos":
        gate *= LOGIC_LEAST / LOGIC
    conducts = amps * amps * of["ohms"] * HOT
    switches = rise = 0.0
    if hertz:
        ohms = PIN_OHMS + sum(r.value for r, net in circuit.resistors(part.pins["G"]) if net != GROUND)
        charge = of["miller_nc"] * 1e-9
        rise = charge * ohms / (gate - of["threshold"])
        fall = charge * ohms / of["threshold"]
        switches = 0.5 * MOST * amps * (rise + fall) * hertz
    junction = ambient + (conducts + switches) * of["theta"]
    return Heat(gate, conducts, switches, rise * 1e6, junction)


@dataclass(frozen=True)
class Budget:
    """A taken from a rail: most of the time, and at worst for a moment."""

    usual: float
    worst: float


def budget(circuit: Circuit, rail: str) -> Budget:
    """What the parts take from "3V3", "5V" or "12V"; of the two fans only one is there."""
    key = "draws_" + rail.lower()
    rows = [
        circuit.of(p)[key] for p in circuit.parts.values() if key in circuit.of(p) and not circuit.of(p).get("choice")
    ]
    usual, worst = (sum(row[column] for row in rows) for column in (0, 1))
    if rail == "3V3":
        at = voltages(circuit, "drive")
        pulls = sum(
            abs(at[net] - at[part.other(net)]) / part.value
            for net in ("3V3", "vref", *circuit.outputs)
            for part, _ in circuit.resistors(net)
            if at[net] > at[part.other(net)]
        )
        return Budget(usual + pulls, worst + pulls)
    module = circuit.stock["buck"]["yield"]
    if rail == "5V":
        logic = budget(circuit, "3V3")
        share = LOGIC / 5.0 / module
        return Budget(usual + logic.usual * share, worst + logic.worst * share)
    five = budget(circuit, "5V")
    share = 5.25 / 12.0 / module
    return Budget(usual + five.usual * share, worst + five.worst * share)


def fuse_for(amps: float) -> float:
    """The next fuse, A, that carries `amps` all the time: at three quarters of its rating, less 7 % in a warm box.

    Three quarters: so that a fuse by the UL standard holds too. Both are common practice, no source.
    """
    for rating in FUSES:
        if rating * 0.75 * 0.93 >= amps:
            return rating
    raise ValueError(f"{amps:.1f} A is more than this circuit is made for; use a smaller fan")


def figures(circuit: Circuit) -> list[tuple[str, str, str]]:
    """The figures a builder may want to see: (what, how much, its limit)."""
    fan = circuit.of(circuit.parts["M1"])["draws_12v"][0]
    twelve, five, logic = (budget(circuit, rail) for rail in ("12V", "5V", "3V3"))
    one, two, three = heat(circuit, "Q1", fan, PWM), heat(circuit, "Q2", twelve.usual), heat(circuit, "Q3", fan)
    nmos, pmos, buck = circuit.stock["nmos"], circuit.stock["pmos"], circuit.stock["buck"]
    fuse, supply = circuit.stock["fuse"], circuit.stock["mains_supply"]
    at = voltages(circuit, "fed")
    drain = circuit.parts["C15"].value * 47e3 * 10e3 / 57e3
    return [
        ("Q1: gate at its lowest", f"{one.gate:.2f} V", f"Rds(on) stated at {nmos['ohms_at']} V"),
        (f"Q1: heat at {fan} A, conducting", f"{one.conducts:.2f} W", ""),
        (f"Q1: heat at {fan} A, switching at 1 kHz", f"{one.switches:.3f} W", f"switches on in {one.rise_us:.1f} us"),
        ("Q1: junction in a box of 50 C, no heat sink", f"{one.junction:.0f} C", f"{nmos['junction']} C"),
        ("Q2: junction, all current through it", f"{two.junction:.0f} C", f"{pmos['junction']} C"),
        ("Q3: junction, the fan's 12 V", f"{three.junction:.0f} C", f"{pmos['junction']} C"),
        (
            "D4: most it carries on average, a quarter of the fan",
            f"{fan / 4:.2f} A",
            f"{circuit.stock['schottky_3a']['amps']} A",
        ),
        ("ADC pins at a supply of 15 V", f"{max(at['supply'], at['drain']):.2f} V", "3.3 V"),
        ("drain filter against the shortest pulse it must show", f"{drain * 1e6:.0f} us", "a fifth of 100 us"),
        ("from 3.3 V", f"{logic.usual * 1e3:.0f} mA, {logic.worst * 1e3:.0f} mA at worst", "300 mA"),
        ("from 5 V", f"{five.usual:.2f} A, {five.worst:.2f} A at worst", f"{buck['supplies']} A"),
        ("from 12 V", f"{twelve.usual:.2f} A, {twelve.worst:.2f} A for a second", f"{supply['amps']} A"),
        (
            "power at 12 V",
            f"{twelve.usual * 12:.0f} W, {twelve.worst * 12:.0f} W for a second",
            f"{supply['amps'] * 12} W",
        ),
        ("fuse", f"T{fuse_for(twelve.usual):g}A", f"blows at {fuse['amps'] * fuse['blows']:.1f} A"),
    ]


if __name__ == "__main__":
    from netlist import build

    print("| what | how much | limit or note |\n|---|---|---|")
    for row in figures(build()):
        print("| " + " | ".join(row) + " |")
