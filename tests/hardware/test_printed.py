"""The printed board against the net list, both ways, read from its file without KiCad; and KiCad's own check."""

import hashlib
import math
import os
import re
from collections import defaultdict

import boardfile
import make
import numpy as np
import picture
import pytest
from netlist import build

CIRCUIT = build()
BOARD = boardfile.read()
DATA = make.for_kicad(CIRCUIT)
REPORT = (boardfile.FILE.parent / "drc.txt").read_text()
GROUND = "gnd"
CLEAR = 0.2  # mm, what the maker of the board must keep apart
AGAIN = "run `python hardware/pcb/make.py` to make it anew"
STRONG = ("12V_in", "12V_fused", "12V", "12V_fan", "cold")


def test_every_part_of_the_circuit_is_on_the_board_and_no_other():
    on_board = {ref for ref, part in CIRCUIT.parts.items() if CIRCUIT.on_board(part)}
    assert on_board == {ref for ref in BOARD.values if not re.fullmatch(r"H\d", ref)}, AGAIN
    assert {"B1", "C5", "X5", "M1"}.isdisjoint(on_board)


def test_every_pin_is_on_its_net():
    found = {(pad.ref, pad.number): pad.net for pad in BOARD.pads if pad.copper}
    for ref, part in CIRCUIT.parts.items():
        if not CIRCUIT.on_board(part):
            continue
        pads = DATA["parts"][ref]["pads"]
        reached = set()
        for number, net in pads.items():
            assert found[ref, number] == net, (ref, number, AGAIN)
            reached.add(net)
        off = set(CIRCUIT.of(part).get("off_board", ()))
        assert reached == {net for pin, net in part.pins.items() if pin not in off}, ref


def test_every_pad_with_a_net_is_a_pin_of_the_circuit():
    for pad in BOARD.pads:
        if pad.net:
            assert DATA["parts"][pad.ref]["pads"][pad.number] == pad.net, pad
        elif pad.copper and not re.fullmatch(r"H\d", pad.ref):
            assert pad.number not in DATA["parts"][pad.ref]["pads"], pad


def test_the_legs_of_transistors_are_those_of_the_data_sheets():
    """Pad 1 of a TO-220 is its left leg, print towards you: KiCad numbers as the makers do."""
    q1 = {pad.number: pad.net for pad in BOARD.pads if pad.ref == "Q1"}
    assert q1 == {"1": "gate", "2": "cold", "3": GROUND}
    q6 = {pad.number: pad.net for pad in BOARD.pads if pad.ref == "Q6"}
    assert q6 == {"1": GROUND, "2": "5V", "3": "fires"}
    d4 = {pad.number: pad.net for pad in BOARD.pads if pad.ref == "D4"}
    assert d4 == {"1": "12V_fan", "2": "cold"}  # pad 1 of a diode is its ring


def apart(a, b) -> float:
    """mm between the middles of two straight pieces."""
    (p, q), (r, s) = (np.array(x, float) for x in (a, b))

    def to_segment(point, begin, end):
        way = end - begin
        share = np.clip(np.dot(point - begin, way) / max(np.dot(way, way), 1e-12), 0.0, 1.0)
        return float(np.hypot(*(point - begin - share * way)))

    def side(o, u, v):
        return (u[0] - o[0]) * (v[1] - o[1]) - (u[1] - o[1]) * (v[0] - o[0])

    if side(p, q, r) * side(p, q, s) < 0 and side(r, s, p) * side(r, s, q) < 0:
        return 0.0
    return min(to_segment(p, r, s), to_segment(q, r, s), to_segment(r, p, q), to_segment(s, p, q))


def copper():
    """All copper but ground's plane: (net, layers, middle line, half its width); a pad as a line along its length."""
    found = [(t.net, (t.layer,), (t.start, t.end), t.width / 2) for t in BOARD.tracks]
    found += [(v.net, ("F.Cu", "B.Cu"), ((v.x, v.y), (v.x, v.y)), v.wide / 2) for v in BOARD.vias]
    for pad in BOARD.pads:
        if not pad.copper:
            continue
        half, long = min(pad.wide, pad.high) / 2, abs(pad.wide - pad.high) / 2
        dx, dy = (long, 0.0) if pad.wide > pad.high else (0.0, long)
        line = ((pad.x - dx, pad.y - dy), (pad.x + dx, pad.y + dy))
        found.append((pad.net or f"none {pad.ref}.{pad.number}", ("F.Cu", "B.Cu"), line, half))
    return found


