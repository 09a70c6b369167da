"""The twin: the staged firmware on the real interpreter, over a real pseudo-terminal, in lockstep."""

from __future__ import annotations

import contextlib
import json
import os
import random
import struct
import threading
from collections.abc import Iterator

import pytest
from hearth.link import messages
from hearth.link.lines import Lines, encode
from tuyere import staging
from tuyere.sim.line import Line
from tuyere.sim.outside import Outside
from tuyere.sim.twin import Twin, interpreter


class Host:
    """The other end of the line, in a thread: takes records in order, keeps every so many, notes what comes."""

    def __init__(self, path: str, keep_every: int = 20) -> None:
        self._far = os.open(path, os.O_RDWR | os.O_NOCTTY)
        self._lines = Lines()
        self._keep_every = keep_every
        self.records: list[bytes] = []
        self.hellos: list[dict] = []
        self.answers: list[dict] = []
        self.boot: int | None = None
        self.expected = 0
        self._going = True
        self.say("h", {"ask": 1})
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def say(self, kind: str, body: object) -> None:
        os.write(self._far, encode(kind, body if isinstance(body, bytes) else json.dumps(body).encode()))

    def order(self, name: str, **arguments: object) -> None:
        self.say("o", {"id": len(self.answers), "name": name, **arguments})

    def close(self) -> None:
        self._going = False
        with contextlib.suppress(OSError):
            os.write(self._far, b"\n")
        self._thread.join(2)
        os.close(self._far)

    def _run(self) -> None:
        while self._going:
            try:
                data = os.read(self._far, 65536)
            except OSError:
                return
            for kind, payload in self._lines.feed(data):
                self._take(kind, payload)

    def _take(self, kind: str, payload: bytes) -> None:
        if kind == messages.HELLO:
            self.hellos.append(json.loads(payload))
            if self.hellos[-1]["boot"] != self.boot:
                self.boot, self.expected = self.hellos[-1]["boot"], 0
            self.say("f", struct.pack(messages.POSITION, self.boot, self.expected))
        elif kind == messages.ANSWER:
            self.answers.append(json.loads(payload))
        elif kind == messages.RECORD:
            _, boot, sequence, _, _ = struct.unpack(messages.HEAD, payload[: messages.HEAD_SIZE])
            if boot == self.boot and sequence == self.expected:
                self.records.append(payload)
                self.expected += 1
                if self.expected % self._keep_every == 0:
                    self.say("k", struct.pack(messages.POSITION, boot, sequence))


@pytest.fixture
def twin() -> Iterator[Twin]:
    made = Twin(Outside("upright", 1), Line(), speed=0)
    yield made
    made.close()


def hours(count: float) -> int:
    return int(count * 3600_000)


def test_the_firmware_runs_on_micropython_and_says_what_it_is(twin: Twin) -> None:
    host = Host(twin.line.path)
    twin.run(until_ms=hours(0.1))
    host.close()
    hello = host.hellos[0]
    assert hello["core"] == staging.core_hash()
    assert hello["simulated"] is True and hello["kind"] == "twin"
    assert hello["runs_on"] == interpreter()[1]
    assert [field[0] for field in hello["layout"]["out"]][:3] == ["fan", "duty", "state"]
    assert len(json.dumps(hello)) < 6000


def test_a_cold_pit_is_brought_into_its_band_without_losing_a_record(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("start")
    twin.run(until_ms=hours(1))
    host.close()
    assert host.answers[0] == {"id": 0, "ok": True, "why": "accepted"}
    assert len(host.records) > 1700
    assert [struct.unpack(messages.HEAD, record[:19])[2] for record in host.records] == list(range(len(host.records)))
    assert 121.0 < twin.world.air_c < 136.0


def test_time_waits_for_a_host_that_does_not_keep(twin: Twin) -> None:
    seen: list[int] = []

    def stands_still() -> bool:
        seen.append(twin.outside_ms)
        return len(seen) > 20 and seen[-1] == seen[-20]

    twin.run(until_ms=hours(14), stop=stands_still)
    waited = twin.outside_ms
    assert 0 < waited < hours(0.2)
    host = Host(twin.line.path)
    twin.run(until_ms=waited + hours(0.2))
    host.close()
    assert host.hellos[0]["first"] == 0


def test_without_a_host_the_script_can_let_time_go_on() -> None:
    made = Twin(Outside("upright", 1), Line(), speed=0, ring_size=4096, away=lambda ms: True)
    made.run(until_ms=hours(0.2))
    host = Host(made.line.path)
    made.run(until_ms=hours(0.3))
    host.close()
    made.close()
    assert host.hellos[0]["first"] > 250  # the ring held what it could; the host sees what is gone


def test_the_same_seed_gives_the_same_night() -> None:
    def night() -> list[bytes]:
        made = Twin(Outside("drum", 5), Line(), speed=0, boots=random.Random(9))
        host = Host(made.line.path)
        made.run(until_ms=hours(0.3))
        host.close()
        made.close()
        return host.records

    first, second = night(), night()
    shared = min(len(first), len(second))
    assert shared > 400 and first[:shared] == second[:shared]


def test_a_power_cut_starts_a_new_boot_and_the_pit_goes_on(twin: Twin) -> None:
    host = Host(twin.line.path)
    twin.run(until_ms=hours(0.1))
    host.say("h", {"ask": 2})
    twin.power_cut()
    host.say("h", {"ask": 3})
    twin.run(until_ms=hours(0.2))
    host.close()
    assert len({hello["boot"] for hello in host.hellos}) == 2
    assert host.hellos[-1]["outside_ms"] == hours(0.1)


def test_release_restarts_the_board(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("release")
    twin.run(until_ms=hours(0.05))
    host.close()
    assert twin.restarts == 1


def test_noise_on_the_line_changes_nothing_but_a_count(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("start")
    twin.run(until_ms=hours(0.02))
    os.write(host._far, b"\x03\x04" * 50 + b"\n" + b"A" * 9000 + b"\n" + encode("o", b"[1]") + encode("k", b"x"))
    host.order("band", low=12000, high=13000)
    twin.run(until_ms=hours(0.06))
    host.close()
    assert {"id": host.answers[-1]["id"], "ok": True, "why": "accepted"} == host.answers[-1]
    assert len(host.records) > 100


def test_orders_that_make_no_sense_are_answered(twin: Twin) -> None:
    host = Host(twin.line.path)
    twin.run(until_ms=hours(0.01))
    host.order("fan", demand=20000, seconds=60)
    host.order("settings", values={"gain": 10**9})
    host.order("settings", values={"wrong": 1, "NAMES": 2})
    host.order("settings", values={"gain": 500})
    host.order("programme", rows=[[12110, 13500, 0, 0], [12110, 13500, 2, 9500]])
    host.order("phase", row=3)
    host.order("dance")
    twin.run(until_ms=hours(0.05))
    host.say("h", {"ask": 9})
    twin.run(until_ms=hours(0.06))
    host.close()
    whys = sorted(answer["why"] for answer in host.answers)
    refused = ["bad_arguments", "no_such_phase", "out_of_range", "out_of_range", "unknown_order"]
    assert whys == ["accepted", "accepted", *refused]
    assert host.hellos[-1]["settings"]["gain"] == 500 and len(host.hellos[-1]["programme"]) == 2


def test_staged_files_are_what_a_board_is_loaded_with() -> None:
    files = staging.board_files()
    assert {"main.py", "hearth/loop.py", "hearth/board.py", "hearth/core/decide.py"} <= set(files)
    assert staging.core_hash() in files["hearth/version.py"]
    assert not any("tuyere" in text and "import tuyere" in text for text in files.values())
