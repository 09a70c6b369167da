"""The circuit passes its own rule check, and the check sees each part that is left out, turned round or too weak."""

import pytest
from circuit import read
from hearth.core.fields import SETTINGS
from hearth.drivers import mux, supply
from netlist import PROBES, REFERENCE, SERIES, build
from rules import check
from stress import budget, fuse_for, heat, voltages

GOOD = build()
FREE = {"M2", "B1", "S1", "LS1", "M3"}  # what a builder may leave out


def test_nothing_is_said_against_the_circuit():
    assert check(GOOD) == []


@pytest.mark.parametrize("ref", [ref for ref in GOOD.parts if ref not in FREE | {f"B{n}" for n in range(2, 6)}])
def test_a_part_left_out_is_seen(ref):
    said = check(GOOD.without(ref))
    assert said
    assert all(sentence.endswith(".") for sentence in said)


@pytest.mark.parametrize(
    ("ref", "sentence"),
    [
        (
            "R3",
            "Q1: no pull-down from its gate to gnd, so it may switch on while the Pico is silent; fit 10 k.",
        ),
        ("D4", "M1: no flyback diode across it; its switch would be destroyed at the first pulse."),
        ("F1", "No fuse between the 12 V supply and the board: a short would make the wires glow; fit F1."),
        ("Q2", "Nothing guards against a supply the wrong way round: fit Q2, drain to the fuse, source to the board."),
        ("D1", "No suppressor across 12V: a supply of 19 V or 24 V would reach every part; fit D1."),
        (
            "R7",
            "Q3: no pull-up from its gate to 12V, so it may switch on while the Pico is silent; fit 10 k.",
        ),
        ("D6", "M2: no flyback diode across it; its switch would be destroyed at the first pulse."),
        ("C8", "U3: no decoupling at its pin VIN; fit 100 nF from 3V3 to ground beside it."),
        ("C13", "U4: no decoupling at its pin VCC; fit 100 nF from 3V3 to ground beside it."),
        ("C5", "U3: no filter capacitor of 100 nF between couple_plus and couple_minus."),
        ("FB1", "U3: no ferrite bead in the couple's wire to couple_plus."),
        ("R10", "M2: its open collector has no pull-up to 3.3 V; fit R10."),
        ("R27", "U1: its input GP15 (net button) floats; pull it up or down."),
        ("R24", "U1: 15.0 V on its pin GP27 (net supply), which bears 3.3 V."),
        ("C3", "No bulk capacitor on 5 V: the servo's first pull would restart the Pico; fit C3 of 470 uF."),
        ("Q1", "M1: no switch in its minus, so nothing sets its speed."),
        ("Q3", "M1: no switch in its 12 V, so nothing stops it when another part has failed."),
    ],
)
def test_what_the_check_says(ref, sentence):
    assert sentence in check(GOOD.without(ref))


@pytest.mark.parametrize("ref", ["D1", "D2", "D3", "D4", "D5", "D6", "D7", "C1", "C3"])
def test_a_part_the_wrong_way_round_is_seen(ref):
    assert check(GOOD.turned(ref))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        # IRLZ44N: sold as logic level, but stated from 4 V on, 35 mohm (from memory of its data sheet)
        (GOOD.rated("nmos", ohms_at=4.0, ohms=0.035), "Q1: its gate gets 3.1 V"),
        (GOOD.rated("nmos", ohms=0.6), "Q1: its junction"),
        (GOOD.rated("nmos", volts=20), "Q1: bears 20 V"),
        (GOOD.rated("nmos", amps=2), "Q1: carries 2.2 A"),
        (GOOD.rated("blower", draws_12v=[3.0, 6.0]), "F1: 3.1 A is more than this circuit is made for"),
        (GOOD.rated("fuse", amps=10), "F1: 10 A do not fit"),
        (GOOD.rated("schottky_3a", amps=0.2), "D4:"),
        (GOOD.rated("electrolytic", volts=16), "C1: bears 16 V"),
        (GOOD.rated("buck", supplies=0.5), "U2: gives 0.5 A"),
        (GOOD.rated("mains_supply", amps=1), "PS1: gives 1 A"),
        (GOOD.rated("tvs", standoff=10.2), "D1: conducts from 10.2 V"),
        (GOOD.rated("zener", volts=24), "Q2: up to 22.5 V"),
        (GOOD.changed("R29", value=100.0), "U1: 13.0 mA from its pin of lamp"),
        (GOOD.changed("R27", value=33.0), "R27: 0.33 W"),
        (GOOD.changed("R4", value=220e3), "Q5: its base gets"),
        (GOOD.changed("R3", value=10e6), "Q1: no pull-down"),
        (GOOD.changed("C15", value=100e-9), "C15: too large"),
        (GOOD.changed("R24", value=100e3), "U1: 10.2 V on its pin GP27"),
        (GOOD.moved("U3", "VIN", "5V"), "U3: 5.2 V on its pin VIN"),
        (GOOD.moved("R10", "2", "12V"), "M2: its open collector has no pull-up to 3.3 V"),
        (GOOD.moved("M2", "+", "12V"), "M2: 12 V are on"),
        (GOOD.moved("M1", "+", "12V"), "M1: no switch in its 12 V"),  # Q1 alone: shorted, the blower would run on
        (GOOD.moved("M1", "-", "gnd"), "M1: no switch in its minus"),
        (GOOD.moved("U2", "IN", "12V_in"), "U2 is fed from before the fuse"),
        (GOOD.moved("C1", "+", "12V_fused"), "C1 is fed from before the guard"),
        (GOOD.moved("Q1", "G", "fan_two"), "Q1: its gate"),
        (GOOD.changed("R1", value=1e6), "Q2: no resistor takes its gate to ground"),
        (GOOD.rated("zener", volts=5.1), "Q2: its gate gets 5.1 V"),
        (GOOD.moved("U4", "E", "3V3"), "U4: its pin E is on 3V3"),
        (GOOD.moved("U4", "S0", "mux_2").moved("U4", "S1", "mux_1"), "U4: its pin S0 is on mux_2"),
        (GOOD.turned("X1"), "X1: its pin 1 is on gnd, but PS1 has 12V_in there."),
        (GOOD.turned("X2"), "X2: its pin 1 is on cold"),
        (GOOD.moved("X3", "3", "speed").moved("X3", "4", "turns"), "X3: its pin 3 is on speed"),
        (GOOD.moved("X4", "1", "nudge").moved("X4", "3", "5V"), "X4: its pin 1 is on nudge"),
        (GOOD.turned("X5"), "X5: its pin + is on hot_minus"),
    ],
)
def test_a_part_too_weak_or_misplaced_is_seen(changed, words):
    assert any(words in sentence for sentence in check(changed)), check(changed)


