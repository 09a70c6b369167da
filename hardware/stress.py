"""What the parts have to bear: voltages of every net, heat of the switches, currents of the supplies, the fuse.

Voltages come from the net list in four cases: `dead` (12 V is there, nobody drives the Pico's pins), `rest` (the fan is
off as the firmware leaves it), `fed` (only the fan's 12 V are on, as when the board looks at the drain) and `drive`
(all outputs high, the button pressed, the probes hot). A transistor conducts where its gate or base says so, or where
it is said to have failed. Which of the two fans is plugged in, and where the jumper stands, is `wires`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from circuit import GROUND, Circuit, Part

MOST = 15.0  # V: the highest supply that must do no harm at all
LEAST = 10.8  # V: 12 V less 10 %
LOGIC = 3.3
LOGIC_LEAST = 3.13  # 3.3 V less 5 %, what a gate can count on
FIVE, FIVE_LEAST = 5.25, 4.75  # V: 5 V and 5 %
PIN_OHMS = 170.0  # (3.3 - 2.62) V / 4 mA: RP2040 datasheet, output high voltage at the usual drive strength
AMBIENT = 50.0  # C in a box in the sun beside a fire (common practice, no source)
HOT = 1.6  # Rds(on) at 125 C over that at 25 C (from memory, from such data sheets' curves)
PWM = 1000.0  # Hz, two-wire blower
FUSES = (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0)  # A, IEC 60127 ratings
# Intel, 4-Wire Pulse Width Modulation Controlled Fans, rev 1.3: pulled up to 5.25 V at most, and gives 5 mA at most
SPEED_VOLTS, SPEED_OHMS, SPEED_LOW = 5.25, 1050.0, 0.8
BASE, SATURATED = 0.7, 0.1  # V at the base and the collector of an NPN that conducts
CONDUCTS = 0.6  # V at its base from which it does
SHORT, OPEN = "short", "open"
Leaks = Mapping[str, float]  # ref -> A that flow through a diode or a MOSFET while it blocks
Failed = Mapping[str, str]  # ref -> SHORT (a transistor conducts, a driver's output is high) or OPEN (the part is out)
_ROUNDS = 8  # until every transistor agrees with its gate


def voltages(
    circuit: Circuit,
    case: str,
    supply: float = MOST,
    wires: int = 2,
    failed: Failed | None = None,
    leaks: Leaks | None = None,
) -> dict[str, float]:
    """Net -> V in a `case` (see above). A net that nothing holds is not in it. `leaks` are taken as constant currents:
    where they are large, a net seems to stand above its rail or below ground."""
    failed = failed or {}
    asked = (case, supply, wires, tuple(failed.items()), tuple((leaks or {}).items()))
    if asked not in circuit.solved:
        circuit.solved[asked] = _settled(circuit, case, supply, wires, failed, leaks or {})
    return dict(circuit.solved[asked])


def _settled(circuit: Circuit, case: str, supply: float, wires: int, failed: Failed, leaks: Leaks) -> dict[str, float]:
    """The voltages at which every transistor agrees with its gate."""
    flows = [_leak(circuit.parts[ref], amps) for ref, amps in leaks.items()]
    on: frozenset[str] = frozenset(ref for ref, how in failed.items() if how == SHORT)
    shorted = on
    for _ in range(_ROUNDS):
        found = _solve(circuit, *_held(circuit, case, supply, wires, on, failed), flows)
        now = _conducting(circuit, found, failed) | shorted
        if now == on:
            break
        on = now
    return found


def _leak(part: Part, amps: float) -> tuple[str, str, float]:
    """(from net, to net, A) of the current against a diode, also the one inside a MOSFET."""
    pins = part.pins
    if "K" in pins:
        return pins["K"], pins["A"], amps
    return (pins["D"], pins["S"], amps) if part.type == "nmos" else (pins["S"], pins["D"], amps)


def _solve(
    circuit: Circuit,
    fixed: dict[str, float],
    links: list[tuple[str, str, float]],
    flows: list[tuple[str, str, float]],
) -> dict[str, float]:
    """Kirchhoff's law at every net that hangs on a held one; `flows` are currents: (from net, to net, A)."""
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
    for source, sink, amps in flows:
        for net, into in ((source, -amps), (sink, amps)):
            if net in at:
                right[at[net]] += into
    solved = np.linalg.solve(matrix, right) if free else right
    return fixed | {net: float(solved[row]) for net, row in at.items()}


