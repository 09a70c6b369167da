"""The twin: the staged firmware on the real interpreter, over a real pseudo-terminal, in lockstep."""

from __future__ import annotations

import json
import os
import random
import struct
import sys
from collections.abc import Iterator

import pytest
from hearth.link import messages
from hearth.link.lines import LONGEST, encode
from tuyere import staging
from tuyere.sim import twin as twin_module
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Ended, Twin, interpreter
from twin_kit import Host, Spoiled, hours, run_until


@pytest.fixture
def twin() -> Iterator[Twin]:
    made = Twin(Outside("upright", 1), Line(), speed=0)
    yield made
    made.close()


def test_the_firmware_runs_on_micropython_and_says_what_it_is(twin: Twin) -> None:
    host = Host(twin.line.path)
    run_until(twin, lambda: bool(host.hellos))
    host.close()
    hello = host.hellos[0]
    assert hello["core"] == staging.core_hash()
    assert hello["simulated"] is True and hello["kind"] == "twin"
    assert hello["runs_on"] == interpreter()[1]
    assert [field[0] for field in hello["layout"]["out"]][:3] == ["fan", "duty", "state"]
    assert len(encode("H", json.dumps(hello).encode())) < 0.8 * LONGEST  # a longer one is dropped as noise


def test_without_micropython_the_same_files_run_on_this_python(monkeypatch: pytest.MonkeyPatch) -> None:
    start = "import sys; sys.path.insert(0, '.'); exec(open('main.py').read())"
    command = [sys.executable, "-u", "-I", "-S", "-c", start], "CPython"
    monkeypatch.setattr(twin_module, "interpreter", lambda: command)
    made = Twin(Outside("upright", 1), Line(), speed=0)
    host = Host(made.line.path)
    host.order("settings", values={"gain": 444})
    run_until(made, lambda: len(host.answers) == 1 and len(host.records) > 20)
    made.power_cut()
    host.say("h", {"ask": 2})
    run_until(made, lambda: host.hellos[-1]["ask"] == 2)
    host.close()
    assert host.hellos[0]["runs_on"] == "CPython" and host.hellos[-1]["settings"]["gain"] == 444
    assert list((made.folder / "flash").iterdir())
    made.close()


