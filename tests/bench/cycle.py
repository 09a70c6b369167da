"""How long a cycle takes on each interpreter, beside a plain loop of the same run; on the chip, part by part.

    python tests/bench/cycle.py [--smoke]

The law alone (`core.cycle`, warm pit, holding) on CPython and MicroPython, in units of a thousand turns of
`x = (x + i) & 0xFFFF` on the same interpreter. With TUYERE_UF2 (see tests/chip) also on an emulated RP2040 at 125 MHz,
in milliseconds of its clock, with everything else that the board's loop does in a period. The emulator counts a
Cortex-M0+'s cycles but never waits for the flash: a real chip is slower by what its 16 KB cache misses.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

from tuyere.sim.twin import interpreter

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "chip"))

LAW = """
import sys, time
from hearth.core import Memory, Now, Out, Settings, cycle, fields
clock = time.ticks_us if hasattr(time, "ticks_us") else lambda: time.perf_counter_ns() // 1000
settings, now, memory, out = Settings(), Now(), Memory(), Out()
now.pit, now.dt, now.supply, now.turns = 12000, 2000, 12000, -1
now.meat_1 = now.meat_2 = now.meat_3 = now.ambient = fields.ABSENT
now.order = fields.ORDER_START
cycle(settings, now, memory, out)
now.order = 0
def loop():
    x = 0
    for i in range(1000):
        x = (x + i) & 0xFFFF
def law():
    now.pit = 12000 + (memory.cycles & 15) * 10
    cycle(settings, now, memory, out)
def took(call, times):
    best = 1 << 29
    for _ in range(5):
        began = clock()
        for _ in range(times):
            call()
        best = min(best, (clock() - began) * 100 // times)
    return best
print(took(loop, TIMES), took(law, TIMES))
"""

CHIP = """
import gc, machine, time
began = time.ticks_us()
gc.threshold(16384)
from hearth import board, loop
from hearth.core import cycle
from hearth.link.lines import encode
gc.threshold(-1)
print("loading the code", time.ticks_diff(time.ticks_us(), began))
class Watchdog:
    def __init__(self, timeout): pass
    def feed(self): pass
class Machine: pass
for name in dir(machine):
    setattr(Machine, name, getattr(machine, name))
Machine.WDT = Watchdog
class Stream:
    def read(self): return b""
    def write(self, data): return len(data)
pico = board.Pico(machine=Machine, stream=Stream())
whole = loop.Loop(pico)
record = whole._cycle_record(0)
for name, call, times in (
    ("a call of nothing", lambda: None, 50),
    ("read all parts", lambda: pico.read(whole.now), 20),
    ("  of it the converter", lambda: pico._converter.read(), 20),
    ("  of it the drain", lambda: pico._drain.judge(0, 12000), 20),
    ("core.cycle", lambda: cycle(whole.settings, whole.now, whole.memory, whole.out), 50),
    ("drive and show", lambda: (pico.fan(whole.out.duty, whole.out.fan), pico.show(whole.out)), 20),
    ("pack the record", lambda: whole._cycle_record(0), 20),
    ("keep it in the ring", lambda: whole.ring.append(record), 20),
    ("note it for the flash", lambda: whole.flash.spool.cycle(whole.now, whole.out, 0), 10),
    ("a line of it", lambda: encode("R", record), 20),
    ("serve a silent host", lambda: whole.talk.serve(), 20),
    ("the hello", lambda: whole.hello(), 2),
    ("collect garbage", gc.collect, 3),
):
    gc.collect()
    began = time.ticks_us()
    for _ in range(times):
        call()
    print(name, time.ticks_diff(time.ticks_us(), began) // times)
print("bytes of heap free", gc.mem_free())
"""


def law(command: list[str], times: int) -> tuple[float, float]:
    """Microseconds of the plain loop and of the law."""
    code = LAW.replace("TIMES", str(times))
    path = {"PYTHONPATH": str(ROOT / "firmware"), "MICROPYPATH": f"{ROOT / 'firmware'}:.frozen"}
    run = subprocess.run([*command, "-c", code], capture_output=True, text=True, check=True, env={**os.environ, **path})
    plain, whole = run.stdout.split()
    return int(plain) / 100, int(whole) / 100


def chip() -> str:
    """The chip's own table; "" without an image."""
    if not os.environ.get("TUYERE_UF2"):
        return ""
    from chip_kit import Chip, image
    from tuyere.board import bytecode

    files = bytecode.build().files
    files.pop("main.py")
    board = Chip(image(), files)
    board.power()
    said = board.python(CHIP)
    board.close()
    return said


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--smoke", action="store_true", help="few turns")
    times = 20 if options.parse_args().smoke else 400
    commands = [([sys.executable], "CPython")]
    if interpreter()[1] == "MicroPython":
        commands.insert(0, interpreter())
    for command, name in commands:
        plain, whole = law(command, times)
        print(f"{name:12} core.cycle {whole:7.1f} us, a thousand turns {plain:7.1f} us: ratio {whole / plain:.2f}")
    said = chip()
    if not said:
        print("emulated chip: no image; set TUYERE_UF2 (tests/chip/image.sh makes one)")
    for line in said.splitlines():
        name, _, value = line.rpartition(" ")
        print(f"chip: {name:24} {value:>8}" if "bytes" in name else f"chip: {name:24} {int(value) / 1000:8.2f} ms")


if __name__ == "__main__":
    main()
