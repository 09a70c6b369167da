"""The record sheet of a build: every step, where to measure, what is expected. Worked out at 12.0 V from the circuit
as far as it is soldered by then.

Run it to write record.md anew; print it, and write in its last column.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import leakage
import steps
from circuit import GROUND, HERE, Circuit, Part, read
from netlist import build
from stress import FIVE, voltages

FILE = HERE / "record.md"
SUPPLY = 12.0
HEAD = f"""# Record sheet

One sheet a board. Supply {SUPPLY:.1f} V; measured against TP1 (`gnd`) unless another point is named. TP1 to TP9 are the
row along the upper edge of the board, each with its name below it: TP1 to TP3 carry a loop or a pin for a clip, the
others are bare holes for the meter's tip. Values are worked out by `python hardware/record.py`; what lies outside is
looked for before the next step. The steps are those of the [guide](README.md#2-the-board). Up to step 9 the Pico, U3
and U4 are out of their sockets, and whenever such a row is measured again. A "pad of U1" is a contact of its socket;
the print beside it says its number, 37 and 38 follow 36 on the way to 40 at the USB end. Clip or push in a wire before
the supply comes on; take each one out before the next row, unless that row names it. With the supply off C1 and C3
stay charged for minutes: before each row with an ohmmeter, and before you solder on, hold 1 kohm from TP2 to TP1 and
then from TP3 to TP1, five seconds each.

From step 3 on: F2 blows, or PS1 blinks or ticks because it shuts off and tries again, and TP3 stays near 1 V. Q6 shorts
the 5 V. Unplug PS1; look for a wrong D8 first, then for a U2 that has failed.

A supply of 11.4 to 12.6 V is good. What is expected at TP2, TP5 and TP6 is worked out at {SUPPLY:.1f} V: with
12.3 V all of it is a fortieth more.

| board no. | built by | meter | supply, V | date |
|---|---|---|---|---|
| | | | | |

| step | where | how | expected | found |
|---|---|---|---|---|
"""
WIRE = 0.01  # ohm
PULL, LOAD = 1e3, 10.0  # ohm: what is put in for a measurement
COOL = 25.0  # C of the bench
NTC, BETA, ROOM = 100e3, 3950.0, (30.0, 20.0)  # ohm at 25 C, K, C
Link = tuple[str, str, float]


def _with(circuit: Circuit, links: Sequence[Link]) -> Circuit:
    """With wires and resistors that are put in for a measurement."""
    more = {
        f"wire {n}": Part(f"wire {n}", "resistor", {"1": a, "2": b}, "for a measurement", "", ohms)
        for n, (a, b, ohms) in enumerate(links)
    }
    return replace(circuit, parts={**circuit.parts, **more})


def volts(circuit: Circuit, step: int, net: str, *links: Link, jumper: int = 2) -> float:
    """V of a net once `step` is done, the Pico silent; KeyError if nothing that is soldered by then holds it."""
    return voltages(_with(steps.after(circuit, step), links), "dead", SUPPLY, jumper)[net]


def printed() -> dict[str, str]:
    """Test point -> what the board says below it."""
    layout = read("pcb/layout.toml")
    points = {ref: where for ref, where in layout["place"].items() if ref.startswith("TP")}
    words = layout["print"]["words"]
    return {ref: next(w for w, x, y, *_ in words if x == at["x"] and 0 < y - at["y"] < 4) for ref, at in points.items()}


def about(value: float, share: float = 0.05) -> str:
    """A window round a voltage: 5 % unless another share is given, and at least 0.05 V."""
    spread = max(abs(value) * share, 0.05)
    return f"{value - spread:.2f} to {value + spread:.2f} V" if value > 0.2 else "0 to 0.2 V"


def ohms(value: float, share: float = 0.03) -> str:
    """A window round a resistance."""
    return f"{value * (1 - share) / 1e3:.3g} to {value * (1 + share) / 1e3:.3g} kohm"


def ntc(celsius: float) -> float:
    """Ohm of a meat probe."""
    return NTC * math.exp(BETA * (1 / (celsius + 273.15) - 1 / 298.15))


def rows(circuit: Circuit) -> list[tuple[str, str, str, str]]:
    """(step, where, how, expected)."""
    label = printed()
    pads = {name: row["pin"] for name, row in read("pins.toml").items()}
    nets = {part.ref: part.pins["1"] for part in circuit.kind("test")}

    def tp(*refs: str) -> str:
        return ", ".join(
            f"{ref} `{label[ref]}`" + (f" (net `{nets[ref]}`)" if label[ref] != nets[ref] else "") for ref in refs
        )

    def at(step: int, ref: str, *links: Link, jumper: int = 2) -> float:
        return volts(circuit, step, nets[ref], *links, jumper=jumper)

    feed: Link = ("fan_supply", "5V", WIRE)
    blow: Link = ("fan", "5V", WIRE)
    slow: Link = ("speed", "5V", PULL)
    quick: Link = ("fan", GROUND, WIRE)
    at_x2 = (circuit.parts["X2"].pins["1"], circuit.parts["X2"].pins["2"])
    fed, blown = f"a wire from pad {pads['fan_supply']} of U1 to TP3", f"a wire from pad {pads['fan']} of U1 to TP3"
    gate = at(5, "TP7", blow) / FIVE
    leaky, _ = leakage.drain_without_a_blower(circuit, circuit.parts["Q1"], SUPPLY, COOL)
    speed = at(6, "TP8", feed, slow, quick, jumper=4)
    most = at(5, "TP6", feed, blow, (*at_x2, LOAD))
    limit = 0.1
    if most > limit:
        raise ValueError(f"TP6 at {most:.2f} V with {LOAD:.0f} ohm at X2; the sheet asks for less than {limit} V")
    listed = [
        (1, "PS1's cable, its plug cut off", "mains on, before it is in X1; the bare ends apart",
         "11.4 to 12.6 V; mark the core that is +"),
        (1, "X1, red lead on +, black on -", "no supply, ohmmeter", "above 100 kohm"),
        (1, tp("TP2"), "supply the wrong way round, limited to 0.1 A if you can; goggles on",
         "0 V, or a little less (down to -0.8 V), and F1 stays whole"),
        (1, tp("TP2"), "supply the right way round", about(at(1, "TP2"), 0.02)),
        (2, tp("TP2"), "no supply, ohmmeter", "no short: rises above 1 kohm as C1 fills"),
        (2, tp("TP2"), "the + of C1 and C3 looked at once more, goggles on, supply on", about(at(2, "TP2"), 0.02)),
        (2, tp("TP3"), "PS1 off; a bench supply limited to 0.1 A, + to TP3, - to TP1, slowly from 5.0 to 7.5 V",
         "falls to about 1 V somewhere from 5.6 to 7.5 V"),
        (2, tp("TP3"), "only without a bench supply: 10 ohm 50 W from TP2 to TP3, PS1 on until the "
         "meter stands still, 5 s at most",
         "0.7 to 1.7 V; not 7 V or more"),
        (3, tp("TP3"), "bench supply and resistor away, PS1 on", "4.90 to 5.10 V"),
        (3, "pad 39 of U1 (VSYS)", "the same", "as TP3 or up to 0.5 V less"),
        (3, "gate of Q6, its right leg", "the same", "0 to 0.2 V"),
        (4, tp("TP5"), "supply on", about(at(4, "TP5"))),
        (4, tp("TP5"), f"{fed}: 5 V instead of the Pico's pin", about(at(4, "TP5", feed), 0.03)),
        (5, tp("TP7"), "no supply, U5 not yet in its socket, ohmmeter", ohms(circuit.parts["R3"].value)),
        (5, tp("TP7"), "U5 in its socket, jumper J1 on 2, supply on", about(at(5, "TP7"))),
        (5, tp("TP7"), blown, f"{gate * 4.9 * 0.98:.2f} to {gate * 5.1 * 1.01:.2f} V"),
        (5, tp("TP6"), "the same wire and that of step 4, 10 ohm 50 W at X2, 5 s at most", f"less than {limit} V"),
        (5, tp("TP6"), "both wires out, nothing at X2", about(at(5, "TP6"))),
        (5, tp("TP6"), "the wire of step 4, nothing at X2",
         about(at(5, "TP6", feed)) + f"; down to {leaky:.1f} V if Q1 leaks as much as it may; more: D4 is a Schottky"),
        (5, tp("TP6"), "the wire of step 4, 1 kohm across X2", about(at(5, "TP6", feed, (*at_x2, PULL)))),
        (6, tp("TP8"), "jumper J1 on 4, the wire of step 4, 1 kohm from TP8 to TP3",
         about(at(6, "TP8", feed, slow, jumper=4))),
        (6, tp("TP8"), f"the same, and a wire from pad {pads['fan']} of U1 to TP1", f"above {speed * 0.9:.1f} V"),
        (7, "pad 36 of U1 (3V3) to pad 38", "no supply, ohmmeter", "no short: rises above 1 kohm"),
        (8, "`known`, leg 4 of U4's socket", "no supply, ohmmeter", ohms(circuit.parts["R22"].value)),
        (9, "X10, `BUTTON` to `GND`", "no supply, S1 at X10, ohmmeter", "above 100 kohm; pressed: below 10 ohm"),
        (9, "X10, `LAMP`", "supply on, 1 kohm from it to TP3", "1.6 to 2.4 V, and the lamp glows"),
        (9, "X4, `5V`; `SERVO`", "supply on", f"4.90 to 5.10 V; {about(volts(circuit, 9, 'nudge'))}"),
        (9, "X11, `-`", "supply on, buzzer at X11", f"above {volts(circuit, 9, 'call') * 0.9:.1f} V, and it is silent"),
        (9, "X11, `-`", f"its mouth taped over, ears guarded; a wire from pad {pads['buzzer']} of U1 to TP3",
         f"below {volts(circuit, 9, 'call', ('buzzer', '5V', WIRE)) * 1.5:.1f} V, and it calls"),
        (10, tp("TP4"), "Pico, U3 and U4 in, BOOTSEL held as the supply comes: no firmware runs", "3.20 to 3.40 V"),
        (10, tp("TP9"), "the same", "3.10 to 3.40 V"),
        (10, "`known`, leg 4 of U4", "the same", about(volts(circuit, 10, "known"))),
        (10, tp("TP5", "TP7"), "the same", about(max(at(10, "TP5"), at(10, "TP7")))),
        (11, "B1, + to -", "not plugged in, ohmmeter", "below 100 ohm"),
        (11, "B1, either core to its sheath", "not plugged in, ohmmeter", "no connection"),
        (11, "B2-B5", "not plugged in, ohmmeter, at 30 to 20 C",
         f"{ntc(ROOM[0]) / 1e3:.0f} to {ntc(ROOM[1]) / 1e3:.0f} kohm"),
        (11, "`tuyere board listen`", "all probes plugged in, no fan",
         "each reads the room to 3 C; one in the hand rises"),
        (12, "first trial", "pot of water", "in its band within 40 min, and stays"),
        (12, "`tuyere board check`", "whole walk, with the fan", "nothing wrong was found"),
        (12, "pit probe in ice, in the boil", "`tuyere board check`", "0 C, and the boil at your altitude, to 2 C"),
    ]  # fmt: skip
    return [(str(step), where, how, expected) for step, where, how, expected in listed]


def sheet(circuit: Circuit) -> str:
    """The sheet as Markdown."""
    return HEAD + "".join(f"| {' | '.join(row)} | |\n" for row in rows(circuit))


if __name__ == "__main__":
    FILE.write_text(sheet(build()))
    print(FILE.name)
