"""Where the parts of the circuit diagram stand, block by block; x to the right, y up."""

from __future__ import annotations

from circuit import read
from netlist import PROBES
from sheet import Sheet


def power(s: Sheet) -> None:
    """12 V in, 5 V out."""
    s.words((0, 2.2), "12 V in, 5 V out", size=12)
    s.two("PS1", (0, 0), (0, -3), "left")
    s.terminal("X1", **{"1": (1, 0), "2": (1, -3)})
    s.two("F1", (1.8, 0), (3.8, 0))
    s.guard("Q2", (4.6, 0))
    gate = s.at["Q2.G"][0]
    s.two("R1", (gate, -1.9), (gate, -3.9), "left")
    s.two("D2", (gate + 0.5, -1.9), (8.2, -1.9), "bottom")
    s.two("D1", (9.0, -2.5), (9.0, 0))
    s.two("C1", (11.4, 0), (11.4, -2.5))
    s.two("F2", (13.2, 0), (15.2, 0))
    s.two("C2", (15.8, 0), (15.8, -2.5))
    s.box("U2", (18.2, 0.5), "IN GND", "OUT", "step-down", 2.6)
    s.two("C3", (22.0, 0), (22.0, -2.5))
    s.thyristor("Q6", (25.4, 0), (25.4, -2.5))
    s.two("D8", (27.6, -2.2), (27.6, 0))
    s.two("R34", (27.6, -2.8), (27.6, -4.8), "left")
    s.two("C17", (28.8, -2.8), (28.8, -4.8))
    s.two("D3", (30.0, 0), (32.0, 0), "bottom")
    s.wire("PS1.+", "X1.1", "F1.1")
    s.wire("PS1.-", "X1.2")
    s.wire("F1.2", "Q2.D")
    s.wire("Q2.G", "R1.1")
    s.wire("R1.1", "D2.A")
    s.dot("R1.1")
    s.wire("D2.K", "Q2.S", shape="|-")
    s.spot((s.at["D2.K"][0], s.at["Q2.S"][1]))
    s.wire("Q2.S", "D1.K", "C1.+", "F2.1")
    s.wire("F2.2", "C2.1", "U2.IN")
    s.wire("U2.OUT", "C3.+", "Q6.A", "D8.K", "D3.A")
    s.wire("Q6.G", "D8.A", shape="-|")
    s.wire("D8.A", "R34.1")
    s.wire("R34.1", "C17.1")
    s.dot("R34.1")
    s.tag("X1.2", "R1.2", "D1.A", "C1.-", "C2.2", "U2.GND", "C3.-", "Q6.K", "R34.2", "C17.2")
    s.tag("C1.+", "C3.+", "D3.K")


def blower(s: Sheet) -> None:
    """Two-wire blower, with the link that chooses the kind of fan."""
    y = -8.0
    s.words((0, y + 3.2), "two-wire blower, and the link J1", size=12)
    s.box("J1", (1.4, y + 0.5), "_ common", "two _ _ four", "jumper", 2.0)
    s.tag("J1.common", to="left")
    s.tag("J1.four", to="right")
    s.two("R36", (5.6, y), (5.6, y - 2), "left")
    s.box("U5", (7.8, y + 0.5), "INA INB GND VDD", "OUTA", "TC4427A", 2.4)
    s.wire("J1.two", "R36.1", "U5.INA")
    s.two("R2", (11.0, y), (13.0, y))
    s.two("R3", (13.6, y), (13.6, y - 2), "left")
    s.transistor("Q1", (14.4, y))
    s.wire("U5.OUTA", "R2.1")
    s.name("R2.2")
    s.two("C18", (11.4, y - 2.0), (11.4, y - 4.0))
    s.tag("C18.1", "C18.2", "R36.2")
    s.tag("U5.INB", "U5.GND", "U5.VDD", to="left")
    s.wire("R2.2", "R3.1", "Q1.G")
    x, top = s.at["Q1.D"]
    s.terminal("X2", **{"2": (x + 4.4, top), "1": (x + 4.4, top + 2)})
    s.two("D4", (x + 1.8, top), (x + 1.8, top + 2), "left")
    s.two("R35", (x + 2.6, top + 2), (x + 2.6, top))
    s.two("M1", (x + 5.4, top + 2), (x + 5.4, top))
    s.wire("Q1.D", "D4.A", "R35.2", "X2.2", "M1.-")
    s.wire("D4.K", "R35.1", "X2.1", "M1.+")
    s.tag("D4.K", "R3.2", "Q1.S")
    s.tag("Q1.D", to="left")