def _conducting(circuit: Circuit, at: dict[str, float], failed: Failed) -> frozenset[str]:
    """The transistors and drivers that these voltages switch on."""
    on = set()
    for part in circuit.kind("npn", "nmos", "pmos", "chip"):
        of, pins = circuit.of(part), part.pins
        if failed.get(part.ref) == OPEN:
            continue
        if of["kind"] == "npn":
            conducts = at.get(pins["B"], 0.0) - at.get(pins["E"], 0.0) > CONDUCTS
        elif of["kind"] == "nmos":
            conducts = at.get(pins["G"], 0.0) - at.get(pins["S"], 0.0) > of["threshold"]
        elif of["kind"] == "pmos":
            conducts = at.get(pins["S"], 0.0) - at.get(pins["G"], 0.0) > of["threshold"]
        else:
            conducts = any(at.get(pins[of["follows"][out]], 0.0) > of["input_low"] for out in of.get("follows", {}))
        if conducts:
            on.add(part.ref)
    return frozenset(on)


def _levels(circuit: Circuit, case: str, wires: int) -> dict[str, float]:
    """What the Pico puts on its outputs: a four-wire fan's wire is held low, by a high pin, while the fan is off."""
    if case == "dead":
        return {}
    high = set(circuit.outputs) if case == "drive" else {"fan_supply"} if case == "fed" else set()
    if wires == 4 and case in ("rest", "fed"):
        high |= {"fan"}
    return {net: LOGIC if net in high else 0.0 for net in circuit.outputs}


def _held(
    circuit: Circuit, case: str, supply: float, wires: int, on: frozenset[str], failed: Failed
) -> tuple[dict[str, float], list[tuple[str, str, float]]]:
    """Nets held by a rail, a driven pin or a transistor that conducts; and what links nets: (net, net, ohm)."""
    high = case == "drive"
    levels = _levels(circuit, case, wires)
    fixed = {GROUND: 0.0, "12V_in": supply, "12V_fused": supply, "12V": supply}
    for fuse in circuit.kind("fuse"):  # a fuse is a piece of wire
        if "12V" in fuse.pins.values():
            fixed[fuse.other("12V")] = supply
    five = FIVE if supply >= 12.0 else FIVE_LEAST
    fixed |= {"5V": five, "vsys": five, "3V3": LOGIC, "vref": LOGIC}
    links: list[tuple[str, str, float]] = []
    for part in circuit.kind("chip"):
        for pin, net in part.pins.items():
            role = circuit.role(part, pin)
            if role == "couple":
                fixed[net] = 0.735  # MAX31856 data sheet: bias of the couple
            elif role == "drives":
                fixed[net] = five if part.ref in on else 0.0
            elif role in ("out", "analog"):
                fixed[net] = LOGIC if high else 0.0
            elif part.type == "pico" and net in levels:
                fixed[net] = levels[net]
    for part in circuit.parts.values():
        of, pins = circuit.of(part), part.pins
        kind = of["kind"]
        if failed.get(part.ref) == OPEN or (of.get("wires") and of["wires"] != wires):
            continue
        if kind == "resistor":
            links.append((*_two(part), part.value))
        elif kind == "ferrite":
            links.append((*_two(part), 1.0))
        elif kind == "link":
            links.append((pins["common"], pins["two" if wires == 2 else "four"], 0.1))
        elif kind == "load":
            usual = max(of.get("draws_12v", (0.0,)))
            if usual:
                links.append((pins["+"], pins["-"], 12.0 / usual))
            if "turns" in pins and high:
                fixed[pins["turns"]] = 0.0
            if "speed" in pins:
                fixed["*inside the fan"] = SPEED_VOLTS
                links.append(("*inside the fan", pins["speed"], SPEED_OHMS))
        elif kind == "probe" and high:
            links.append((*_two(part), 1000.0))
        elif kind == "button" and high:
            fixed |= {pins["1"]: 0.0, pins["A"]: 2.0}
        elif part.ref in on and kind == "npn":
            emitter = fixed.get(pins["E"], 0.0)
            if pins["B"] not in fixed:
                fixed[pins["B"]] = emitter + of.get("base", BASE)
            if pins["C"] not in fixed:
                fixed[pins["C"]] = emitter + of.get("saturated", SATURATED)
        elif part.ref in on and kind in ("nmos", "pmos"):
            links.append((pins["D"], pins["S"], of["ohms"]))
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
    gate = abs(low.get(part.pins["G"], 0.0) - low.get(part.pins["S"], 0.0))
    conducts = amps * amps * of["ohms"] * HOT
    switches = rise = 0.0
    if hertz:
        driven = [(r, net) for r, net in circuit.resistors(part.pins["G"]) if net != GROUND]
        chips = [p for _, net in driven for p, pin in circuit.on(net) if circuit.role(p, pin) == "drives"]
        ohms = sum(r.value for r, _ in driven) + (circuit.of(chips[0])["ohms"] if chips else PIN_OHMS)
        charge = of["miller_nc"] * 1e-9
        rise = charge * ohms / max(gate - of["threshold"], 0.1)
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
    top, foot = circuit.parts["R25"].value, circuit.parts["R26"].value
    drain = circuit.parts["C15"].value * top * foot / (top + foot)
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
            f"{circuit.of(circuit.parts['D4'])['amps']} A",
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
