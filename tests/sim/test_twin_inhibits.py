"""On the twin: what stops the fan only while it lasts, and orders that a board must not carry out."""

from __future__ import annotations

import binascii
import os

from hearth.core import fields
from hearth.link import messages
from hearth.link.lines import encode
from sim_played import Played, first, held, tripped, until
from tuyere.sim.twin import Twin
from twin_kit import Host, run_until


def test_bad_readings_stop_the_fan_and_it_comes_back() -> None:
    def spoil(seconds: float, readings: object) -> None:
        readings.faults = fields.PROBE_OPEN if 60.0 < seconds < 90.0 else 0  # type: ignore[attr-defined]

    with held(Played(pit=lambda s: 100.0, spoil=spoil)) as (twin, host):
        until(twin, host, lambda now, out: out.reason == fields.READING_BAD)
        began = next(
            i for i, (now, _) in enumerate(host.cycles()) if now.faults and i > 5
        )  # the first one is not trusted
        stopped = first(host, lambda now, out: out.reason == fields.READING_BAD)
        assert stopped is not None and stopped - began == 2  # the third bad reading, 6 s
        run_until(twin, lambda: len(host.cycles()) > began + 30)
        cycles = host.cycles()
        assert cycles[began - 1][1].fan > 0 and cycles[began + 25][1].fan > 0
        bad = [out for now, out in cycles[stopped:] if now.faults]
        assert len(bad) > 5 and all(out.fan == 0 for out in bad) and not any(out.trip for _, out in cycles)


def test_far_above_the_band_even_a_fan_by_hand_rests() -> None:
    world = Played(pit=lambda s: 130.0 if s < 60.0 else 160.0 if s < 100.0 else 130.0)
    with held(world, "") as (twin, host):
        host.order("fan", demand=4000, seconds=600)
        until(twin, host, lambda now, out: out.reason == fields.TOO_HOT)
        at = first(host, lambda now, out: out.reason == fields.TOO_HOT)
        assert at is not None
        run_until(twin, lambda: len(host.cycles()) > at + 40)
        cycles = host.cycles()
        assert cycles[at - 5][1].fan == 4000 and cycles[at][1].fan == 0 and cycles[at + 40][1].fan == 4000


def answer(twin: Twin, host: Host, name: str, **arguments: int) -> tuple[bool, str]:
    """What the board answers to an order."""
    count = len(host.answers)
    host.order(name, **arguments)
    run_until(twin, lambda: len(host.answers) > count)
    return host.answers[-1]["ok"], host.answers[-1]["why"]


def test_a_trip_is_not_started_away_nor_acknowledged_while_its_fault_stands() -> None:
    mended: list[bool] = []
    world = Played(spoil=lambda s, r: setattr(r, "faults", fields.PROBE_OPEN if s > 60.0 and not mended else 0))
    with held(world) as (twin, host):
        until(twin, host, tripped(fields.TRIP_PROBE))
        assert answer(twin, host, "acknowledge") == (False, "fault_stands")
        mended.append(True)
        run_until(twin, lambda: host.cycles()[-1][0].faults == 0)
        assert answer(twin, host, "start") == (False, "stands_tripped")
        assert answer(twin, host, "acknowledge") == (True, "accepted")
        count = len(world.air)
        run_until(twin, lambda: len(world.air) > count + 20)
        assert set(world.air[count + 2 :]) == {0.0} and host.cycles()[-1][1].state == fields.OFF
        assert answer(twin, host, "start") == (True, "accepted")


def test_orders_out_of_range_change_nothing() -> None:
    with held(Played()) as (twin, host):
        assert answer(twin, host, "band", low=3000, high=13000) == (False, "out_of_range")  # by the table of orders
        assert answer(twin, host, "band", low=12000, high=16500) == (False, "over_limit")  # by the board's settings
        assert answer(twin, host, "band", low=12000, high=12100) == (False, "band_order")  # by the core
        assert answer(twin, host, "phase", row=9) == (False, "out_of_range")
        assert answer(twin, host, "opened", seconds=5000) == (False, "out_of_range")
        assert answer(twin, host, "fan", demand=10001, seconds=60) == (False, "out_of_range")
        assert answer(twin, host, "fan", demand=5000, seconds=1800) == (False, "out_of_range")
        _, out = host.cycles()[-1]
        assert (out.low, out.high, out.state) == (12110, 13500, fields.HOLDING)


def test_settings_against_the_band_in_force_are_refused_and_those_without_end_too() -> None:
    with held(Played()) as (twin, host):
        count = len(host.answers)
        host.order("settings", values={"pit_limit": 14000})
        run_until(twin, lambda: len(host.answers) > count)
        assert host.answers[-1]["numbers"] == {"high": 13500, "pit_limit": 14000}
        twin.speed, begun = 30.0, twin.outside_ms  # at full speed minutes pass here before this host has its answer
        for i in range(3 * messages.WRITES):
            count = len(host.answers)
            host.order("settings", values={"gain": 400 + i})
            run_until(twin, lambda count=count: len(host.answers) > count)
            if host.answers[-1]["why"] != "accepted":
                break
        forgiven = (twin.outside_ms - begun) / 60_000
        assert host.answers[-1]["why"] == "too_soon"
        # the start is accepted, too
        assert [answer["why"] for answer in host.answers].count("accepted") <= messages.WRITES + 1 + forgiven
        _, out = host.cycles()[-1]
        assert out.state == fields.HOLDING and out.trip == fields.NO_TRIP


def test_a_damaged_order_is_not_carried_out() -> None:
    """The whole message arrives, readable, with one letter changed on the way: only its CRC-32 can tell."""
    raw = bytearray(binascii.a2b_base64(encode("o", b'{"id": 7, "name": "band", "low": 9000, "high": 9900}')))
    at = raw.index(b"9900")
    raw[at + 1] ^= 1
    with held(Played()) as (twin, host):
        far = os.open(twin.line.path, os.O_RDWR | os.O_NOCTTY)
        os.write(far, binascii.b2a_base64(bytes(raw)))
        os.close(far)
        assert answer(twin, host, "opened", seconds=30) == (True, "accepted")
        assert [one["id"] for one in host.answers if one["id"] == 7] == []
        run_until(twin, lambda: bool(host.cycles()))
        _, out = host.cycles()[-1]
        assert (out.low, out.high) == (12110, 13500)


def test_an_experiment_ends_before_the_pit_leaves_its_band() -> None:
    """It begins in a held pit. The pit then rises towards the top of the band, and the board ends it 1.5 C below."""

    def experiments(now: object, out: object) -> bool:
        return out.reason == fields.EXPERIMENTING  # type: ignore[attr-defined]

    rises: list[float] = []

    def pit(s: float) -> float:
        wiggle = 0.1 if int(s) % 20 < 10 else -0.1
        return 128.0 + wiggle + (min(8.0, 0.02 * (s - rises[0])) if rises else 0.0)

    with held(Played(pit=pit)) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) > 1900)  # the first arrival is over, and the need is known
        assert answer(twin, host, "experiment", step=600, seconds=2400) == (True, "accepted")
        until(twin, host, experiments)
        rises.append(twin.outside_ms / 1000)
        count = len(host.cycles())
        run_until(twin, lambda: len(host.cycles()) > count + 200)
        after = host.cycles()[count:]
        ended = next(i for i, cycle in enumerate(after) if not experiments(*cycle))
        assert after[ended][0].pit < 13500 and not any(experiments(*cycle) for cycle in after[ended:])
        assert answer(twin, host, "experiment", step=600, seconds=2400) == (False, "not_steady")