def test_voltages_are_those_of_a_calculation_by_hand():
    rest, drive, dead = (voltages(GOOD, case) for case in ("rest", "drive", "dead"))
    assert rest["supply"] == pytest.approx(15 * 10 / 57)
    assert drive["gate"] == pytest.approx(3.3 * 10000 / 10100, rel=1e-3)
    assert rest["known"] == pytest.approx(3.3 * 10 / 32)
    assert drive["gate_on"] == pytest.approx(0.1 + 14.9 * 470 / 10470)
    assert dead["gate"] == dead["12V_fan"] == dead["base_on"] == dead["cold"] == rest["drain"] == 0.0
    assert dead["gate_on"] == pytest.approx(15.0, abs=1e-6)
    fed = voltages(GOOD, "fed")
    assert fed["gate"] == 0.0 and fed["12V_fan"] == 15.0
    assert fed["drain"] == pytest.approx(15 * 10 / 57.008)
    assert dead["converter"] == pytest.approx(3.3)


def test_the_heat_of_the_switch_is_that_of_a_calculation_by_hand():
    found = heat(GOOD, "Q1", 1.5, 1000.0)
    gate = 3.13 * 10000 / 10100
    assert found.gate == pytest.approx(gate, rel=2e-3)
    assert found.conducts == pytest.approx(1.5**2 * 0.029 * 1.6)
    rise, fall = 8e-9 * 270 / (gate - 2.0), 8e-9 * 270 / 2.0
    assert found.switches == pytest.approx(0.5 * 15 * 1.5 * (rise + fall) * 1000, rel=0.01)
    assert found.junction == pytest.approx(50 + (found.conducts + found.switches) * 62)
    assert found.junction < 60.0


def test_the_supplies_add_up():
    logic, five, twelve = (budget(GOOD, rail) for rail in ("3V3", "5V", "12V"))
    # pull-ups 4 x 22 k with hot probes and 22 k + 10 k, lamp 3.9 mA, bases, gates: some 11 mA
    assert 0.008 < logic.usual < logic.worst < 0.02
    assert five.worst == pytest.approx(0.1 + 0.9 + logic.worst * 3.3 / 5 / 0.85)
    assert twelve.usual == pytest.approx(1.5 + five.usual * 5.25 / 12 / 0.85)
    assert twelve.worst < 3.0


@pytest.mark.parametrize(("amps", "fuse"), [(0.3, 0.5), (0.5, 0.8), (1.0, 1.6), (1.58, 2.5)])
def test_the_fuse_for_a_fan(amps, fuse):
    assert fuse_for(amps) == fuse


def test_a_fan_too_large_is_refused():
    with pytest.raises(ValueError, match="use a smaller fan"):
        fuse_for(3.5)


def test_circuit_and_pin_map_agree():
    assert {pin: net for pin, net in GOOD.parts["U1"].pins.items() if pin.startswith("GP")} == {
        f"GP{row['gp']}": name for name, row in read("pins.toml").items()
    }


def test_circuit_and_firmware_agree():
    defaults = {row[0]: row[5] for row in SETTINGS}
    assert defaults["series_ohms"] == SERIES
    assert REFERENCE == mux.REFERENCE_OHMS
    assert GOOD.parts["U4"].pins[f"Y{mux.REFERENCE}"] == "known"
    assert [GOOD.parts["U4"].pins[pin] for pin in ("S0", "S1", "S2")] == ["mux_1", "mux_2", "mux_4"]
    for channel, name in enumerate(PROBES):
        assert f"{name}_offset" in defaults
        assert GOOD.parts["U4"].pins[f"Y{channel}"] == f"{name}_in"
    assert [GOOD.parts[ref].value for ref in ("R23", "R24")] == [supply.TOP, supply.BOTTOM]
    assert [GOOD.parts[ref].value for ref in ("R25", "R26")] == [supply.TOP, supply.BOTTOM]
