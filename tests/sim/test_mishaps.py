"""Troubles to practise: each is noticed by the board of a twin, and named for the person who asks for it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from hearth.core import Memory, Now, Out, Settings, cycle, fields
from tuyere.cli.main import main
from tuyere.sim.mishaps import TROUBLES, USUAL_S, BadTrouble, Troubled, parse
from tuyere.sim.twin_board import twin_frames as frames

TRIPS = {
    "probe-slips": (), "probe-breaks": (fields.TRIP_PROBE,), "fuel-ends": (), "lid-open": (),
    "air-leak": (), "grease": (fields.TRIP_FLARE,),
}  # fmt: skip
CALLS = (fields.PROBE_DOUBTED, fields.STILL_OPEN, fields.FIRE_FADING, fields.LEAKING, fields.TOO_HOT)


@pytest.mark.parametrize(
    ("words", "name", "seconds"),
    [("grease", "grease", USUAL_S), ("grease@3h", "grease", 10800), ("grease@3H", "grease", 10800),
     ("fuel-ends@90min", "fuel-ends", 5400), ("grease@0.5h", "grease", 1800), ("lid-open@30s", "lid-open", 30)],
)  # fmt: skip
def test_a_trouble_and_its_time(words: str, name: str, seconds: float) -> None:
    assert parse(words) == (name, seconds)


def test_a_trouble_begins_once(monkeypatch: pytest.MonkeyPatch) -> None:
    world, began = Troubled("grease@1min"), []
    monkeypatch.setattr(type(world.trouble), "began", lambda self, out: began.append(out.now_s))
    for _ in range(45):
        world.step(2.0, 0.2)
    assert began == [60.0]


@pytest.mark.parametrize("words", ["", "fire", "grease@", "grease@3", "grease@-1h", "grease@99h", "grease@h", "@3h"])
def test_what_is_none_says_which_there_are(words: str) -> None:
    with pytest.raises(BadTrouble, match=r"they are probe-slips|give it as"):
        parse(words)


@pytest.mark.parametrize("name", TRIPS)
def test_the_law_notices_it(name: str) -> None:
    """A whole cook at the law itself: it calls or trips, and not before."""
    world, settings, now, memory, out = Troubled(f"{name}@3h", seed=2), Settings(), Now(), Memory(), Out()
    readings, noticed = world.step(2.0, 0.0), 0.0
    for i in range(12 * 1800):
        now.order = fields.ORDER_START if i == 0 else fields.ORDER_OPENED if readings.told else fields.NO_ORDER
        now.pit, now.faults = round(readings.pit_c * 100), readings.faults
        cycle(settings, now, memory, out)
        if out.trip or out.reason in CALLS:
            noticed = world.now_s
            if not TRIPS[name] or out.trip in TRIPS[name]:
                break
        readings = world.step(2.0, out.duty / 10_000.0)
    else:
        pytest.fail(f"never noticed; the last was reason {out.reason}, trip {out.trip}")
    assert noticed > world.at_s


@pytest.mark.parametrize(
    ("name", "spoilt"),
    [("fan-stuck", lambda r: r.fan_stuck == frames.FAN_SWITCH_OPEN), ("supply-low", lambda r: r.supply_v < 10.0)],
)
def test_the_wires_show_it(name: str, spoilt: object) -> None:
    world = Troubled(f"{name}@60s")
    assert not spoilt(world.step(30.0, 0.0))  # type: ignore[operator]
    assert spoilt(world.step(40.0, 0.0))  # type: ignore[operator]


class Line:
    """Stands for the twin: what is asked of it, in order."""

    def __init__(self, speed: float) -> None:
        self.speed, self.muted, self.asked = speed, False, []  # type: ignore[var-annotated]

    def run(self, until_ms: int, stop: object) -> None:
        self.asked.append(("run", until_ms, self.muted))

    def power_cut(self, seconds: float) -> None:
        self.asked.append(("cut", seconds))


def test_a_cut_and_a_cable_are_played_on_the_twin() -> None:
    cut, cable = Line(60.0), Line(60.0)
    Troubled("power-cut@1h").play(cut, lambda: False)  # type: ignore[arg-type]
    assert cut.asked == [("run", 3_600_000, False), ("cut", 3600.0)]
    Troubled("cable-out@1h").play(cable, lambda: False)  # type: ignore[arg-type]
    assert cable.asked == [("run", 3_600_000, False), ("run", 3_600_000 + 180 * 60_000, True)] and not cable.muted


def test_the_host_sleeps_and_time_does_not_wait_for_it() -> None:
    world = Troubled("host-asleep@1h")
    assert [world.away(minutes * 60_000) for minutes in (59, 61, 79, 81)] == [False, True, True, False]


def test_the_list_names_them_all() -> None:
    done = CliRunner().invoke(main, ["watch", "--trouble", "list"])
    assert done.exit_code == 0 and all(
        name in done.output and one.words in done.output for name, one in TROUBLES.items()
    )
