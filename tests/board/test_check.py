"""The walk through the parts, against the twin in its bath."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from board_kit import GOOD, Script, running
from hearth.core import fields
from rendered import words
from tuyere.board import check as checks
from tuyere.board import parts_check, settle
from tuyere.board import report as reports
from tuyere.board.bench import Bench
from tuyere.board.check import Check, altitude
from tuyere.board.report import Report
from tuyere.board.trouble import Trouble
from tuyere.engine.device import connection
from tuyere.sim import twin
from tuyere.sim.bath import Bath
from tuyere.sim.twin_board import twin_frames as frames
from tuyere.text import Reader

WHEN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def in_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """The twin runs as fast as its host keeps up, and is never more than some four cycles ahead of it: however slow
    this machine is, a reading is of its time."""
    monkeypatch.setattr(twin, "HOLD_AT", 0)  # percent of its ring
    monkeypatch.setattr(connection, "COMMIT_AFTER", 0.005)


def walk(
    home: Path,
    bath: Bath,
    hands: Script,
    more: Callable[[Bench, Report], Awaitable[None]] | None = None,
    before: Callable[[Bench], Awaitable[Any]] | None = None,
    **fitted: Any,
) -> Report:
    """A whole check; `before` and `more` do something on the bench ahead of it and after it."""

    async def work(port: str) -> Report:
        async with Bench(home, port) as bench:
            if before:
                await before(bench)
            report = reports.begin(bench.hello, WHEN)
            await Check(bench, hands, report).run()
            assert (await bench.cycle())["out.fan"] == 0
            if more:
                await more(bench, report)
            return report

    with running(bath, **fitted) as made:
        found = asyncio.run(work(made.line.path))
        assert made.drive == 0
    return found


def by_step(report: Report) -> dict[str, reports.Finding]:
    return {found.step: found for found in report.findings}


def test_a_good_board_goes_through_and_reads_right_afterwards(tmp_path: Path) -> None:
    bath = Bath(3)

    async def look(bench: Bench, report: Report) -> None:
        """The bath still boils: with the offsets stored, what decides reads the truth."""
        bench.forget()
        cycles = [await bench.cycle() for _ in range(10)]
        for name in ("pit", "meat_1", "meat_2", "meat_3"):
            mean = sum(cycle[f"now.{name}"] for cycle in cycles) / len(cycles) / 100
            assert mean == pytest.approx(bath.around_c, abs=0.2), name
        settings = bench.settings
        assert {name: settings[name] / 100 for name in report.offsets} == report.offsets
        standing = (settings["band_low"], settings["band_high"], settings["pit_limit"])
        assert standing == (12110, 13500, 17500)  # the alarm's limits are gone
        assert cycles[-1]["out.state"] == fields.OFF and cycles[-1]["out.trip"] == 0

    hands = Script(bath, *GOOD)
    report = walk(tmp_path, bath, hands, look)
    assert report.good and report.verdict == "nothing wrong was found"
    assert len(report.offsets) == 5
    assert report.offsets["pit_offset"] == pytest.approx(-bath.errors[0], abs=0.1)  # a couple errs alike everywhere
    steps = by_step(report)
    assert {"supply", "alarm", "acknowledge", "button", "lamp", "fan", "stored", "ambient in boiling"} <= set(steps)
    assert "turns at 25 %" in words(steps["fan"].words)
    at_300_m = "water boils at 98.98 C; weather moves that by about 1 C"  # see below
    assert any(at_300_m in line for line in hands.lines)


def test_the_boiling_point_is_that_of_the_altitude() -> None:
    """Standard atmosphere (ISO 2533) and CoolProp: 5000 ft 94.90 C, 10000 ft 89.81 C."""
    for said, celsius in (("5000ft", 94.90), ("10000 ft", 89.81), ("", 99.97)):
        metres = altitude(said, "C")
        assert metres is not None
        assert checks.boiling(checks.pressure_at(metres)) == pytest.approx(celsius, abs=0.03)
    assert altitude("350 m", "F") == 350 and altitude("1,5", "C") == 1.5 and altitude("5000", "F") == 1524
    assert all(altitude(said, "C") is None for said in ("high", "9000", "nan", "5 kg"))


def test_the_report_is_dated_and_kept_as_text_and_data(tmp_path: Path) -> None:
    report = Report("2026-03-01T12:00:00+00:00", "e66/1", "pico", False, "ab" * 32)
    report.add(reports.Finding("supply", False, "8.10 V, and 11 to 15 V is right", {"volts": 8.1}))
    report.add(reports.Finding("fan", None, "not tried"))
    report.add(reports.Finding("supply", True, "12.00 V", {"volts": 12.0}))  # done again: the last one counts
    report.whole = True
    text, data = reports.save(report, tmp_path, Reader("C"))
    assert text.name == "check-2026-03-01T12-00-00-e66-1.txt" and text.parent == data.parent == tmp_path / "checks"
    said = text.read_text(encoding="utf-8")
    assert "12.00 V" in said and "8.10" not in said and "nothing wrong was found; not checked: fan" in said
    found = json.loads(data.read_text(encoding="utf-8"))
    assert found["findings"][1]["numbers"] == {"volts": 12.0} and found["verdict"].startswith("nothing wrong")
    assert not Report("", "", "", False, "").good  # broken off


def test_a_bad_probe_is_named_and_gets_no_offset(tmp_path: Path) -> None:
    bath = Bath(3)
    bath.errors[1] = 7.0  # more than any setting mends
    bath.errors[2] = 30.0  # not in the water at all

    async def look(bench: Bench, report: Report) -> None:
        assert bench.settings["meat_1_offset"] == bench.settings["meat_2_offset"] == 0

    report = walk(tmp_path, bath, Script(bath, *GOOD), look)
    steps = by_step(report)
    assert steps["meat_1_offset"].good is False and words(steps["meat_1_offset"].words).startswith("bad probe")
    assert "meat_1_offset" not in report.offsets and "pit_offset" in report.offsets
    assert steps["meat_2 in boiling"].good is False and "is it in the water?" in words(steps["meat_2 in boiling"].words)
    assert not report.good and "meat_1_offset" in report.verdict


class Interrupted(Script):
    """Somebody presses Ctrl-C at a question, closes the terminal's window (again and again), or ends the program."""

    def __init__(self, bath: Bath, at: str, how: int, *rules: tuple[str, str | None, str]) -> None:
        super().__init__(bath, *rules)
        self._at, self._how = at, how

    async def ask(self, question: str) -> str:
        if self._at in question:
            if self._how:
                for _ in range(2):
                    os.kill(os.getpid(), self._how)
                await asyncio.sleep(5)
            task = asyncio.current_task()
            assert task
            task.cancel()
            await asyncio.sleep(0)
        return await super().ask(question)


