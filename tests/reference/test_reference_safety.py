"""Lethality, growth and the hot hold against the outside."""

import math

import pytest
from tuyere.meat import hold, regions, safety
from tuyere.meat import piece_slots as at
from tuyere.meat.cooking import lethal_minutes
from tuyere.meat.piece import PieceOfMeat, slabs
from tuyere.meat.water import WATER_HEAT

# USDA FSIS Appendix A (1999), a reprint: F, minutes for 6.5 and for 7 logs.
TABLE = [
    (130, 112, 121), (131, 89, 97), (132, 71, 77), (133, 56, 62), (134, 45, 47), (135, 36, 37), (136, 28, 32),
    (137, 23, 24), (138, 18, 19), (139, 15, 15), (140, 12, 12), (141, 9, 10), (142, 8, 8), (143, 6, 6), (144, 5, 5),
    (145, 4, 4), (146, 169 / 60, 182 / 60), (148, 107 / 60, 115 / 60), (150, 67 / 60, 72 / 60), (152, 43 / 60, 46 / 60),
    (154, 27 / 60, 29 / 60), (155, 22 / 60, 23 / 60), (157, 14 / 60, 15 / 60),
]  # fmt: skip


@pytest.mark.parametrize(("f", "six", "seven"), TABLE)
def test_lethality_is_the_table(f, six, seven):
    c = (f - 32) / 1.8
    assert safety.required_minutes(c) == pytest.approx(six)
    assert safety.required_minutes(c, 7.0) == pytest.approx(seven)
    assert lethal_minutes(c) == pytest.approx(six)  # as the kernel has it


def test_between_its_rows_the_table_is_straight_in_the_logarithm():
    middle = (130.5 - 32) / 1.8
    assert safety.required_minutes(middle) == pytest.approx(math.sqrt(112 * 89))
    assert lethal_minutes(middle) == pytest.approx(math.sqrt(112 * 89))


def test_the_log_linear_fit_lies_within_a_tenth():
    # z = 5.562 C and D(60 C) = 1.770 min fit the table from 130 to 157 F within 9.2 %, computed.
    for f, six, _ in TABLE:
        c = (f - 32) / 1.8
        assert 6.5 * 1.770 * 10 ** ((60.0 - c) / 5.562) == pytest.approx(six, rel=0.095)
        assert 6.5 * 1.770 * 10 ** ((60.0 - c) / 5.562) == pytest.approx(safety.required_minutes(c), rel=0.095)


def test_a_slow_ramp_is_enough_just_under_sixty():
    # 10 C/h from 50 C reaches 6.5 logs by 59.6 C, computed with the fit above; the table differs by its rounding.
    for end in (58.8, 60.4):
        ramp = [50.0 + i / 360.0 for i in range(int((end - 50.0) * 360.0))]
        assert (safety.times_over(ramp, 1.0) > 1.0) == (end > 60.0)


def test_nothing_counts_below_54_4():
    assert safety.times_over([54.3] * 100000, 60.0) == 0.0
    assert safety.required_minutes(54.3) == math.inf
    assert safety.times_over([70.0], 1.0) == math.inf
    with pytest.raises(ValueError, match=r"has 6.5 and 7 logs"):
        safety.required_minutes(60.0, 5.0)


NO_NUMBERS = (math.nan, math.inf, -math.inf)


@pytest.mark.parametrize("bad", NO_NUMBERS)
def test_what_is_no_temperature_is_refused_with_what_and_where(bad):
    """required_minutes(nan) passed every row of the table and gave its last one, 0.23 min."""
    with pytest.raises(ValueError, match=f"required_minutes: {bad} is no temperature in C; leave out what was not"):
        safety.required_minutes(bad)
    for count in (safety.times_over, safety.growth_minutes, safety.come_up_hours):
        with pytest.raises(ValueError, match=rf"{bad} is no temperature"):
            count([20.0, bad, 60.0], 60.0)
    with pytest.raises(ValueError, match="left_out_hours"):
        safety.left_out_hours(bad)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0])
