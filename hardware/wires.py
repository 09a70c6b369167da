"""The wiring picture: the Pico's forty pins with what goes to each, and every other part with the nets of its pins.

It is made only from the net list. Run it to write pictures/wires.svg anew.
"""

from __future__ import annotations

from circuit import GROUND, HERE, Circuit, Part, read
from netlist import build
from page import GREY, PALE, Page
from parts import value

FILE = HERE / "pictures" / "wires.svg"
# The edge from the USB socket: left 1..20, right 40..21 (Raspberry Pi Pico datasheet; from memory).
LEFT = "GP0 GP1 GND GP2 GP3 GP4 GP5 GND GP6 GP7 GP8 GP9 GND GP10 GP11 GP12 GP13 GND GP14 GP15"
RIGHT = "VBUS VSYS GND 3V3_EN 3V3 ADC_VREF GP28 AGND GP27 GP26 RUN GP22 GND GP21 GP20 GP19 GP18 GND GP17 GP16"
GROUNDS = ("GND 3", "GND 23", "AGND 33", "GND 38")  # of eight; all the same inside
SHEETS = {
    "power": "12 V in, 5 V out",
    "fan_supply": "12 V of the fan",
    "blower": "two-wire blower",
    "four_wire": "four-wire fan",
    "couple": "thermocouple",
    "probes": "meat and ambient probes",
    "senses": "supply and drain",
    "hands": "button, lamp, buzzer, servo",
    "tests": "test points",
}
ROW, WIDTH = 17.0, 1480.0


def draw(circuit: Circuit) -> str:
    """The picture as SVG."""
    rows = 20
    columns = [["power", "hands", "senses"], ["fan_supply", "blower", "four_wire", "tests"], ["couple", "probes"]]
    heights = [sum(_height(circuit, sheet) for sheet in column) for column in columns]
    top = 110.0 + rows * 22.0
    page = Page(WIDTH, top + max(heights) + 60.0)
    page.text(30, 34, "Which wire goes where", 20, bold=True)
    page.text(30, 54, "A word in typewriter letters is a net: all pins with the same word are one wire.", 12)
    page.text(30, 71, "gnd is the minus of the supply. band: the end of a diode with the ring.", 12)
    _pico(page, circuit)
    for number, column in enumerate(columns):
        y = top
        for sheet in column:
            _sheet(page, circuit, sheet, 30.0 + number * (WIDTH - 40.0) / 3, y)
            y += _height(circuit, sheet)
    return page.svg()


def _pico(page: Page, circuit: Circuit) -> None:
    """The Pico seen from above, and at each pin its net and where that goes."""
    pico = circuit.parts["U1"]
    x, y, width = WIDTH / 2 - 85, 78.0, 170.0
    page.rect(x, y, width, 20 * 22 + 12, PALE)
    page.rect(x + 55, y - 12, 60, 22, "#fff")
    page.text(x + 85, y + 3, "USB", 11, at="middle")
    page.text(x + 85, y + 230, "U1", 13, at="middle", bold=True)
    page.text(x + 85, y + 248, "Pico", 13, at="middle")
    for side, names in ((-1, LEFT), (1, RIGHT)):
        for row, name in enumerate(names.split(" ")):
            number = row + 1 if side < 0 else 40 - row
            at, py = ("end", y + 20 + row * 22) if side < 0 else ("start", y + 20 + row * 22)
            edge = x if side < 0 else x + width
            page.rect(edge - 9, py - 13, 18, 18, "#fff")
            page.text(edge, py, str(number), 9, at="middle")
            page.text(edge - side * 16, py, name, 11, at="start" if side < 0 else "end")
            net = pico.pins.get(name, "")
            if name in ("GND", "AGND") and f"{name} {number}" not in GROUNDS:
                net = ""
            if not net:
                page.text(edge + side * 16, py, "-", 11, at=at, fill=GREY)
                continue
            page.line((edge + side * 9, py - 4), (edge + side * 60, py - 4), width=1.5)
            page.text(edge + side * 66, py, net, 12, at=at, mono=True, bold=True)
            if net != GROUND:
                page.text(edge + side * (72 + 7.3 * len(net)), py, _others(circuit, pico, net), 11, at=at)


