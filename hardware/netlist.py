"""The circuit: every part, what it is for, and where its pins go. The Pico's pins come from pins.toml."""

from __future__ import annotations

from circuit import Circuit, Part, read

TWO = {
    "resistor": "1 2",
    "ceramic": "1 2",
    "electrolytic": "+ -",
    "fuse": "1 2",
    "fuse_5v": "1 2",
    "fuse_call": "1 2",
    "ferrite": "1 2",
    "tvs": "A K",
    "zener": "A K",
    "zener_5v6": "A K",
    "fast_3a": "A K",
    "schottky_1a": "A K",
    "schottky_small": "A K",
}
PROBES = ("meat_1", "meat_2", "meat_3", "ambient")  # channels 0-3 of the multiplexer, as in hearth
SERIES = 22e3  # the setting series_ohms
REFERENCE = 10e3  # channel 7, as in hearth/drivers/mux.py
TOP, FOOT = 47e3, 8.2e3  # as in hearth/drivers/supply.py


class _Sheets:
    """Parts as they are written down, sheet by sheet."""

    def __init__(self) -> None:
        self.parts: dict[str, Part] = {}
        self.sheet = ""

    def put(
        self, ref: str, type_: str, nets: str, does: str, value: float = 0.0, near: str = "", place: str = ""
    ) -> None:
        """A part; `nets` is "pin=net pin=net", or the nets alone for a part with two pins."""
        if ref in self.parts:
            raise ValueError(f"{ref} is used twice in netlist.py; number the second one anew")
        if "=" in nets:
            pins = dict(pair.rsplit("=", 1) for pair in nets.split())
        else:
            pins = dict(zip(TWO[type_].split(), nets.split(), strict=True))
        self.parts[ref] = Part(ref, type_, pins, does, self.sheet, value, near, place)

    def r(self, ref: str, value: float, nets: str, does: str) -> None:
        """A resistor of `value` ohm."""
        self.put(ref, "resistor", nets, does, value)

    def c(self, ref: str, value: float, nets: str, does: str, near: str = "", place: str = "") -> None:
        """A capacitor of `value` farad; from 1 uF on an electrolytic."""
        self.put(ref, "electrolytic" if value >= 1e-6 else "ceramic", nets, does, value, near, place)


def build() -> Circuit:
    """The whole circuit."""
    s = _Sheets()
    for sheet in (_power, _brain, _fan_supply, _blower, _four_wire, _couple, _probes, _senses, _hands, _tests):
        s.sheet = sheet.__name__.removeprefix("_")
        sheet(s)
    outputs = tuple(name for name, row in read("pins.toml").items() if row["way"] == "out")
    return Circuit(s.parts, read("stock.toml"), outputs)


def _power(s: _Sheets) -> None:
    s.put("PS1", "mains_supply", "+=12V_in -=gnd", "feeds it all; outside the box, in the dry")
    s.put("X1", "screw_2", "1=12V_in 2=gnd", "the supply's cable")
    s.put("F1", "fuse", "12V_in 12V_fused", "the only way in: blows before a wire glows")
    s.put("Q2", "pmos", "G=guard D=12V_fused S=12V", "conducts only if the supply is the right way round")
    s.r("R1", 10e3, "guard gnd", "turns Q2 on")
    s.put("D2", "zener", "guard 12V", "keeps Q2's gate within its limit")
    s.put("D1", "tvs", "gnd 12V", "cuts spikes; a supply of more than 15 V burns it, and the fuse blows only past 5 A")
    s.c("C1", 470e-6, "12V gnd", "gives the fan's pulses, so that the supply's cable carries their average", "Q1")
    s.put("F2", "fuse_5v", "12V 12V_five", "blows when the step-down fails or Q6 fires, if the supply lasts that long")
    s.c("C2", 100e-9, "12V_five gnd", "the step-down's fast edges", "U2")
    s.put("U2", "buck", "IN=12V_five GND=gnd OUT=5V", "5 V for the Pico, the gate of Q1 and the servo")
    s.c("C3", 470e-6, "5V gnd", "carries the servo's first pull", "X4")
    s.put(
        "Q6",
        "thyristor",
        "K=gnd A=5V G=fires",
        "shorts the 5 V when they rise too far, until F2 blows or the supply shuts off",
    )
    s.put("D8", "zener_5v6", "fires 5V", "says how far is too far")
    s.r("R34", 220, "fires gnd", "keeps what leaks through D8 from firing Q6")
    s.c("C17", 100e-9, "fires gnd", "keeps a spike from firing it", "Q6")
    s.put("D3", "schottky_1a", "5V vsys", "keeps USB from feeding the 5 V side")


