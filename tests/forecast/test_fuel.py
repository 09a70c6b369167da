"""The fuel's end, judged on rehearsed pits whose cooker, weather and charcoal the forecaster is not told."""

from __future__ import annotations

import statistics

import fuel_kit as kit
import pytest
from rendered import words
from tuyere.forecast import fuel
from tuyere.forecast.exchange import Columns, Known, Note, Range
from tuyere.sim import compiled

HOUR = 3_600_000
needs_compiler = pytest.mark.skipif(not compiled.available(), reason="whole nights need numba")
NIGHTS = [(kind, seed) for kind in kit.FILLS for seed in range(21, 25)]


def hours(found: Range | None) -> tuple[float, float, float]:
    assert found is not None
    early, likely, late = ((at - kit.START) / HOUR for at in (found.early, found.likely, found.late))
    return early, likely, late


@needs_compiler
def test_the_range_holds_the_end_of_rehearsed_nights() -> None:
    """20 nights of five cookers at 3 h: the 80 % range holds 15 or more, the likely end is right to a quarter."""
    inside, off, left_off = 0, [], []
    for kind, seed in NIGHTS:
        _, left, end = kit.night(kind, seed)
        assert end is not None
        kg, found, said = fuel.ahead(kit.known(kind, seed, 3.0))
        early, likely, late = hours(found)
        assert (kg is not None and "kg an hour" in words(said)) or "g an hour" in words(said)
        inside += early <= end <= late
        off.append((likely - 3.0) / (end - 3.0) - 1.0)
        left_off.append(kg - left[180])
    assert inside >= 15
    assert statistics.median(map(abs, off)) < 0.28 and abs(statistics.median(off)) < 0.12
    assert statistics.median(map(abs, left_off)) < 0.2


@needs_compiler
def test_shortly_before_the_end_it_is_near() -> None:
    inside, missed = 0, list[float]()
    for kind, seed in NIGHTS:
        end = kit.night(kind, seed)[2]
        assert end is not None
        early, likely, late = hours(fuel.ahead(kit.known(kind, seed, end - 1.5))[1])
        inside += early <= end <= late
        missed.append(abs(likely - end))
    assert inside >= 14 and statistics.median(missed) < 1.5


@needs_compiler
def test_a_fire_that_needs_more_air_is_near_its_end_and_one_that_is_out_has_none() -> None:
    narrower = near = signs = 0
    for kind, seed in NIGHTS:
        end = kit.night(kind, seed)[2]
        assert end is not None
        found = kit.known(kind, seed, end - 0.4)
        _, range_, said = fuel.ahead(found)
        early, _, late = hours(range_)
        if "near its end" in words(said):
            signs += 1
            narrower += late - early < 3.0
            near += early <= end <= late
        kg, none, said = fuel.ahead(kit.known(kind, seed, end + 3.0))
        assert (kg, none) == (None, None) and "lost its band" in words(said)
    assert signs >= 8 and narrower == signs and near >= 0.75 * signs


@needs_compiler
def test_a_refill_and_a_fuller_pit_last_longer_and_an_untold_fill_is_a_wide_guess() -> None:
    told = kit.known("drum", 21, 3.0)
    _, plain, _ = fuel.ahead(told)
    told.notes = [Note(told.now - HOUR, "fuel_added", 1.0, "lit")]
    kg, more, _ = fuel.ahead(told)
    assert hours(more)[1] > hours(plain)[1] + 1.5 and kg is not None
    told.notes = [Note(told.now - HOUR, "fuel_added")]
    _, unweighed, _ = fuel.ahead(told)
    assert hours(unweighed)[2] - hours(unweighed)[0] > hours(more)[2] - hours(more)[0]
    told.notes, told.fuel = [], None
    guessed = fuel.ahead(told)
    assert "wide guess" in words(guessed[2]) and guessed[0] is not None and guessed[0] > 1.5 * kit.FILLS["drum"]
    told.cooker, told.fuel = "", kit.FILLS["drum"]
    assert "Naming the kind of cooker" in words(fuel.ahead(told)[2])


@needs_compiler
def test_cold_wind_or_none_a_harder_blown_pit_ends_sooner() -> None:
    plain = kit.known("drum", 22, 3.0)
    blown = kit.known("drum", 22, 3.0)
    blown.columns.fan = [min(1.0, 1.6 * fan + 0.1) for fan in blown.columns.fan]
    cold = kit.known("drum", 22, 3.0)
    cold.columns.ambient = [-10.0 for _ in cold.columns.ambient]
    likely = [hours(fuel.ahead(one)[1])[1] for one in (plain, blown, cold)]
    assert likely[1] < likely[0] and likely[2] < likely[0]


def test_nothing_is_said_before_there_are_readings() -> None:
    assert fuel.ahead(Known(now=kit.START)) == (None, None, "The fuel is not judged yet: it takes 20 min of readings.")


def test_what_the_air_of_a_kilowatt_burns() -> None:
    """0.332 g/s of air make 1 kW of lump (computed from C .80 H .03 O .08 and its LHV, as in `tuyere.sim`)."""
    lump = next(one for one in fuel.members("drum") if abs(one.p[fuel.at.STOICH] - 9.893) < 1e-9)
    per_air = lump.p[fuel.at.HEAT_PER_AIR]
    assert 1000.0 / per_air == pytest.approx(0.332e-3, rel=0.002)
    assert 27e6 < lump.heat < 33e6  # 29.8 MJ/kg with its spread


