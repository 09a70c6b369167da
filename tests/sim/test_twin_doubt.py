"""On the twin: a probe that is doubted, a fire that fades, and what must not pass for an opened lid."""

from __future__ import annotations

from collections.abc import Callable

from hearth.core import fields
from sim_played import Played, first, held, tripped, until
from tuyere.sim.outside import Readings
from twin_kit import run_until

SLIPS = 1260.0  # s from the start on


def slipped(reads: float) -> Callable[[float], float]:
    """A pit that climbs as a fan makes it, is held and opened; the probe slips and comes back slowly to so much."""

    def pit(s: float) -> float:
        climbed = min(30.0 + 0.09 * s, 129.0)
        fell = max(129.0 - 1.2 * (s - 1200.0), reads - 10.0)
        return climbed if s < 1200.0 else fell if s < SLIPS else min(reads - 10.0 + 0.1 * (s - SLIPS), reads)

    return pit


def doubted(now: object, out: object) -> bool:
    """Cycles in which the probe is doubted."""
    return out.reason == fields.PROBE_DOUBTED  # type: ignore[attr-defined]


def test_a_probe_that_slipped_is_doubted_until_somebody_has_looked() -> None:
    with held(Played(pit=slipped(72.0))) as (twin, host):
        until(twin, host, doubted)
        at = first(host, doubted)
        assert at is not None and SLIPS < at * 2.0 <= SLIPS + 480.0
        highest = max(out.fan for _, out in host.cycles()[at - 30 : at])
        run_until(twin, lambda: len(host.cycles()) > at + 90)
        assert all(out.fan < 5000 < highest and out.trip == fields.NO_TRIP for _, out in host.cycles()[at + 10 :])
        for order in ("acknowledge", "stop", "start"):
            host.order(order)
        run_until(twin, lambda: len(host.answers) == 4)
        count = len(host.cycles())
        run_until(twin, lambda: len(host.cycles()) > count + 30)
        assert all(doubted(*cycle) for cycle in host.cycles()[count + 5 :])  # no start wipes the evidence
        host.order("looked")
        run_until(twin, lambda: len(host.answers) == 5)
        count = len(host.cycles())
        run_until(twin, lambda: len(host.cycles()) > count + 20)
        assert host.answers[-1]["ok"] and not any(doubted(*cycle) for cycle in host.cycles()[count + 2 :])
        assert host.cycles()[-1][1].fan > 5000


def test_a_slip_on_the_way_to_the_band_is_called_and_the_climb_goes_on() -> None:
    def pit(s: float) -> float:
        return 27.0 + 0.09 * s if s < 700.0 else max(90.0 - 1.2 * (s - 700.0), 40.0) if s < 760.0 else 45.0

    with held(Played(pit=pit)) as (twin, host):
        out = until(twin, host, doubted)
        at = first(host, doubted)
        assert at is not None and 760.0 < at * 2.0 < 2400.0 and out.fan > 5000 and out.trip == fields.NO_TRIP


def test_a_fire_that_needs_more_than_usual_fades() -> None:
    world = Played(pit=lambda s: 133.0 if s < 3.2 * 3600.0 else 127.0)
    with held(world) as (twin, host):
        out = until(twin, host, lambda now, out: out.state == fields.FADING, 4.0)
        at = first(host, lambda now, out: out.state == fields.FADING)
        assert at is not None and at * 2.0 > 3.2 * 3600.0 + 300.0
        assert out.reason == fields.FIRE_FADING and 0 < out.fan < fields.FULL


def test_a_corrupt_reading_opens_no_lid() -> None:
    def spoil(seconds: float, readings: Readings) -> None:
        if seconds % 300.0 < 2.0:
            readings.pit_c += 64.0

    with held(Played(pit=lambda s: 127.0, spoil=spoil)) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) > 900)
        cycles = host.cycles()
        assert max(now.pit for now, _ in cycles) > 18000
        assert not any(out.trip or out.state == fields.OPENED for _, out in cycles)


def test_a_supply_that_sags_under_the_fan_is_called_and_trips_by_its_name() -> None:
    world = Played(pit=lambda s: 60.0)
    world.spoil = lambda s, r: setattr(r, "supply_v", 10.2 if world.air and world.air[-1] > 0.0 else 11.6)
    with held(world) as (twin, host):
        out = until(twin, host, tripped(fields.TRIP_SUPPLY), 3.0)
        at = first(host, tripped(fields.TRIP_SUPPLY))
        assert at is not None and out.reason == fields.TRIPPED_SUPPLY and out.fan == 0
        assert all(out.reason == fields.SUPPLY_LOW for _, out in host.cycles()[at - 300 : at])


def test_an_opening_that_is_told_again_and_again_is_refused() -> None:
    with held(Played()) as (twin, host):
        host.order("opened", seconds=1800)
        run_until(twin, lambda: len(host.answers) == 2)
        count = len(host.cycles())
        run_until(twin, lambda: len(host.cycles()) > count + 905)
        host.order("opened", seconds=300)
        run_until(twin, lambda: len(host.answers) == 3)
        assert [answer["why"] for answer in host.answers[1:]] == ["accepted", "opened_enough"]
        assert host.cycles()[-1][1].state == fields.HOLDING


def test_a_probe_that_lies_wrong_from_the_start_is_called_by_a_second_one_and_the_pit_held_by_that() -> None:
    def spoil(seconds: float, readings: Readings) -> None:
        readings.meat_c = [None, min(20.0 + 0.1 * seconds, 120.0), None]

    with held(Played(pit=lambda s: min(20.0 + 0.05 * s, 70.0), spoil=spoil)) as (twin, host):
        host.order("witness", probe=2)
        out = until(twin, host, doubted)
        at = first(host, doubted)
        assert at is not None and at * 2.0 < 1500.0 and out.witness == fields.WITNESS_PIT_LOW and out.beside == 2
        run_until(twin, lambda: len(host.cycles()) > at + 600)
        last = host.cycles()[-1][1]
        assert 2000 < last.fan < 6000 and last.differs < -3000  # by its own reading it would be given all the air


def test_a_witness_outside_of_the_pit_is_called_low_and_is_none_any_more() -> None:
    def spoil(seconds: float, readings: Readings) -> None:
        readings.meat_c = [None, 21.0, None]

    with held(Played(pit=lambda s: min(20.0 + 0.1 * s, 128.0), spoil=spoil)) as (twin, host):
        host.order("witness", probe=2)
        until(twin, host, lambda now, out: out.witness == fields.WITNESS_LOW)
        until(twin, host, lambda now, out: out.witness == fields.WITNESS_NONE and now.pit > 12000)
        assert not any(doubted(*cycle) for cycle in host.cycles())  # it says nothing of the pit's probe
