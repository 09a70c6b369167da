"""A world that plays what a test says, in front of a twin that is told to hold it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from hearth.core import Now, Out
from tuyere.sim.outside import Readings
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Twin
from twin_kit import Host, run_until

WARM = 131.0


class Played:
    """A world without physics: its pit reads what `pit(seconds)` says, and `spoil(seconds, readings)` does the rest."""

    def __init__(
        self,
        pit: Callable[[float], float] = lambda s: WARM,
        spoil: Callable[[float, Readings], None] = lambda s, readings: None,
        alive: Callable[[float], bool] = lambda s: True,
    ) -> None:
        self.pit, self.spoil, self.alive = pit, spoil, alive
        self.now = 0.0
        self.air: list[float] = []
        self.readings = Readings()

    def step(self, seconds: float, fan: float) -> Readings:
        """The last digit lives, as a couple's does, unless told otherwise."""
        self.now += seconds
        self.air.append(fan)
        wiggle = 0.06 * (len(self.air) % 2) if self.alive(self.now) else 0.0
        self.readings.pit_c = self.pit(self.now) + wiggle
        self.spoil(self.now, self.readings)
        return self.readings


@contextmanager
def held(world: Played, order: str = "start", **kind: object) -> Iterator[tuple[Twin, Host]]:
    """A twin that was told to hold this world, and a host that keeps its records."""
    twin = Twin(world, Line(), speed=0, **kind)  # type: ignore[arg-type]
    host = Host(twin.line.path)
    try:
        if order:
            host.order(order)
            run_until(twin, lambda: len(host.answers) == 1)
        yield twin, host
    finally:
        host.close()
        twin.close()


def first(host: Host, what: Callable[[Now, Out], bool]) -> int | None:
    """Which cycle is the first of this kind."""
    return next((i for i, (now, out) in enumerate(host.cycles()) if what(now, out)), None)


def until(twin: Twin, host: Host, what: Callable[[Now, Out], bool], most: float = 1.0) -> Out:
    """Run until a cycle is of this kind; what was decided in it."""
    run_until(twin, lambda: first(host, what) is not None, most)
    found = first(host, what)
    assert found is not None
    return host.cycles()[found][1]


def tripped(trip: int) -> Callable[[Now, Out], bool]:
    """Cycles in which this trip is latched."""
    return lambda now, out: out.trip == trip
