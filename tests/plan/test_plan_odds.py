"""The start and its odds, the timetable and the sleep; how much to buy; a night in which the clocks change."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_kit import LONDON, asked, at, before, make
from tuyere.meat.piece import Piece as Meat
from tuyere.plan import burning, page, supper, times
from tuyere.plan.asked import Own
from tuyere.plan.buying import amounts
from tuyere.plan.drawing import Drawing, quantile, usual_c
from tuyere.plan.learnt import Learnt
from tuyere.plan.model import Plan
from tuyere.plan.start import Choosing, carve_begins, must_be_done
from tuyere.plan.times import HOUR, MINUTE, BadPlan, Sleep
from tuyere.sim import compiled

HANDS = ("trim", "light", "on", "round", "wrap", "carve")


def judged(**changed: object) -> Choosing:
    what = asked(**changed)
    _, own = amounts(what, Learnt().shares())
    drawn = Drawing(own, [95.5] * len(own), what, 1.0, before)
    return Choosing(what, drawn, carve_begins(own, what.serve), must_be_done(own, what.serve), 8.0, 7.75)


def awake(plan: Plan, sleep: Sleep) -> bool:
    """Whether no line of the table that needs hands begins in the sleep."""
    return not any(sleep.asleep(row.at) for row in plan.rows if row.hands)


def test_odds_fall_as_the_start_gets_later() -> None:
    one = judged(sleep=Sleep(0, 0, LONDON))
    starts = one.starts()
    assert len(starts) > 40 and [s.on for s in starts] == sorted(s.on for s in starts)
    odds = [s.odds for s in starts]
    assert odds == sorted(odds, reverse=True) and odds[0] > 0.99 and odds[-1] < 0.05
    assert all(a.likely_hold > b.likely_hold and a.beyond >= b.beyond for a, b in itertools.pairwise(starts))


def test_the_start_has_the_odds_and_is_the_latest_that_leaves_the_cook_asleep() -> None:
    one = judged()
    chosen, latest = one.choose()
    assert latest is not None and chosen.odds >= 0.9 and latest.odds >= 0.9 and chosen.on <= latest.on
    assert not chosen.asks
    later = [s for s in one.starts() if s.on > chosen.on and s.odds >= 0.9]
    assert all(s.asks for s in later)
    none, same = judged(sleep=Sleep(0, 0, LONDON)).choose()
    assert none == same and none.on == latest.on  # with no sleep to keep it is just the latest


def test_the_supper_of_the_village_hall() -> None:
    plan = make()
    assert 3 <= plan.amounts.pieces <= 4 and plan.odds >= 0.9
    # 40 % of what was bought: trim and cooked yield of `trade`
    assert plan.amounts.carved / plan.amounts.bought == pytest.approx(0.40, abs=0.01)
    assert plan.amounts.portion == pytest.approx(180.0, abs=1.0)
    kinds = [row.kind for row in plan.rows]
    for kind in ("trim", "light", "on", "asleep", "wrap", "done", "hold", "carve", "serve"):
        assert kind in kinds, kind
    assert kinds.count("carve") == plan.amounts.pieces
    times_of = {kind: next(row.at for row in plan.rows if row.kind == kind) for kind in kinds}
    assert times_of["trim"] < times_of["light"] < times_of["on"] < times_of["wrap"] < times_of["carve"]
    assert [row.until for row in plan.rows if row.kind == "carve"][-1] == plan.serve == plan.rows[-1].at
    assert awake(plan, asked().sleep)
    assert 5 * HOUR <= plan.wrap - plan.on <= 9 * HOUR  # common practice: after 5-8 h; an hour more for the sleep
    assert sum(one.chosen for one in plan.others) == 1
    assert plan.fuel.need > plan.fuel.likely > 1.0 and plan.fuel.water > 0.5  # the upright has a pan
    assert [phase.name for phase in plan.phases] == ["open smoke", "wrapped", "finish by feel", "hold"]
    assert [piece.probe for piece in plan.pieces] == [1, 2, 3][: len(plan.pieces)]


@settings(max_examples=25, deadline=None)
@given(
    guests=st.integers(8, 60), hour=st.integers(0, 23), bed=st.integers(0, 23), length=st.integers(0, 9),
    oven=st.booleans(),
)  # fmt: skip
def test_the_sleep_is_kept_or_it_says_why_not(guests: int, hour: int, bed: int, length: int, oven: bool) -> None:
    sleep = Sleep(bed * 60, (bed + length) % 24 * 60, LONDON)
    what = asked(guests=guests, serve=at(28, f"{hour}:00"), sleep=sleep, oven=oven)
    _, own = amounts(what, Learnt().shares())
    drawn = Drawing(own, [95.5] * len(own), what, 1.0, before)
    one = Choosing(what, drawn, carve_begins(own, what.serve), must_be_done(own, what.serve), 8.0, 7.75)
    chosen, _ = one.choose()
    from tuyere.plan.timetable import rows

    table = rows(what, own, chosen, one, "box with towels")
    asleep = {row.kind for row in table if row.hands and sleep.asleep(row.at)}
    words = {"light": "lighting", "on": "lighting", "wrap": "the wrap", "done": "taking pieces out", "carve": "carving"}
    for kind in asleep:
        assert kind in words, f"a {kind} lies in the sleep"
        assert any(ask.startswith(words[kind]) for ask in chosen.asks), (kind, chosen.asks)
    assert table == sorted(table, key=lambda row: row.at)
    assert all(row.until == 0 or row.until >= row.at for row in table)


def test_a_night_with_a_change_of_clocks_has_its_own_hours() -> None:
    """In the night to 25 October 2026 the clocks of London go back: by the clock it is an hour longer."""
    now = at(22, "12:00", 10)
    week, none = at(15, "12:00", 10), Sleep(0, 0, LONDON)
    plans = [
        make(now=now, serve=at(25, "14:00", 10), guests=15, sleep=none),
        make(now=week, serve=at(18, "14:00", 10), guests=15, sleep=none),
    ]
    assert plans[0].last[1] - plans[0].on == plans[1].last[1] - plans[1].on
    latest = [plan.on for plan in plans]
    shown = [times.local(on, LONDON) for on in latest]
    assert (shown[0].hour * 60 + shown[0].minute - shown[1].hour * 60 - shown[1].minute) % 1440 == 60
    assert awake(make(now=now, serve=at(25, "14:00", 10), guests=15), asked().sleep)


def test_a_wrap_put_off_for_the_sleep_is_counted_in_the_finish() -> None:
    """Paper shortens the plateau (common practice): the later it goes on, the later a piece is done."""
    asleep, awake_all_night = judged(), judged(sleep=Sleep(0, 0, LONDON))
    on = at(27, "22:15")
    late, usual = asleep.start(on), awake_all_night.start(on)
    assert late.wrap > usual.wrap and late.last[1] > usual.last[1]
    own = Own("Alder", 5.5)
    marks = [usual_c(own, 128.0, 0.0, hours) for hours in (0.0, 2.0, 5.0, 7.0, 9.0, 30.0)]
    assert marks == sorted(marks) and 60.0 < marks[2] < 75.0  # 65-75 C: the plateau (common practice)


def test_too_late_for_the_odds_says_when_it_could_be() -> None:
    plan = make(now=at(28, "08:00"), serve=at(28, "18:00"))
    assert plan.odds < 0.9 and "No start gives 90%" in plan.words[0] and "Serving at" in plan.words[0]
    assert plan.light >= plan.made
    with pytest.raises(BadPlan, match="serve later"):
        make(now=at(28, "17:00"), serve=at(28, "18:00"))


def test_high_up_the_target_is_lower_and_it_says_why() -> None:
    """At 1500 m water boils at 94.9 C (computed, CoolProp): 95-97 C may never come."""
    plan = make(altitude=1500.0)
    assert all(piece.target < 94.0 for piece in plan.pieces) and plan.phases[1].end_value < 94.0
    assert any("may never come" in caution.text for caution in plan.cautions)
    assert not any("may never come" in caution.text for caution in make().cautions)


def test_rules_are_those_of_the_place() -> None:
    assert make(use="trade", region="uk").limit == 63.0
    assert make(use="trade", region="us").limit == 57.0
    home = make(intact=False)
    assert home.limit == 60.0 and any("needled" in caution.text for caution in home.cautions)
    assert all(caution.source for caution in home.cautions[:-2])  # all but air and fire name where they stand


def test_an_oven_holds_without_end_and_needs_no_hold_in_the_pit() -> None:
    plan = make(oven=True)
    assert plan.kitchen.hold == "low oven" and plan.hold_hours == 14.0
    assert "hold" not in [phase.name for phase in plan.phases]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"guests": None, "raw": -3.0}, "raw mass of -3"),
        ({"guests": 0}, "guests of 0"),
        ({"guests": None}, "how much meat"),
        ({"flat": 0.20}, "20 cm thick"),
        ({"pieces": 9}, "9 pieces"),
        ({"pieces": 1}, "at least 2 --pieces"),
        ({"guests": 300}, "plan two cooks"),
        ({"guests": 2}, "has at least 2.5 kg"),
        ({"serve": at(25, "11:00")}, "has passed"),
        ({"serve": at(28, "18:00", 2, year=2027)}, "days ahead"),
        ({"cut": "goose"}, "no cut"),
        ({"altitude": 9000.0}, "altitude of 9000"),
        ({"portion_g": float("nan")}, "portion of nan"),
        ({"odds": 1.0}, "odds of 1"),
        ({"fuel": -1.0}, "charcoal of -1"),
    ],
)
def test_bad_input_gets_one_sentence(changed: dict[str, object], said: str) -> None:
    with pytest.raises(BadPlan, match=said) as wrong:
        make(**changed)
    assert "\n" not in str(wrong.value) and str(wrong.value).endswith(".")


@settings(max_examples=50, deadline=None)
@given(st.integers(5, 70), st.sampled_from(["packer", "flat", "pork shoulder", "beef ribs", "chuck"]))
def test_pieces_are_enough_and_can_be_bought(guests: int, cut: str) -> None:
    what = asked(guests=guests, cut=cut)
    try:
        much, own = amounts(what, Learnt().shares())
    except BadPlan:
        return
    assert 1 <= len(own) <= 6 and sum(piece.mass for piece in own) == pytest.approx(much.on, rel=0.01)
    assert much.carved * 1000.0 >= guests * 180.0 * 0.98 and much.bought > much.on > much.carved


def test_pieces_of_ones_own_are_taken_as_they_are() -> None:
    own = (Own("Alder", 6.4, flat=0.05), Own("Bramble", 3.2))
    plan = make(own=own, guests=None)
    assert [(p.name, p.mass, p.flat) for p in plan.pieces] == [("Alder", 6.4, 0.05), ("Bramble", 3.2, None)]
    small = make(own=own[1:], guests=None)
    assert plan.last[1] - plan.on > small.last[1] - small.on + HOUR


def test_quantiles_lie_between_the_members() -> None:
    assert [quantile([1.0, 2.0, 3.0], share) for share in (0.0, 0.25, 0.5, 1.0)] == [1.0, 1.5, 2.0, 3.0]
    assert quantile([7.0], 0.9) == 7.0 and quantile([1.0, float("inf"), float("inf")], 1.0) == float("inf")


def test_a_piece_that_may_never_come_does_not_break_the_plan() -> None:
    def never(piece: object, pit_c: float, *, members: int = 200, **_: object) -> list[float]:
        return [float("inf")] * members

    plan = supper.make(asked(), Learnt(), never)
    assert plan.odds == 0.0 and "No start gives" in plan.words[0]
    assert plan.light - plan.made >= -MINUTE


def test_without_a_compiler_it_is_coarser_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "available", lambda: False)
    plan = make()
    assert plan.members == 24 and plan.odds >= 0.9
    assert "common practice" in plan.fuel.source and "numba" in plan.fuel.source
    assert plan.fuel.need > plan.fuel.likely > 1.0 and any("24 simulated" in line for line in page.page(plan))


@pytest.mark.parametrize("cooker", ["upright", "ceramic", "drum", "cabinet", "offset"])
def test_charcoal_by_rehearsal_is_about_what_the_trade_says(cooker: str) -> None:
    """0.2-0.5 kg/h of bare steel, 0.1-0.25 kg/h of ceramic: common practice, no source; half to double that range."""
    low, high = burning.REFERENCE[cooker]
    found = burning.burning(cooker, 12.0, [Meat(mass_kg=4.5)] * 4, 10.0)
    assert 0.5 * low * 12.0 < found.likely < 2.0 * high * 12.0
    cold = burning.burning(cooker, 12.0, [Meat(mass_kg=4.5)] * 4, -15.0)
    assert cold.likely > found.likely and cold.need > found.need


def test_the_forecast_itself_takes_what_the_plan_asks() -> None:
    """10-14 h for a packer wrapped in paper at 250-275 F: common practice, no source; wide, since nothing is known."""
    plan = supper.make(asked(guests=12), Learnt())
    hours = (plan.last[1] - plan.on) / HOUR
    assert 6.0 < hours < 16.0 and plan.last[0] < plan.last[1] < plan.last[2]
    assert plan.members == 200 and 0.85 <= plan.odds <= 1.0
