"""The circuit passes its own rule check, and the check sees each part that is left out, turned round or too weak."""

import faults
import leakage
import pytest
from circuit import read
from hearth.core.fields import SETTINGS
from hearth.drivers import mux, supply
from netlist import PROBES, REFERENCE, SERIES, build
from rules import check
from stress import OPEN, SHORT, budget, fuse_for, heat, voltages

GOOD = build()
TESTS = {part.ref for part in GOOD.kind("test")}
FREE = {"M2", "B1", "S1", "LS1", "M3"} | TESTS  # what a builder may leave out


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
        ("R24", "U1: 15.0 V on its pin GP27 (net supply), which bears 3.8 V."),
        ("C3", "No bulk capacitor on 5 V: the servo's first pull would restart the Pico; fit C3 of 470 uF."),
        ("Q1", "M1: no switch in its minus, so nothing sets its speed."),
        ("Q3", "M1: no switch in its 12 V, so nothing stops it when another part has failed."),
        (
            "R9",
            "M2: while the Pico is silent nothing holds its speed wire low, so that Q3 alone stops it; fit R9 from the "
            "fan's 12 V to the base of Q4.",
        ),
        ("R35", "Q3: shorted, it does not show with a fan of 4 wires; fit R35 of 100 k."),
        ("F2", "U2: no fuse of its own in its 12 V, so nothing ends it when it fails; fit F2."),
        ("Q6", "U2: nothing shorts 5V when it puts 12 V there: they would reach the Pico; fit Q6."),
        ("F3", "LS1: no fuse of its own between 12V and its cable; fit F3."),
        ("D7", "M2: its turns wire is not led away to 3.3 V; fit D7."),
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
        (GOOD.rated("nmos", ohms_at=10.0, ohms=0.0175), "Q1: its gate gets 4.7 V"),  # IRFZ44N: stated at 10 V only
        (GOOD.moved("U5", "VDD", "3V3"), "U5: its pin VDD is on 3V3"),
        (GOOD.rated("nmos", ohms=0.6), "Q1: its junction"),
        (GOOD.rated("nmos", volts=20), "Q1: bears 20 V"),
        (GOOD.rated("nmos", amps=2), "Q1: carries 2.2 A"),
        (GOOD.rated("darlington", amps=0.1), "Q7: carries 0.20 A"),
        (GOOD.rated("blower", draws_12v=[3.0, 6.0]), "F1: 3.1 A is more than this circuit is made for"),
        (GOOD.rated("fuse", amps=10), "F1: 10 A do not fit"),
        (GOOD.rated("fast_3a", amps=0.2), "D4:"),
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
        (GOOD.moved("R9", "2", "gnd"), "M2: while the Pico is silent nothing holds its speed wire low"),
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


