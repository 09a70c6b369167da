"""The watch as lines: what is said, how often, and how it ends."""

from __future__ import annotations

import asyncio
import io
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from fake_source import MINUTE, FakeSource, snapshot, trend
from tuyere.cook import say
from tuyere.cook.snapshot import Prompt
from tuyere.text import Duration, text
from tuyere.tui import plain_screen


def shots(count: int, step: int, **changes: object) -> list[object]:
    shot = msgspec.structs.replace(snapshot(trend(6.0)), **changes)
    return [msgspec.structs.replace(shot, now=shot.now + i * step) for i in range(count)]


def lines_of(taken: list[object], units: str = "F") -> list[str]:
    out = io.StringIO()
    printer = plain_screen.Printer(out, units)
    for shot in taken:
        printer.take_snapshot(shot)  # type: ignore[arg-type]
    return out.getvalue().splitlines()


def test_a_line_a_minute_and_no_more() -> None:
    lines = [line for line in lines_of(shots(31, 10_000)) if "; pit " in line]
    assert len(lines) == 6
    assert lines[0] == (
        "01:59; holding; pit 263 F; band 250-275 F; fan 28 %; Big flat 155 F shade 6; Point 153 F shade 4 in paper; "
        "Small one 180 F by hand (oven); no alarm"
    )


def test_a_change_makes_a_line_at_once_and_alarms_are_told_in_full() -> None:
    calm = shots(1, 0)[0]
    alarmed = msgspec.structs.replace(calm, alarms=snapshot(trend(6.0), alarm=True).alarms, now=calm.now + 1000)  # type: ignore[type-var, attr-defined]
    lines = lines_of([calm, alarmed, alarmed])
    (alarm,) = [line for line in lines if "ALARM" in line]
    assert "ALARM, urgent: The fire is fading. The fan has been high" in alarm and "1. Look at the fuel" in alarm
    assert lines[-1].endswith("alarms: The fire is fading")
    assert len(lines) == len(lines_of([calm])) + 2


def test_old_readings_are_not_live_and_celsius_is_celsius() -> None:
    lines = lines_of(shots(1, 0, stale=True), "C")
    assert "No fresh reading since 01:59; last pit 128 C at 01:59" in lines[-1]
    assert "Holding 128 C, in the band" in " ".join(lines)
    assert not any(" F" in line for line in lines)


def test_two_things_to_look_at_are_two_and_one_that_comes_again_is_told_again() -> None:
    calm = shots(1, 0)[0]
    vents, lid = (
        Prompt("look", "Set the vents", 0),
        Prompt("look", text("Shut the lid, {time}", time=Duration(180.0)), 0),
    )
    lid_later = Prompt("look", text("Shut the lid, {time}", time=Duration(240.0)), 0)
    taken = [msgspec.structs.replace(calm, prompts=prompts)  # type: ignore[type-var]
             for prompts in ([vents], [vents, lid], [vents, lid_later], [vents], [vents, lid])]  # fmt: skip
    told = [line.partition("to do now: ")[2] for line in lines_of(list(taken)) if "to do now" in line]
    assert told == ["Set the vents", "Shut the lid, 3 min", "Shut the lid, 3 min"]


def test_due_prompts_are_told_once() -> None:
    shot = shots(1, 0)[0]
    due = [msgspec.structs.replace(shot, now=shot.now + m * MINUTE) for m in range(30, 40)]  # type: ignore[attr-defined]
    told = [line for line in lines_of(due) if "to do now" in line]
    assert told == [f"{say.clock(shot.prompts[0].due)} to do now: Note the bark of Big flat"]  # type: ignore[attr-defined]


def test_it_tries_again_and_closes_its_source_when_cancelled() -> None:
    source = FakeSource()
    tries: list[int] = []

    async def connect() -> FakeSource:
        tries.append(1)
        if len(tries) < 3:
            raise RuntimeError("no engine is running here")
        return source

    async def run() -> str:
        out = io.StringIO()
        task = asyncio.create_task(plain_screen.watch(connect, out, "F", again=0.0))
        while "; pit " not in out.getvalue():
            await asyncio.sleep(0)
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
        return out.getvalue()

    told = asyncio.run(run()).splitlines()
    assert told[:2] == ["Looking for the engine.", "Looking for the engine: no engine is running here"]
    assert source.closed
    assert source.last("subscribe") == {"trend_after": plain_screen.NO_TREND}


def test_a_reader_that_goes_away_ends_it() -> None:
    class Gone(io.StringIO):
        def write(self, text: str) -> int:
            raise BrokenPipeError

    async def connect() -> FakeSource:
        return FakeSource()

    with pytest.raises(BrokenPipeError):
        asyncio.run(plain_screen.watch(connect, Gone(), "F"))


SCRIPT = """
import asyncio, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs ignore it
sys.path.insert(0, {tests!r})
from fake_source import FakeSource
import tuyere.client.client as client
class Fake:
    @classmethod
    async def open(cls, *a, **k):
        return FakeSource()
client.Client = Fake
from tuyere.cli.watch import watch
try:
    watch.main(["--plain", "--unit", "C"], standalone_mode=False)
finally:
    loaded = [m for m in sys.modules if m.split(".")[0] in ("textual", "numba", "numpy")]
    print("loaded", loaded, file=sys.stderr)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break differently there")
@pytest.mark.parametrize("how", ["pipe", "interrupt"])
def test_the_command_ends_cleanly_and_loads_no_screen(tmp_path: Path, how: str) -> None:
    import os
    import signal

    env = {**os.environ, "TUYERE_HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    script = SCRIPT.format(tests=str(Path(__file__).parent))
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env,
    )
    assert process.stdout and process.stderr
    if how == "pipe":
        process.stdout.close()  # before it has said anything: its first line finds no reader
    else:
        for line in process.stdout:
            if "; pit 128 C" in line:
                break
        else:
            pytest.fail(process.stderr.read())
        process.send_signal(signal.SIGINT)
    try:
        assert process.wait(60) == 0
    finally:
        process.kill()  # one that does not end must not hang the tests
    told = process.stderr.read()
    assert told.strip() == "loaded []"