def test_what_is_no_span_of_time_is_refused(bad):
    for count in (safety.times_over, safety.growth_minutes, safety.come_up_hours):
        with pytest.raises(ValueError, match=rf"{count.__name__}: {bad} s cannot lie between two readings"):
            count([60.0], bad)


def test_food_may_be_left_out_for_two_hours_and_one_in_hot_air():
    # USDA, advice to consumers, as several pages quote it: 2 h, and 1 h in air above 90 F.
    assert safety.left_out_hours((90 - 32) / 1.8 - 0.1) == 2.0
    assert safety.left_out_hours((90 - 32) / 1.8 + 0.1) == 1.0


def test_nothing_of_beef_grows_at_the_temperatures_that_count_as_killing():
    """Beef held warm after inoculation: staphylococci fell by 99 % within 6 h at 48.8 C, salmonellae at 51.1 C,
    Clostridium perfringens at 53.3 C (Brown and Twedt, Applied Microbiology 24, 1972; its abstract was read, authors
    and issue are from memory). Both limits that end growth here lie above."""
    assert min(safety.CREDIT_C, safety.COME_UP_C[1], safety.GROWTH_C[1]) > 53.3
    holds = [regions.rules(use, region).hold for use in regions.USES for region in regions.REGIONS]
    assert all(rule.c is not None and rule.c > 53.3 for rule in holds)


# Lumped cool box, 20 C around, 3.3 kJ/kgK of 4 kg and 3 kJ/K of box: T after 4 h, computed.
BOX = [
    (75, {0.2: 66.0, 0.3: 62.1, 0.4: 58.5, 0.5: 55.3, 0.6: 52.3, 0.8: 47.0, 1.0: 42.6}),
    (85, {0.2: 74.4, 0.3: 69.8, 0.4: 65.6, 0.5: 61.7, 0.6: 58.1, 0.8: 51.9, 1.0: 46.7}),
    (93, {0.2: 81.1, 0.3: 75.9, 0.4: 71.2, 0.5: 66.8, 0.6: 62.8, 0.8: 55.9, 1.0: 50.0}),
]


@pytest.mark.parametrize(("start", "ends"), BOX)
def test_a_cool_box_in_the_lumped_limit(start, ends):
    m, q = hold.cooked([PieceOfMeat(cut="flat", mass_kg=4.0)], start, start)
    (o, r), n = slabs(q)[0], at.N
    for i in range(n - 1):  # as good as one temperature
        q[r + at.DRY + n + i] *= 1e4
        q[r + at.DRY + 2 * n + i] = 0.0
    q[r + at.JUICE_S] = q[r + at.FOIL_R] = 1e15
    q[r + at.GAP_H] = 1e6
    heat = sum(q[r + at.DRY + i] * q[r + at.DRY_HEAT] + m[o + at.T0 + n + i] * WATER_HEAT for i in range(n))
    q[r + at.AREA] = 4.0 * 3300.0 / heat
    for ua in (0.2, 0.6, 1.0):
        box = hold.place("box", ua=ua, wall_j=3000.0, inside=1500.0)
        found = hold.hold(m, q, box, 4.0, wall_c=start, step_s=6.0)
        assert found.coldest[-1] == pytest.approx(ends[ua], abs=0.12)
        assert found.middle[-1] == pytest.approx(found.coldest[-1], abs=0.3)


def test_towels_slow_a_box_as_their_resistance_says():
    # 5 cm of towels (0.045 W/mK) in front of a 0.6 W/K box over 0.30 m2: 0.6 becomes some 0.19-0.21 W/K and 4 kg from
    # 75 C stand near 65.8 C after 4 h, lumped, computed; here with the piece's own surface and wrap.
    m, q = hold.cooked([PieceOfMeat(cut="flat", mass_kg=4.0)], 75.0, 75.0)
    plain = hold.hold(m, q, hold.place("box"), 4.0, wall_c=75.0)
    towels = hold.hold(m, q, hold.place("box with towels", wall_j=3000.0), 4.0, wall_c=75.0)
    assert 61.0 < towels.coldest[-1] < 68.0
    assert plain.coldest[-1] < towels.coldest[-1] - 8.0
