"""What is made from the circuit is stored beside it: the parts list and the pictures must be as if made now."""

import csv
import dataclasses
import html
import io
import re
from itertools import combinations

import box
import parts
import pytest
import schematic
import section
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


def test_each_price_is_that_of_as_many_as_are_counted():
    """All but the other kind of fan, of which one is bought: its price is not in the total."""
    rows = list(csv.DictReader(io.StringIO(parts.table(CIRCUIT))))[:-1]
    for row in rows:
        instead = row["part"].startswith("or: ")
        assert float(row["price"]) == pytest.approx(0.0 if instead else int(row["count"]) * float(row["price each"]))
    assert [row["goes to"] for row in rows if row["part"].startswith("or: ")] == ["M2"]


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


def words(svg):
    """Each text of a picture: (what, left, top, right, bottom); a letter is taken for 0.6 of its size."""
    rows = re.findall(r"<text ([^>]*)>(.*?)</text>", svg, re.DOTALL)
    found = []
    for said, inside in rows:
        at = dict(re.findall(r'([\w-]+)="([^"]*)"', said))
        lines = re.findall(r"<tspan[^>]*>([^<]*)</tspan>", inside) or [inside]
        size, x, y = float(at["font-size"]), float(at["x"]), float(at["y"])
        for number, line in enumerate(lines):
            what = html.unescape(line)
            wide = len(what) * size * 0.6
            left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[at["text-anchor"]]
            base = y + size * (number + 0.9) if "<tspan" in inside else y
            found.append((what, left, base - 0.72 * size, left + wide, base))
    return found


def over(svg):
    """Pairs of texts that lie on each other."""
    return [
        (a[0], b[0])
        for a, b in combinations(words(svg), 2)
        if a[1] < b[3] and b[1] < a[3] and a[2] < b[4] and b[2] < a[4]
    ]


@pytest.mark.parametrize("file", [box.FILE, wires.FILE, section.FILE, schematic.FILE], ids=lambda file: file.name)
def test_no_word_of_a_picture_lies_on_another_or_outside(file):
    svg = file.read_text()
    assert over(svg) == []
    left, top, wide, high = (float(n) for n in re.search(r'viewBox="([^"]+)"', svg)[1].split())
    for what, x0, y0, x1, y1 in words(svg):
        assert left <= x0 and x1 <= left + wide and top <= y0 and y1 <= top + high, what


def test_words_that_lie_on_each_other_would_be_seen():
    page = '<text x="0" y="10" font-size="10" text-anchor="start">{}</text><text x="{}" y="12" {}>b</text>'
    there = 'font-size="10" text-anchor="middle"'
    assert over(page.format("pit", 15, there)) == [("pit", "b")]
    assert over(page.format("pit", 25, there)) == []


def test_no_word_of_the_drilling_plan_lies_on_a_hole_it_does_not_belong_to():
    svg = box.FILE.read_text()
    circles = [tuple(map(float, c)) for c in re.findall(r'<circle cx="([^"]+)" cy="([^"]+)" r="([^"]+)"', svg)]
    for what, x0, y0, x1, y1 in words(svg):
        for cx, cy, r in circles:
            inside = x0 > cx - r and x1 < cx + r and y0 > cy - r and y1 < cy + r  # the hole's own size
            dx, dy = max(x0 - cx, cx - x1, 0.0), max(y0 - cy, cy - y1, 0.0)
            assert inside or dx * dx + dy * dy > r * r, what


def test_where_a_part_a_wire_and_a_name_meet_the_diagram_has_a_dot():
    sheet = schematic.Sheet(CIRCUIT)
    for lay in schematic.SHEETS:
        lay(sheet)
    sheet.finish()
    for pin in ("R27.1", "C16.1", "R21.1", "C9.1", "Q1.D"):
        assert sheet.at[pin] in sheet._dotted, pin
    assert sheet.at["R29.1"] not in sheet._dotted  # a name at the end of a part: nothing meets there
