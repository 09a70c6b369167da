"""What a piece's probe says of its safety. Readings are invented; the limits are those of `tuyere.meat.safety`:
12 min at 60 C and 4 min at 62.8 C for 6.5 logs, at once at 70 C (USDA FSIS Appendix A, 1999)."""

from __future__ import annotations

import math

import pytest
from rendered import words
from tuyere.cook import food_watched
from tuyere.cook.snapshot import Cook, Event, Kitchen, Link, Piece, Snapshot
from tuyere.engine.night.minutes import Minutes
from tuyere.engine.night.safety_cache import Shown
from tuyere.logbook.rows import Trend
from tuyere.meat import regions, safety
from tuyere.text import Reader, rendered

US = regions.rules("home", "us")

ON = 1_700_000_000_000
MINUTE, HOUR = 60_000, 3_600_000


def climb(start: float, end: float, hours: float) -> list[float | None]:
    """A reading a minute, straight."""
    count = round(hours * 60)
    return [start + (end - start) * i / count for i in range(count + 1)]


def seen(read: list[float | None], *events: Event, first: int = ON) -> food_watched.Watched:
    found = food_watched.watched(ON, 1, [first + i * MINUTE for i in range(len(read))], read, events)
    assert found is not None
    return found


def said(found: food_watched.Watched, intact: bool) -> list[str]:
    return rendered(food_watched.words(found, intact), Reader("C"))


def event(kind: str, at: int, piece: int = 1) -> Event:
    return Event(id=at, at=at, noted=at, kind=kind, piece=piece)


def test_the_hours_from_10_to_54_are_counted_from_its_own_readings() -> None:
    quick = seen(climb(5.0, 60.0, 5.0))
    assert quick.come_up_h == pytest.approx(5.0 * 44.4 / 55.0, abs=0.05)
    assert "it took 4 h 02 min" in said(quick, True)[0] and "more than" not in said(quick, True)[0]
    slow = seen(climb(5.0, 60.0, 9.0))
    assert "it took 7 h 16 min, more than the 6 h of the rule" in said(slow, True)[0]
    assert safety.COME_UP in food_watched.rules(slow, True, 5.0, US, False)
    assert safety.COME_UP not in food_watched.rules(quick, True, 5.0, US, False)


def test_a_piece_that_has_not_come_up_in_six_hours_is_cautioned_while_it_still_can_be() -> None:
    late = seen(climb(5.0, 45.0, 6.5))
    assert safety.COME_UP in food_watched.rules(late, True, 5.0, US, False)
    assert said(late, True)[0].startswith("Not yet at 54 C, 6 h 30 min after it went on: the rule is 6 h")


def test_a_probe_that_came_later_knows_nothing_of_the_first_hours() -> None:
    later = seen(climb(40.0, 60.0, 2.0), first=ON + 3 * HOUR)
    assert later.come_up_h is None and safety.COME_UP not in food_watched.rules(later, True, 5.0, US, False)
    assert "first read 3 h after it went on" in said(later, True)[0]


def test_killing_is_counted_by_the_table_and_is_at_once_from_70() -> None:
    assert seen([60.0] * 13).times == pytest.approx(1.0, rel=0.01)  # 12 min between 13 readings
    assert seen([62.8] * 9).times == pytest.approx(2.0, rel=0.02)
    assert seen([54.0] * 600).times == 0.0
    half = seen([60.0] * 7)
    assert "not killed yet: 50 % of the heat" in said(half, True)[2]
    done = seen([71.0, 71.0])
    assert math.isinf(done.times) and "killed (6.5 logs) at once" in said(done, True)[2]
    assert not math.isinf(seen([68.0, 71.0, 68.0]).times)  # of two readings the lower one counts
    assert safety.LETHALITY in food_watched.rules(half, True, 5.0, US, False)
    assert safety.LETHALITY not in food_watched.rules(done, True, 5.0, US, False)