# What a review of the circuit found that the rules of that day let through.
REVIEW = {
    "a supply of 19 V": (GOOD.rated("mains_supply", volts=19), "PS1: 19 V"),
    "a supply of 24 V": (GOOD.rated("mains_supply", volts=24), "PS1: 24 V"),
    "the step-down's ground on 5 V": (GOOD.moved("U2", "GND", "5V"), "U2: its pin GND is on 5V"),
    "VEE of the multiplexer on 3.3 V": (GOOD.moved("U4", "VEE", "3V3"), "U4: its pin VEE is on 3V3"),
    "T+ and T- exchanged": (
        GOOD.moved("U3", "T+", "couple_minus").moved("U3", "T-", "couple_plus"), "it would read backwards",
    ),
    "R11 and D7 bypassed": (GOOD.changed("R11", value=1.0), "R11: 1 ohm between turns and tach"),
    "the ends of J1 exchanged": (GOOD.moved("J1", "two", "fan_four").moved("J1", "four", "fan_two"), "J1: its end"),
    "a wrong R10": (GOOD.changed("R10", value=100e3), "R10: 100000 ohm"),
    "a wrong R13": (GOOD.changed("R13", value=10e3), "R13: 10000 ohm; the setting series_ohms says 22000"),
    "a wrong R14": (GOOD.changed("R14", value=100e3), "no resistor of 470 to 2200 ohm before its channel Y0"),
    "a wrong R22": (GOOD.changed("R22", value=22e3), "channel 7 is no known resistance"),
    "a wrong R25": (GOOD.changed("R25", value=39e3), "R25: 39000 ohm; the firmware counts on 47000"),
    "C4 far too large": (GOOD.changed("C4", value=1e-6), "fast turns would no longer be counted"),
    "C5 far too large": (GOOD.changed("C5", value=10e-6), "the reading would lag"),
    "C6 far too large": (GOOD.changed("C6", value=1e-6), "the two sides would no longer be alike"),
    "C9 far too large": (GOOD.changed("C9", value=10e-6), "would not settle before it is taken"),
    "GP16 and GP22 exchanged": (
        GOOD.moved("U1", "GP16", "fan_supply").moved("U1", "GP22", "fan"), "its GP16 is on fan_supply",
    ),
    "wrong legs in the stock": (
        GOOD.rated("npn", legs={"C": "3", "B": "2", "E": "1"}), "leg 1 of npn is E; its data sheet has C",
    ),
}  # fmt: skip


@pytest.mark.parametrize("slip", REVIEW)
def test_what_a_review_found_is_seen_now(slip):
    circuit, words = REVIEW[slip]
    assert any(words in sentence for sentence in check(circuit)), check(circuit)


@pytest.mark.parametrize("wires", [2, 4])
@pytest.mark.parametrize("ref", ["Q1", "Q3", "Q4", "Q5", "U5"])
@pytest.mark.parametrize("case", ["dead", "rest"])
def test_with_any_one_switch_shorted_no_fan_runs(ref, case, wires):
    assert not faults.runs(GOOD, voltages(GOOD, case, 15.0, wires, {ref: SHORT}), wires)


@pytest.mark.parametrize(("wires", "closed"), [(2, {"Q1", "Q3"}), (4, {"Q3"})])
def test_a_fan_runs_when_both_of_its_switches_let_it(wires, closed):
    """Without that the test above could not fail."""
    failed = dict.fromkeys(closed, SHORT) | ({"Q4": OPEN} if wires == 4 else {})
    assert faults.runs(GOOD, voltages(GOOD, "dead", 15.0, wires, failed), wires)


def test_voltages_are_those_of_a_calculation_by_hand():
    rest, drive, dead = (voltages(GOOD, case) for case in ("rest", "drive", "dead"))
    assert rest["supply"] == pytest.approx(15 * 8.2 / 55.2)
    assert drive["push"] == 5.25 and drive["gate"] == pytest.approx(5.25 * 10000 / 10100, rel=1e-3)
    assert rest["known"] == pytest.approx(3.3 * 10 / 32)
    assert drive["gate_on"] == pytest.approx(0.1 + 14.9 * 470 / 10470)
    for net in ("gate", "12V_fan", "base_on", "cold"):
        assert dead[net] == pytest.approx(0.0, abs=1e-6)
    assert rest["drain"] == pytest.approx(0.0, abs=1e-6)
    assert dead["gate_on"] == pytest.approx(15.0, abs=1e-6)
    fed = voltages(GOOD, "fed")
    assert fed["gate"] == 0.0 and fed["12V_fan"] == pytest.approx(15.0, abs=0.01)
    assert fed["drain"] == pytest.approx(15 * 8.2 / 55.2, rel=1e-3)
    assert dead["converter"] == pytest.approx(3.3)


