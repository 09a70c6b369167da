"""On the twin: a host that somebody relies on falls silent, and the board's buzzer calls; the pit is held."""

from __future__ import annotations

import pytest
from hearth.core import fields
from sim_played import Played, held
from twin_kit import run_until

MINUTES = 10  # the setting's default


@pytest.mark.parametrize("relied", [True, False])
def test_a_silent_host_calls_if_somebody_relies_on_it(relied: bool) -> None:
    with held(Played(pit=lambda s: min(20.0 + 0.3 * s, 128.0))) as (twin, host):
        run_until(twin, lambda: bool(host.cycles()) and host.cycles()[-1][1].state == fields.HOLDING)
        if relied:
            host.order("rely", level=1)
            run_until(twin, lambda: len(host.answers) == 2 and host.answers[-1]["ok"])
        twin._away = lambda ms: True  # time goes on without it
        host.deaf = True
        known, begun, calls = len(host.cycles()), twin.outside_ms, []
        for _ in range(14 * 30):
            host.raw(b"noise \x03\xff\n")  # a line that hums is no host
            twin.run(until_ms=twin.outside_ms + 2000)
            if twin.calling:
                calls.append((twin.outside_ms - begun) / 60_000)
        assert (bool(calls) and MINUTES - 0.2 < calls[0] < MINUTES + 0.5) if relied else not calls
        if not relied:
            return
        host.deaf = False
        host.say("h", {"ask": 2})
        run_until(twin, lambda: not twin.calling and len(host.cycles()) > known + 14 * 30)  # with all it was deaf for
        assert all(out.state == fields.HOLDING for _, out in host.cycles()[known:])


def test_a_host_that_reaches_nobody_has_the_board_call_until_the_button_is_pressed() -> None:
    with held(Played(pit=lambda s: min(20.0 + 0.3 * s, 128.0))) as (twin, host):
        run_until(twin, lambda: bool(host.cycles()) and host.cycles()[-1][1].state == fields.HOLDING)
        host.order("rely", level=2)
        run_until(twin, lambda: twin.calling)
        host.order("opened", seconds=60)
        run_until(twin, lambda: not twin.calling)