def _brain(s: _Sheets) -> None:
    edge = {f"GP{row['gp']}": name for name, row in read("pins.toml").items()}
    nets = " ".join(f"{pin}={net}" for pin, net in edge.items())
    s.put("U1", "pico", f"VSYS=vsys GND=gnd AGND=gnd 3V3=3V3 ADC_VREF=vref {nets}", "decides and drives")


def _tests(s: _Sheets) -> None:
    for number, net in enumerate(("gnd", "12V", "5V", "3V3", "12V_fan", "cold", "gate", "speed", "vref"), 1):
        s.put(f"TP{number}", "test_point", f"1={net}", f"to measure {net}")


def _fan_supply(s: _Sheets) -> None:
    s.r("R4", 2.2e3, "fan_supply base_on", "base of Q5")
    s.r("R5", 10e3, "base_on gnd", "pull-down: nobody drives, no supply")
    s.put("Q5", "npn", "B=base_on C=pull E=gnd", "pulls Q3's gate down")
    s.r("R6", 470, "pull gate_on", "limits what Q5 takes")
    s.r("R7", 10e3, "gate_on 12V", "pull-up: Q3 off unless Q5 pulls")
    s.put("D5", "zener", "gate_on 12V", "keeps Q3's gate within its limit")
    s.put("Q3", "pmos", "G=gate_on D=12V_fan S=12V", "12 V of either fan: one of its two switches")
    s.put("D6", "schottky_1a", "gnd 12V_fan", "flyback: the fan's current goes round when Q3 opens")
    s.r("R35", 100e3, "12V_fan cold", "shows at the drain whether Q3 is shorted, and whether a blower is plugged in")


def _blower(s: _Sheets) -> None:
    s.put("J1", "link", "common=fan two=fan_two four=fan_four", "jumper: two wires or four, never both")
    s.r("R36", 10e3, "fan_two gnd", "pull-down: nobody drives, fan off")
    s.put(
        "U5",
        "gate_driver",
        "VDD=5V GND=gnd INA=fan_two INB=gnd OUTA=push",
        "makes 5 V of the Pico's 3.3 V for Q1's gate",
    )
    s.c("C18", 100e-9, "5V gnd", "decoupling", "U5")
    s.r("R2", 100, "push gate", "slows the gate to about a microsecond")
    s.r("R3", 10e3, "gate gnd", "pull-down: no 5 V, fan off")
    s.put("Q1", "nmos", "G=gate D=cold S=gnd", "the blower's own switch, pulsed")
    s.put(
        "D4",
        "fast_3a",
        "cold 12V_fan",
        "flyback: the blower's current goes round; no Schottky, whose leakage looks like a blower",
    )
    s.put("X2", "screw_2", "1=12V_fan 2=cold", "the blower's cable")
    s.put("M1", "blower", "+=12V_fan -=cold", "air for the fire")


def _four_wire(s: _Sheets) -> None:
    s.r("R8", 1e3, "fan_four base_slow", "base of Q4")
    s.r(
        "R9",
        33e3,
        "base_slow 12V_fan",
        "from the fan's own 12 V: nobody drives, the speed wire is low and the fan stands",
    )
    s.put("Q4", "npn", "B=base_slow C=speed E=gnd", "open collector on the fan's speed wire")
    s.r("R10", 10e3, "turns 3V3", "pull-up of the fan's open collector")
    s.r("R11", 22e3, "turns tach", "holds back a fan that pulls its wire to 12 V")
    s.put("D7", "schottky_small", "tach 3V3", "and leads that away")
    s.c("C4", 10e-9, "tach gnd", "a clean edge", "U1")
    s.put("X3", "header_4", "1=gnd 2=12V_fan 3=turns 4=speed", "the fan's plug")
    s.put("M2", "fan_4", "-=gnd +=12V_fan turns=turns speed=speed", "air for the fire, the other kind")


