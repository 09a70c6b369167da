"""The build guide says what the circuit says: every part soldered once, figures as they are, links that lead on."""

import dataclasses
import re

import box
import parts
import pytest
import record
import steps
from adapter import METAL, METAL_PIPE, Adapter
from circuit import HERE
from netlist import build
from steps import refs
from stress import budget, figures, fuse_for

GOOD = build()
ORDER = steps.steps()
GUIDE = (HERE / "README.md").read_text()
PLAIN = " ".join(GUIDE.split())


def test_every_part_is_placed_in_one_step_and_every_chip_finds_its_socket():
    assert list(steps.faulty(GOOD, ORDER)) == []


@pytest.mark.parametrize(
    ("number", "change", "said"),
    [
        (2, {"solder": "C1, C3, Q6, D8, R34"}, "C17 is placed in no step."),
        (11, {"fit": "X5, FB1, B1-B5"}, "FB2 is placed in no step."),
        (4, {"solder": "Q3, Q5, R1, R4-R7, D5, D6, R35, R23-R26, C14, C15"}, "R1 is placed in step 1 and in step 4."),
        (7, {"solder": "C8, R12, R99"}, "Step 7 names R99, which is not in the circuit."),
        (9, {"solder": "X4, X10, X11, R27-R33, C16, Q7, F3, D9, LS1"}, "Step 9 solders LS1, which is fitted"),
        (10, {"fit": "U1, U3, U4, C13"}, "Step 10 fits C13, which is soldered."),
        (3, {"sockets": ""}, "U1 has no socket."),
        (8, {"sockets": "U4, U2"}, "U2 has a socket and is no chip."),
        (3, {"fit": "U3"}, "U3 goes into its socket in step 10"),
    ],
)
def test_a_slip_in_the_steps_is_seen(number, change, said):
    order = list(ORDER)
    order[number - 1] = dataclasses.replace(order[number - 1], **change)
    if said.startswith("U3 goes"):  # its socket comes last
        order[6] = dataclasses.replace(order[6], sockets="")
        order[2] = dataclasses.replace(ORDER[2])
        order[11] = dataclasses.replace(order[11], sockets="U3")
    assert any(line.startswith(said) for line in steps.faulty(GOOD, order)), list(steps.faulty(GOOD, order))


def test_the_guide_has_these_steps():
    assert steps.table() in GUIDE, "run `python hardware/steps.py` and put its table in"


def test_every_part_named_is_in_the_circuit():
    named = {ref for ref in refs(PLAIN) if ref[0] in "RCDQUXJFLM" and not ref.startswith("IP") and ref != "M3"}
    assert named <= set(GOOD.parts) | {"LS1"}, named - set(GOOD.parts)


def test_the_figures_are_as_worked_out_now():
    for row in figures(GOOD):
        assert "| " + " | ".join(row) + " |" in GUIDE, "run `python hardware/stress.py` and put its table in"


@pytest.mark.parametrize("fan", [0.3, 0.5, 1.0])
def test_the_fuse_for_a_smaller_fan(fan):
    others = budget(GOOD, "12V").usual - 1.5
    rating = fuse_for(fan + others)
    words = f"T{rating:g}A" if rating >= 1 else f"T{rating * 1000:.0f}mA"
    assert f"{fan:g} A {words}" in PLAIN


def test_every_fuse_that_the_guide_asks_for_is_on_the_parts_list_and_one_to_spare():
    asked = set(re.findall(r"T[0-9.]+(?:mA|A)", GUIDE)) | {GOOD.stock[kind]["type"] for kind in ("fuse", "fuse_5v")}
    loose = {row[1].split(", ")[2]: row[0] for row in parts.BESIDE if row[1].startswith("fuse 5 x 20 mm, time-lag")}
    assert set(loose) == asked and len(asked) == 4 and min(loose.values()) >= 2


def test_the_test_points_that_carry_a_loop_are_placed_in_step_1_and_on_the_parts_list():
    loops = [ref for step in ORDER for ref in step.placed() if ref.startswith("TP")]
    assert loops == ["TP1", "TP2", "TP3"] and set(loops) <= set(ORDER[0].placed())
    (row,) = (row for row in parts.BESIDE if refs(row[3]) and row[3].startswith("TP"))
    assert row[0] == len(loops) and refs(row[3]) == loops
    assert "TP1 to TP3 carry a loop" in " ".join(record.HEAD.split())


def test_what_holds_the_5_volts_is_said_for_a_supply_that_shuts_off():
    held = PLAIN[PLAIN.index("**The 5 V.**") : PLAIN.index("**Two wires or four.**")]
    fuse = GOOD.stock["fuse_5v"]
    for words in ("holds the 5 V with any supply", f"{fuse['amps'] * fuse['blows']:g} A", "F2 stays whole", "Unplug"):
        assert words in held, words
    assert "F2 blows, or PS1 blinks or ticks because it shuts off" in " ".join(record.HEAD.split())


