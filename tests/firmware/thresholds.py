"""Writes `tests/firmware/thresholds.json`: where each driver's answer changes, found from outside by halving.

Run it with `python tests/firmware/thresholds.py` after a change of a driver. The diff says which threshold is another
than before; what it rests on stands in the driver.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from hearth import order_checks
from hearth.core import Out, fields
from hearth.drivers import lamp, max31855, supply
from hearth.drivers.button import Button
from hearth.drivers.buzzer import Buzzer
from hearth.drivers.fan4 import Fan4
from hearth.drivers.mux import Mux
from hearth.drivers.ntc import Ntc
from hearth.drivers.sense import BLOWER, NO_BLOWER, Drain
from hearth.drivers.servo import Servo
from hearth.link import lines
from hearth.store.ring import Ring

PAGE = Path(__file__).with_name("thresholds.json")
USUAL_MV = 12000


def first(low: int, high: int, is_so: Callable[[int], bool]) -> int:
    """The first whole number from low to high for which it is so; it is not for low, and is for high and below it."""
    assert not is_so(low) and is_so(high)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_so(middle) else (middle, high)
    return high


class Level:
    """An ADC, a PWM pin and a switch at once: reads `counts`, keeps what it is given."""

    def __init__(self, counts: int = 0) -> None:
        self.counts = counts
        self.given: list[int] = []

    def read_u16(self) -> int:
        return self.counts

    def __call__(self, level: int) -> None:
        self.given.append(level)

    duty_u16 = duty_ns = __call__


def drain(counts: int, duty: int = 0, mv: int = USUAL_MV, looks: int = 3) -> Drain:
    """One that has been judged so often."""
    made = Drain(Level(counts), lambda: 65535, lambda us: None)
    for _ in range(looks):
        made.judge(duty, mv)
    return made


def unfed(counts: int, part: int, mv: int = USUAL_MV, looks: int = 3) -> bool:
    made = Drain(Level(counts), lambda: 65535, lambda us: None)
    for _ in range(looks):
        made.look_unfed(mv, part)
    return made.fed


def drains() -> Iterator[tuple[str, int]]:
    """The drain of a blower under 12 V, by counts of the ADC."""
    yield "counts from which it is not grounded", first(0, 65535, lambda n: not drain(n).grounded)
    yield "counts from which a blower is plugged in", first(8000, 65535, lambda n: not drain(n).empty)
    yield "counts from which a driven switch does not conduct", first(0, 65535, lambda n: drain(n, 5000).cut)
    yield "duty from which that shows", first(0, 5000, lambda duty: drain(65535, duty).cut)
    yield "duty at which no short shows any more", first(0, 10000, lambda duty: not drain(0, duty).grounded)
    yield "supply from which it tells anything, mV", first(0, USUAL_MV, lambda mv: drain(0, mv=mv).grounded)
    yield "looks until it is grounded", first(0, 9, lambda looks: drain(0, looks=looks).grounded)
    yield "counts that feed a blower that is off", first(0, 65535, lambda n: unfed(n, BLOWER))
    yield "counts that feed a fan of four wires that is off", first(0, 65535, lambda n: unfed(n, NO_BLOWER))
    yield "supply from which that tells anything, mV", first(0, USUAL_MV, lambda mv: unfed(65535, BLOWER, mv))
    yield "looks until it is fed", first(0, 9, lambda looks: unfed(65535, BLOWER, looks=looks))


def turning(duty: int, turns: int, cycles: int, mv: int = USUAL_MV) -> int:
    """What a fan of four wires says after so many cycles, `turns` 1/min."""
    edges = SimpleNamespace(take=lambda: turns * 2000 // 30000)
    fan = Fan4(Level(), Level(), edges, Drain(Level(), lambda: 0, lambda us: None))
    fan.set(duty)
    found = fields.FAN_FINE
    for _ in range(cycles):
        found = fan.watch(mv, 2000)
    return found


def fans() -> Iterator[tuple[str, Any]]:
    """A fan of four wires, and the damper."""
    still, runs = fields.FAN_NOT_TURNING, fields.FAN_NOT_STOPPING
    yield "duty from which it must turn", first(0, 10000, lambda duty: turning(duty, 0, 9) == still)
    yield "cycles until it does not turn", first(0, 20, lambda cycles: turning(5000, 0, cycles) == still)
    yield "turns from which it turns, 1/min", first(0, 3000, lambda turns: turning(5000, turns, 9) != still)
    yield "supply from which it must turn, mV", first(0, USUAL_MV, lambda mv: turning(5000, 0, 9, mv) == still)
    yield "turns from which one that is off runs, 1/min", first(0, 3000, lambda turns: turning(0, turns, 20) == runs)
    yield "cycles until it does not stop", first(0, 20, lambda cycles: turning(0, 1500, cycles) == runs)
    yield "duty on the pin at each quarter", [driven(duty) for duty in (-1, 0, 1, 2500, 5000, 7500, 10000, 10001)]
    yield "pulses of the damper, ns", [moved(demand) for demand in (-1, 0, 2500, 5000, 10000, 10001)]
    yield "least move of the damper", first(0, 5000, lambda by: moved(2500, 2500 + by) > 0)
    yield "the same before its end", [moved(9950, 10000), moved(50, 0), moved(9950, 9999)]


def driven(duty: int) -> list[int]:
    pwm, switch = Level(), Level()
    Fan4(pwm, switch, SimpleNamespace(take=int), SimpleNamespace()).set(duty)
    return [pwm.given[-1], switch.given[-1]]


def moved(*demands: int) -> int:
    pwm = Level()
    servo = Servo(pwm, 1000, 2000)
    for demand in demands:
        servo.set(demand)
    return pwm.given[-1]


def pressed(down_ms: int, what: str) -> bool:
    """Whether a press of so many ms is one of "pressed", "held" and "let_go"; polled each ms."""
    button = Button()
    found = False
    for now in range(200 + down_ms + 200):
        button.step(200 <= now < 200 + down_ms, now)
        found |= bool(getattr(button, what))
    return found


def hands() -> Iterator[tuple[str, Any]]:
    """Button, lamp and buzzer."""
    yield "ms of a short press", [
        first(0, 500, lambda ms: pressed(ms, "pressed")), first(500, 2000, lambda ms: not pressed(ms, "pressed")),
    ]  # fmt: skip
    yield "ms of a long hold", first(2000, 5000, lambda ms: pressed(ms, "held"))
    yield "ms of a hold that is let go", [
        first(2000, 5000, lambda ms: pressed(ms, "let_go")), first(5000, 20000, lambda ms: not pressed(ms, "let_go")),
    ]  # fmt: skip
    for state in range(fields.TRIPPED + 1):
        shown = Level()
        made = lamp.Lamp((shown,))
        made.show(state)
        yield f"lamp, state {state}", "".join(str(lit(made, shown, slot)) for slot in range(16))
    of = {
        "a trip": {"state": fields.TRIPPED, "trip": fields.TRIP_HOT},
        "a trip that stands": {"state": fields.TRIPPED, "trip": fields.TRIP_HOT, "answer": fields.FAULT_STANDS},
        "not resumed": {"reason": fields.NOT_RESUMED},
        "not resumed, and seen": {"reason": fields.NOT_RESUMED, "answer": fields.ACCEPTED},
        "a host that is silent": {"call": 1},
        "a host that reaches nobody": {"call": 2},
        "a fading fire": {"state": fields.FADING},
        "holding": {"state": fields.HOLDING, "answer": fields.ACCEPTED},
    }
    for name, values in of.items():
        heard, out = Level(), Out()
        buzzer = Buzzer(heard)
        for field, value in values.items():
            setattr(out, field, value)
        buzzer.show(out)
        slots = [str(lit(buzzer, heard, slot)) for slot in range(480)]
        yield f"buzzer, {name}", [buzzer.calling, "".join(slots[:80]), slots.count("1")]


def lit(made: Any, level: Level, slot: int) -> int:
    made.step(slot * 125)
    return level.given[-1]


def probes() -> Iterator[tuple[str, Any]]:
    """Meat probes, multiplexer, supply, and the plain converter."""
    ntc = Ntc(100000, 3950, 22000)
    there = fields.ABSENT
    yield "counts of a short, of the hottest", first(0, 3000, lambda n: ntc.celsius(n) != there)
    yield "counts of the coldest, of a broken wire", first(30000, 65535, lambda n: ntc.celsius(n) == there)
    yield "0.01 C every 8,000 counts", [ntc.celsius(n) for n in range(1000, 65000, 8000)]
    yield "counts that the known resistor may be off by", first(0, 9000, lambda by: not sound(by))
    yield "counts of a grounded channel", first(0, 9000, lambda n: not sound(0, n))
    yield "counts from which there is a supply", first(0, 65535, lambda n: supply.Supply(Level(n)).read() > 0)
    yield "mV each quarter", [supply.Supply(Level(n)).read() for n in (16384, 32768, 49152, 65535)]
    yield "0.01 C of the plain converter at 25 C", [max31855.correct(16 * c, 400) for c in range(-50, 526, 115)]
    yield "readings until it is frozen", first(1, 40, frozen)
    yield "coldest junction, C", first(-100, 0, lambda c: not chip(25, c))
    yield "junction that is too hot, C", first(80, 120, lambda c: bool(chip(25, c) & fields.COLD_JUNCTION))
    yield "couple that is too hot, C", first(400, 600, lambda c: bool(chip(c, 25) & fields.PROBE_RANGE))


def sound(off: int, grounded: int = 0) -> bool:
    """Whether a multiplexer passes its checks, whose known resistor is so much off, or a grounded channel."""
    counts = [40000, 30000, 20000, 52000, 0, grounded, 0, 65535 * 10000 // 32000 + off]
    lines_, adc = [0, 0, 0], Level()
    pins = [lambda level, i=i: lines_.__setitem__(i, level) for i in range(3)]
    adc.read_u16 = lambda: counts[lines_[0] | lines_[1] << 1 | lines_[2] << 2]  # type: ignore[method-assign]
    mux = Mux(pins, adc, lambda us: None, 22000)
    return [mux.sound() for _ in range(8)][-1]


def frame(couple: int, cold: int) -> bytes:
    word = (couple * 4 & 0x3FFF) << 18 | (cold * 16 & 0xFFF) << 4
    return word.to_bytes(4, "big")


def converter(*frames: bytes, stays: int = 20) -> tuple[int, int]:
    rest = [b"\x01\x90\x19\x10", *frames]  # the first after power-up is none
    spi = SimpleNamespace(readinto=lambda data: data.__setitem__(slice(4), rest.pop(0)))
    made = max31855.Max31855(spi, Level(), stays)
    return [made.read() for _ in range(1 + len(frames))][-1]


def chip(couple: int, cold: int) -> int:
    return converter(frame(couple, cold))[1]


def frozen(times: int) -> bool:
    return bool(converter(*[frame(100, 25)] * times)[1] & fields.PROBE_FROZEN)


def stores() -> Iterator[tuple[str, Any]]:
    """What waits on the board, and what orders may make it write."""
    yield "longest record of a ring of 100 bytes", first(1, 200, lambda size: not fits(size)) - 1
    yield "records of 10 bytes in it", filled(10).next - filled(10).first
    yield "used, lost, in percent", [filled(10).used, filled(10).lost, filled(10).percent()]
    yield "longest line to the board", first(1, 5000, lambda size: not passes(size)) - 1
    yield "orders in a row that write", first(0, 99, lambda orders: spent(orders, 0))
    yield "cycles until one more", first(0, 999, lambda cycles: not spent(12, cycles))
    yield "cycles until all twelve", first(0, 999, lambda cycles: not spent(23, cycles, 12))


def fits(size: int) -> bool:
    try:
        Ring(100).append(bytes(size))
    except ValueError as wrong:
        assert str(wrong) == "record larger than the ring"
        return False
    return True


def filled(size: int) -> Ring:
    ring = Ring(100)
    for _ in range(30):
        ring.append(bytes(size))
    return ring


def passes(size: int) -> bool:
    """Whether a board takes a line with so many bytes in it, that comes in portions."""
    line, taken = lines.encode("o", bytes(size)), lines.Lines(lines.LONGEST_TO_BOARD)
    return any(taken.feed(line[i : i + 64]) for i in range(0, len(line), 64))


def spent(orders: int, cycles: int, before: int = -1) -> bool:
    """Whether the next order comes too soon, after so many, then so many cycles; `before` of them come after those."""
    budget = order_checks.Budget()
    for _ in range(orders if before < 0 else before):
        budget.spend()
    for _ in range(cycles):
        budget.pass_cycle()
    for _ in range(0 if before < 0 else orders - before):
        budget.spend()
    return budget.spent("band", fields.MODE_HOLD)


PARTS = {"drain": drains, "fan": fans, "hands": hands, "probes": probes, "stores": stores}


if __name__ == "__main__":
    page = {part: dict(told()) for part, told in PARTS.items()}
    PAGE.write_text(json.dumps(page, indent=1) + "\n", encoding="utf-8")