def near(pieces):
    """Pairs of pieces whose boxes are within a millimetre."""
    lines = np.array([line for _, _, line, _ in pieces])  # piece, end, x and y
    half = np.array([[half] for *_, half in pieces])
    boxes = np.hstack([lines.min(axis=1) - half, lines.max(axis=1) + half])
    for i, box in enumerate(boxes):
        others = boxes[i + 1 :]
        meet = (others[:, 0] < box[2] + 1) & (others[:, 2] > box[0] - 1)
        meet &= (others[:, 1] < box[3] + 1) & (others[:, 3] > box[1] - 1)
        for j in np.flatnonzero(meet):
            yield i, i + 1 + int(j)


def test_coppers_of_two_nets_are_apart():
    pieces = copper()
    for i, j in near(pieces):
        (net, layers, line, half), (other, others, with_, there) = pieces[i], pieces[j]
        if net != other and set(layers) & set(others):
            assert apart(line, with_) - half - there >= CLEAR, (net, other, line, with_)


def joined(pieces):
    """How many islands the pieces of each net make."""
    root = list(range(len(pieces)))

    def top(i):
        while root[i] != i:
            i = root[i]
        return i

    for i, j in near(pieces):
        (net, layers, line, half), (other, others, with_, there) = pieces[i], pieces[j]
        if net == other and set(layers) & set(others) and apart(line, with_) <= half + there - 0.05:
            root[top(i)] = top(j)
    islands = defaultdict(set)
    for i, piece in enumerate(pieces):
        islands[piece[0]].add(top(i))
    return {net: len(found) for net, found in islands.items()}


def test_the_copper_of_each_net_is_in_one_piece():
    islands = joined([piece for piece in copper() if piece[0] != GROUND])
    assert {net for net, count in islands.items() if count > 1} == set()
    assert set(CIRCUIT.nets()) - {GROUND, "hot_plus", "hot_minus", "couple_plus", "couple_minus"} <= set(islands)


@pytest.mark.parametrize("net", STRONG)
def test_currents_of_the_fan_go_over_wide_copper(net):
    """2.2 mm carry 2.5 A with 10 K on 35 um (IPC-2221, outer layer: 0.048 dT^0.44 A^0.725, A in square mils)."""
    square_mils = 2.2 / 0.0254 * 1.37
    assert 0.048 * 10**0.44 * square_mils**0.725 > 2.5
    kinds = set(make.read("widths.toml")["heavy"]["kinds"])
    wide = [p for p in copper() if p[0] == net]
    pads = [pad for pad in BOARD.pads if pad.net == net and CIRCUIT.parts[pad.ref].type in kinds]
    assert len(pads) > 1
    strong = [(n, layers, line, half) for n, layers, line, half in wide if half >= 1.1 or line[0] == line[1]]
    ends = {(pad.x, pad.y) for pad in pads}
    kept = [p for p in strong if p[3] >= 1.1 or tuple(np.mean(p[2], axis=0)) in ends]
    kept += [
        p
        for p in wide
        if tuple(np.round(np.mean(p[2], axis=0), 6)) in {tuple(np.round(e, 6)) for e in ends} and p not in kept
    ]
    assert joined(kept)[net] == 1


def test_the_converter_stands_alone():
    """Nothing that gets warm within 40 mm of the converter's socket."""
    middle = np.mean([[pad.x, pad.y] for pad in BOARD.pads if pad.ref == "U3"], axis=0)
    for pad in BOARD.pads:
        if CIRCUIT.parts.get(pad.ref) and CIRCUIT.parts[pad.ref].type in (
            "nmos",
            "pmos",
            "buck",
            "thyristor",
            "fast_3a",
        ):
            assert math.hypot(pad.x - middle[0], pad.y - middle[1]) > 40.0


def test_terminals_and_what_is_easily_reversed_are_labelled():
    said = " ".join(mark.text for mark in BOARD.prints if mark.layer == "F.SilkS")
    for words in (
        "+ 12 V IN -",
        "+ BLOWER -",
        "FAN 4 WIRES",
        "+ BUZZER -",
        "MEAT 1",
        "AMBIENT",
        "NO MAINS",
    ):
        assert words in said
    for ref, part in CIRCUIT.parts.items():
        if CIRCUIT.on_board(part):
            assert re.search(rf"\b{ref}\b", said), ref


