"""The rules on single faults: with any one part failed, no fan runs that should be off, and a failed switch shows.

Each fault is put into the circuit and the circuit is solved anew (`stress.voltages`).
"""

from __future__ import annotations

from collections.abc import Iterator

from circuit import GROUND, Circuit, Part
from hearth.drivers.sense import BLOWER, NO_BLOWER
from stress import BASE, LEAST, LOGIC_LEAST, MOST, OPEN, SHORT, SPEED_LOW, voltages

RUNS = 2.0  # V at a two-wire blower from which it may move air; a four-wire one's own electronics start at some 4 V
LOOK = 12.0  # V of supply at which the drain is judged
FAN_KINDS = (2, 4)


def runs(circuit: Circuit, at: dict[str, float], wires: int) -> bool:
    """Whether a fan with this number of wires moves air at these voltages; a four-wire one stands still at 0 %."""
    for part in circuit.kind("load"):
        if circuit.of(part).get("wires") != wires:
            continue
        fed = at.get(part.pins["+"], 0.0) - at.get(part.pins["-"], 0.0) > RUNS
        if fed and ("speed" not in part.pins or at.get(part.pins["speed"], 5.0) > SPEED_LOW):
            return True
    return False


def no_single_fault_feeds(circuit: Circuit) -> Iterator[str]:
    """With every single switch shorted, driver stuck high or resistor open, either fan is off, Pico silent or not."""
    switches = [(p, SHORT) for p in circuit.kind("nmos", "pmos", "npn") if p.pins.get("D") != "12V_fused"]
    switches += [(p, SHORT) for p in circuit.kind("chip") if circuit.of(p).get("follows")]
    pulls = [(p, OPEN) for p in circuit.kind("resistor") if p.sheet in ("fan_supply", "blower", "four_wire")]
    transistors = [(p, OPEN) for p in circuit.kind("npn") if p.sheet == "four_wire"]
    for wires in FAN_KINDS:
        for case in ("dead", "rest"):
            if runs(circuit, voltages(circuit, case, MOST, wires), wires):
                yield f"A fan of {wires} wires is on {_when(case)}, with no fault at all."
                continue
            for part, how in (*switches, *pulls, *transistors):
                if runs(circuit, voltages(circuit, case, MOST, wires, {part.ref: how}), wires):
                    yield f"{part.ref}: failed {how}, a fan of {wires} wires is on {_when(case)}."


def both_ways_stop(circuit: Circuit) -> Iterator[str]:
    """Each fan has two switches, and each of them alone stops it: the other one shorted, it still stands."""
    supply = [p for p in circuit.kind("pmos") if p.pins["D"] != "12V_fused"]
    for wires in FAN_KINDS:
        running = voltages(circuit, "fed", MOST, wires, {p.ref: SHORT for p in circuit.kind("nmos")})
        if not supply or not any(circuit.of(p).get("wires") == wires for p in circuit.kind("load")):
            continue
        if wires == 2 and not runs(circuit, running, wires):
            yield "M1: does not run with both of its switches closed."
    for part in circuit.kind("load"):
        if "speed" not in part.pins:
            continue
        low = voltages(circuit, "dead", LEAST, 4, {p.ref: SHORT for p in supply})
        base = [p for p, pin in circuit.on(part.pins["speed"]) if circuit.of(p)["kind"] == "npn" and pin == "C"]
        if not base or low.get(part.pins["speed"], 5.0) > SPEED_LOW:
            yield (
                f"{part.ref}: while the Pico is silent nothing holds its speed wire low, so that Q3 alone stops it; "
                "fit R9 from the fan's 12 V to the base of Q4."
            )
            continue
        into = _into_base(circuit, base[0], low)
        if into * circuit.of(base[0])["gain"] / 3.0 < 0.008:  # Intel's rule: a driver sinks 5 mA, better 8 mA
            yield f"{base[0].ref}: R9 gives its base {into * 1e3:.2f} mA, too little to hold the speed wire; lower it."
        released = _released(circuit, base[0])
        if released > 0.45:
            yield f"{base[0].ref}: with the Pico's pin low its base is at {released:.2f} V and slows the fan; lower R8."