@pytest.mark.parametrize(
    ("at", "how"),
    [
        ("Does it turn", 0),
        ("Does the buzzer call", 0),
        ("Does the buzzer call", signal.SIGHUP),
        ("Does the buzzer call", signal.SIGTERM),
    ],
)
def test_broken_off_anywhere_the_fan_stops_and_limits_are_put_back(tmp_path: Path, at: str, how: int) -> None:
    bath = Bath(3)

    async def work(port: str) -> Report:
        async with Bench(tmp_path, port) as bench:
            report = reports.begin(bench.hello, WHEN)
            with pytest.raises(asyncio.CancelledError):
                await Check(bench, Interrupted(bath, at, how, *GOOD), report).run()
            cycle = await bench.cycle()
            assert cycle["out.fan"] == 0 and cycle["out.state"] == fields.OFF and cycle["out.trip"] == 0
            assert bench.settings["pit_limit"] == 17500 and bench.settings["band_high"] == 13500
            return report

    with running(bath) as made:
        report = asyncio.run(work(made.line.path))
        assert made.drive == 0
    assert not report.whole and by_step(report)["pit in boiling"].good


def test_limits_that_a_check_left_behind_are_said_and_put_right(tmp_path: Path) -> None:
    async def left(bench: Bench) -> None:
        assert (await bench.order("settings", values=parts_check.ALARM_SETTINGS))[0]

    async def look(bench: Bench, report: Report) -> None:
        for _ in range(50):  # state records of before the order may still be on their way
            if bench.settings["pit_limit"] == 17500:
                break
            await bench.cycle()
        assert bench.settings["pit_limit"] == 17500 and bench.settings["band_low"] == 12110

    bath = Bath(3)
    rules = (("ICE", "s", ""), ("BOILING", "s", ""), ("ALARM", "s", ""), ("BUTTON", "s", ""), ("may it run?", "n", ""))
    hands = Script(bath, *rules, *GOOD)
    walk(tmp_path, bath, hands, look, before=left)
    assert any("are still set" in line for line in hands.lines)