@pytest.mark.parametrize(
    ("ref", "words"),
    [("X3", "- + T S"), ("X4", "5V GND SERVO"), ("X10", "BUTTON GND LAMP"), ("U1", "1 17 20 21 29 36")],
)
def test_a_pin_and_its_print_stand_in_one_line(ref, words):
    """At a terminal one above the other; at the Pico's socket side by side, its pads by their numbers."""
    pads = {pad.number: pad for pad in BOARD.pads if pad.ref == ref}
    names = words.split()
    for number, word in zip(names if ref == "U1" else map(str, range(1, 9)), names, strict=False):
        pad = pads[number]
        marks = [m.points[0] for m in BOARD.prints if m.text == word and m.layer == "F.SilkS"]
        if ref == "U1":
            assert any(y == pytest.approx(pad.y, abs=0.01) and abs(x - pad.x) < 2.5 for x, y in marks), word
        else:
            assert any(x == pytest.approx(pad.x, abs=0.01) and abs(y - pad.y) < 8.0 for x, y in marks), word


def test_kicad_found_no_error_in_this_very_board():
    digest = hashlib.sha256(boardfile.FILE.read_bytes()).hexdigest()
    assert digest in REPORT, AGAIN
    assert "Severity: error" not in REPORT
    assert "Severity: warning" not in REPORT  # print on print or on a pad
    assert "Found 0 unconnected" in REPORT


@pytest.mark.parametrize("name", ["board_front.svg", "board_back.svg"])
def test_the_pictures_are_as_made_now(name):
    assert (boardfile.FILE.parents[1] / "pictures" / name).read_text() == picture.files()[name], AGAIN


def test_a_wrong_net_or_a_short_would_be_seen():
    """The checks above can fail: a track that is moved touches, one that is taken out leaves two islands."""
    pieces = [piece for piece in copper() if piece[0] != GROUND]
    tracks = [i for i, piece in enumerate(pieces) if piece[0] == "clock" and piece[2][0] != piece[2][1]]
    assert any(joined(pieces[:i] + pieces[i + 1 :])["clock"] > 1 for i in tracks)
    moved = [piece for piece in pieces if piece[0] in ("clock", "from_converter")]
    line = next(piece[2] for piece in moved if piece[0] == "clock" and piece[2][0] != piece[2][1])
    over = next(piece for piece in moved if piece[0] == "from_converter")
    assert apart(line, (line[0], over[2][0])) == 0.0


def test_the_board_is_made_of_these_sources():
    """Making it anew takes half a minute and KiCad; which sources made the stored files stands beside them."""
    stored = (boardfile.FILE.parent / "made_of.sha256").read_text()
    assert make.made_of(DATA, boardfile.FILE.parent) == stored, AGAIN


def test_another_net_another_rule_or_an_edited_board_would_be_seen(tmp_path):
    def differ(made: str) -> set[str]:
        stored = (boardfile.FILE.parent / "made_of.sha256").read_text()
        assert len(made.split("\n")) == len(stored.split("\n"))
        return {one.split()[1] for one, was in zip(made.split("\n"), stored.split("\n"), strict=True) if one != was}

    other = {**DATA, "widths": {**DATA["widths"], "clock": 9.9}}
    assert differ(make.made_of(other, boardfile.FILE.parent)) == {"circuit.json"}
    for name in make.MADE:
        (tmp_path / name).write_text((boardfile.FILE.parent / name).read_text())
    board = tmp_path / "tuyere.kicad_pcb"
    board.write_text(board.read_text().replace("(width 0.15)", "(width 0.2)", 1))
    assert differ(make.made_of(DATA, tmp_path)) == {"tuyere.kicad_pcb"}


@pytest.mark.skipif("TUYERE_KICAD" not in os.environ, reason="TUYERE_KICAD=1 makes the board anew, with KiCad 6")
def test_the_board_is_as_made_now(tmp_path):
    make.main(tmp_path, tmp_path)
    for name in (*make.MADE, "made_of.sha256"):
        assert (tmp_path / name).read_text() == (boardfile.FILE.parent / name).read_text(), AGAIN
    assert {path.suffix for path in (tmp_path / "fab").iterdir()} == {".gbr", ".drl", ".csv"}
