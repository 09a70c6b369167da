"""Every single fault of `firmware/guards.md` played on the twin: the board's own files on the real interpreter."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hearth.core import fields
from sim_played import WARM, Played, first, held, tripped, until
from tuyere import declared
from tuyere.sim.outside import Readings
from tuyere.sim.twin_board import twin_frames as frames
from twin_kit import run_until


def drop(begin: float, low: float) -> Callable[[float], float]:
    """A pit that falls 1.5 C/s from `begin` on and stays at `low`."""
    return lambda s: max(low, WARM - 1.5 * max(0.0, s - begin))


# name: (world, trip, seconds from its beginning within which it trips, hours to wait at most)
TRIPS = {
    "frozen value": (Played(alive=lambda s: s < 60.0), fields.TRIP_PROBE, 60.0, 370.0),
    "the pit cannot be read": (
        Played(spoil=lambda s, r: setattr(r, "faults", fields.PROBE_OPEN if s > 60.0 else 0)),
        fields.TRIP_PROBE, 60.0, 66.0,
    ),
    "reversed leads": (
        Played(pit=lambda s: 70.0, spoil=lambda s, r: (setattr(r, "reversed", True), setattr(r, "cold_c", 10.0))),
        fields.TRIP_PROBE, 0.0, 80.0,
    ),
    "off the grate, lid left open": (Played(pit=drop(60.0, 30.0)), fields.TRIP_FELL, 60.0, 2190.0),
    # a climb begins with a quarter of the fan: the half hour counts from where it is high
    "no answer from the fire": (Played(pit=lambda s: 60.0), fields.TRIP_FIRE, 1830.0, 450.0),
    "runaway with the fan off": (
        Played(pit=lambda s: min(174.0, WARM + max(0.0, s - 60.0) / 60.0 * 1.5)), fields.TRIP_RUNAWAY, 60.0, 1200.0,
    ),
    "grease fire": (Played(pit=lambda s: WARM + 0.7 * max(0.0, s - 60.0)), fields.TRIP_FLARE, 60.0, 40.0),
    "pit over its limit": (Played(pit=lambda s: 180.0 if s > 60.0 else WARM), fields.TRIP_HOT, 60.0, 10.0),
    "fan stuck off": (
        Played(pit=lambda s: 80.0, spoil=lambda s, r: setattr(r, "fan_stuck", frames.FAN_SWITCH_OPEN)),
        fields.TRIP_FAN, 0.0, 30.0,
    ),
    "low-side switch shorted": (
        Played(spoil=lambda s, r: setattr(r, "fan_stuck", frames.FAN_SWITCH_SHORTED)), fields.TRIP_FAN, 0.0, 60.0,
    ),
    "fan's plug out": (
        Played(spoil=lambda s, r: setattr(r, "fan_stuck", frames.FAN_UNPLUGGED)),  # seen while the gate is off
        fields.TRIP_FAN, 0.0, 60.0,
    ),
    "switch of the fan's 12 V shorted": (
        Played(pit=lambda s: 140.0, spoil=lambda s, r: setattr(r, "fan_stuck", frames.FAN_SUPPLY_SHORTED)),
        fields.TRIP_FAN, 0.0, 60.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TRIPS)
def test_a_fault_trips_in_time_with_the_fan_off(name: str) -> None:
    world, trip, begins, within = TRIPS[name]
    with held(world) as (twin, host):
        until(twin, host, tripped(trip))
        at = first(host, tripped(trip))
        assert at is not None
        assert begins <= at * 2.0 <= begins + within, f"tripped {at * 2.0 - begins:.0f} s after it began"
        count = len(world.air)
        run_until(twin, lambda: len(world.air) > count + 30)
        assert all(out.fan == 0 and out.state == fields.TRIPPED for _, out in host.cycles()[at + 1 :])
        assert set(world.air[count + 2 :]) == {0.0} and twin.calling


@pytest.mark.parametrize("wires", [2, 4])
def test_a_fan_that_was_mended_is_acknowledged_and_goes_on(wires: int) -> None:
    stuck = frames.FAN_SWITCH_OPEN if wires == 2 else frames.FAN_UNPLUGGED
    world = Played(pit=lambda s: 80.0, spoil=lambda s, r: setattr(r, "fan_stuck", stuck))
    with held(world, "", wires=wires) as (twin, host):
        host.order("settings", values={"fan_wires": wires})
        host.order("start")
        until(twin, host, tripped(fields.TRIP_FAN))
        world.spoil = lambda s, r: setattr(r, "fan_stuck", frames.FAN_WELL)
        run_until(twin, lambda: host.cycles()[-1][1].trip != 0)
        host.order("acknowledge")
        run_until(twin, lambda: len(host.answers) == 3)
        host.order("start")
        run_until(twin, lambda: len(host.answers) == 4)
        begun = len(host.cycles())
        run_until(twin, lambda: len(host.cycles()) > begun + 60)
        assert all(host.answers[i]["ok"] for i in range(4)), host.answers
        after = host.cycles()[begun + 3 :]
        assert not any(out.trip or now.fan_fault for now, out in after) and after[-1][1].duty > 0


def test_an_ordinary_pit_on_a_max31855_trips_only_when_its_bits_freeze() -> None:
    world = Played(alive=lambda s: False, spoil=lambda s, r: setattr(r, "bus", frames.BUS_FROZEN if s > 1500.0 else 0))
    with held(world, "", converter=31855) as (twin, host):
        host.order("settings", values={"converter": 31855})
        host.order("start")
        until(twin, host, tripped(fields.TRIP_PROBE))
        at = first(host, tripped(fields.TRIP_PROBE))
        assert at is not None and 1500.0 + 350.0 <= at * 2.0 <= 1500.0 + 370.0
        assert all(out.bad == 0 for _, out in host.cycles()[5:750])


def test_a_four_wire_fan_whose_12_v_stay_on_stands_still_and_trips() -> None:
    world = Played()
    with held(world, "", wires=4) as (twin, host):
        host.order("settings", values={"fan_wires": 4})
        host.order("fan", demand=0, seconds=900)
        run_until(twin, lambda: len(host.answers) == 2)
        before = len(world.air)
        world.spoil = lambda s, r: setattr(r, "fan_stuck", frames.FAN_SUPPLY_SHORTED)
        out = until(twin, host, lambda now, out: now.fan_fault == fields.FAN_FED and out.trip == fields.TRIP_FAN)
        run_until(twin, lambda: len(world.air) > before + 60)
        assert out.fan == 0 and set(world.air[before + 2 :]) == {0.0}


@pytest.mark.parametrize(
    ("touches", "seen", "within"),
    [
        (fields.PROBE_SHORT, lambda now, out: out.reason == fields.PROBE_DOUBTED, 1200.0),
        (fields.PROBE_TO_SUPPLY, tripped(fields.TRIP_HOT), 10.0),
    ],
)
def test_a_lead_on_ground_or_on_3_v_sets_no_bit_and_is_called_all_the_same(touches, seen, within) -> None:
    world = Played(spoil=lambda s, r: setattr(r, "faults", touches if s > 60.0 else 0))
    with held(world) as (twin, host):
        until(twin, host, seen)
        at = first(host, seen)
        assert at is not None and at * 2.0 - 60.0 <= within
        assert not any(now.faults for now, _ in host.cycles()[1:])


def test_a_leak_rests_the_fan_and_is_said() -> None:
    with held(Played(pit=lambda s: 140.0)) as (twin, host):
        out = until(twin, host, lambda now, out: out.reason == fields.LEAKING)
        at = first(host, lambda now, out: out.reason == fields.LEAKING)
        assert at is not None and 590.0 <= at * 2.0 <= 900.0
        assert out.fan == 0 and out.state == fields.HOLDING


def test_a_piece_without_a_reading_does_not_end_its_phase() -> None:
    def spoil(seconds: float, readings: Readings) -> None:
        readings.meat_c[0] = 90.0
        readings.open_probes = 1 if seconds > 30.0 else 0

    with held(Played(spoil=spoil), "") as (twin, host):
        rows = [[12110, 13500, fields.END_MEAT_1, 9500], [12110, 13500, fields.END_BY_HAND, 0]]
        host.order("programme", rows=rows)
        host.order("start")
        out = until(twin, host, lambda now, out: out.lost == 1)
        at = first(host, lambda now, out: out.lost == 1)
        assert at is not None and 50.0 <= at * 2.0 <= 70.0
        assert out.phase == 0 and out.fan > 0 and out.state == fields.HOLDING


def test_a_multiplexer_that_stands_still_gives_no_readings() -> None:
    def spoil(seconds: float, readings: Readings) -> None:
        readings.meat_c[0] = readings.meat_c[1] = 60.0
        readings.mux_stuck = seconds > 40.0

    with held(Played(spoil=spoil)) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) > 30)
        found = [(now.meat_1 != fields.ABSENT, now.ambient != fields.ABSENT) for now, _ in host.cycles()]
        assert found[10] == (True, True) and set(found[26:]) == {(False, False)}


def test_a_fan_by_hand_that_is_forgotten_goes_back() -> None:
    with held(Played(), "") as (twin, host):
        host.order("fan", demand=4000, seconds=60)
        until(twin, host, lambda now, out: out.state == fields.MANUAL)
        begun = first(host, lambda now, out: out.state == fields.MANUAL)
        assert begun is not None
        run_until(twin, lambda: len(host.cycles()) > begun + 40)
        states = [out.state for _, out in host.cycles()[begun:]]
        assert states[:29] == [fields.MANUAL] * 29 and set(states[30:]) == {fields.OFF}


def test_a_low_supply_rests_the_fan_and_it_comes_back() -> None:
    world = Played(pit=lambda s: 100.0, spoil=lambda s, r: setattr(r, "supply_v", 9.5 if 60.0 < s < 100.0 else 12.0))
    with held(world) as (twin, host):
        out = until(twin, host, lambda now, out: out.reason == fields.SUPPLY_LOW)
        assert out.fan == 0
        low = first(host, lambda now, out: out.reason == fields.SUPPLY_LOW)
        assert low is not None and low * 2.0 <= 70.0
        run_until(twin, lambda: len(host.cycles()) > low + 60)
        cycles = host.cycles()
        assert cycles[low + 50][1].fan > 0 and not any(out.trip for _, out in cycles)


def test_a_board_that_never_lasts_trips() -> None:
    with held(Played()) as (twin, host):
        for _ in range(6):
            twin.run(until_ms=twin.outside_ms + 20_000)
            twin.power_cut(2.0)
        host.say("h", {"ask": 9})
        out = until(twin, host, tripped(fields.TRIP_RESTARTS))
        assert out.fan == 0


@pytest.mark.parametrize(("pit", "goes_on"), [(120.0, True), (80.0, False)])
def test_after_a_power_cut_the_pit_decides(pit: float, goes_on: bool) -> None:
    world = Played()
    with held(world) as (twin, host):
        twin.run(until_ms=twin.outside_ms + 700_000)
        world.pit = lambda s: pit
        twin.power_cut(5.0)
        host.say("h", {"ask": 9})
        run_until(twin, lambda: len(host.hellos) > 1 and len(host.cycles()) > 10)
        now, out = host.cycles()[-1]
        assert now.board & fields.BOARD_CUT
        if goes_on:
            assert out.state == fields.HOLDING and out.fan > 0
        else:
            assert out.state == fields.OFF and out.fan == 0 and out.reason == fields.NOT_RESUMED


def test_a_cook_that_was_stopped_stays_stopped_after_a_power_cut() -> None:
    with held(Played()) as (twin, host):
        twin.run(until_ms=twin.outside_ms + 700_000)
        host.order("stop")
        run_until(twin, lambda: len(host.answers) == 2)
        twin.run(until_ms=twin.outside_ms + 10_000)
        twin.power_cut(5.0)
        host.say("h", {"ask": 9})
        run_until(twin, lambda: len(host.hellos) > 1 and len(host.cycles()) > 10)
        _, out = host.cycles()[-1]
        assert out.state == fields.OFF and out.fan == 0 and out.reason == fields.NOT_STARTED


def test_what_a_program_fails_with_is_said_after_the_restart() -> None:
    world = Played(pit=lambda s: 100.0)  # cold enough for a full fan
    with held(world, revive=True) as (twin, host):
        path = twin.folder / "hearth" / "core" / "decide.py"
        whole = path.read_text()
        head = "    memory.cycles = (memory.cycles + 1) & 1073741823\n"
        path.write_text(whole.replace(head, head + "    if memory.cycles % 50 == 7: raise ValueError('burnt toast')\n"))
        twin.power_cut()
        restarts = twin.restarts
        twin.run(until_ms=twin.outside_ms + 300_000, stop=lambda: twin.restarts > restarts)
        # From its end to the watchdog's bite the pins stand as the program left them: low, after a fan that ran.
        assert world.air[-3:] == [0.0] * 3 and max(world.air[-5:]) > 0.2
        path.write_text(whole)
        host.say("h", {"ask": 9})
        run_until(twin, lambda: any(re.match("before this start: .*burnt toast", notice) for notice in host.notices))
        run_until(twin, lambda: any(now.board & fields.BOARD_WATCHDOG for now, _ in host.cycles()))


def test_a_full_flash_gives_up_its_oldest_and_says_so() -> None:
    gone: list[bool] = []
    with held(Played(), flash_kb=64, away=lambda ms: bool(gone)) as (twin, host):
        gone.append(True)
        host.deaf = True
        twin.run(until_ms=twin.outside_ms + 5 * 3_600_000)
        host.deaf = False
        gone.clear()
        host.say("h", {"ask": 9})
        bits = fields.BOARD_FULL | fields.BOARD_FLASH
        run_until(twin, lambda: any(now.board & bits for now, _ in host.cycles()))
        _, out = host.cycles()[-1]
        assert out.trip == fields.NO_TRIP and out.fan > 0  # the pit is held on
        assert host.hellos[-1]["first"] > 0 or host.hellos[-1]["lost"]


def test_damaged_settings_trip_and_mean_the_defaults() -> None:
    with held(Played()) as (twin, host):
        host.order("settings", values={"gain": 512})
        run_until(twin, lambda: len(host.answers) == 2)
        twin.run(until_ms=twin.outside_ms + 6000)
        image = twin.folder / "flash.bin"
        if image.exists():
            data = bytearray(image.read_bytes())
            for found in re.finditer(rb'"gain": 512', bytes(data)):
                data[found.end() - 1] ^= 1
            image.write_bytes(data)
        else:  # this interpreter has no littlefs
            path = twin.folder / "flash" / "kept-settings"
            path.write_bytes(path.read_bytes().replace(b'"gain": 512', b'"gain": 513'))
        twin.power_cut()
        host.say("h", {"ask": 9})
        out = until(twin, host, tripped(fields.TRIP_SETTINGS))
        assert out.fan == 0
        assert host.hellos[-1]["settings"]["gain"] != 513


def test_an_endless_line_costs_nothing() -> None:
    with held(Played(), away=lambda ms: True) as (twin, host):  # what the host keeps is lost in it, too
        run_until(twin, lambda: bool(host.cycles()))  # so that its request is not lost in the line that follows
        for _ in range(300):  # in portions that the line takes without waiting
            host.raw(b"A" * 2048)
            twin.run(until_ms=twin.outside_ms + 4000)
        host.raw(b"\n")
        host.order("acknowledge")
        run_until(twin, lambda: len(host.answers) == 2)
        assert host.cycles()[-1][1].state == fields.HOLDING


def test_every_guard_names_a_test_on_the_twin() -> None:
    for guard in declared.guards():
        assert "test_twin" in guard.tests, f"{guard.name}: no test on the twin"


def test_every_fault_that_trips_here_is_declared() -> None:
    assert set(TRIPS) <= {guard.name for guard in declared.guards()}
