"""Cooks that are harder than usual: faults of the cooker, the probe, the fan or the fuel."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from hearth.core import Memory

from tuyere.sim import compiled, kernel, rehearse
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.step_response import gentle, parts, watch

BEGINS_S = 5400.0  # after the meat went on: leak, fallen probe
LEAKS_CM2 = tuple(1.5 * 1.2**i for i in range(20))  # low; an ash door left ajar
FOOT = 0.25  # of the pit's rise over the air outside, where a fallen probe hangs
SLIPS_S = 30.0  # after the meat began to go on
HIGH = 0.6  # share of the leak that is high: a lid that no longer closes
LEAK_OVER_C = 8.0  # how far above the band it takes the pit without a fan
LEAK_HOURS = 4.0  # within this long
FUEL_FOR = 0.6  # of the cook's hours


@dataclass(frozen=True)
class Hardship:
    """One of them: what it is, and how a world is made to have it before it starts."""

    words: str
    change: Callable[[Outside], None]


def _slow_probe(world: Outside) -> None:
    world.constants[at.PROBE_S] *= 2.0


def _dead_fan(world: Outside) -> None:
    draw = random.Random(f"dead zone {world.cooker} {world.state[at.NOISE_SEED]}")
    world.constants[at.FAN_DEAD] = draw.uniform(0.05, 0.25)


def _weak(world: Outside) -> None:
    world.constants[at.FAN_FULL] *= 0.5


def _strong(world: Outside) -> None:
    world.constants[at.FAN_FULL] *= 2.0


def _leak(world: Outside) -> None:
    """The smallest of LEAKS_CM2 that takes this pit above its band within some hours without any fan."""
    middle, high = sum(rehearse.BAND_C) / 2.0, rehearse.BAND_C[1]
    course, memory, hold = parts(world), Memory(), gentle(middle)
    s = course[0]
    while s[at.NOW] < 3.0 * 3600.0 and (s[at.MEAT_ON] < 0.0 or s[at.NOW] < s[at.MEAT_ON] + BEGINS_S):
        watch(course, memory, hold, 300.0)
    size = LEAKS_CM2[-1]
    for low in LEAKS_CM2:
        trial = [part.copy() for part in course]
        trial[1][at.LOW_M2] += low * 1e-4
        trial[1][at.HIGH_M2] += HIGH * low * 1e-4
        trial[0][at.FAN] = 0.0
        compiled.kernel().advance(*trial, LEAK_HOURS * 3600.0)
        if trial[0][at.PROBE] >= high + LEAK_OVER_C:
            size = low
            break
    world.script.add(at.LEAK, BEGINS_S, size, HIGH * size)
    world.events = list(world.script.events)


def _fuel_ends(world: Outside) -> None:
    """As much as this cook burns in a part of its hours, and the scattered rest that no fire lives on."""
    trace = rehearse.run(world, world.script.hours, kern=compiled.kernel())
    left = trace[kernel.T_FUEL :: kernel.TRACE]
    burned = float(left[0] - left[int(FUEL_FOR * len(left))])
    world.state[at.UNLIT] = max(0.0, burned + world.constants[at.UNLIT_HALF] - world.state[at.LIT])


def _probe_falls(world: Outside) -> None:
    world.script.add(at.PROBE_FALLS, BEGINS_S, FOOT)
    world.events = list(world.script.events)


def _probe_slips(world: Outside) -> None:
    """As the meat goes on, to where it reads far too cool and still follows the pit: into the cooler lower half, or
    onto cold meat or the pan. The first looks much like a pit full of cold meat, the second even more."""
    draw = random.Random(f"slips {world.cooker} {world.state[at.NOISE_SEED]}")
    on = draw.random() < 0.5
    follows = draw.uniform(0.1, 0.35) if on else draw.uniform(0.4, 0.7)
    world.script.add(at.PROBE_FALLS, SLIPS_S, follows, draw.uniform(75.0, 95.0) if on else 0.0)
    world.events = list(world.script.events)


HARDSHIPS = {
    "slow probe": Hardship("probe lag x2", _slow_probe),
    "dead fan": Hardship("fan dead zone 0.05-0.25", _dead_fan),
    "weak": Hardship("cooker gain x0.5 (half the fan's air)", _weak),
    "strong": Hardship("cooker gain x2 (twice the fan's air)", _strong),
    "leak": Hardship("a leak no fan can beat, 1.5 h after the meat", _leak),
    "fuel ends": Hardship("fuel that ends after some 0.6 of the cook", _fuel_ends),
    "probe falls": Hardship("the probe falls off the grate, 1.5 h after the meat", _probe_falls),
    "probe slips": Hardship("the probe slips as the meat goes on, and reads far too cool", _probe_slips),
}