def _into_base(circuit: Circuit, part: Part, at: dict[str, float]) -> float:
    """A into a base from nets that stand higher, less what flows away to ground."""
    total = 0.0
    for resistor, net in circuit.resistors(part.pins["B"]):
        if net in at and at[net] != at[part.pins["B"]]:
            total += (at[net] - BASE) / resistor.value if at[net] > BASE or net == GROUND else 0.0
    return total


def _released(circuit: Circuit, part: Part) -> float:
    """V at a base while its Pico pin is low and everything else about it stands as high as it can."""
    sides = [(r.value, net) for r, net in circuit.resistors(part.pins["B"])]
    top = sum(MOST / ohms for ohms, net in sides if net.startswith("12V"))
    return top / sum(1.0 / ohms for ohms, _ in sides) if sides else 0.0


def shorted_switch_shows(circuit: Circuit) -> Iterator[str]:
    """What the firmware looks for at the drain is there: Q3 shorted, Q1 shorted, no blower, and all well."""
    top = [(r, net) for r, net in circuit.resistors("drain") if net != GROUND]
    foot = [r for r, net in circuit.resistors("drain") if net == GROUND]
    if len(top) != 1 or len(foot) != 1:
        yield "U1: the drain of Q1 does not reach its pin by one resistor over another; fit R25 and R26."
        return
    scale = (top[0][0].value + foot[0].value) / foot[0].value
    switches = [p for p in circuit.kind("pmos") if p.pins["D"] != "12V_fused"]
    low = circuit.kind("nmos")
    for wires, part_of in ((2, BLOWER), (4, NO_BLOWER)):
        well = voltages(circuit, "rest", LOOK, wires).get("drain", LOOK) * scale
        if well > LOOK / 20:
            yield f"Q1: with all well and a fan of {wires} wires off its drain stands at {well:.1f} V."
        for part in switches:
            seen = voltages(circuit, "rest", LOOK, wires, {part.ref: SHORT}).get("drain", 0.0) * scale
            if seen < LOOK / part_of * 1.15:
                yield f"{part.ref}: shorted, it does not show with a fan of {wires} wires; fit R35 of 100 k."
    fed = voltages(circuit, "fed", LOOK, 2).get("drain", 0.0) * scale
    if fed < LOOK * 0.8:
        yield f"Q1: fed and off, its drain stands at {fed:.1f} V, not at the supply."
    for part in low:
        seen = voltages(circuit, "fed", LOOK, 2, {part.ref: SHORT}).get("drain", LOOK) * scale
        if seen > LOOK / 5 * 0.5:
            yield f"{part.ref}: shorted, its drain stands at {seen:.1f} V and does not show."
    blowers = [p.ref for p in circuit.kind("load") if circuit.of(p).get("wires") == 2]
    empty = voltages(circuit, "fed", LOOK, 2, dict.fromkeys(blowers, OPEN)).get("drain", 0.0) * scale
    if not LOOK / 5 * 1.3 < empty < LOOK / 2 * 0.85:
        yield f"Q1: without a blower its drain stands at {empty:.1f} V, which tells nothing; R35 is not 100 k."


