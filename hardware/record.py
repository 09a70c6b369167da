"""The record sheet of a build: every step, where to measure, what is expected. Worked out from the circuit at 12.0 V.

Run it to write record.md anew; print it, and write in its last column.
"""

from __future__ import annotations

from circuit import HERE, Circuit
from netlist import build
from stress import SHORT, voltages

FILE = HERE / "record.md"
SUPPLY = 12.0
HEAD = f"""# Record sheet

One sheet a board. Supply {SUPPLY:.1f} V; measured against TP1 (`gnd`) unless another point is named. Values are worked
out by `python hardware/record.py`; what lies outside is looked for before the next step. The steps are those of the
[guide](README.md#2-the-board). Up to step 8 the Pico, U3 and U4 are out of their sockets, and whenever such a row is
measured again. The row with 5.0 to 7.5 V needs a bench supply limited to 0.1 A, its minus at TP1; it is disconnected
before F2 and U2 go in. Take each wire out before the next row, unless that row names it.

| board no. | built by | meter | supply, V | date |
|---|---|---|---|---|
| | | | | |

| step | where | how | expected | found |
|---|---|---|---|---|
"""


def rows(circuit: Circuit) -> list[tuple[str, str, str, str]]:
    """(step, where, how, expected)."""
    quiet = {wires: voltages(circuit, "dead", SUPPLY, wires) for wires in (2, 4)}
    stuck = voltages(circuit, "dead", SUPPLY, 4, {"Q3": SHORT})
    fed = voltages(circuit, "fed", SUPPLY, 2)
    empty = voltages(circuit, "fed", SUPPLY, 2, {"M1": "open"})
    known = quiet[2]["known"]
    parts = circuit.parts

    def about(value: float, share: float = 0.05) -> str:
        spread = max(abs(value) * share, 0.05)
        return f"{value - spread:.2f} to {value + spread:.2f} V" if value > 0.2 else "0 to 0.2 V"

    def ohms(ref: str) -> str:
        value = parts[ref].value
        return f"{value * 0.97 / 1e3:.3g} to {value * 1.03 / 1e3:.3g} kohm"

    return [
        ("1", "X1, + to -", "no supply, ohmmeter", "no short: rises above 1 kohm as C1 fills"),
        ("1", "TP2 `12V`", "supply on", about(SUPPLY, 0.02)),
        ("1", "TP2 `12V`", "supply the wrong way round", "0 to 0.2 V, and F1 stays whole"),
        ("2", "TP3 `5V`", "before U2 and F2 are in: a bench supply of 0.1 A at most to TP3, slowly from 5.0 to 7.5 V",
         "falls to about 1 V somewhere from 5.6 to 7.5 V"),
        ("2", "TP3 `5V`", "U2 and F2 in, supply on", "4.90 to 5.10 V"),
        ("2", "VSYS, pad 39 of U1", "supply on", "4.5 to 4.95 V"),
        ("2", "gate of Q6", "supply on", "0 to 0.1 V"),
        ("3", "TP5 `12V_fan`", "supply on", about(quiet[2]["12V_fan"])),
        ("3", "TP5 `12V_fan`", "a wire from pad 29 of U1 to TP3, R4 doing its work", about(SUPPLY, 0.03)),
        ("4", "TP7 `gate`", "no supply, ohmmeter", ohms("R3")),
        ("4", "TP7 `gate`", "supply on, jumper J1 on 2", about(quiet[2]["gate"])),
        ("4", "TP7 `gate`", "a wire from pad 21 of U1 to TP3", "4.6 to 5.1 V"),
        ("4", "TP6 `drain`", "the same wire and that of step 3, 10 ohm 50 W at X2, for one second", "less than 0.1 V"),
        ("4", "TP6 `drain`", "supply on, both wires out, nothing at X2", about(quiet[2]["cold"])),
        ("4", "TP6 `drain`", "the wire of step 3, nothing at X2", about(empty["cold"])),
        ("4", "TP6 `drain`", "the wire of step 3, 1 kohm across X2", f"above {fed['cold'] * 0.9:.1f} V"),
        ("5", "TP8 `speed`", "the wire of step 3, 1 kohm from TP8 to TP3", about(stuck["speed"])),
        ("5", "TP8 `speed`", "the same, and J1 on 4 with a wire from pad 21 of U1 to TP1", "above 4.5 V"),
        ("6", "pads 36 and 38 of U1", "no supply, ohmmeter", "no short"),
        ("7", "`known`, leg 4 of U4's socket, to TP1", "no supply, ohmmeter", ohms("R22")),
        ("8", "pad 2 of X11", "supply on, buzzer at X11", "above 11 V, and it is silent"),
        ("8", "pad 2 of X11", "a wire from pad 17 of U1 to TP3", "below 1.5 V, and it calls"),
        ("9", "TP4 `3V3`", "Pico in, supply on", "3.20 to 3.40 V"),
        ("9", "TP9 `vref`", "the same", "3.10 to 3.40 V"),
        ("9", "`known`, leg 4 of U4", "the same", about(known)),
        ("9", "TP5 `12V_fan`, TP7 `gate`", "BOOTSEL held as the supply comes: no firmware", "0 to 0.2 V"),
        ("10", "`tuyere board check`", "whole walk", "nothing wrong was found"),
        ("10", "pit probe in ice, in the boil", "`tuyere board check`", "0 C, and the boil at your altitude, to 2 C"),
        ("10", "first trial", "pot of water", "in its band within 40 min, and stays"),
    ]  # fmt: skip


def sheet(circuit: Circuit) -> str:
    """The sheet as Markdown."""
    return HEAD + "".join(f"| {' | '.join(row)} | |\n" for row in rows(circuit))


if __name__ == "__main__":
    FILE.write_text(sheet(build()))
    print(FILE.name)
