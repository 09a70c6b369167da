"""A past night as it was at any moment: nothing that came later is known, and nothing can be ordered."""

from __future__ import annotations

import asyncio
import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from rendered import words
from replay_kit import Night, fill
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.logbook import Logbook
from tuyere.replay.player import SPEEDS, PastNight, Player
from tuyere.replay.recorded import RecordedNight, load

HOUR, MINUTE = 3_600_000, 60_000


@pytest.fixture(scope="module")
def past(night: Night, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RecordedNight]:
    path = tmp_path_factory.mktemp("past") / "logbook.sqlite"
    cook = fill(path, night)
    with Logbook(path) as book:
        began = book.reading.trend(cook).at[0]
        alder = book.pieces.add(cook, name="Alder", cut="packer", mass=5.0, probe=1)
        book.events.note(cook, "meat_on", began + 20 * MINUTE, began + 20 * MINUTE)
        book.events.note(cook, "shade", began + 60 * MINUTE, began + 80 * MINUTE, piece=alder, value=4)
        book.events.note(cook, "wrapped", began + 90 * MINUTE, began + 90 * MINUTE, piece=alder, text="paper")
        alarm = book.alarms.add(cook, began + 30 * MINUTE, "warning", "test", "The fire is fading")
        book.alarms.change(alarm, acknowledged=began + 35 * MINUTE, cleared=began + 40 * MINUTE)
        found = load(book, cook)
    assert found is not None
    yield found


def test_every_cycle_is_shown_as_it_was_recorded(past: RecordedNight) -> None:
    for i in random.Random(1).sample(range(len(past.at)), 300):
        shot = past.snapshot(past.at[i])
        assert shot.cycle is not None and shot.cycle.at == past.at[i] and not shot.stale
        column = past.trend.at.index(past.at[i])
        assert shot.cycle.pit == past.trend.pit[column] and abs(shot.cycle.fan - past.trend.fan[column]) < 1e-9
        assert (shot.cycle.low, shot.cycle.high) == (past.trend.low[column], past.trend.high[column])
        assert shot.words and shot.link.recorded == i + 1
        assert all(event.at <= shot.now for event in shot.events)


def test_what_came_later_is_not_known_yet(past: RecordedNight) -> None:
    def at(minutes: float) -> Snapshot:
        return past.snapshot(past.first + round(minutes * MINUTE))

    assert at(19).cook is not None and at(19).cook.meat_on == 0 and at(19).pieces[0].on_at == 0
    assert at(21).pieces[0].on_at == past.first + 20 * MINUTE
    assert at(59).pieces[0].shade is None and at(61).pieces[0].shade == 4
    assert at(89).pieces[0].wrap == "" and at(91).pieces[0].wrap == "paper"
    assert at(29).alarms == [] and at(41).alarms == []
    [early], [late] = at(31).alarms, at(36).alarms
    assert words(early.what) == "The fire is fading" and early.acknowledged == 0
    assert late.acknowledged == past.first + 35 * MINUTE and late.cleared == 0


def test_going_back_shows_the_same_as_going_on(past: RecordedNight) -> None:
    times = list(range(past.first, past.last, 7 * MINUTE))
    onward = [past.snapshot(at) for at in times]
    assert [past.snapshot(at) for at in reversed(times)] == onward[::-1]
    shares = [shot.cook.in_band for shot in onward if shot.cook]
    assert shares[-1] is not None and shares[0] is None


def test_the_programme_and_when_its_phase_began_are_those_of_the_time(past: RecordedNight) -> None:
    before, after = past.snapshot(past.first), past.snapshot(past.first + 10 * MINUTE)
    assert before.phases == [] or before.phases != after.phases
    assert [words(p.end) for p in after.phases] == ["after 25 min", "after 20 min", "by hand"]
    changed = next(i for i in range(len(past.at)) if past.cycle(i)[0].phase == 1)
    shot = past.snapshot(past.at[changed] + 5 * MINUTE)
    assert shot.cycle is not None and shot.cycle.phase == 1 and abs(shot.phase_since - past.at[changed]) <= 2000


