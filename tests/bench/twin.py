"""How fast the twin goes, and what it leaves of the board's heap.

    python tests/bench/twin.py [--smoke]

Baseline, in the same run: the same law and pit in one CPython process (`BoardInPit`), with no interpreter, no link
and no host. Prints both, their ratio, records made and lost, and the free heap at the start and at the end.
"""

from __future__ import annotations

import argparse
import json
import os
import struct
import threading
import time

from hearth.link import messages
from hearth.link.lines import Lines, encode
from tuyere.sim.board_in_pit import BoardInPit
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import HEAP, Twin


class Host(threading.Thread):
    """Takes and keeps records as fast as they come."""

    def __init__(self, path: str) -> None:
        super().__init__(daemon=True)
        self.far = os.open(path, os.O_RDWR | os.O_NOCTTY)
        self.heaps: list[int] = []
        self.taken = 0
        self.asks = 0

    def ask(self) -> None:
        self.asks += 1
        os.write(self.far, encode(messages.ASK, json.dumps({"ask": self.asks}).encode()))

    def run(self) -> None:
        lines, boot = Lines(), 0
        while True:
            try:
                data = os.read(self.far, 65536)
            except OSError:
                return  # the line was taken away
            for kind, payload in lines.feed(data):
                if kind == messages.HELLO:
                    hello = json.loads(payload)
                    boot = hello["boot"]
                    self.heaps.append(hello["heap"])
                    os.write(self.far, encode(messages.FETCH, struct.pack(messages.POSITION, boot, self.taken)))
                elif kind == messages.RECORD:
                    sequence = struct.unpack_from(messages.HEAD, payload)[2]
                    if sequence == self.taken:
                        self.taken += 1
                        if self.taken % 50 == 0:
                            os.write(self.far, encode(messages.KEEP, struct.pack(messages.POSITION, boot, sequence)))


def in_process(cycles: int) -> float:
    """Cycles a second of law and pit alone."""
    board, world = BoardInPit(), Outside("upright", 1)
    readings = world.step(2.0, 0.0)
    began = time.perf_counter()
    for _ in range(cycles):
        readings = world.step(2.0, board.step(2.0, readings.pit_c, readings.meat_c, readings.told))
    return cycles / (time.perf_counter() - began)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true", help="a short run, only to see that it works")
    hours = 0.5 if parser.parse_args().smoke else 14.0
    twin = Twin(Outside("upright", 1), Line(), speed=0)
    host = Host(twin.line.path)
    host.ask()
    host.start()
    os.write(host.far, encode(messages.ORDER, b'{"id": 1, "name": "start"}'))
    began = time.perf_counter()
    twin.run(until_ms=int(hours * 3600_000))
    speed = twin.cycles / (time.perf_counter() - began)
    host.ask()
    twin.run(until_ms=int(hours * 3600_000) + 60_000)
    time.sleep(0.2)
    alone = in_process(twin.cycles)
    print(f"firmware on {twin.interpreter}, heap {HEAP // 1024} KB, {hours:g} h of simulated time")
    print(f"twin        {speed:9.0f} cycles/s")
    print(f"in process  {alone:9.0f} cycles/s   twin / in process = {speed / alone:.2f}")
    print(f"records     {host.taken} taken by the host of {twin.cycles} cycles and the state records")
    print(f"heap free   {host.heaps[0]} bytes at the first hello, {host.heaps[-1]} at the last")
    twin.close()


if __name__ == "__main__":
    main()
