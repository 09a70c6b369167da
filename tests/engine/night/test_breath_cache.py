"""The fire's breath in a snapshot: of a pit that is held, looked at once a minute."""

from __future__ import annotations

import msgspec
from tuyere.cook.snapshot import Breath, Cook, Cycle, Event, Link, Snapshot
from tuyere.engine.night.breath_cache import Breathing
from tuyere.engine.night.minutes import MINUTE, Minutes
from tuyere.logbook.rows import Trend

START, COUNT = 1_700_000_000_000 // 600_000 * 600_000, 290


def minutes() -> Minutes:
    """A need of 0.3 that grows by 0.12 an hour."""
    found = Minutes()
    none: list[float | None] = [None] * COUNT
    found.add(
        Trend(
            cook=1, last=COUNT, at=[START + i * MINUTE for i in range(COUNT)], pit=[128.0] * COUNT,
            fan=[0.3 + 0.002 * i for i in range(COUNT)], low=[121.1] * COUNT, high=[135.0] * COUNT,
            meat_1=none, meat_2=none, meat_3=none, ambient=none,
        )
    )  # fmt: skip
    return found


def test_a_snapshot_gets_it_while_the_pit_is_held() -> None:
    cook, cycle = Cook(id=1, name="c", started=START), Cycle(state="holding")
    held = Snapshot(START, Link(), [], cycle=cycle, cook=cook)
    breathing, night = Breathing(), minutes()
    breathing.show(held, night, [])
    assert held.breath.spent and held.breath.words
    ended = msgspec.structs.replace(cook, ended=START)
    for other in ({"cycle": Cycle(state="tripped")}, {"cycle": None}, {"stale": True}, {"cook": None}, {"cook": ended}):
        shot = msgspec.structs.replace(held, breath=Breath(), **other)
        breathing.show(shot, night, [])
        assert shot.breath == Breath()


def test_a_note_of_the_ash_changes_it_at_once() -> None:
    shot = Snapshot(START, Link(), [], cycle=Cycle(state="holding"), cook=Cook(id=1, name="c", started=START))
    breathing, night = Breathing(), minutes()
    breathing.show(shot, night, [])
    assert shot.breath.words
    knocked = Event(id=1, at=START + (COUNT - 2) * MINUTE, noted=0, kind="ash_knocked")
    breathing.show(shot, night, [knocked])
    assert shot.breath == Breath()