def test_a_hole_in_the_record_is_said(past: RecordedNight) -> None:
    holes = [(a, b) for a, b in zip(past.at, past.at[1:], strict=False) if b - a > 20_000]
    assert holes, "the power cuts of this night leave some"
    shot = past.snapshot(holes[0][0] + 11_000)
    assert shot.stale and shot.words == ["No record of this time."]


class Clock:
    """A watch that a test winds on; at the end of its time the player's loop is cancelled."""

    def __init__(self, ticks: int, each: float) -> None:
        self.now, self.left, self.each = 0.0, ticks, each

    def steady(self) -> float:
        return self.now

    async def tick(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise asyncio.CancelledError
        self.now += self.each


def played(
    night: RecordedNight, ticks: int, each: float, speed: float, pause_at: int = 0
) -> tuple[Player, list[tuple[str, object]]]:
    """Play for so many looks at the clock; pause once so many pieces of news have come."""
    clock = Clock(ticks, each)
    player = Player(night, speed=speed, tick=clock.tick, steady=clock.steady)
    found: list[tuple[str, object]] = []

    async def run() -> None:
        async for news in player.notifications():
            found.append(news)
            if len(found) == pause_at:
                player.pause()

    with pytest.raises(asyncio.CancelledError):
        asyncio.run(run())
    return player, found


def test_the_parts_of_the_trend_make_the_whole(past: RecordedNight) -> None:
    player, found = played(past, 200, 0.5, 300.0)
    parts = [value for name, value in found if name == "trend" and isinstance(value, Trend)]
    assert parts[0].whole and not any(part.whole for part in parts[1:])
    assert [at for part in parts for at in part.at] == past.trend.at and player.over and player.paused
    shots = [value for name, value in found if name == "snapshot" and isinstance(value, Snapshot)]
    assert [shot.now for shot in shots] == sorted(shot.now for shot in shots)


def test_time_goes_on_at_its_speed_and_stands_while_paused(past: RecordedNight) -> None:
    player, _ = played(past, 10, 1.0, 60.0)
    assert player.at == past.first + 10 * MINUTE
    player, found = played(past, 10, 0.2, 60.0, pause_at=2)
    assert player.at == past.first and player.paused
    assert len([1 for name, _ in found if name == "trend"]) == 1  # nothing new; but the screen hears that all is well
    assert len(found) > 2


def test_keys_move_the_clock(past: RecordedNight) -> None:
    player = Player(past)
    player.jump(past.at[100])
    player.cycles(1)
    assert player.at == past.at[101] and player.paused
    player.cycles(-2)
    assert player.at == past.at[99]
    player.jump(0)
    player.cycles(-5)
    assert player.at == past.first
    player.pause()
    assert not player.paused
    seen = []
    while at := player.mark(1):
        assert player.paused
        seen.append(at)
    assert seen == sorted({at for at, _ in past.marks}) and len(seen) >= 4
    back = []
    while at := player.mark(-1):
        back.append(at)
    assert back == seen[-2::-1]
    player.jump(1 << 60)
    assert player.at == past.last and player.over
    player.pause()
    assert player.at == past.first and not player.paused  # at its end it begins again


def test_speeds_are_steps_and_have_ends(past: RecordedNight) -> None:
    player = Player(past, speed=60.0)
    assert [player.faster(1) for _ in range(4)] == [300.0, 1200.0, 1200.0, 1200.0]
    assert [player.faster(-1) for _ in range(7)] == [*SPEEDS[-2::-1], SPEEDS[0], SPEEDS[0]][:7]
    player.speed = 100.0
    assert player.faster(1) == 300.0
    player.speed = 100.0
    assert player.faster(-1) == 60.0


@pytest.mark.parametrize("method", ["order", "note", "cook_end", "alarm_acknowledge", "piece_add", "stop"])
def test_nothing_can_be_ordered(past: RecordedNight, method: str) -> None:
    with pytest.raises(PastNight, match="nothing can be ordered"):
        asyncio.run(Player(past).call(method, name="stop"))


def test_a_cook_without_a_cycle_has_nothing_to_show(tmp_path: Path) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        number = book.cooks.start("empty", 1, "board", False)
        assert load(book, number) is None