def test_what_is_left_out_or_skipped_is_not_called_good(tmp_path: Path) -> None:
    bath = Bath(3)
    bath.readings.open_probes = 2  # meat 2 is not fitted
    rules = (("ICE WATER", "s", ""), ("ALARM", "s", ""), ("BUTTON", "s", ""), ("may it run?", "n", ""), *GOOD)
    steps = by_step(report := walk(tmp_path, bath, Script(bath, *rules)))
    for step in ("meat_2", "pit in ice", "alarm", "button", "fan"):
        assert steps[step].good is None, step
    assert "meat_2 in boiling" not in steps and "meat_2_offset" not in report.offsets
    assert report.good and "not checked: meat_2, pit in ice" in report.verdict


def test_a_step_is_done_again_and_the_last_outcome_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    enough = checks.SETTLES_WITHIN
    monkeypatch.setattr(checks, "SETTLES_WITHIN", settle.NEEDS + 2)
    bath = Bath(3)

    class Again(Script):
        async def ask(self, question: str) -> str:
            if question.startswith("ICE") and not any("did not come to rest" in line for line in self.lines):
                self.lines.append(question)
                bath._now = [60.0] * 5
                bath.do("ice")  # put in hot: not at rest within the time
                return ""
            if question.startswith("Enter goes on") and "did not come to rest" in self.lines[-1]:
                self.lines.append(question)
                monkeypatch.setattr(checks, "SETTLES_WITHIN", enough)  # however slow this machine is
                return "a"
            return await super().ask(question)

    rest = (("BOILING", "s", ""), ("ALARM", "s", ""), ("BUTTON", "s", ""), ("may it run?", "n", ""))
    hands = Again(bath, *rest, *GOOD)
    report = walk(tmp_path, bath, hands)
    assert sum(line.startswith("ICE") for line in hands.lines) >= 2
    assert by_step(report)["meat_3 in ice"].good and report.good


def test_faults_of_the_parts_are_found(tmp_path: Path) -> None:
    bath = Bath(3)
    bath.readings.faults = fields.PROBE_OPEN
    bath.readings.supply_v = 9.0
    rules = (("pit probe", "", ""), ("blow the right way", "n", ""), *GOOD)
    steps = by_step(walk(tmp_path, bath, Script(bath, *rules)))
    assert steps["pit"].good is False and "open" in words(steps["pit"].words)
    assert steps["supply"].good is False and "9.00 V" in words(steps["supply"].words)
    assert steps["alarm"].good is None
    assert steps["fan"].good is False and "the board kept it off" in words(steps["fan"].words)
    assert "not seen to turn" in words(steps["fan"].words)


def test_a_four_wire_fan_is_counted_and_one_without_a_wire_is_told(tmp_path: Path) -> None:
    async def four(bench: Bench) -> None:
        assert (await bench.order("settings", values={"fan_wires": 4}))[0]

    rules = (("ICE", "s", ""), ("BOILING", "s", ""), ("ALARM", "s", ""), ("BUTTON", "s", ""), *GOOD)
    bath = Bath(3)
    steps = by_step(walk(tmp_path / "a", bath, Script(bath, *rules), before=four, wires=4))
    assert steps["fan"].good and steps["fan"].numbers["turns"] > 0 and steps["fan"].numbers["turns_after"] == 0
    assert steps["fan at 0 %"].good
    bath = Bath(3)
    bath.readings.fan_stuck = frames.FAN_UNPLUGGED
    steps = by_step(walk(tmp_path / "b", bath, Script(bath, *rules), before=four, wires=4))
    assert steps["fan"].good is False and "does not turn" in words(steps["fan"].words)


