"""When a basket is filled up: before the last fill is used up, and while the cook is awake if possible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tuyere.plan.burning import STEP_H, Burning
from tuyere.plan.times import HOUR, MINUTE, Sleep

TAKES = 10 * MINUTE  # hands on
AHEAD = 30 * MINUTE  # before the fill is used up: fresh charcoal takes its time to light
LEAST = 0.2  # kg; for less it is not worth opening a fire near its end
GAINS = 2 * HOUR  # a filling that buys less time than this is put off into the sleep


@dataclass(frozen=True)
class Refuel:
    """A basket is filled up at `at`, UTC ms, with `mass` kg; in_sleep: no earlier one would have lasted."""

    at: int
    mass: float
    in_sleep: bool = False


def refuels(light: int, fuel: Burning, sleep: Sleep) -> Iterator[Refuel]:
    """The fillings of one cooker after the first, from what may have burned by each hour."""
    last = light
    while (due := _used_up(light, last, fuel)) is not None:
        wanted = due - AHEAD
        at = sleep.before(wanted + TAKES, TAKES)
        in_sleep = at < last + GAINS or not sleep.free(at, at + TAKES)
        if in_sleep:
            at = wanted
        at -= at % (5 * MINUTE)
        mass = fuel.burned((at - light) / HOUR) - fuel.burned((last - light) / HOUR)
        yield Refuel(at, min(mass, _left(light, at, fuel)), in_sleep)
        last = at


def lasts(light: int, fuel: Burning) -> bool:
    """Whether one fill lasts to the end."""
    return _used_up(light, light, fuel) is None


def _used_up(light: int, last: int, fuel: Burning) -> int | None:
    """When a basket that was full at `last` may no longer keep the band; None if it lasts."""
    if fuel.lasting <= 0.0 or _left(light, last, fuel) <= fuel.lasting + LEAST:
        return None
    before = fuel.burned((last - light) / HOUR)
    at = last
    while fuel.burned((at - light) / HOUR) - before < fuel.lasting:
        at += round(STEP_H * HOUR / 6.0)
    return at


def _left(light: int, at: int, fuel: Burning) -> float:
    """kg that may still burn from `at` on."""
    return fuel.by_then[-1] - fuel.burned((at - light) / HOUR) if fuel.by_then else 0.0
