"""What makes a cook hard, and what makes a fire bad. Each takes a cook and a `random.Random` and changes the cook.

A hard cook is still a good fire: nothing is wrong with it. A bad one has a fault of `BAD`, on an ordinary cook.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from strangers import places as at
from strangers.cooks import Cook, begin, draw, load, weather

FOLLOWS = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8)  # shares of the pit's rise that a slipped probe reads
TOLD = 0.67  # of all lids


def lid_on_the_way(cook: Cook, r: random.Random) -> None:
    """The lid goes up once or twice before the pit has arrived; every other time the meat goes on by it."""
    told = 1.0 if r.random() < TOLD else 0.0
    kind = at.MEAT if r.random() < 0.5 else at.LID
    cook.happens(at.RISEN, r.uniform(40.0, 112.0), kind, r.uniform(30.0, 120.0), told)
    if r.random() < 0.4:
        cook.happens(at.RISEN, r.uniform(60.0, 118.0), at.LID, r.uniform(15.0, 60.0), told)


def heavy_meat(cook: Cook, r: random.Random) -> None:
    """18 to 25 kg, cold."""
    load(cook, r.uniform(18.0, 25.0), r.uniform(0.5, 5.0))


def half_the_fan(cook: Cook, r: random.Random) -> None:
    """Half the air."""
    _fan(cook, r.uniform(0.45, 0.6))


def twice_the_fan(cook: Cook, r: random.Random) -> None:
    """Twice the air."""
    _fan(cook, r.uniform(1.7, 2.1))


def _fan(cook: Cook, times: float) -> None:
    cook.pit.scale_fan(cook.c, times)
    cook.k[at.FULL_AIR] = cook.pit.full_air(cook.c)


def dead_zone(cook: Cook, r: random.Random) -> None:
    """The fan gives nothing up to 10 to 16 %."""
    cook.c[cook.pit.DEAD] = r.uniform(0.10, 0.16)
    if hasattr(cook.pit, "STOP"):  # a wheel that stops later than it starts
        cook.c[cook.pit.STOP] = cook.c[cook.pit.DEAD] * r.uniform(0.5, 0.9)


def windy(cook: Cook, r: random.Random) -> None:
    """4 to 8 m/s, in gusts."""
    weather(cook, float(cook.weather[0]), float(cook.weather[-2]), r.uniform(4.0, 8.0), r.uniform(0.4, 0.8))


def bitter_cold(cook: Cook, r: random.Random) -> None:
    """A night that begins at -5 to -12 C and ends at -15 C."""
    outside = r.uniform(-12.0, -5.0)
    begin(cook, outside)
    weather(cook, outside, -15.0, r.uniform(0.0, 4.0), r.uniform(0.15, 0.5))


HARD: dict[str, Callable[[Cook, random.Random], None]] = {
    "-15 C": bitter_cold,
    "wind": windy,
    "lid on the way": lid_on_the_way,
    "25 kg": heavy_meat,
    "half fan": half_the_fan,
    "twice fan": twice_the_fan,
    "dead zone": dead_zone,
}


def good(family: str, seed: int) -> Cook:
    """A good fire: an ordinary cook with none to three of HARD, drawn from the seed."""
    r = random.Random(f"good {family} {seed}")
    cook = draw(family, seed)
    count = r.choices((0, 1, 2, 3), (15, 35, 30, 20))[0]
    chosen = r.sample(list(HARD), count)
    if "half fan" in chosen and "twice fan" in chosen:
        chosen.remove("half fan")
    for name, change in HARD.items():  # in their order: the cold night before the wind
        if name in chosen:
            change(cook, r)
            cook.words.append(name)
    return cook


# -- bad fires ---------------------------------------------------------------------------


def _slip(cook: Cook, r: random.Random) -> tuple[float, float]:
    """(follow, lie): by the seed one of FOLLOWS; half of them lie on something warmer than the air outside."""
    follow = FOLLOWS[cook.seed // 2 % len(FOLLOWS)]
    lie = (1.0 - follow) * r.uniform(10.0, 45.0) if r.random() < 0.5 else 0.0
    cook.y[at.HANDS] = 1.0
    return follow, lie


def slip_on_the_way(cook: Cook, r: random.Random) -> None:
    """In the climb."""
    cook.happens(at.RISEN, r.uniform(50.0, 110.0), at.SLIP, *_slip(cook, r))


def slip_before(cook: Cook, r: random.Random) -> None:
    """Some minutes after the arrival, before the first lid."""
    cook.happens(at.FROM_ARRIVAL, r.uniform(240.0, 560.0), at.SLIP, *_slip(cook, r))


def slip_at_first_lid(cook: Cook, r: random.Random) -> None:
    """As the meat goes on."""
    cook.happens(at.FROM_MEAT, 20.0, at.SLIP, *_slip(cook, r))


def slip_later(cook: Cook, r: random.Random) -> None:
    """1.2 to 5 h after the meat; every other one at a lid."""
    when = r.uniform(1.2, 5.0) * 3600.0
    if r.random() < 0.5:
        lids = [row[at.E_WHEN] for row in cook.events if row[at.E_KIND] == at.LID and row[at.E_CLOCK] == at.FROM_MEAT]
        when = min((one for one in lids if one > 3600.0), default=when) + 15.0
    cook.happens(at.FROM_MEAT, when, at.SLIP, *_slip(cook, r))


def leak(cook: Cook, r: random.Random) -> None:
    """A door left ajar 1.5 h after the meat: 0.10 to 0.40 of the full fan's air gets in."""
    cook.happens(at.FROM_MEAT, 5400.0, at.AIR_IN, r.uniform(0.10, 0.40))


