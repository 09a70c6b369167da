"""A source as the screen takes one, playing a scripted cook: climb, hold, openings, a stall, a lost reading."""

from __future__ import annotations

import asyncio
import functools
import math
import random
from collections.abc import AsyncIterator
from typing import Any

from tuyere.cook.snapshot import Alarm, Cook, Cycle, Event, Link, Phase, Piece, Prompt, Snapshot, Trend
from tuyere.text import Share, Temperature, band, text

MINUTE, HOUR = 60_000, 3_600_000
START = 1_781_380_800_000  # 2026-06-13 20:00 UTC
LOW, HIGH = 121.1, 135.0
OPENINGS = (4.0, 5.0, 6.1, 7.2, 8.0, 9.1, 11.0)  # hours


@functools.cache
def trend(hours: float = 14.0, cook: int = 1, seed: int = 3, gap: tuple[float, float] = (9.5, 9.6)) -> Trend:
    """The whole cook as columns, a cycle every 2 s; no link during `gap` (hours). Shared: do not change it."""
    rng = random.Random(seed)
    out = Trend(cook=cook, last=0)
    pit, fan, flat, point = 18.0, 1.0, 5.0, 5.0
    for i in range(int(hours * 1800)):
        h = i / 1800
        aim = 128.0
        need = 0.34 + 0.05 * math.sin(h * 1.7)
        fan = min(1.0, max(0.0, need + (aim - pit) * 0.06)) if pit < aim + 8 else 0.0
        pit += (fan - need) * 0.075 + rng.gauss(0, 0.03)
        if any(o <= h < o + 0.02 for o in OPENINGS):
            pit -= 0.75
            fan = 0.2
        if h > 0.75:
            flat += (pit - flat) * 0.00011 * (0.13 if 66 < flat < 74 else 1)
            point += (pit - point) * 0.00008 * (0.2 if 67 < point < 73 else 1)
        if gap[0] <= h < gap[1]:
            continue
        out.at.append(START + i * 2000)
        out.pit.append(None if 6.5 <= h < 6.501 else round(pit + rng.gauss(0, 0.25), 2))
        out.fan.append(round(fan, 4))
        out.low.append(LOW)
        out.high.append(HIGH)
        out.meat_1.append(round(flat, 2))
        out.meat_2.append(round(point, 2) if h > 1.0 else None)
        out.meat_3.append(None)
    out.last = len(out.at)
    return out


