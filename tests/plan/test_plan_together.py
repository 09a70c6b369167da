"""Each piece in its own time, several cookers and loads, holds by their place, warnings, and the pages of regions."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from plan_kit import LONDON, asked, at, judged, lighten, make
from rendered import words
from tuyere.plan import box, page
from tuyere.plan.batches import awake, batches, offsets
from tuyere.plan.capacity import FIRST, Slot, area, places
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE, BadPlan, Sleep
from tuyere.plan.wrap_rows import named


@pytest.fixture(autouse=True)
def light(monkeypatch: pytest.MonkeyPatch) -> None:
    """No rehearsals and no simulated holds: what is tested here hangs on neither."""
    lighten(monkeypatch.setattr)


NONE = Sleep(0, 0, LONDON)
TABLE = (Own("Alder", 5.5), Own("Bramble", 3.2, "pork shoulder"), Own("Clover", 1.3, "pork ribs"))


def test_pieces_that_differ_go_on_each_in_its_own_time_and_are_done_together() -> None:
    plan = make(own=TABLE, guests=None, sleep=NONE, cooker="cabinet")
    on = {piece.name: piece.on for piece in plan.pieces}
    assert plan.on == on["Alder"] < on["Bramble"] < on["Clover"]
    chosen, _ = judged(own=TABLE, guests=None, sleep=NONE, cooker="cabinet").choose()
    done = [going.last[1] for going in chosen.goings]
    assert max(done) - min(done) < 2 * HOUR < on["Clover"] - on["Alder"]
    assert all(going.on <= going.first[0] for going in chosen.goings)
    together = make(own=(TABLE[0], Own("Bramble", 5.4)), guests=None, sleep=NONE)
    assert len({piece.on for piece in together.pieces}) == 1  # one open lid for what is alike


def test_every_wrap_ends_before_its_finish_begins() -> None:
    for start in judged(own=TABLE, guests=None, cooker="cabinet").starts()[::6]:
        for going in start.goings:
            assert going.wrap is not None and going.wrap.window[0] < going.wrap.window[1]
            assert going.wrap.window[1] <= going.first[1] and going.wrap.at + 45 * MINUTE <= going.feel


def test_no_meat_goes_on_in_the_sleep_where_the_odds_allow_it() -> None:
    sleep = Sleep(23 * 60, 6 * 60, LONDON)
    assert awake(at(28, "03:00"), at(27, "20:00"), at(28, "07:00"), sleep) == at(28, "06:00")
    assert awake(at(28, "03:00"), at(27, "20:00"), at(28, "05:00"), sleep) == at(27, "22:15")
    assert awake(at(28, "03:00"), at(28, "01:00"), at(28, "05:00"), sleep) == at(28, "03:00")  # neither is possible
    assert awake(at(28, "12:00"), at(27, "20:00"), at(28, "13:00"), sleep) == at(28, "12:00")


def test_a_second_load_follows_the_first() -> None:
    own = [Own(f"{i}", 1.3, "pork ribs") for i in range(6)]
    slots = places(asked(own=tuple(own), guests=None, fits=3), own)
    assert [slots.count(Slot(0, load)) for load in (0, 1)] == [3, 3]
    made = batches(own, slots, [5.0] * 6)
    assert offsets(made, [5.0, 4.0]) == [0.0, 5.5]
    plan = make(own=tuple(own), guests=None, fits=3, sleep=NONE, oven=True)
    first, second = sorted({piece.on for piece in plan.pieces})
    assert second - first > 3 * HOUR and plan.odds >= 0.88
    ons = [str(row.what) for row in plan.rows if row.kind == "on"]
    assert ons[0].startswith("First load on") and ons[1].startswith("Second load on")
    assert all(piece.probe <= 3 for piece in plan.pieces)


def test_what_does_not_fit_says_how_many_cookers_it_takes() -> None:
    with pytest.raises(BadPlan, match=r"two loads, and the first would be held .* give --cookers 2"):
        make(guests=80)
    with pytest.raises(BadPlan, match=r"not even in two loads.*--cookers 3"):
        make(guests=80, fits=2)
    with pytest.raises(BadPlan, match="several --cookers"):
        make(guests=150)
    one = Own("Alder", 5.5)
    assert 0.08 < area(one) < 0.14 and area(replace(one, flat=0.09)) < area(one)  # 45 by 22 cm: plain geometry
    assert places(asked(own=(one,), guests=None), [one]) == [FIRST]


def test_several_cookers_have_each_their_lines() -> None:
    plan = make(guests=75, cookers=("upright", "cabinet"))
    assert {piece.pit for piece in plan.pieces} == {1, 2} == {row.pit for row in plan.rows if row.kind == "on"}
    assert [pit.cooker for pit in plan.pits] == ["upright", "cabinet"]
    assert plan.fuel.need == pytest.approx(sum(pit.fuel.need for pit in plan.pits))
    assert plan.pits[0].light - plan.pits[0].on != plan.pits[1].light - plan.pits[1].on  # a cabinet heats more slowly
    text, mine = ("\n".join(page.page(plan, "F", LONDON, False, pit)) for pit in (0, 2))
    assert "Pit 1: Wrap" in text and "Pit 2: Wrap" in text and "PIT 1 UPRIGHT".lower() in text.lower()
    assert "TIMETABLE OF PIT 2" in mine and mine.count("Wrap") == 1
    both = make(guests=75, cookers=("upright", "upright"))
    assert sum(row.kind == "light" for row in both.rows) == 1  # one line where both pits have the same


def test_a_box_keeps_hot_by_where_it_stands_and_what_is_around() -> None:
    one = [Own("Alder", 5.5)]
    cold, warm = (box.hold_hours(one, box.BOX, 60.0, 0.0, room=room) for room in (-5.0, 20.0))
    assert cold < warm - 1.0
    assert box.hold_hours(one, box.PLAIN, 60.0, 0.0) < warm
    assert box.hold_hours(one, box.BOX, 60.0, 0.0, vented=False) > warm  # it goes on cooking, too
    rule = box.keeping(asked(outside=-5.0), one, 60.0, None)
    assert rule.room == -5.0 and rule.hours == cold < rule.straight
    assert box.keeping(asked(outside=-5.0, room=18.0), one, 60.0, None).room == 18.0


def test_an_oven_is_set_to_the_limit_and_its_error_or_to_its_lowest() -> None:
    one = [Own("Alder", 5.5)]
    usual = box.keeping(asked(oven=True), one, 63.0, None)
    assert usual.setting == 68.0 and usual.hours == box.MOST_H
    assert box.keeping(asked(oven=True, oven_error=10.0), one, 63.0, None).setting == 73.0
    assert box.keeping(asked(oven=True, oven_lowest=80.0), one, 63.0, None).setting == 80.0
    assert box.keeping(asked(oven=True), one, 70.0, 3.0).hours == 3.0  # the rule of Austria's large kitchens
    assert box.held(60.0, 10.0) == (70.0, 80.0) and box.held(57.2, 8.0) == pytest.approx((65.2, 75.2))
    [hold] = [phase for phase in make(region="us", use="trade", pit_error=6.0).phases if phase.purpose == "hold"]
    assert (hold.low, hold.high) == (63.0, 73.0)  # 57 C and the pit's error


def test_a_later_start_goes_before_a_long_hold() -> None:
    one = judged(oven=True, sleep=NONE)
    chosen, latest = replace(one, hold_h=14.0).choose()
    assert latest is not None and chosen.on == latest.on


def test_small_portions_thin_odds_and_late_thawing_are_warned_of() -> None:
    said = " ".join(words(one) for one in make(guests=40, raw=9.0).warnings)
    assert "Small portions" in said and "180 g is a usual one" in said
    said = " ".join(words(one) for one in make(now=at(28, "05:00")).warnings)
    assert "Thin odds" in said and "Too late to thaw" in said and "Small portions" not in said
    assert not make(now=at(20, "12:00")).warnings


@pytest.mark.parametrize("region", ["uk", "de", "at", "eu"])
@pytest.mark.parametrize("use", ["home", "trade"])
def test_a_page_of_another_region_has_nothing_of_the_us(region: str, use: str) -> None:
    plan = make(region=region, use=use, intact=False, guests=12)
    text = " ".join(page.page(plan, "C", LONDON))
    assert not re.search(r"USDA|FDA|FSIS|CFR|WAC|Washington", text)
    assert "63 C" in text if region == "uk" else True


def test_pork_is_pulled_and_the_page_of_a_family_is_short() -> None:
    plan = make(cut="pork shoulder", guests=12, sleep=NONE)
    assert [str(row.what).split()[0] for row in plan.rows if row.kind == "carve"] == ["Pull"]
    short = page.page(make(guests=6, cut="flat", serve=at(28, "19:00")), "C", LONDON, full=False)
    assert len(short) <= 40 and max(map(len, short)) <= 80
    kinds = {row.kind for row in plan.rows}
    assert {"thaw", "check", "warm", "trim"} <= kinds
    assert all(row.what for row in plan.rows)


def test_the_sleep_is_a_frame_round_what_it_touches() -> None:
    plan = make()
    lines = page.page(plan, "C", LONDON, full=False)
    sleeping = [row for row in plan.rows if row.kind == "asleep"]
    touched = [
        row for row in plan.rows if row.kind != "asleep" and any(one.at <= row.at < one.until for one in sleeping)
    ]
    framed = [line for line in lines if re.match(r"  \d\d:\d\d.{8}\| ", line)]
    assert len(framed) == len(touched)
    assert ("+-- awake" in "\n".join(lines)) == bool(touched)


def test_many_pieces_are_named_in_their_order_and_the_probes_of_the_others_are_told() -> None:
    butts = (Own("Clover", 3.2, "pork shoulder"), Own("Dogwood", 3.1, "pork shoulder"))
    own = (Own("Alder", 5.5), Own("Bramble", 5.4), *butts, Own("Elder", 1.3, "pork ribs"))
    assert [named(own, places) for places in ((3, 2, 0, 1), (0, 1, 2, 4), (2, 0))] == [
        "Alder to Dogwood (4 pieces)", "Alder, Bramble, Clover and Elder", "Alder and Clover",
    ]  # fmt: skip
    plan = make(own=own, guests=None, cooker="cabinet", sleep=NONE)
    told = [words(row.detail) for row in plan.rows if row.kind == "on"]
    given = {piece.probe: piece.name for piece in plan.pieces if piece.probe}
    assert sorted(given) == [1, 2, 3] and all(one.startswith("Probe ") for one in told if one)
    which = sorted(", ".join(filter(None, told)).replace("Probe ", "").split(", "))
    assert which == [f"{number} in {name}" for number, name in sorted(given.items())]
    assert words(plan.shopping[0].what).startswith("your 5 pieces, 18.5 kg trimmed")
    assert not any(row.detail for row in make().rows if row.kind == "on")  # each has one: nothing to choose