def test_minutes_between_4_and_60_count_across_a_time_without_readings_and_killing_does_not() -> None:
    gap = seen([58.0] * 10 + [None] * 60 + [59.0] * 10)
    assert gap.growth_min == pytest.approx(79.0, abs=1.1) and gap.unread_min == pytest.approx(61.0)
    alone = seen([58.0] * 10).times + seen([59.0] * 10).times
    assert gap.times == pytest.approx(alone)
    assert any("no reading for 1 h 01 min" in word for word in said(gap, True))


def test_what_is_not_whole_muscle_must_be_held_at_62_8_for_three_minutes() -> None:
    short, enough = seen([62.0, 63.0, 63.0, 63.0, 62.0]), seen([63.0] * 4)
    assert not short.inside and enough.inside
    assert "has not been held yet" in " ".join(said(short, False))
    assert "has been held" in " ".join(said(enough, False))
    assert "whole muscle" not in " ".join(said(enough, True))
    assert safety.NOT_INTACT in food_watched.rules(None, False, None, US, False)


def test_only_what_the_probe_read_in_meat_in_the_heat_counts() -> None:
    out = event("out", ON + 5 * MINUTE)
    assert seen([63.0] * 5 + [20.0] * 60, out).last == ON + 4 * MINUTE
    back = seen([63.0] * 5 + [20.0] * 60 + [65.0] * 5, out, event("in_oven", ON + 65 * MINUTE))
    assert back.now_c == 65.0
    assert seen([40.0, 118.0, 119.0, 41.0]).highest == 41.0  # it lay in the pit's air
    moved = seen([66.0] * 30 + [50.0] * 10, event("probe_seated", ON + 30 * MINUTE))
    assert moved.times == 0.0 and moved.highest == 66.0  # it was too shallow before
    assert food_watched.watched(ON, 1, [ON - MINUTE], [90.0], []) is None


def test_it_is_done_by_its_own_target_and_its_own_time() -> None:
    assert words(food_watched.verdict(seen(climb(5.0, 70.0, 8.0)), 96.0)) == "26 C below its target."
    assert "quick" in words(food_watched.verdict(seen(climb(5.0, 96.0, 1.0)), 96.0))
    assert "done if it feels tender" in food_watched.verdict(seen(climb(5.0, 88.0, 8.0) + [88.0] * 300), 87.0)


def test_a_snapshot_gets_it_with_the_rules_each_once_and_the_hold_limit_in_the_box() -> None:
    minutes, count = Minutes(), 240
    read = climb(5.0, 62.0, 4.0)[:count]
    minutes.add(
        Trend(
            cook=1,
            last=count,
            at=[ON + i * MINUTE for i in range(count)],
            pit=[120.0] * count,
            fan=[0.3] * count,
            low=[121.0] * count,
            high=[135.0] * count,
            meat_1=read,
            meat_2=read,
            meat_3=[None] * count,
            ambient=[None] * count,
        )
    )
    shot = Snapshot(
        ON + 4 * HOUR, Link(), [], cook=Cook(id=1, name="c", started=ON), kitchen=Kitchen(use="trade", region="uk")
    )
    shot.pieces = [
        Piece(id=1, name="Alder", mass=5.0, probe=1, on_at=ON, intact=False),
        Piece(id=2, name="Bramble", mass=5.0, probe=2, on_at=ON, place="box", intact=False),
        Piece(id=3, name="Clover", probe=1),  # not on yet: what its probe reads is not of it
    ]
    Shown().show(shot, minutes, [])
    assert shot.pieces[0].safe and shot.pieces[0].verdict and not shot.pieces[2].safe and not shot.pieces[1].verdict
    rules = rendered(shot.rules, Reader("C"))
    assert rules[-1] == "Follow your local rules." and len(set(rules)) == len(rules)
    text = " ".join(rules)
    assert text.count("Rolled, injected or needled") == 1 and "hot food at 63 C" in text
    shot.pieces[1].place = "pit"
    Shown().show(shot, minutes, [])
    assert "hot food" not in " ".join(rendered(shot.rules, Reader("C")))