def flood(cook: Cook, r: random.Random) -> None:
    """Air in as by 0.6 to 1.2 full fans, from some hour on: the ash door stands open."""
    cook.happens(at.FROM_MEAT, r.uniform(0.5, 6.0) * 3600.0, at.AIR_IN, r.uniform(0.6, 1.2))


def sag(cook: Cook, r: random.Random) -> None:
    """A supply of 11.6 V that loses 1.3 to 1.6 V under the full fan."""
    cook.happens(at.FROM_START, 0.0, at.SAGS, r.uniform(1.3, 1.6))


def flips(cook: Cook, r: random.Random) -> None:
    """Single readings off by 0.5 to 256 C: at any time, and while the pit comes back from each of its lids."""
    for _ in range(12):
        cook.happens(at.FROM_START, r.uniform(300.0, 13.5 * 3600.0), at.SPIKED, _bit(r))
    for row in list(cook.events):
        if row[at.E_KIND] == at.LID and row[at.E_CLOCK] == at.FROM_MEAT:
            cook.happens(at.FROM_MEAT, row[at.E_WHEN] + row[at.E_A] + r.uniform(20.0, 400.0), at.SPIKED, _bit(r))


def _bit(r: random.Random) -> float:
    return r.choice((-1.0, 1.0, 1.0)) * 2.0 ** r.randrange(-1, 9)


def button(cook: Cook, r: random.Random) -> None:
    """The button presses itself every 1 to 10 min from half an hour after the meat on."""
    cook.happens(at.FROM_MEAT, 1800.0, at.PRESSES, r.choice((60.0, 120.0, 240.0, 600.0)))


def button_fuel(cook: Cook, r: random.Random) -> None:
    """The same, and the fuel ends."""
    button(cook, r)
    fuel_ends(cook, r)


def fuel_ends(cook: Cook, r: random.Random) -> None:
    """From 1 to 5 h after the meat a rest of 0.1 to 0.6 kg is all there is."""
    cook.happens(at.FROM_MEAT, r.uniform(1.0, 5.0) * 3600.0, at.FUEL_IS, r.uniform(0.1, 0.6))


def bite_on_the_way(cook: Cook, r: random.Random) -> None:
    """The watchdog restarts the board in the climb."""
    cook.restarts.append(r.uniform(240.0, 600.0))