def _couple(s: _Sheets) -> None:
    s.put("B1", "couple", "+=hot_plus -=hot_minus", "the pit at grate height")
    s.put(
        "X5",
        "couple_2",
        "+=hot_plus -=hot_minus",
        "socket in the wall; type K wire from it to the converter's own terminal",
    )
    s.put(
        "FB1",
        "ferrite",
        "hot_plus couple_plus",
        "keeps radio out of microvolts; slipped over the couple's wire, no joint",
    )
    s.put("FB2", "ferrite", "hot_minus couple_minus", "the same")
    s.c("C5", 100e-9, "couple_plus couple_minus", "filter of the data sheet, across", "U3", "module")
    s.c("C6", 10e-9, "couple_plus gnd", "filter of the data sheet, to ground", "U3", "module")
    s.c("C7", 10e-9, "couple_minus gnd", "filter of the data sheet, to ground", "U3", "module")
    nets = "VIN=3V3 GND=gnd SCK=clock SDI=to_converter SDO=from_converter CS=converter T+=couple_plus T-=couple_minus"
    s.put("U3", "converter", nets, "microvolts to degrees, with its own cold junction")
    s.c("C8", 100e-9, "3V3 gnd", "decoupling", "U3")
    s.r("R12", 10e3, "converter 3V3", "not selected unless driven")


def _probes(s: _Sheets) -> None:
    nets = "VCC=3V3 GND=gnd VEE=gnd E=gnd S0=mux_1 S1=mux_2 S2=mux_4 Z=probes Y4=gnd Y5=gnd Y6=gnd Y7=known"
    for channel, name in enumerate(PROBES):
        nets += f" Y{channel}={name}_in"
        s.put(f"B{channel + 2}", "probe", f"1={name} 2=gnd", f"channel {channel}: {name.replace('_', ' ')}")
        s.put(f"X{channel + 6}", "jack", f"1={name} 2=gnd", f"socket of {name.replace('_', ' ')}")
        s.r(f"R{13 + 2 * channel}", SERIES, f"{name} vref", "pull-up that the probe divides with")
        s.r(f"R{14 + 2 * channel}", 1e3, f"{name} {name}_in", "keeps a spark at the socket from the chip")
        s.c(f"C{9 + channel}", 100e-9, f"{name}_in gnd", "filter of a long cable", "U4")
    s.r("R21", SERIES, "known vref", "the same pull-up")
    s.r("R22", REFERENCE, "known gnd", "a resistance that is known: checks all of it")
    s.put("U4", "mux", nets, "eight channels on one ADC pin")
    s.c("C13", 100e-9, "3V3 gnd", "decoupling", "U4")


def _senses(s: _Sheets) -> None:
    s.r("R23", TOP, "12V supply", "divider of the supply")
    s.r("R24", FOOT, "supply gnd", "and its foot")
    s.c("C14", 100e-9, "supply gnd", "steadies it", "U1")
    s.r("R25", TOP, "cold drain", "divider of the switch's drain")
    s.r("R26", FOOT, "drain gnd", "and its foot")
    s.c("C15", 1e-9, "drain gnd", "small: must follow a pulse of 0.1 ms", "U1")


def _hands(s: _Sheets) -> None:
    s.put("X10", "screw_3", "1=press 2=gnd 3=light", "the button's cable")
    s.put("S1", "push", "1=press 2=gnd A=light K=gnd", "opening the lid; held: seen")
    s.r("R27", 10e3, "press 3V3", "pull-up, also of a long cable")
    s.r("R28", 1e3, "press button", "keeps a spark at the button from the pin")
    s.c("C16", 100e-9, "button gnd", "takes the bounce", "U1")
    s.r("R29", 330, "lamp light", "some 4 mA for the lamp")
    s.r("R30", 2.2e3, "buzzer base_call", "base of Q7")
    s.r("R31", 10e3, "base_call gnd", "pull-down: silent unless driven")
    s.put("Q7", "darlington", "B=base_call C=call E=gnd", "switches the buzzer")
    s.put(
        "F3", "fuse_call", "12V 12V_call", "keeps a fault of the buzzer's long cable from the rest; heals when it cools"
    )
    s.put("D9", "schottky_1a", "call 12V_call", "flyback of a buzzer with a coil")
    s.put("X11", "screw_2", "1=12V_call 2=call", "the buzzer's cable, long enough to reach the cook's bed")
    s.put("LS1", "sounder", "+=12V_call -=call", "calls")
    s.r("R32", 330, "servo nudge", "keeps a fault of the servo from the pin")
    s.r("R33", 10e3, "nudge gnd", "pull-down: no pulses while nobody drives")
    s.put("X4", "screw_3", "1=5V 2=gnd 3=nudge", "the servo's cable")
    s.put("M3", "servo", "+=5V -=gnd in=nudge", "moves the damper")