def senses(s: Sheet) -> None:
    """Dividers of the supply and of the drain."""
    y = -6.0
    s.words((23.4, y + 1.2), "supply and drain", size=12)
    for x, top, foot, cap, net in ((23.8, "R23", "R24", "C14", "12V"), (27.8, "R25", "R26", "C15", "cold")):
        s.two(top, (x, y - 0.4), (x, y - 2.4), "left")
        s.two(foot, (x, y - 2.8), (x, y - 4.8), "left")
        s.two(cap, (x + 1.2, y - 2.8), (x + 1.2, y - 4.8))
        s.wire(f"{top}.2", f"{foot}.1", f"{cap}.1")
        s.tag(f"{cap}.1", to="right")
        s.tag(f"{foot}.2", f"{cap}.2")
        if net == "12V":
            s.tag(f"{top}.1")
        else:
            s.tag(f"{top}.1", to="right")


def four_wire(s: Sheet) -> None:
    """Supply switch of either fan; the four-wire fan: speed, turns."""
    y = -16.0
    s.words((0, y + 4.2), "12 V of either fan, and the four-wire fan", size=12)
    s.two("R4", (1.6, y - 2), (3.6, y - 2))
    s.tag("R4.1", to="left")
    s.two("R5", (4.2, y - 2), (4.2, y - 4), "left")
    s.transistor("Q5", (5.0, y - 2))
    s.wire("R4.2", "R5.1", "Q5.B")
    x, top = s.at["Q5.C"]
    s.two("R6", (x, top), (x, y + 0.9), "left")
    s.wire("Q5.C", "R6.1")
    s.transistor("Q3", (8.6, y + 0.9))
    s.two("R7", (x, y + 0.9), (x, y + 2.9), "left")
    s.two("D5", (x + 1.2, y + 0.9), (x + 1.2, y + 2.9))
    s.wire("R7.1", "D5.A", "Q3.G")
    s.wire("R6.2", "R7.1")
    s.dot("R7.1")
    s.tag("R7.2", "D5.K", "Q3.S", "R5.2", "Q5.E")
    s.two("R8", (1.6, y - 8), (3.6, y - 8))
    s.tag("R8.1", to="left")
    s.two("R9", (4.2, y - 8), (4.2, y - 6), "left")
    s.transistor("Q4", (5.0, y - 8))
    s.wire("R8.2", "R9.1", "Q4.B")
    s.tag("Q4.C", to="right")
    s.tag("R9.2", "Q4.E")
    s.box("X3", (15.8, y - 0.6), "2 3 4 1", "", "header", 1.2)
    s.box("M2", (20.2, y - 0.6), "+ turns speed -", "", "fan", 2.0)
    s.tag("M2.+", "M2.turns", "M2.speed", "M2.-", to="left")
    s.two("D6", (12.0, y - 3.2), (12.0, y - 1.1), "left")
    s.wire("Q3.D", "D6.K", shape="|-")
    s.wire("D6.K", "X3.2")
    s.dot("D6.K")
    s.tag("D6.K", "D6.A")
    s.tag("X3.4", "X3.1", to="left")
    s.tag("X3.3", to="left")
    s.two("R10", (9.6, y - 7.4), (9.6, y - 5.4), "left")
    s.two("R11", (10.4, y - 7.4), (12.4, y - 7.4))
    s.two("D7", (13.2, y - 7.4), (13.2, y - 5.4), "right")
    s.two("C4", (13.2, y - 7.4), (13.2, y - 9.4))
    s.wire("R10.1", "R11.1")
    s.wire("R11.2", "D7.A")
    s.wire("D7.A", "C4.1")
    s.dot("R10.1", "D7.A")
    s.tag("R10.1", to="left")
    s.tag("D7.A", to="right")
    s.tag("R10.2", "D7.K", "C4.2")