def five_volts_held(circuit: Circuit) -> Iterator[str]:
    """A step-down that fails through blows its own fuse: a crowbar fires above 5 V and well below 12 V."""
    for module in circuit.kind("module"):
        of, into, out = circuit.of(module), module.pins["IN"], module.pins["OUT"]
        fuses = [f for f in circuit.kind("fuse") if into in f.pins.values()]
        others = {p.ref for p, _ in circuit.on(into)} - {module.ref} - {f.ref for f in fuses}
        others -= {p.ref for p in circuit.kind("capacitor", "test")}
        if len(fuses) != 1 or fuses[0].other(into) != "12V":
            yield f"{module.ref}: no fuse of its own in its 12 V, so nothing ends it when it fails; fit F2."
        for ref in sorted(others):
            yield f"{ref}: hangs behind the fuse of {module.ref}; take it to 12V."
        bars = [t for t in circuit.kind("thyristor") if t.pins["A"] == out and t.pins["K"] == GROUND]
        if not bars:
            yield f"{module.ref}: nothing shorts {out} when it puts 12 V there: they would reach the Pico; fit Q6."
            continue
        bar, gate = bars[0], bars[0].pins["G"]
        zeners = [z for z in circuit.kind("zener") if z.pins["A"] == gate and z.pins["K"] == out]
        leaks = circuit.between(gate, GROUND, "resistor")
        if not circuit.between(gate, GROUND, "capacitor"):
            yield f"{bar.ref}: a spike may fire it; fit C17 from its gate to ground."
        if not zeners or not leaks:
            yield f"{bar.ref}: its gate has no zener diode from {out} or no resistor to ground; fit D8 and R34."
            continue
        zener, what = circuit.of(zeners[0]), circuit.of(bar)
        spread = zener.get("spread", 0.05)
        low = zener["volts"] * (1 - spread) + what["gate_least"]
        high = zener["volts"] * (1 + spread) + what["gate_most"]
        if low < of["most"] * 1.05:
            yield f"{bar.ref}: may fire at {low:.1f} V, with {of['most']} V there in good order."
        if high > 7.5:
            yield f"{bar.ref}: may wait until {high:.1f} V stand on {out}; take a zener diode of 5.6 V."
        shunt = min(r.value for r in leaks)
        if not 100.0 <= shunt <= 470.0:
            yield f"R34: {shunt:.0f} ohm at the gate of {bar.ref}; 100 to 470 ohm keep leakage from firing it."
        if fuses and circuit.of(fuses[0])["amps"] > what["amps"] / 3:
            yield f"{bar.ref}: is burnt before {fuses[0].ref} blows."
        for source in circuit.kind("source"):
            if fuses and circuit.of(source)["amps"] < circuit.of(fuses[0])["amps"] * circuit.of(fuses[0])["blows"]:
                yield f"{fuses[0].ref}: {circuit.of(source)['amps']} A of the supply do not blow it."


def twelve_volts_only(circuit: Circuit) -> Iterator[str]:
    """The supply is one of 12 V: the circuit is worked out for 10.8 to 15 V."""
    for part in circuit.kind("source"):
        if not LEAST <= circuit.of(part)["volts"] <= 12.6:
            yield f"{part.ref}: {circuit.of(part)['volts']} V; this circuit is for 12 V, and D1 burns above 15 V."


def call_sounds(circuit: Circuit) -> Iterator[str]:
    """The buzzer sounds when the Pico says so, and a fault of its long cable stays behind a fuse of its own."""
    for part in circuit.kind("load"):
        if circuit.of(part).get("load") != "sounder":
            continue
        plus, minus = part.pins["+"], part.pins["-"]
        fuses = [f for f in circuit.kind("fuse") if plus in f.pins.values()]
        if len(fuses) != 1 or fuses[0].other(plus) != "12V":
            yield f"{part.ref}: no fuse of its own between 12V and its cable; fit F3."
        at = voltages(circuit, "drive", LEAST)
        if at.get(plus, 0.0) - at.get(minus, 0.0) < 0.8 * LEAST:
            yield f"{part.ref}: does not sound when the Pico says so; fit Q7 and R30."
        if circuit.of(part)["decibels"] < 95:
            yield f"{part.ref}: {circuit.of(part)['decibels']} dB at 1 m; 95 dB or more reach through a window."


def driver_hears(circuit: Circuit) -> Iterator[str]:
    """A driver's input gets what its data sheet calls high and low, from a Pico at its worst."""
    for part in circuit.kind("chip"):
        of = circuit.of(part)
        for out, into in of.get("follows", {}).items():
            net = part.pins.get(into, "")
            high = voltages(circuit, "drive", LEAST).get(net, 0.0) * LOGIC_LEAST / 3.3
            low = voltages(circuit, "rest", LEAST).get(net, LOGIC_LEAST)
            if high < of["input_high"] or low > of["input_low"]:
                yield f"{part.ref}: its input {into} gets {low:.1f} to {high:.1f} V; it does not follow the Pico."
            if part.pins.get(out) in (GROUND, "5V", "3V3"):
                yield f"{part.ref}: its output {out} is tied to {part.pins[out]}."


def _when(case: str) -> str:
    return "while the Pico is silent" if case == "dead" else "while the firmware has it off"


RULES = (
    no_single_fault_feeds,
    both_ways_stop,
    shorted_switch_shows,
    five_volts_held,
    twelve_volts_only,
    call_sounds,
    driver_hears,
)