def test_the_drain_without_a_blower_is_that_of_a_calculation_by_hand():
    q1, d4 = GOOD.parts["Q1"], GOOD.stock["fast_3a"]
    assert leakage.leak(d4, 25.0) == 5e-6 and leakage.leak(d4, 150.0) == pytest.approx(150e-6)
    assert leakage.leak(d4) == pytest.approx(5e-6 * 30**0.2)  # 50 C is a fifth of the way
    beside = 1 / (1 / 100e3 + 1 / 55.2e3)
    for celsius in (25.0, 50.0):
        least, most = leakage.drain_without_a_blower(GOOD, q1, 12.0, celsius)
        assert most == pytest.approx((12 / 100e3 + leakage.leak(d4, celsius)) * beside, rel=1e-3)
        assert least == pytest.approx((12 / 100e3 - leakage.leak(GOOD.stock["nmos"], celsius)) * beside, rel=1e-3)
    fed = voltages(GOOD, "fed", 12.0, 2, {"M1": OPEN})
    assert fed["cold"] == pytest.approx(12 / 100e3 * beside, rel=1e-3)  # what the record sheet has, within 5 %
    assert leakage.drain_without_a_blower(GOOD, q1, 12.0, 25.0)[1] < fed["cold"] * 1.05


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (GOOD.rated("fast_3a", leaks=[[25, 2e-3], [100, 20e-3]]), "D4: leaks 4309 uA in a box of 50 C"),  # a Schottky
        (GOOD.rated("fast_3a", leaks=[[25, 20e-6], [150, 600e-6]]), "D4: leaks 39 uA"),  # what the limit is about
        (GOOD.rated("fast_3a", recovers_ns=1500), "D4: blocks after 1500 ns, but Q1 conducts after"),
        (GOOD.rated("nmos", leaks=[[25, 100e-6], [150, 1e-3]]), "Q1: leaks 158 uA"),
        (GOOD.rated("pmos", leaks=[[25, 1e-3], [150, 10e-3]]), "Q3: leaks so much that with a fan of 2 wires"),
        (GOOD.changed("D4", type="schottky_1a"), "D4: nothing says how much it leaks"),
    ],
)
def test_a_part_that_leaks_too_much_or_blocks_too_late_is_seen(changed, words):
    assert any(words in sentence for sentence in check(changed)), check(changed)


def test_a_four_wire_fans_wire_is_low_while_nobody_drives_it_and_its_supply_is_stuck_on():
    at = voltages(GOOD, "dead", 12.0, 4, {"Q3": SHORT})
    assert at["12V_fan"] > 11.0 and at["speed"] < 0.2
    # the drain by 100 k over 47 k and 8.2 k, what the firmware looks for
    assert at["cold"] == pytest.approx(at["12V_fan"] * 55.2 / 155.2, rel=1e-3)


def test_the_heat_of_the_switch_is_that_of_a_calculation_by_hand():
    found = heat(GOOD, "Q1", 1.5, 1000.0)
    gate = 4.75 * 10000 / 10100
    assert found.gate == pytest.approx(gate, rel=2e-3)
    assert found.conducts == pytest.approx(1.5**2 * 0.035 * 1.6)
    rise, fall = 25e-9 * 110 / (gate - 2.0), 25e-9 * 110 / 2.0
    assert found.switches == pytest.approx(0.5 * 15 * 1.5 * (rise + fall) * 1000, rel=0.01)
    assert found.junction == pytest.approx(50 + (found.conducts + found.switches) * 62)
    assert found.junction < 65.0


def test_the_supplies_add_up():
    logic, five, twelve = (budget(GOOD, rail) for rail in ("3V3", "5V", "12V"))
    # pull-ups 4 x 22 k with hot probes and 22 k + 10 k, lamp 3.9 mA, bases, gates: some 11 mA
    assert 0.008 < logic.usual < logic.worst < 0.02
    assert five.worst == pytest.approx(0.1 + 0.9 + 0.008 + logic.worst * 3.3 / 5 / 0.85)
    assert twelve.usual == pytest.approx(1.5 + five.usual * 5.25 / 12 / 0.85)
    assert twelve.worst < 3.2


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
