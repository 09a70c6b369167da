"""On the twin: the watchdog restarts the board, which knows that the outage was short and goes on."""

from __future__ import annotations

import pytest
from hearth.core import Now, Out, fields
from sim_played import WARM, Played, held, tripped, until
from tuyere.sim.twin import Twin
from twin_kit import Host, run_until

SHORT = fields.BOARD_WATCHDOG | fields.BOARD_SHORT


def bitten(twin: Twin, host: Host, cycles: int = 10) -> tuple[Now, Out]:
    """The program hangs, the watchdog bites; the last of so many cycles of the next boot."""
    hellos, began = len(host.hellos), twin.outside_ms
    twin.bite()
    assert 0 < twin.outside_ms - began <= 8000
    host.say("h", {"ask": 9})
    run_until(twin, lambda: len(host.hellos) > hellos and len(host.cycles()) >= cycles)
    return host.cycles()[cycles - 1]


@pytest.mark.parametrize("after_s", [60, 400, 1500])
def test_a_bite_in_the_climb_goes_on(after_s: int) -> None:
    with held(Played(pit=lambda s: 20.0 + 0.05 * s)) as (twin, host):
        twin.run(until_ms=twin.outside_ms + after_s * 1000)
        now, out = bitten(twin, host)
        assert now.pit < 11000 and now.board & SHORT == SHORT
        assert out.state == fields.CLIMBING and out.fan > 0 and out.resume == fields.RESUMED
        until(twin, host, lambda now, out: out.state == fields.HOLDING)


def test_a_bite_after_a_lid_goes_on() -> None:
    """Held, opened at 700 s, fallen by 50 C when the watchdog bites; then the walls bring it back."""

    def pit(s: float) -> float:
        return WARM if s < 700.0 else max(WARM - 1.5 * (s - 700.0), 81.0 + 0.08 * (s - 733.0))

    with held(Played(pit=lambda s: min(WARM, pit(s)))) as (twin, host):
        twin.run(until_ms=730_000)
        now, out = bitten(twin, host)
        assert now.pit < 9000 and now.board & SHORT == SHORT
        assert out.reason != fields.NOT_RESUMED and out.trip == fields.NO_TRIP
        run_until(twin, lambda: len(host.cycles()) > 300)
        last = [out for _, out in host.cycles()[20:300]]
        assert all(out.trip == fields.NO_TRIP and out.state != fields.OFF for out in last)
        assert last[-1].state == fields.HOLDING and any(out.fan > 0 for out in last[:60])


def test_a_cut_at_the_same_moment_stays_off() -> None:
    with held(Played(pit=lambda s: 20.0 + 0.05 * s)) as (twin, host):
        twin.run(until_ms=twin.outside_ms + 400_000)
        twin.power_cut(10.0)
        host.say("h", {"ask": 9})
        out = until(twin, host, lambda now, out: out.reason == fields.NOT_RESUMED)
        assert out.fan == 0 and not host.cycles()[-1][0].board & SHORT


def test_what_was_stopped_stays_stopped_after_a_bite() -> None:
    with held(Played()) as (twin, host):
        host.order("stop")
        run_until(twin, lambda: len(host.answers) == 2)
        twin.run(until_ms=twin.outside_ms + 10_000)
        _, out = bitten(twin, host)
        assert out.state == fields.OFF and out.fan == 0 and out.reason == fields.NOT_STARTED


def test_a_board_that_is_bitten_again_and_again_trips() -> None:
    with held(Played()) as (twin, host):
        for _ in range(5):
            twin.run(until_ms=twin.outside_ms + 10_000)
            twin.bite()
        host.say("h", {"ask": 9})
        out = until(twin, host, tripped(fields.TRIP_RESTARTS))
        assert out.fan == 0
