"""Real drivers on simulated wires: what happens to a wire is seen by the firmware, and in the pit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from hearth.core import Now, Out, fields
from tuyere.sim import wires
from tuyere.sim.outside import Readings
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Twin
from tuyere.sim.twin_board import twin_frames as frames
from twin_kit import Host, Spoiled, run_until


@contextmanager
def on_the_bench(world: Spoiled, **kind: int) -> Iterator[tuple[Twin, Host]]:
    """A twin before this world and a host on its line."""
    twin = Twin(world, Line(), speed=0, **kind)
    host = Host(twin.line.path)
    try:
        yield twin, host
    finally:
        host.close()
        twin.close()


def put(**values: object) -> Callable[[Readings], None]:
    """A spoiling that sets these readings."""

    def spoil(readings: Readings) -> None:
        for name, value in values.items():
            setattr(readings, name, value)

    return spoil


def last(world: Spoiled, cycles: int = 20) -> tuple[Now, Out]:
    """What the last of so many cycles was given and decided."""
    with on_the_bench(world) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) >= cycles)
        return host.cycles()[-1]


@pytest.mark.parametrize(
    ("spoiled", "fault"),
    [
        ({"faults": fields.PROBE_OPEN}, fields.PROBE_OPEN),
        ({"faults": frames.COUPLE_LIVE}, fields.PROBE_SHORT),
        ({"faults": fields.COLD_JUNCTION}, fields.COLD_JUNCTION),
        ({"cold_c": 110.0}, fields.COLD_JUNCTION),
        ({"pit_c": 900.0}, fields.PROBE_RANGE),
        ({"bus": frames.BUS_SILENT}, fields.PROBE_SILENT),
        ({"bus": frames.BUS_LOW}, fields.PROBE_SILENT),
        ({"bus": frames.BUS_SWAPPED}, fields.PROBE_SILENT),
        ({}, 0),
    ],
)
def test_the_couple_and_its_converter(spoiled: dict[str, object], fault: int) -> None:
    now, out = last(Spoiled(put(**spoiled)))
    assert now.faults == fault
    assert out.bad & fault == fault


def test_readings_arrive_to_the_hundredth() -> None:
    now, _ = last(Spoiled(put(pit_c=123.45)))
    assert now.pit == 12345 and now.supply == pytest.approx(12000, abs=5)


def test_reversed_leads_read_as_far_below_the_cold_junction_as_the_pit_is_above() -> None:
    now, _ = last(Spoiled(put(pit_c=70.0, cold_c=30.0, reversed=True)))
    assert now.pit == -1000


def test_probes_open_and_short() -> None:
    def spoil(readings: Readings) -> None:
        readings.meat_c[:2] = [50.0, 60.0]
        readings.open_probes, readings.short_probes = 1, 8

    now, _ = last(Spoiled(spoil))
    assert (now.meat_1, now.meat_3, now.ambient) == (fields.ABSENT,) * 3
    assert now.meat_2 == pytest.approx(6000, abs=5)


@pytest.mark.parametrize(
    ("stuck", "fault", "air"),
    [
        (frames.FAN_SWITCH_SHORTED, fields.FAN_SHORTED, {1.0}),  # full speed, as long as it is to turn at all
        (frames.FAN_UNPLUGGED, fields.FAN_OUT, {0.0}),
        (frames.FAN_SWITCH_OPEN, fields.FAN_NOT_TURNING, {0.0}),
    ],
)
def test_a_fan_that_does_not_obey_shows_at_its_drain_and_in_the_pit(stuck: int, fault: int, air: set[float]) -> None:
    world = Spoiled(put(fan_stuck=stuck))
    with on_the_bench(world) as (twin, host):
        host.order("fan", demand=4000, seconds=30)
        run_until(twin, lambda: any(now.fan_fault for now, _ in host.cycles()))
        found = [now.fan_fault for now, _ in host.cycles()]
    assert fault in found and set(found) <= {fields.FAN_FINE, fault}
    assert set(world.air[2:10]) == air


def test_a_shorted_switch_trips_and_the_other_one_stops_the_blower() -> None:
    world = Spoiled(put(fan_stuck=frames.FAN_SWITCH_SHORTED))
    with on_the_bench(world) as (twin, host):
        host.order("fan", demand=4000, seconds=600)
        run_until(twin, lambda: any(out.state == fields.TRIPPED for _, out in host.cycles()))
        tripped = len(world.air)
        run_until(twin, lambda: len(world.air) > tripped + 20)
    assert max(world.air) == 1.0 and set(world.air[tripped + 2 :]) == {0.0}


def test_a_weak_supply_is_measured_and_turns_the_fan_less() -> None:
    world = Spoiled(put(supply_v=9.0))
    with on_the_bench(world) as (twin, host):
        host.order("fan", demand=10000, seconds=30)
        run_until(twin, lambda: len(host.cycles()) > 5)
        assert host.cycles()[-1][0].supply == pytest.approx(9000, abs=5)
    assert max(world.air) == pytest.approx(0.75)


def test_the_button_told_and_held() -> None:
    world = Spoiled()
    with on_the_bench(world) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) > 5)
        for name, order in (("told", fields.ORDER_OPENED), ("held", fields.ORDER_LOOKED)):
            once = iter([True])
            world.spoil = lambda readings, name=name, once=once: setattr(readings, name, next(once, False))
            run_until(twin, lambda order=order: order in [now.order for now, _ in host.cycles()])
        orders = [now.order for now, _ in host.cycles() if now.order]
    assert orders == [fields.ORDER_OPENED, fields.ORDER_LOOKED]


def test_a_trip_calls_and_lights_the_lamp() -> None:
    world = Spoiled()
    with on_the_bench(world) as (twin, host):
        host.order("start")
        run_until(twin, lambda: any(out.state == fields.CLIMBING for _, out in host.cycles()))
        assert not twin.calling
        world.spoil = put(faults=fields.PROBE_OPEN)
        run_until(twin, lambda: any(out.state == fields.TRIPPED for _, out in host.cycles()))
        assert twin.calling and twin.drive == 0


def test_a_four_wire_fan_counts_its_turns() -> None:
    world = Spoiled()
    with on_the_bench(world, wires=4) as (twin, host):
        host.order("settings", values={"fan_wires": 4})
        host.order("fan", demand=5000, seconds=60)
        run_until(twin, lambda: any(now.turns > 1000 for now, _ in host.cycles()))
        assert not any(now.fan_fault for now, _ in host.cycles())
        world.spoil = put(fan_stuck=frames.FAN_UNPLUGGED)
        host.order("fan", demand=5000, seconds=600)
        run_until(twin, lambda: host.cycles()[-1][0].fan_fault == fields.FAN_NOT_TURNING)
    assert 0.0 < max(world.air) <= 0.51


def test_a_damper_gets_its_pulse() -> None:
    with on_the_bench(Spoiled()) as (twin, host):
        host.order("settings", values={"servo_shut": 1000, "servo_open": 2000})
        run_until(twin, lambda: len(host.answers) == 1)
        host.order("fan", demand=10000, seconds=60)
        run_until(twin, lambda: twin.servo_us == 2000)


def test_the_other_converter_is_put_right() -> None:
    """At 250 C with the cold junction at 25 C it indicates 3.2 C too little (reference, MAX31855 line error)."""
    world = Spoiled(put(pit_c=150.0))
    with on_the_bench(world, converter=31855) as (twin, host):
        run_until(twin, lambda: len(host.cycles()) > 3)
        assert host.cycles()[-1][0].faults == fields.PROBE_SILENT  # still spoken to as a MAX31856
        host.order("settings", values={"converter": 31855})
        run_until(twin, lambda: host.cycles()[-1][0].faults == 0)
        assert host.cycles()[-1][0].pit == pytest.approx(15000, abs=25)


# R(t) for R25 = 100 k, Beta 3950 (computed).
@pytest.mark.parametrize(("celsius", "ohms"), [(25.0, 100000.0), (60.0, 24861.65), (120.0, 4070.89)])
def test_counts_of_a_probe(celsius: float, ohms: float) -> None:
    assert wires.counts(celsius) == pytest.approx(65535 * ohms / (ohms + 22000), abs=17)


def test_a_flash_that_cannot_be_written_is_told() -> None:
    world = Spoiled(put(flash_fails=True), after=30.0)
    with on_the_bench(world) as (twin, host):
        host.order("start")
        run_until(twin, lambda: len(host.answers) == 1)
        twin.run(until_ms=60_000)
        host.order("settings", values={"gain": 400})
        run_until(twin, lambda: any(now.board & fields.BOARD_FLASH for now, _ in host.cycles()))