def couple(s: Sheet) -> None:
    """Thermocouple and its converter."""
    y = -28.0
    s.words((0, y + 1.6), "thermocouple", size=12)
    s.box("B1", (0, y + 0.5), "", "+ _ _ -", "type K", 1.6)
    s.terminal("X5", **{"+": (3.2, y), "-": (3.2, y - 2.1)})
    s.two("FB1", (4.0, y), (5.6, y))
    s.two("FB2", (4.0, y - 2.1), (5.6, y - 2.1))
    s.two("C5", (7.2, y), (7.2, y - 2.1))
    s.two("C7", (6.0, y - 2.1), (6.0, y - 4.1), "left")
    s.two("C6", (9.0, y - 2.7), (9.0, y - 4.7), "left")
    s.box("U3", (11.2, y + 0.5), "T+ _ _ T- _ VIN GND", "SCK SDI SDO CS", "MAX31856", 2.8)
    s.wire("B1.+", "X5.+", "FB1.1")
    s.wire("B1.-", "X5.-", "FB2.1")
    s.wire("FB1.2", "C5.1", "U3.T+")
    s.wire("C6.1", "C5.1", shape="|-")
    s.wire("FB2.2", "C7.1", "C5.2", "U3.T-")
    s.tag("C6.2", "C7.2")
    s.tag("U3.VIN", "U3.GND", to="left")
    s.tag("U3.SCK", "U3.SDI", "U3.SDO", to="right")
    cy = s.at["U3.CS"][1]
    s.two("R12", (15.2, cy), (15.2, cy - 2.0))
    s.wire("U3.CS", "R12.1")
    s.tag("R12.1", "R12.2", to="right")
    s.two("C8", (19.4, y), (19.4, y - 2.0))
    s.tag("C8.1", "C8.2")