def test_a_four_wire_fan_that_turns_at_0_percent_is_refused_and_its_settings_are_put_back(tmp_path: Path) -> None:
    async def four(bench: Bench) -> None:
        assert (await bench.order("settings", values={"fan_wires": 4, "slowest": 1500}))[0]

    async def look(bench: Bench, report: Report) -> None:
        assert (bench.settings["slowest"], bench.settings["breakaway"]) == (1500, 2000)
        assert (await bench.cycle())["out.fan"] == 0

    rules = (("ICE", "s", ""), ("BOILING", "s", ""), ("ALARM", "s", ""), ("BUTTON", "s", ""), *GOOD)
    bath = Bath(3)
    bath.readings.fan_stuck = frames.FAN_SWITCH_SHORTED  # the speed wire never goes low
    steps = by_step(walk(tmp_path, bath, Script(bath, *rules), look, before=four, wires=4))
    assert steps["fan"].good and steps["fan at 0 %"].good is False
    assert "take a fan that stands still" in words(steps["fan at 0 %"].words)


def test_a_call_that_would_not_wake_the_cook_is_no_good_board(tmp_path: Path) -> None:
    bath = Bath(3)
    steps = by_step(walk(tmp_path, bath, Script(bath, ("would it wake you", "n", ""), *GOOD)))
    assert steps["alarm"].good and steps["alarm in bed"].good is False


def test_a_pit_that_is_held_is_not_checked(tmp_path: Path) -> None:
    async def start(bench: Bench) -> None:
        assert (await bench.order("start"))[0]
        await bench.cycle()
        bench.forget()
        await bench.cycle()

    bath = Bath(3)
    with pytest.raises(Trouble, match="a check is for a cold pit"):
        walk(tmp_path, bath, Script(bath, *GOOD), before=start)


@pytest.mark.parametrize("typed", ["q\n", ""])
def test_at_a_terminal_it_ends_with_a_report_and_says_that_it_was_broken_off(tmp_path: Path, typed: str) -> None:
    bath = Bath(3)
    env = {**os.environ, "TUYERE_HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    with running(bath, speed=60.0) as made:
        command = [sys.executable, "-m", "tuyere", "board", "check", "--unit", "C", "--port", made.line.path]
        done = subprocess.run(command, check=False, env=env, input=typed, capture_output=True, text=True)
    assert done.returncode == 1 and "Verdict: broken off before its end" in done.stdout, done.stderr
    assert "supply             good" in done.stdout
    [text] = (tmp_path / "checks").glob("*.txt")
    assert text.read_text(encoding="utf-8").strip() == done.stdout.strip()


def test_the_alarms_limits_fit_the_board() -> None:
    from hearth.core import orders

    band = parts_check.ALARM_SETTINGS
    assert band["band_high"] - band["band_low"] >= orders.NARROWEST
    assert band["band_high"] <= parts_check.ALARM_LIMIT - orders.HEADROOM
    lowest = checks.boiling(checks.pressure_at(5000)) * 100 - settle.MOST
    assert lowest > parts_check.ALARM_LIMIT + 200  # boiling water trips it wherever somebody cooks


def test_each_fault_the_board_can_tell_has_words() -> None:
    from tuyere.board import parts_check

    bits = {value for name, value in vars(fields).items() if name.startswith("PROBE_") or name == "COLD_JUNCTION"}
    assert set(parts_check.PROBE_WORDS) == bits - {fields.PROBE_DOUBTED}  # that is a reason, no fault
    codes = {value for name, value in vars(fields).items() if name.startswith("FAN_")}
    assert set(parts_check.FAN_WORDS) == codes - {fields.FAN_FINE}
    health = {value for name, value in vars(fields).items() if name.startswith("BOARD_")}
    outages = {fields.BOARD_CUT, fields.BOARD_SHORT}  # no faults of the board's
    assert set(parts_check.HEALTH_WORDS) == health - outages
