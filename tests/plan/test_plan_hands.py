"""The timetable: what the hands do, in which order, and kept out of the sleep; wraps and bark notes by cut."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_kit import LONDON, asked, at, judged, make
from rendered import words
from tuyere.plan import make as supper
from tuyere.plan import times, why
from tuyere.plan.box import Keeping
from tuyere.plan.draws import usual_c
from tuyere.plan.learnt import Learnt
from tuyere.plan.request import Own
from tuyere.plan.result import Plan
from tuyere.plan.times import HOUR, MINUTE, Sleep
from tuyere.plan.timetable import rows


@settings(max_examples=25, deadline=None)
@given(
    guests=st.integers(8, 60), hour=st.integers(0, 23), bed=st.integers(0, 23), length=st.integers(0, 9),
    oven=st.booleans(),
)  # fmt: skip
def test_the_sleep_is_kept_or_it_says_why_not(guests: int, hour: int, bed: int, length: int, oven: bool) -> None:
    sleep = Sleep(bed * 60, (bed + length) % 24 * 60, LONDON)
    one = judged(guests=guests, serve=at(28, f"{hour}:00"), sleep=sleep, oven=oven, fits=6)
    chosen, _ = one.choose()
    keep = Keeping("low oven" if oven else "box with towels", 20.0, 65.0 if oven else None, 8.0, 8.5)
    table = rows(one.asked, one.drawing.own, chosen, one, keep, [[]], {})
    asleep = {row.kind for row in table if row.hands and sleep.asleep(row.at)}
    asks = {
        "light": "lighting",
        "on": "putting",
        "wrap": "the wrap",
        "done": "taking pieces out",
        "warm": "taking pieces out",
        "carve": "carving",
    }
    for kind in asleep:
        assert kind in asks, f"a {kind} lies in the sleep"
        assert any(ask.startswith(asks[kind]) for ask in chosen.asks), (kind, chosen.asks)
    assert table == sorted(table, key=lambda row: row.at)
    assert all(row.until == 0 or row.until >= row.at for row in table)


def test_a_wrap_put_off_for_the_sleep_is_counted_in_the_finish() -> None:
    """Paper shortens the plateau (common practice): the later it goes on, the later a piece is done."""
    asleep, awake_all_night = judged(), judged(sleep=Sleep(0, 0, LONDON))
    on = at(27, "22:15")
    late, usual = asleep.start(on), awake_all_night.start(on)
    assert late.wraps[0].at > usual.wraps[0].at and late.last[1] > usual.last[1]
    own = Own("Alder", 5.5)
    marks = [usual_c(own, 128.0, 0.0, hours) for hours in (0.0, 2.0, 5.0, 7.0, 9.0, 30.0)]
    assert marks == sorted(marks) and 60.0 < marks[2] < 75.0  # 65-75 C: the plateau (common practice)


def check_order(plan: Plan) -> None:
    """What must come before what."""
    of = {row.kind: row for row in plan.rows}
    wraps = [row for row in plan.rows if row.kind == "wrap"]
    assert all(row.at + 45 * MINUTE <= of["done"].at for row in wraps)  # paper needs its time to tell
    assert of["done"].at <= of["done"].until <= of["carve"].at
    assert "hold" not in of or of["done"].at <= of["hold"].at < of["carve"].at


@pytest.mark.parametrize("cut", ["packer", "flat", "pork shoulder", "beef ribs", "chuck", "pork ribs", "lamb shoulder"])
def test_every_cut_is_wrapped_before_it_is_done_and_its_bark_noted_first(cut: str) -> None:
    """By the forecast itself: ribs go on for 3-5 h, a flat for 6 (computed); nobody wraps what is done."""
    plan = supper.make(asked(cut=cut, guests=8, sleep=Sleep(0, 0, LONDON)), Learnt())
    check_order(plan)
    [wrap] = plan.wraps
    assert wrap.at < plan.first[1]
    notes = [row for row in plan.rows if row.kind == "round" and "note each bark" in row.what]
    assert len(notes) >= 2 and all(plan.on < row.at < wrap.at for row in notes)


def test_a_piece_that_is_quicker_than_its_bark_is_wrapped_before_it_is_done() -> None:
    """Done after 5 h, with a bark that wants 6 to 7: sooner than its window, in the sleep or not."""

    def quick(piece: object, pit_c: float, *, members: int = 200, **_: object) -> list[float]:
        return [4.5 + i / members for i in range(members)]

    for sleep in (Sleep(0, 0, LONDON), Sleep(23 * 60, 6 * 60, LONDON), Sleep(10 * 60, 18 * 60, LONDON)):
        plan = supper.make(asked(guests=12, sleep=sleep), Learnt(), quick)
        check_order(plan)
        [wrap] = plan.wraps
        assert plan.on + 3 * HOUR < wrap.at <= plan.first[1] - HOUR // 2
        assert "stays lighter" in next(row.detail for row in plan.rows if row.kind == "wrap")


def test_cuts_that_differ_are_wrapped_and_felt_each_in_its_own_time() -> None:
    own = (Own("Alder", 5.5), Own("Bramble", 1.3, "pork ribs"))
    plan = make(own=own, guests=None, sleep=Sleep(0, 0, LONDON))
    assert [wrap.cut for wrap in plan.wraps] == ["packer", "pork ribs"]
    assert [str(row.what).split(" in ")[0] for row in plan.rows if row.kind == "wrap"] == ["Wrap Alder", "Wrap Bramble"]
    for units, alder, bramble in (("C", "95-97 C", "90-97 C"), ("F", "203-206 F", "194-206 F")):
        felt = [words(row.what, units) for row in plan.rows if row.kind == "done"]
        assert felt[0].startswith("Feel Alder for tender") and felt[0].endswith(alder)
        assert felt[1].startswith("Feel Bramble for tender") and felt[1].endswith(bramble)
    high = make(own=own, guests=None, altitude=2500.0)  # 91.6 C is where water boils there (computed)
    assert sum("may never come" in words(caution.text) for caution in high.cautions) == 2


def test_a_sleep_that_could_be_kept_is_named_and_is_kept() -> None:
    """Or nothing is named: a supper by night, or a cook with few hours of sleep."""
    found = make(sleep=Sleep(22 * 60, 7 * 60, LONDON), serve=at(28, "14:00"))
    [said] = [said for said in found.words if "cannot be kept" in words(said)]
    named = words(said).split("--sleep ")[1].split(" ")[0]
    kept = make(sleep=Sleep.read(named, LONDON), serve=at(28, "14:00"))
    assert not any("cannot be kept" in words(said) for said in kept.words) and kept.odds >= 0.88
    assert f"{times.local(kept.on, LONDON):%a %H:%M}" in words(said)
    night = make(sleep=Sleep(0, 4 * 60, LONDON), serve=at(28, "03:00"))
    assert any("second pair of hands" in words(said) for said in night.words)


def test_the_last_piece_in_the_sleep_is_charged_like_the_first() -> None:
    one = judged()
    sleep = one.asked.sleep
    late = [s for s in one.starts() if sleep.asleep(s.last[1] - 5 * MINUTE) and sleep.asleep(s.last[1] + 2 * HOUR)]
    assert any(not sleep.asleep(start.first[1]) for start in late)
    assert all("taking pieces out" in start.asks and start.cost >= 0.5 for start in late)


def test_a_wrap_in_the_sleep_is_charged_and_said() -> None:
    one = judged()
    asleep = [start for start in one.starts() if any(one.asked.sleep.asleep(wrap.at) for wrap in start.wraps)]
    assert asleep and all("the wrap" in start.asks and start.cost >= 0.2 for start in asleep)
    deep = [
        start for start in asleep if any(one.asked.sleep.lost(w.at, w.at + 20 * MINUTE) > 2 * HOUR for w in start.wraps)
    ]
    assert deep and all(start.cost >= 1.0 for start in deep)


def test_a_later_start_that_costs_sleep_is_named_with_what_it_asks() -> None:
    one = judged()
    early = replace(one.start(at(27, "22:15")), asks=(), night=0.0)
    late = replace(early, on=early.on + 2 * HOUR, odds=0.93, asks=("lighting the fire", "the wrap"))
    keep = Keeping("box with towels", 20.0, None, 8.0, 8.5)
    sentence = "A start at Sat 00:15 would still have 93 %, but asks for lighting the fire and the wrap in your sleep."
    assert sentence in [words(said) for said in why.why(one.asked, early, late, one, keep)]
    for latest in (early, replace(late, asks=()), replace(late, on=early.on)):
        assert not any("in your sleep." in words(said) for said in why.why(one.asked, early, latest, one, keep))