def _others(circuit: Circuit, part: Part, net: str) -> str:
    """The other pins on a net, as words."""
    ends = [(other, pin) for other, pin in circuit.on(net) if other is not part]
    if len(ends) > 6:
        return f"{len(ends)} pins, below"
    return "to " + ", ".join(f"{other.ref} {_leg(circuit, other, pin)}".strip() for other, pin in ends)


def _leg(circuit: Circuit, part: Part, pin: str) -> str:
    """A pin's name, with its number on the part where that has one; "" where either end will do."""
    if circuit.of(part)["kind"] in ("resistor", "ferrite", "fuse") or part.type == "ceramic":
        return ""
    number = circuit.of(part).get("legs", {}).get(pin, "").split(",")[0]
    return f"{pin} ({number})" if number else pin


def _lines(circuit: Circuit, sheet: str) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """Of a sheet: (ref, what, [(pin, net)])."""
    listed = []
    for part in circuit.parts.values():
        if part.sheet != sheet:
            continue
        legs = circuit.of(part).get("legs", {})
        pins = [(f"{pin} {legs.get(pin, '')}".strip(), net) for pin, net in part.pins.items()]
        if circuit.of(part)["kind"] in ("resistor", "ferrite", "fuse", "terminal") or part.type == "ceramic":
            pins = [("" if circuit.of(part)["kind"] != "terminal" else pin, net) for pin, net in part.pins.items()]
        if circuit.of(part)["kind"] in ("diode", "zener", "tvs"):
            pins = [("band" if pin == "K" else "", net) for pin, net in part.pins.items()]
        listed.append((part.ref, f"{value(part)} {_short(circuit, part)}".strip(), pins))
    return listed


def _short(circuit: Circuit, part: Part) -> str:
    """What a part is, in two or three words."""
    words = str(circuit.of(part)["part"]).removeprefix("or: ")
    ends = (
        " to slip",
        ", ",
        ":",
        " 5 x",
        " 12 V",
        " 3 poles",
        " 2 poles",
        " 2.54",
        " thermocouple conv",
        " for the wall",
    )
    for end in ends:
        words = words.split(end)[0]
    return {"resistor": "", "ceramic": "", "electrolytic": "electrolytic"}.get(part.type, words)


def _height(circuit: Circuit, sheet: str) -> float:
    lines = 0
    for _, _, pins in _lines(circuit, sheet):
        lines += 1 if len(pins) <= 2 else 1 + len(pins)
    return 34.0 + lines * ROW + 20.0


def _sheet(page: Page, circuit: Circuit, sheet: str, x: float, y: float) -> None:
    """One part of the circuit as a table: part, what it is, net at each pin."""
    page.text(x, y + 14, SHEETS[sheet], 14, bold=True)
    page.line((x, y + 20), (x + 450, y + 20))
    y += 38.0
    for ref, what, pins in _lines(circuit, sheet):
        page.text(x, y, ref, 12, bold=True)
        page.text(x + 42, y, what, 11)
        if len(pins) == 1:
            page.text(x + 348, y, pins[0][1], 11, mono=True)
            y += ROW
            continue
        if len(pins) == 2:
            left, right = (f"{name} {net}".strip() if name else net for name, net in pins)
            page.text(x + 318, y, left, 11, at="end", mono=True)
            page.line((x + 326, y - 4), (x + 340, y - 4), stroke=GREY)
            page.text(x + 348, y, right, 11, mono=True)
            y += ROW
            continue
        y += ROW
        for name, net in pins:
            page.text(x + 218, y, name, 11, at="end", fill="#333")
            page.line((x + 226, y - 4), (x + 240, y - 4), stroke=GREY)
            page.text(x + 248, y, net, 11, mono=True)
            y += ROW


if __name__ == "__main__":
    FILE.write_text(draw(build()))
    print(f"{FILE.name} from {len(read('pins.toml'))} pins")