def test_the_loss_of_a_plain_steel_drum_is_that_of_the_budget() -> None:
    """Bare steel at 121 C in 20 C loses 551-819 W/m2 (computed: inside 12, outside 10-25 W/m2K)."""
    found = []
    for one in fuel.members("drum"):
        watts = fuel.loss_w(one, 121.0, 20.0, 0.0, 0.0, 0.0) / one.hidden
        found.append(watts / one.p[fuel.at.WALL_AREA])
    assert 551.0 < statistics.median(found) < 819.0


def test_a_pit_as_warm_as_the_air_loses_only_what_the_meat_takes() -> None:
    for one in fuel.members("upright")[:5]:
        assert fuel.loss_w(one, 20.0, 20.0, 0.01, 0.0, 0.0) == pytest.approx(0.0, abs=1e-6)
        assert fuel.loss_w(one, 20.0, 20.0, 0.01, 0.0, 300.0) == pytest.approx(300.0 * one.hidden)
        assert fuel.loss_w(one, 20.0, 20.0, 0.0, 0.0, -300.0) == 0.0  # hot meat under a cold pit burns no fuel


def test_minutes_without_a_record_are_taken_as_those_before_them() -> None:
    ten = fuel.BIN // kit.MINUTE
    at = [kit.START + i * kit.MINUTE for i in (*range(1, ten + 1), 3 * ten, 3 * ten + 1)]
    count = len(at)
    pits: list[float | None] = [120.0] * ten + [None, 130.0]
    columns = Columns(at, pits, [0.5] * count, [121.1] * count, [135.0] * count, [None] * (count - 1) + [10.0], [])
    found = fuel.bins(Known(now=at[-1] + 2 * kit.MINUTE, columns=columns))
    hour = fuel.BIN / HOUR
    assert [(one.pit, one.outside) for one in found] == [(120.0, None), (120.0, None), (130.0, 10.0)]
    assert [one.hours for one in found] == pytest.approx([hour, 2.0 * hour, 3.0 / 60.0])


def test_quantiles_go_by_weight() -> None:
    rows = [(1.0, 5.0), (2.0, 1.0), (1.0, 9.0)]
    assert [fuel.quantile(rows, odds) for odds in (0.1, 0.5, 0.6, 0.9)] == [1.0, 1.0, 5.0, 9.0]


def steady(late: float = 0.2, hours: float = 5.0, gone: tuple[int, ...] = (), **changes: object) -> Known:
    """A pit held for hours with a fifth of the fan, and with `late` of it in the last 20 min; `gone`: minutes before
    the end of which nothing is known."""
    minutes = round(hours * 60)
    ago = [i for i in range(minutes - 1, -1, -1) if i not in gone]
    count = len(ago)
    columns = Columns(
        [kit.START + (minutes - i) * kit.MINUTE for i in ago], [128.0] * count,
        [late if i <= 20 else 0.2 for i in ago], [121.1] * count, [135.0] * count, [None] * count, [[None] * count] * 3,
    )  # fmt: skip
    return Known(now=kit.START + minutes * kit.MINUTE, columns=columns, **changes)  # type: ignore[arg-type]


def test_the_sentence_says_what_it_goes_by() -> None:
    told, guessed, fading = (
        words(fuel.ahead(known)[2])
        for known in (steady(fuel=6.0, cooker="upright"), steady(), steady(0.5, fuel=6.0, cooker="upright"))
    )
    near = "The fire needs clearly more air than it did, so it is near its end."
    assert "an hour, from the mass that was filled in." in told and "Naming the kind" not in told and near not in told
    assert "a wide guess: the fill is not known. Naming the kind of cooker narrows the range." in guessed
    assert near in fading


@pytest.mark.parametrize(
    ("late", "gone", "fades"),
    [
        (0.351, (), True),
        (0.349, (), False),
        (0.351, tuple(range(10)), True),  # 11 left of the last 20 min
        (0.351, tuple(range(11)), True),
        (0.351, tuple(range(12)), False),
        (0.351, tuple(range(46, 240)), True),  # 60 left of the hours before
        (0.351, tuple(range(46, 241)), False),
    ],
)
def test_a_fire_fades_by_enough_more_fan_and_enough_readings(late: float, gone: tuple[int, ...], fades: bool) -> None:
    assert fuel._fades(steady(late, gone=gone)) is fades


@pytest.mark.parametrize(("below", "count", "out"), [(30.1, 10, True), (30.0, 10, False), (30.1, 9, False)])
def test_a_pit_is_out_far_below_its_band_for_ten_readings(below: float, count: int, out: bool) -> None:
    known = steady()
    ats = [known.now - 60 * kit.MINUTE, *(known.now - i * kit.MINUTE for i in range(count))]
    pits: list[float | None] = [128.0, *[known.low - below] * count]
    assert fuel._out(Known(now=known.now, columns=Columns(ats, pits))) is out


def test_a_colder_night_burns_more_and_one_that_nobody_reads_counts_as_a_usual_one() -> None:
    for one in fuel.members("drum")[:4]:
        usual, unread, cold = (
            fuel._burned(one, [fuel.Bin(1.0, 128.0, outside, 0.2)] * 6, 100.0)
            for outside in (one.outside, None, one.outside - 20.0)
        )
        assert unread == usual and cold[0] > usual[0] and cold[1] > usual[1] > 0.0