def bite_at_lid(cook: Cook, r: random.Random) -> None:
    """A lid goes up 2 h from the start; the watchdog restarts the board half a minute to two minutes later."""
    cook.happens(at.FROM_START, 7200.0, at.LID, r.uniform(60.0, 140.0), 1.0 if r.random() < TOLD else 0.0)
    cook.restarts.append(7200.0 + r.uniform(30.0, 120.0))


def fan_by_hand(cook: Cook, r: random.Random) -> None:
    """2 h after the meat, without any lid: 80 % for 8 min; on every other seed of its half none for 10 min."""
    cook.without(at.LID)
    high = cook.seed // 2 % 2 == 0
    cook.happens(at.FROM_MEAT, 7200.0, at.BY_HAND, 0.8 if high else 0.0, 480.0 if high else 600.0)


def hang_second(cook: Cook, r: random.Random) -> None:
    """A meat probe hangs at the grate from the first minute until the meat goes on: a sheath of 8 to 60 s, at a place
    where the rise is up to 8 % more or less than at the pit's probe, and every fifth pit probe in a draught."""
    cook.k[at.SECOND_S], cook.k[at.SECOND_PLACE] = r.uniform(8.0, 60.0), r.uniform(0.92, 1.08)
    cook.y[at.SECOND] = float(cook.weather[0])
    if r.random() < 0.2:
        cook.y[at.DRAUGHT] = r.uniform(0.04, 0.12)
    cook.happens(at.FROM_START, r.uniform(20.0, 120.0), at.HANGS, 1.0)


def good_with_second(cook: Cook, r: random.Random) -> None:
    """Nothing is wrong: a second probe hangs beside a good one."""
    hang_second(cook, r)


def wrong_from_start(cook: Cook, r: random.Random) -> None:
    """The pit's probe lies wrong from the cold start on, and a second one hangs where it should."""
    hang_second(cook, r)
    cook.y[at.DRAUGHT] = 0.0
    cook.happens(at.FROM_START, 0.0, at.SLIP, *_slip(cook, r))


def slip_beside_second(cook: Cook, r: random.Random) -> None:
    """The probe slips in the climb, and a second one hangs where it should."""
    hang_second(cook, r)
    cook.y[at.DRAUGHT] = 0.0
    cook.happens(at.RISEN, r.uniform(50.0, 110.0), at.SLIP, *_slip(cook, r))


def put_right(cook: Cook, r: random.Random) -> None:
    """The same as from the start; at 1 h somebody puts the probe right, and says nothing."""
    wrong_from_start(cook, r)
    cook.happens(at.FROM_START, 3600.0, at.LIES_RIGHT, 0.0)


SLIPS: dict[str, Callable[[Cook, random.Random], None]] = {
    "slip in the climb": slip_on_the_way,
    "slip before the first lid": slip_before,
    "slip at the first lid": slip_at_first_lid,
    "slip later": slip_later,
}
SECOND: dict[str, Callable[[Cook, random.Random], None]] = {
    "good, second probe": good_with_second,
    "wrong from the start": wrong_from_start,
    "slip beside second": slip_beside_second,
    "put right": put_right,
}
BAD: dict[str, Callable[[Cook, random.Random], None]] = {
    **SLIPS,
    **SECOND,
    "leak": leak,
    "flood": flood,
    "fuel ends": fuel_ends,
    "sag": sag,
    "flips": flips,
    "button": button,
    "button, fuel ends": button_fuel,
    "restart in the climb": bite_on_the_way,
    "restart at a lid": bite_at_lid,
    "fan by hand": fan_by_hand,
}


def bad(name: str, family: str, seed: int) -> Cook:
    """An ordinary cook with a fault of BAD. ValueError for one that does not exist."""
    if name not in BAD:
        raise ValueError(f"Unknown fault {name!r}; choose one of {', '.join(BAD)}.")
    cook = draw(family, seed)
    BAD[name](cook, random.Random(f"bad {name} {family} {seed}"))
    cook.words.append(name)
    return cook