def snapshot(columns: Trend | None = None, *, simulated: bool = True, alarm: bool = False) -> Snapshot:
    """What stands at the end of `columns`."""
    columns = columns or trend(6.0)
    now = columns.at[-1]
    cycle = Cycle(
        at=now, sequence=len(columns.at) - 1, pit=columns.pit[-1], fan=columns.fan[-1], state="holding",
        meats=[columns.meat_1[-1], columns.meat_2[-1], None], ambient=11.5,
        reason="in_band", low=LOW, high=HIGH, aim=128.05, pull=0.021, owed=0.318, brake=-0.012, need=0.0, phase=1,
    )  # fmt: skip
    events = [Event(id=i + 1, at=START + int(o * HOUR), noted=START + int(o * HOUR), kind="opened")
              for i, o in enumerate(OPENINGS) if START + o * HOUR < now]  # fmt: skip
    shown = Event(id=20, at=now - 25 * MINUTE, noted=now - 20 * MINUTE, kind="shade", piece=1, value=6)
    spritz = Event(id=21, at=now - 50 * MINUTE, noted=now - 50 * MINUTE, kind="spritzed", piece=1)
    alarms = []
    if alarm:
        alarms = [Alarm(id=7, raised=now - 2 * MINUTE, level="urgent", what="The fire is fading",
                        why="The fan has been high for a while and the pit still falls.",
                        checks=["Look at the fuel and stir the coals", "Knock the ash off the grate",
                                "See that the fan's nozzle is not blocked"])]  # fmt: skip
    return Snapshot(
        now=now,
        link=Link(
            state="open",
            words="twin, 60x",
            port="/dev/pts/4",
            board="twin-1",
            kind="twin" if simulated else "pico",
            simulated=simulated,
            speed=60.0,
            firmware="5d0c1f2a",
            boot=77,
            heap_free=141000,
            recorded=len(columns.at),
        ),
        words=[
            text("Holding {pit}, in the band", pit=Temperature(128.2)),
            text("Band {band}, fan at {fan}.", band=band(LOW, HIGH), fan=Share(0.34)),
        ],
        cycle=cycle,
        cook=Cook(
            id=1,
            name="Saturday brisket",
            started=START,
            meat_on=START + 45 * MINUTE,
            simulated=simulated,
            cycles=len(columns.at),
            in_band=0.971,
        ),
        phases=[
            Phase("Smoke", LOW, HIGH, "by hand"),
            Phase("Wrapped", LOW, HIGH, "when probe 1 reaches 95 C", 2, 95.0),
            Phase("Rest", 60.0, 80.0, "after 60 min", 1, 60.0),
        ],
        phase_since=START + 3 * HOUR,
        pieces=[
            Piece(
                id=1,
                name="Big flat",
                cut="packer",
                mass=6.4,
                probe=1,
                temperature=columns.meat_1[-1],
                shade=6,
                shade_at=now - 25 * MINUTE,
                on_at=START + 45 * MINUTE,
            ),
            Piece(
                id=2,
                name="Point",
                cut="point",
                mass=2.1,
                probe=2,
                temperature=columns.meat_2[-1],
                shade=4,
                wrap="paper",
                shade_at=now - 85 * MINUTE,
                on_at=START + 45 * MINUTE,
            ),
            Piece(
                id=3,
                name="Small one",
                mass=1.8,
                place="oven",
                temperature=82.0,
                by_hand=True,
                on_at=START + 50 * MINUTE,
            ),
        ],
        prompts=[
            Prompt("shade", "Note the bark of Big flat", now + 35 * MINUTE, 1),
            Prompt("pan_filled", "Fill the water pan", now + 2 * HOUR),
        ],
        alarms=alarms,
        events=[shown, spritz, *reversed(events)],
        logbook="/home/cook/tuyere/logbook.sqlite",
    )


class FakeSource:
    """`call`, `notifications`, `close`; keeps what was asked in `calls` and answers from `answers`."""

    def __init__(self, columns: Trend | None = None, shot: Snapshot | None = None) -> None:
        self.columns = columns or trend(6.0)
        self.shot = shot or snapshot(self.columns)
        self.calls: list[tuple[str, dict[str, Any]]] = []
        self.answers: dict[str, Any] = {"order": {"ok": True, "words": "accepted"}, "note": {"id": 99}}
        self.queue: asyncio.Queue[tuple[str, Any] | None] = asyncio.Queue()
        self.closed = False

    async def call(self, method: str, **params: Any) -> Any:
        self.calls.append((method, params))
        if method == "snapshot":
            return self.shot
        if method == "trend":
            return self.columns
        if method == "subscribe":
            self.queue.put_nowait(("trend", self.columns))
            return {}
        answer = self.answers.get(method, {})
        if isinstance(answer, Exception):
            raise answer
        return await answer if isinstance(answer, asyncio.Future) else answer

    def push(self, shot: Snapshot) -> None:
        self.shot = shot
        self.queue.put_nowait(("snapshot", shot))

    def drop(self) -> None:
        """The engine goes away."""
        self.queue.put_nowait(None)

    async def notifications(self) -> AsyncIterator[tuple[str, Any]]:
        while (item := await self.queue.get()) is not None:
            yield item

    async def close(self) -> None:
        self.closed = True

    def orders(self) -> list[dict[str, Any]]:
        return [params for method, params in self.calls if method == "order"]

    def last(self, method: str) -> dict[str, Any]:
        return [params for name, params in self.calls if name == method][-1]
