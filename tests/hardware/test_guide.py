"""The build guide says what the circuit says: every part soldered once, figures as they are, links that lead on."""

import re

import pytest
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
    on_board = [part.ref for part in GOOD.parts.values() if GOOD.of(part).get("board", True)]
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


def test_the_trial_has_all_that_its_switch_and_senses_need():
    start = PLAIN.index("You need, beside the Pico")
    needed = set(refs(PLAIN[start : PLAIN.index("and from a drawer")]))
    assert {"U3", "R2", "R3", "Q1", "D4", "F1", "R23", "R24", "R25", "R26", "C5", "C8", "C15"} <= needed
    assert needed <= set(GOOD.parts)


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
