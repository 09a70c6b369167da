"""The parts list, made from the circuit: what to order, how many, and where each goes.

Run it to write parts.csv anew.
"""

from __future__ import annotations

import csv
import io

from circuit import HERE, Circuit, Part, read
from netlist import build

FILE = HERE / "parts.csv"
HEAD = ("count", "part", "value", "withstands", "goes to", "order", "or", "or", "price each", "price", "figures from")
# Parts that are in no net list but belong to the box (common practice, no source): count, part, withstands, where,
# what to order, price each.
BESIDE = (
    (1, "printed board, two layers, 150 x 88 mm, from hardware/pcb", "", "carries it all", "five are the least", 4.0),
    (1, "box, polycarbonate or ABS, IP65, lid with seal, 184 x 154 x 60 mm inside or more", "", "the board",
     "Hammond 1554 series, Fibox TEMPO, or print box.stl", 15.0),
    (4, "cable gland M12, IP68, to fit the cables", "", "floor of the box", "Lapp SKINTOP ST-M12 or alike", 1.0),
    (1, "cable gland M16, split, for a USB cable with its plug", "", "floor of the box", "any for a USB plug", 8.0),
    (1, "USB cable with data wires, micro-B plug turned a right angle, as long as it must be", "",
     "from the Pico to the computer", "any: the plug must end within 30 mm of the board's edge", 6.0),
    (1, "vent plug with membrane, M12", "", "floor of the box: lets it breathe, keeps water out", "any", 4.0),
    (2, "pin socket 20 poles 2.54 mm", "", "the Pico, so that it can be taken out", "any", 0.8),
    (1, "pin socket 9 poles 2.54 mm", "", "the converter", "any", 0.5),
    (2, "socket for a DIP chip, 8 and 16 legs", "", "the two DIP chips", "any", 0.3),
    (1, "wire of type K, 0.5 m", "", "from the socket in the wall to the converter", "IEC 60584-3 KX, 0.2 mm2", 2.0),
    (4, "probe socket for the wall, to fit the probes' plug", "", "X6-X9", "2.5 mm, sealed with a cap", 1.5),
    (1, "stranded wire 0.75 mm2 (18 AWG), red and black, 2 m each", "6 A", "12 V, ground and fan", "any", 4.0),
    (1, "hook-up wire 0.25 mm2 (24 AWG), some colours", "", "everything else", "any", 5.0),
    (4, "spacer M3 10 mm with screws", "", "board to box", "any", 0.5),
    (4, "screw 3 x 12 mm, self-tapping", "", "the lid of the printed box", "any", 0.1),
    (4, "screw M3 x 12 mm with nut", "", "the adapter's two flanges", "any", 0.1),
    (1, "steel wire 2 mm, 0.1 m", "", "the pin of the adapter's flap", "any", 0.5),
    (1, "steel pipe 27 mm inside, 150 mm or more, with a flange or nut for the cooker", "",
     "between cooker and adapter", "any: give its size to adapter.py", 8.0),
    (1, "conformal coating, acrylic, a brush's worth", "", "the soldered side, when all of it works", "any", 6.0),
    (3, "test loop or pin for a hole of 1 mm", "", "TP1-TP3", "any, or a cut leg bent to a loop", 0.2),
    (2, "fuse 5 x 20 mm, time-lag, T2.5A, to spare", "2.5 A", "F1's holder", "any of IEC 60127-2", 0.4),
    (2, "fuse 5 x 20 mm, time-lag, T1.6A", "1.6 A", "F1's holder, for a fan of up to 1 A", "any of IEC 60127-2", 0.4),
    (3, "fuse 5 x 20 mm, time-lag, T1A, to spare", "1 A", "F2's holder; F1's for a fan of up to 0.5 A",
     "any of IEC 60127-2", 0.4),
    (2, "fuse 5 x 20 mm, time-lag, T630mA", "0.63 A", "F1's holder, for a fan of up to 0.3 A",
     "any of IEC 60127-2", 0.4),
    (1, "resistor 1 kohm, 0.25 W, more than the board has", "", "measuring", "any", 0.05),
    (1, "thermal fuse 98 to 104 C, with a ceramic terminal", "10 A", "the first trial alone", "any of IEC 60691", 2.0),
    (1, "glass-fibre sleeve 4 mm, 0.3 m, or polyimide tape", "", "the first trial alone", "any", 3.0),
    (1, "housed resistor 10 ohm 50 W", "50 W", "the first trial alone", "TE HSA5010RJ or alike", 5.0),
    (1, "fire extinguisher fit for fat (class F, or K)", "", "within reach of the pit", "by your local code", 40.0),
)  # fmt: skip
UNITS = ((1e6, "M"), (1e3, "k"), (1.0, ""))


def value(part: Part) -> str:
    """10 k, 330, 100 nF, 470 uF; "" for a part without a value."""
    if not part.value:
        return ""
    if part.ref.startswith("C"):
        for size, unit in ((1e-6, "uF"), (1e-9, "nF")):
            if part.value >= size:
                return f"{part.value / size:g} {unit}"
    size, unit = next(row for row in UNITS if part.value >= row[0])
    return f"{part.value / size:g} {unit}".strip()


def code(ohms: float) -> str:
    """A resistor's value as makers print it: 10K, 2K2, 470R."""
    for size, letter in ((1e3, "K"), (1.0, "R")):
        if ohms >= size:
            return f"{ohms / size:g}".replace(".", letter) if ohms / size % 1 else f"{ohms / size:g}{letter}"
    return f"{ohms:g}R"


def farads(value: float) -> str:
    """A capacitor's value in three figures: 104 is 100 nF."""
    pico = round(value * 1e12)
    zeros = len(str(pico)) - 2
    return f"{pico // 10**zeros}{zeros}"


def rows(circuit: Circuit) -> list[tuple[object, ...]]:
    """The list, in the order of the net list, a row of HEAD each; the last row is the total."""
    orders = read("orders.toml")
    groups: dict[tuple[str, str], list[Part]] = {}
    for part in circuit.parts.values():
        if circuit.of(part)["kind"] != "test":
            groups.setdefault((part.type, value(part)), []).append(part)
    listed: list[tuple[object, ...]] = []
    total = 0.0
    for (type_, worth), parts in groups.items():
        of, row = circuit.stock[type_], orders[type_]
        bears = ", ".join(f"{of[key]:g} {unit}" for key, unit in _BEARS if isinstance(of.get(key), int | float))
        refs = " ".join(part.ref for part in parts)
        first = parts[0].value
        names = [name.format(code=code(first), farad=farads(first) if first else "") for name in row["order"]]
        price = 0.0 if of.get("choice") else len(parts) * row["price"]
        total += price
        words = [name.removeprefix("-") for name in names]
        source = of["source"].removeprefix("-")
        listed.append(
            (len(parts), of["part"], worth, bears, refs, *words, f"{row['price']:.2f}", f"{price:.2f}", source)
        )
    for count, part, bears, where, order, price in BESIDE:
        total += count * price
        listed.append((count, part, "", bears, where, order, "", "", f"{price:.2f}", f"{count * price:.2f}", ""))
    listed.append(("", "all of it, some 30 % either way", "", "", "", "", "", "", "", f"{total:.0f}", ""))
    return listed


_BEARS = (("volts", "V"), ("amps", "A"), ("watts", "W"))


def table(circuit: Circuit) -> str:
    """The list as CSV."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    writer.writerows(rows(circuit))
    return out.getvalue()


if __name__ == "__main__":
    FILE.write_text(table(build()))
    print(f"{FILE.name}: {len(rows(build()))} lines")