def test_a_cold_pit_is_brought_into_its_band_without_losing_a_record(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("start")
    twin.run(until_ms=hours(1))
    run_until(twin, lambda: len(host.records) > 1700)  # its thread may be behind
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
    made.run(until_ms=hours(0.5))
    assert made.outside_ms == hours(0.5) and made.cycles == 900
    made.close()


def test_the_same_seed_gives_the_same_night() -> None:
    def night() -> list[bytes]:
        made = Twin(Outside("drum", 5), Line(), speed=0, boots=random.Random(9))
        host = Host(made.line.path)
        run_until(made, lambda: len(host.records) > 400)
        host.close()
        made.close()
        return host.records

    first, second = night(), night()
    shared = min(len(first), len(second))
    assert first[:shared] == second[:shared]


def test_a_power_cut_starts_a_new_boot_and_the_pit_goes_on(twin: Twin) -> None:
    host = Host(twin.line.path)
    twin.run(until_ms=hours(0.1))
    run_until(twin, lambda: len(host.hellos) == 1)
    cut = twin.outside_ms
    twin.power_cut()
    host.say("h", {"ask": 3})
    run_until(twin, lambda: len(host.hellos) == 2)
    host.close()
    assert len({hello["boot"] for hello in host.hellos}) == 2
    assert host.hellos[-1]["outside_ms"] == cut


def test_without_power_the_pit_has_no_fan() -> None:
    world = Spoiled()
    made = Twin(world, Line(), speed=0)
    host = Host(made.line.path)
    host.order("start")
    run_until(made, lambda: world.air[-1] > 0.2)
    before, steps = made.outside_ms, len(world.air)
    made.power_cut(90.0)
    assert made.outside_ms == before + 90_000
    assert world.air[steps:] == [0.0] * 45
    host.close()
    made.close()


def test_the_flash_outlives_a_power_cut(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("settings", values={"gain": 512})
    run_until(twin, lambda: len(host.answers) == 1)
    twin.run(until_ms=twin.outside_ms + 4000)
    twin.power_cut()
    host.say("h", {"ask": 2})
    run_until(twin, lambda: len(host.hellos) > 1 and host.hellos[-1]["ask"] == 2)
    host.close()
    assert host.hellos[-1]["settings"]["gain"] == 512


def patch(twin: Twin, name: str, old: str, new: str) -> None:
    """Change one of the files on the board; it takes effect with the next start."""
    text = (twin.folder / name).read_text()
    assert text.count(old) == 1
    (twin.folder / name).write_text(text.replace(old, new))
    twin.power_cut()


def test_a_watchdog_that_is_not_fed_restarts_the_board(twin: Twin) -> None:
    twin.run(until_ms=hours(0.01))
    patch(twin, "hearth/board.py", "self._watchdog.feed()", "pass")
    restarts, began = twin.restarts, twin.outside_ms
    twin.run(until_ms=hours(1), stop=lambda: twin.restarts > restarts)
    assert twin.outside_ms - began == 8000


def test_a_program_that_hangs_is_the_watchdogs(twin: Twin) -> None:
    twin._hang_s = 0.2
    twin.run(until_ms=hours(0.01))
    hang = "found = board.open_board()\nwhile True:\n    pass\n"
    patch(twin, "main.py", "found = board.open_board()\n", hang)
    restarts, began = twin.restarts, twin.outside_ms
    twin.run(stop=lambda: twin.restarts > restarts)
    assert twin.outside_ms - began == 8000


def test_a_board_that_never_waits_is_the_watchdogs(twin: Twin) -> None:
    twin.run(until_ms=hours(0.01))
    patch(twin, "hearth/board.py", "self._time.ticks_diff(ticks, self._ticks)", "0 * ticks")
    restarts, began = twin.restarts, twin.outside_ms
    twin.run(stop=lambda: twin.restarts > restarts)
    assert twin.outside_ms - began == 8000


def test_the_chips_ticks_wrap_ten_minutes_into_a_boot_and_no_cycle_is_missed(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("start")
    run_until(twin, lambda: len(host.cycles()) > 400, 0.5)
    host.close()
    assert twin.restarts == 0
    assert all(now.dt == 2000 for now, _ in host.cycles()[1:])


def test_a_program_that_ends_is_the_watchdogs_only_where_asked_for(twin: Twin) -> None:
    patch(twin, "main.py", "if found:", "raise ValueError\nif found:")
    with pytest.raises(Ended, match="exit code 1"):
        twin.run(until_ms=hours(1))
    twin._revive = True
    restarts = twin.restarts
    began = twin.outside_ms
    twin.run(stop=lambda: twin.restarts > restarts + 1)
    assert twin.outside_ms - began == 16000


def test_release_restarts_the_board(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("release")
    run_until(twin, lambda: twin.restarts == 1)
    host.close()


def test_noise_on_the_line_changes_nothing_but_a_count(twin: Twin) -> None:
    host = Host(twin.line.path)
    host.order("start")
    run_until(twin, lambda: len(host.answers) == 1)
    os.write(host._far, b"\x03\x04" * 50 + b"\n" + b"A" * 9000 + b"\n" + encode("o", b"[1]") + encode("k", b"x"))
    host.order("band", low=12000, high=13000)
    run_until(twin, lambda: len(host.answers) == 2 and len(host.records) > 100)
    host.close()
    assert {"id": host.answers[-1]["id"], "ok": True, "why": "accepted"} == host.answers[-1]


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
    run_until(twin, lambda: len(host.answers) == 7)
    host.say("h", {"ask": 9})
    run_until(twin, lambda: bool(host.hellos) and host.hellos[-1]["ask"] == 9)
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