def probes(s: Sheet) -> None:
    """Meat and ambient probes and their multiplexer."""
    y = -36.0
    s.words((0, y + 2.4), "meat and ambient probes", size=12)
    for row, name in enumerate(PROBES):
        x, base = 1.2 + (row % 2) * 8.2, y - (row // 2) * 6.2
        pull, series, cap = f"R{13 + 2 * row}", f"R{14 + 2 * row}", f"C{9 + row}"
        probe, jack = f"B{row + 2}", f"X{row + 6}"
        s.two(probe, (x - 0.6, base - 0.8), (x - 0.6, base - 2.8), "left")
        s.terminal(jack, **{"1": (x + 0.6, base - 0.8), "2": (x + 0.6, base - 2.8)})
        s.two(pull, (x + 1.6, base - 0.8), (x + 1.6, base + 1.2), "left")
        s.two(series, (x + 2.2, base - 0.8), (x + 3.8, base - 0.8))
        s.two(cap, (x + 4.2, base - 0.8), (x + 4.2, base - 2.8))
        s.wire(f"{probe}.1", f"{jack}.1", f"{pull}.1", f"{series}.1")
        s.wire(f"{probe}.2", f"{jack}.2")
        s.wire(f"{series}.2", f"{cap}.1")
        s.tag(f"{cap}.1", to="right")
        s.tag(f"{jack}.2", f"{cap}.2", f"{pull}.2")
        s.words((x - 0.6, base - 3.4), name.replace("_", " "), ("center", "top"), 8)
    s.box("U4", (19.2, y + 1.6), "Y0 Y1 Y2 Y3 Y4 Y5 Y6 Y7 VCC", "S0 S1 S2 Z _ E VEE GND", "74HC4051", 2.8)
    s.tag(*(f"U4.Y{n}" for n in range(8)), "U4.VCC", to="left")
    s.tag("U4.S0", "U4.S1", "U4.S2", "U4.Z", "U4.E", "U4.VEE", "U4.GND", to="right")
    s.two("R21", (17.2, y - 8.2), (17.2, y - 6.2), "left")
    s.two("R22", (17.2, y - 8.2), (17.2, y - 10.2), "left")
    s.wire("R21.1", "R22.1")
    s.tag("R21.1", to="right")
    s.two("C13", (21.0, y - 7.2), (21.0, y - 9.2))
    s.tag("R21.2", "R22.2", "C13.1", "C13.2")


def brain(s: Sheet) -> None:
    """The Pico."""
    pins = read("pins.toml")
    left = [f"GP{row['gp']}" for row in pins.values() if row["pin"] <= 20]
    right = [f"GP{row['gp']}" for row in pins.values() if row["pin"] > 20]
    x, y = 36.0, 0.5
    left.sort(key=lambda gp: int(gp[2:]))
    right.sort(key=lambda gp: -int(gp[2:]))
    s.words((x - 0.5, 2.2), "Pico", size=12)
    s.box(
        "U1",
        (x, y),
        " ".join([*left, "_", "_", "_", "GND"]),
        " ".join(["VSYS", "3V3", "ADC_VREF", "AGND", *right]),
        "",
        4.4,
    )
    s.tag(*(f"U1.{gp}" for gp in left), "U1.GND", to="left")
    s.tag(*(f"U1.{gp}" for gp in ("VSYS", "3V3", "ADC_VREF", "AGND", *right)), to="right")
    s.words((26.0, -33.6), "test points", size=12)
    points = [part.ref for part in s.circuit.kind("test")]
    for number, ref in enumerate(points):
        s.terminal(ref, **{"1": (26.4 + 3.4 * (number % 3), -34.8 - 1.2 * (number // 3))})
        s.tag(f"{ref}.1", to="right")


def hands(s: Sheet) -> None:
    """Button, lamp, buzzer, servo."""
    x, y = 26.5, -16.0
    s.words((x, y + 3.2), "button, lamp, buzzer, servo", size=12)
    s.box("S1", (x + 8.0, y + 0.5), "1 2 A K", "", "button with lamp", 2.6)
    s.box("X10", (x + 8.2, y - 4.2), "1 3 2", "", "screws", 1.2)
    s.tag("S1.1", "S1.2", "S1.A", "S1.K", to="left")
    s.tag("X10.1", "X10.2", "X10.3", to="left")
    s.two("R27", (x + 1.2, y), (x + 1.2, y + 2.0), "left")
    s.two("R28", (x + 1.8, y), (x + 3.8, y))
    s.two("C16", (x + 4.4, y), (x + 4.4, y - 2.0))
    s.wire("R27.1", "R28.1")
    s.wire("R28.2", "C16.1")
    s.tag("R27.1", to="left")
    s.tag("C16.1", to="right")
    s.tag("R27.2", "C16.2")
    s.two("R29", (x + 1.0, y - 4.2), (x + 3.0, y - 4.2))
    s.tag("R29.1", to="left")
    s.tag("R29.2", to="right")
    s.two("R30", (x + 1.0, y - 7.0), (x + 3.0, y - 7.0))
    s.two("R31", (x + 3.6, y - 7.0), (x + 3.6, y - 9.0), "left")
    s.transistor("Q7", (x + 4.4, y - 7.0))
    s.wire("R30.2", "R31.1", "Q7.B")
    s.tag("R30.1", to="left")
    s.tag("Q7.C", to="right")
    s.tag("R31.2", "Q7.E")
    s.two("F3", (x + 13.0, y), (x + 15.0, y), "bottom")
    s.two("D9", (x + 15.8, y - 2.1), (x + 15.8, y), "left")
    s.terminal("X11", **{"1": (x + 17.4, y), "2": (x + 17.4, y - 2.1)})
    s.box("LS1", (x + 19.0, y + 0.5), "+ _ _ -", "", "buzzer", 2.0)
    s.wire("F3.2", "D9.K", "X11.1", "LS1.+")
    s.wire("D9.A", "X11.2", "LS1.-")
    s.tag("F3.1")
    s.tag("D9.A", to="left")
    s.two("R32", (x + 1.0, y - 11.2), (x + 3.0, y - 11.2))
    s.two("R33", (x + 3.6, y - 11.2), (x + 3.6, y - 13.2), "left")
    s.wire("R32.2", "R33.1")
    s.tag("R32.1", to="left")
    s.tag("R33.1", to="right")
    s.tag("R33.2")
    s.box("X4", (x + 8.2, y - 9.6), "1 3 2", "", "screws", 1.2)
    s.tag("X4.1", "X4.3", "X4.2", to="left")
    s.box("M3", (x + 8.2, y - 13.2), "+ in -", "", "servo", 1.6)
    s.tag("M3.+", "M3.in", "M3.-", to="left")


SHEETS = (power, blower, senses, four_wire, couple, probes, brain, hands)