def test_the_trial_has_both_switches_a_thermal_fuse_and_nothing_wrapped_round_it():
    trial = PLAIN[PLAIN.index("## 3. First trial") : PLAIN.index("## 4. Air")]
    for words in ("at X2 of the finished board", "both switches", "thermal fuse", "near 200 C", "nothing lies on it"):
        assert words in trial, words
    assert "towel" not in GUIDE


def test_the_record_sheet_has_rows_for_each_step_in_their_order():
    numbers = [int(step) for step, *_ in record.rows(GOOD)]
    assert numbers == sorted(numbers) and set(numbers) == {step.number for step in ORDER}


def test_no_row_of_the_record_sheet_needs_what_is_not_there_yet():
    placed = {ref: step.number for step in ORDER for ref in step.placed()}
    placed |= {ref: step.number for step in ORDER for ref in refs(step.sockets)}  # a row before needs no chip
    for step, where, how, _ in record.rows(GOOD):
        for ref in refs(f"{where} {how}"):
            assert ref.startswith("TP") or placed[ref] <= int(step), (step, where, how, ref)


def test_a_voltage_that_nothing_holds_yet_is_not_in_the_record_sheet():
    with pytest.raises(KeyError, match="known"):
        record.volts(GOOD, 7, "known")
    with pytest.raises(KeyError, match="12V_fan"):
        record.volts(GOOD, 3, "12V_fan")


def test_every_test_point_is_measured_under_the_name_that_is_printed_below_it():
    label = record.printed()
    points = {part.ref for part in GOOD.kind("test")}
    assert set(label) == points
    measured = " ".join(where for _, where, _, _ in record.rows(GOOD))
    for ref in points - {"TP1"}:  # TP1 is where the other lead goes
        assert f"{ref} `{label[ref]}`" in measured, ref
    assert "measured against TP1 (`gnd`)" in record.HEAD and label["TP1"] == "gnd"


def test_no_electrolytic_and_no_chip_is_there_when_the_supply_is_turned_round():
    row = next(row for row in record.rows(GOOD) if "wrong way round" in row[2])
    there = steps.after(GOOD, int(row[0]))
    assert {"F1", "Q2", "D1", "X1"} <= set(there.parts)
    assert not [part.ref for part in there.parts.values() if part.type == "electrolytic"]
    assert not there.kind("chip", "module")
    assert "goggles" in row[2]


def test_what_a_measurement_needs_is_on_the_list_of_tools():
    tools = PLAIN[PLAIN.index("**On the bench.**") : PLAIN.index("**Before the iron is hot.**")]
    for words in ("0.1 A", "ohm", "1 kohm", "10 ohm 50 W", "soldering iron", "magnifier", "goggles", "clips"):
        assert words in tools, words
    safe = PLAIN[PLAIN.index("**Before the iron is hot.**") : PLAIN.index("**The order.**")]
    for words in ("Goggles", "window", "burns", "lead", "unplugged"):
        assert words in safe, words


def test_what_holds_the_adapter_together_is_on_the_parts_list():
    bought = {row[1].split(",")[0]: row[0] for row in parts.BESIDE}
    assert bought["screw M3 x 12 mm with nut"] == 4 and any("four screws and nuts M3" in line for line in METAL)
    sizes = Adapter()
    assert f"steel wire {sizes.pin:g} mm" in bought and f"steel pipe {sizes.pipe:g} mm inside" in bought
    pipe = next(row[1] for row in parts.BESIDE if row[1].startswith("steel pipe"))
    assert f"{METAL_PIPE:.0f} mm or more" in pipe


def test_glands_are_as_many_as_the_box_has_holes_for_them():
    holes = [hole for hole in box.Box().floor() if "sockets" not in hole.what]
    m12 = sum(hole.wide == box.M12 for hole in holes if hole.what != "vent")
    bought = {row[1].split(",")[0]: row[0] for row in parts.BESIDE}
    assert bought["cable gland M12"] == m12
    assert bought["vent plug with membrane"] == sum(hole.what == "vent" for hole in holes)
    assert bought["probe socket for the wall"] == sum(hole.wide == box.SOCKET for hole in holes)
    assert "USB" in {hole.what for hole in holes if hole.wide == box.M16}


def test_the_record_sheet_is_as_made_now():
    assert record.FILE.read_text() == record.sheet(GOOD), "run `python hardware/record.py` to make it anew"


def test_links_lead_to_files():
    for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", GUIDE):
        assert (HERE / link).exists(), link
    heads = {
        re.sub(r"[^a-z0-9 -]", "", head.lower()).replace(" ", "-") for head in re.findall(r"^#+ (.*)", GUIDE, re.M)
    }
    assert set(re.findall(r"\]\(#([^)]+)\)", GUIDE)) <= heads
    assert "3-first-trial-a-pot-of-warm-water" in heads


def test_the_cautions_are_said():
    for words in (
        "12 V and nothing above it, and fused",
        "No mains inside the box",
        "No plastics on a hot vent",
        f"at least {METAL_PIPE:.0f} mm",
        "Never indoors, under a gazebo, in a garage",
        "carbon monoxide",
        "Embers live for a day",
        "Local codes and licensed practice",
        "../README.md#cautions",
        "`tuyere board load`",
        "`tuyere board check`",
    ):
        assert words in PLAIN
