"""`tuyere tune --experiment`: the walk through a short experiment on the board, or the twin, that an engine has."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import msgspec

from tuyere.client.client import Client, EngineError
from tuyere.cook.snapshot import Snapshot
from tuyere.text import Duration, Reader, Share, as_said, render, text

LONGEST_S = 2400
EVERY_S = 5.0
BEGINS_S = 30.0  # without a cycle of it for this long, it is over before it was seen
STEP = 0.06
BEFORE = (
    "For up to 40 min the fan goes up and down in small steps while the band is held. The record then shows how this "
    "pit answers.",
    "The pit stays in its band: the board ends it near an edge, at an open lid, and whenever anything calls.",
    "Leave the lid shut, and do not feed the fire meanwhile.",
)
Say = Callable[[str], None]
Wait = Callable[[float], Awaitable[None]]


async def walk(
    home: Path, step: float, say: Say, agreed: Callable[[], bool], reader: Reader, wait: Wait = asyncio.sleep
) -> bool:
    """Explain, ask, order, and follow it to its end; False where it did not begin. EngineError without an engine.

    step: share of the fan. Ctrl-C ends the experiment on the board, too.
    """
    client = await Client.open(home)
    try:
        for line in BEFORE:
            say(line)
        say(render(text("The step is {step} of the fan.", step=Share(step)), reader))
        if not agreed():
            return False
        answer = await client.call("order", name="experiment", share=step, seconds=LONGEST_S)
        if not answer["ok"]:
            raise EngineError(render(as_said(answer["words"]), reader), said=as_said(answer["words"]))
        say("It has begun.")
        try:
            await follow(client, say, reader, wait)
        except asyncio.CancelledError:
            await client.call("order", name="experiment", share=0.0, seconds=0)
            say("Ended: the law goes on from the demand before it.")
            raise
        return True
    finally:
        await client.close()


async def follow(client: Client, say: Say, reader: Reader, wait: Wait) -> None:
    """Say how it stands until it is over, and why it was if it ended early."""
    began: int | None = None
    last, looks = -1, 0
    while True:
        shot: Snapshot = msgspec.convert(await client.call("snapshot"), Snapshot)
        cycle = shot.cycle
        running = cycle is not None and cycle.reason == "experimenting"
        if running:
            began = began or shot.now
            minute = int((shot.now - began) / 60_000)
            if minute != last and minute % 5 == 0:
                last = minute
                say(render(text("{time} gone; {how}", time=Duration(60.0 * minute), how=shot.words[0]), reader))
        elif began is not None:
            spent = (shot.now - began) / 1000.0
            early = spent < LONGEST_S - 30.0
            words: Any = "Over after {time}: " if early else "Over after {time}. "
            why = shot.words[0] if early else "The board holds the band as before."
            say(render(text(words + "{why}", time=Duration(spent), why=why), reader))
            say("`tuyere tune` takes it from the record, also while this cook goes on.")
            return
        elif (looks := looks + 1) > BEGINS_S / EVERY_S:
            say(render(text("The board ended it at once: {why}", why=shot.words[0]), reader))
            return
        await wait(EVERY_S)
