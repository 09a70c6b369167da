"""The build guide says what the circuit says: every part soldered once, figures as they are, links that lead on."""

import re

import pytest
import record
from adapter import METAL_PIPE
from circuit import HERE
from netlist import build
from stress import budget, figures, fuse_for

GOOD = build()
GUIDE = (HERE / "README.md").read_text()
PLAIN = " ".join(GUIDE.split())


def refs(words):
    """R4, R13-R22, U3 -> every part named."""
    named = []
    for kind, first, last in re.findall(r"\b([A-Z]{1,2})(\d+)(?:-[A-Z]{1,2}(\d+))?\b", words):
        named += [f"{kind}{number}" for number in range(int(first), int(last or first) + 1)]
    return named


def test_every_part_on_the_board_is_soldered_in_one_step():
    steps = re.findall(r"^\| (\d+) \| ([^|]+) \|", GUIDE, re.MULTILINE)
    assert [int(number) for number, _ in steps] == list(range(1, 11))
    soldered = [ref for number, words in steps if int(number) < 9 for ref in refs(words)]
    on_board = [part.ref for part in GOOD.parts.values() if GOOD.on_board(part) and GOOD.of(part)["kind"] != "test"]
    assert sorted([*soldered, "U1"]) == sorted(on_board)


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


def test_the_trial_has_both_switches_a_thermal_fuse_and_nothing_wrapped_round_it():
    trial = PLAIN[PLAIN.index("## 3. First trial") : PLAIN.index("## 4. Air")]
    for words in ("at X2 of the finished board", "both switches", "thermal fuse", "near 200 C", "nothing lies on it"):
        assert words in trial, words
    assert "towel" not in GUIDE


def test_the_steps_of_the_record_sheet_are_those_of_the_guide():
    steps = {number for number, *_ in record.rows(GOOD)}
    assert steps == {str(number) for number in range(1, 11)}


def test_the_record_sheet_is_as_made_now():
    assert record.FILE.read_text() == record.sheet(GOOD), "run `python hardware/record.py` to make it anew"


def test_links_lead_to_files():
    for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", GUIDE):
        assert (HERE / link).exists(), link


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
