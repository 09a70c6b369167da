"""What is made from the circuit is stored beside it: the parts list and the pictures must be as if made now."""

import csv
import dataclasses
import io
import re

import parts
import pytest
import schematic
import wires
from netlist import build

CIRCUIT = build()
AGAIN = "run `python hardware/{}.py` to make it anew"


def test_the_parts_list_is_as_made_now():
    assert parts.FILE.read_text() == parts.table(CIRCUIT), AGAIN.format("parts")


def test_the_parts_list_counts_every_part_once():
    rows = list(csv.DictReader(io.StringIO(parts.table(CIRCUIT))))
    listed = [ref for row in rows for ref in row["goes to"].split() if ref in CIRCUIT.parts]
    bought = [ref for ref, part in CIRCUIT.parts.items() if CIRCUIT.of(part)["kind"] != "test"]
    assert sorted(listed) == sorted(bought)
    for row in rows:
        refs = [ref for ref in row["goes to"].split() if ref in CIRCUIT.parts]
        assert not refs or int(row["count"]) == len(refs)


def test_every_part_has_something_to_order_and_the_total_adds_up():
    rows = list(csv.reader(io.StringIO(parts.table(CIRCUIT))))[1:]
    assert all(row[5] for row in rows[:-1])
    assert sum(float(row[9]) for row in rows[:-1]) == pytest.approx(float(rows[-1][9]), abs=1.0)
    assert parts.code(2200.0) == "2K2" and parts.code(10000.0) == "10K" and parts.code(330.0) == "330R"
    assert parts.farads(100e-9) == "104" and parts.farads(10e-9) == "103" and parts.farads(1e-9) == "102"


@pytest.mark.parametrize(
    ("ref", "words"), [("R2", "100"), ("R13", "22 k"), ("R4", "2.2 k"), ("C15", "1 nF"), ("C1", "470 uF"), ("Q1", "")]
)
def test_values_as_they_are_printed(ref, words):
    assert parts.value(CIRCUIT.parts[ref]) == words


def test_the_wiring_picture_is_as_made_now():
    assert wires.FILE.read_text() == wires.draw(CIRCUIT), AGAIN.format("wires")


def test_the_wiring_picture_has_every_part_and_every_net():
    words = re.findall(r">([^<>]+)</text>", wires.draw(CIRCUIT))
    assert set(CIRCUIT.parts) <= set(words)
    said = {word for line in words for word in line.split()}
    assert set(CIRCUIT.nets()) <= said


def test_the_wiring_picture_follows_the_circuit():
    moved = CIRCUIT.moved("R2", "2", "somewhere")
    assert "somewhere" in wires.draw(moved)


def test_the_diagram_is_as_made_now():
    assert schematic.FILE.read_text() == schematic.draw(CIRCUIT), AGAIN.format("schematic")


def test_the_diagram_refuses_what_the_circuit_does_not_say():
    with pytest.raises(ValueError, match=r"joins R2.2 \(elsewhere\) and R3.1 \(gate\)"):
        schematic.draw(CIRCUIT.moved("R2", "2", "elsewhere"))
    extra = {**CIRCUIT.parts, "R99": dataclasses.replace(CIRCUIT.parts["R1"], ref="R99")}
    with pytest.raises(ValueError, match=r"does not draw R99\.1"):
        schematic.draw(dataclasses.replace(CIRCUIT, parts=extra))
    with pytest.raises(ValueError, match=r"leaves Q2\.G \(net guard\) without wire and name"):
        schematic.draw(CIRCUIT.moved("X4", "1", "guard"))
