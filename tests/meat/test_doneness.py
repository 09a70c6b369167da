"""Done or not: feel before temperature, temperature before the fit; and where a target may never come."""

import re

import pytest
from rendered import words
from tuyere.meat import doneness, safety
from tuyere.meat.cooking import collagen_rate
from tuyere.meat.water import pressure_at


def test_the_target_is_203_to_206_f():
    # Common practice, no source.
    assert [round(c * 1.8 + 32) for c in doneness.TARGETS_C] == [203, 207]
    assert 203.0 <= doneness.TARGET_C * 1.8 + 32 <= 206.0


def test_collagen_is_one_reaction_of_first_order():
    half = doneness.hours_to(0.5, 85.0)
    assert doneness.dissolved([85.0] * round(half * 60.0), 60.0) == pytest.approx(0.5, abs=0.002)
    assert doneness.dissolved([85.0] * 600, 60.0) == pytest.approx(doneness.dissolved([85.0] * 36000, 1.0))
    assert doneness.hours_to(0.8, 85.0, 0.8) == 0.0
    assert doneness.hours_to(0.8, 90.0) < 0.5 * doneness.hours_to(0.8, 85.0)
    assert doneness.dissolved([53.9] * 10000, 60.0) == 0.0
    assert collagen_rate(77.0) == doneness.rate(77.0)  # the kernel's


def test_a_target_well_below_boiling_comes():
    found = doneness.ceiling(96.0)
    assert not found.may_never_come and found.choices == ()
    assert found.boils_c == pytest.approx(99.97, abs=0.02)


def test_at_five_thousand_feet_96_may_never_come_and_there_are_choices():
    # 94.90 C: standard atmosphere and CoolProp, computed.
    found = doneness.ceiling(96.0, pressure_at(5000 * 0.3048))
    assert found.may_never_come
    assert "94.9 C" in words(found.words) and "may never come" in words(found.words)
    lower, hold, feel = (words(choice) for choice in found.choices)
    assert "92 C" in lower and "90 C" in hold and "feel" in feel
    took = re.search(r"about (\d+) h (\d+) min", hold)
    assert took is not None
    hours = int(took[1]) + int(took[2]) / 60.0
    assert hours == pytest.approx(doneness.hours_to(doneness.FEEL, 90.0), abs=0.06)
    assert not doneness.ceiling(93.0, pressure_at(5000 * 0.3048)).may_never_come
    assert doneness.ceiling(94.0, pressure_at(5000 * 0.3048)).may_never_come


def test_a_target_that_is_none_is_refused():
    with pytest.raises(ValueError, match="203 C is no target"):
        doneness.ceiling(203.0)


@pytest.mark.parametrize(
    ("probe", "share", "tender", "done", "says"),
    [
        (91.0, 0.5, True, True, "whatever the probe"),
        (97.0, 0.99, False, False, "feel again"),
        (88.0, None, False, False, "leave it on"),
        (80.0, 0.3, None, False, "16 C below"),
        (96.5, 0.6, None, False, "60 % of the collagen"),
        (94.0, 0.9, None, False, "feel it now"),
        (96.5, 0.9, None, True, "if it feels tender"),
        (96.5, None, None, True, "if it feels tender"),
    ],
)
def test_feel_before_temperature_before_the_fit(probe, share, tender, done, says):
    found = doneness.judge(probe, share, tender)
    assert found.done is done
    assert says in words(found.words)


def test_minutes_in_the_danger_zone_and_the_come_up():
    trace = [4.0 + i for i in range(100)]  # 1 C a minute
    assert safety.growth_minutes(trace, 60.0) == 55.0
    assert safety.come_up_hours(trace, 60.0) == pytest.approx(44.0 / 60.0)
    assert safety.come_up_hours(trace[:30], 60.0) is None


def test_lethality_adds_up():
    assert safety.times_over([60.0] * 12, 60.0) == pytest.approx(1.0)
    assert safety.times_over([60.0] * 6 + [(145 - 32) / 1.8] * 2, 60.0) == pytest.approx(1.0)
