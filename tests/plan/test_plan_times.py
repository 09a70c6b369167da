"""Times as people give them, nights in which the clocks change, and the cook's sleep."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_kit import LONDON, WEDNESDAY, at
from tuyere.plan import times
from tuyere.plan.times import BadPlan, Sleep, moment
from tuyere.plan.timetable_lines import wrapped

NEW_YORK = ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("Sat 18:00", at(28, "18:00")),
        ("saturday 6 pm", at(28, "18:00")),
        ("Sat, 18.00", at(28, "18:00")),
        ("wed 12:30", at(25, "12:30")),  # later today
        ("Wed 11:00", at(2, "11:00", 12)),  # has passed today: in a week
        ("18:00", at(25, "18:00")),
        ("7", at(26, "07:00")),
        ("12 am", at(26, "00:00")),
        ("tomorrow 13:00", at(26, "13:00")),
        ("tonight 21:00", at(25, "21:00")),
        ("2026-11-28 18:00", at(28, "18:00")),
        ("2026-11-28T18:00+02:00", at(28, "16:00")),
    ],
)
def test_a_time_is_read_as_meant(text: str, when: int) -> None:
    assert moment(text, WEDNESDAY, LONDON) == when


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2026-11-20 18:00", "has passed"),
        ("today 11:00", "has passed"),
        ("Sat", "no time of day"),
        ("Sat 25:00", "no time of day"),
        ("Sat 13 pm", "no time of day"),
        ("2026-11-28", "no time of day"),
        ("2026-13-28 18:00", "cannot be read"),
        ("when it is done", "cannot be read"),
        ("0001-01-01 00:00", "far away|has passed"),
        ("", "cannot be read"),
    ],
)
def test_what_is_no_time_is_answered_with_a_sentence(text: str, said: str) -> None:
    with pytest.raises(BadPlan, match=said) as wrong:
        moment(text, WEDNESDAY, LONDON)
    assert "\n" not in str(wrong.value) and str(wrong.value).endswith(".")


@given(st.text(max_size=30))
def test_any_text_is_a_time_to_come_or_a_sentence(text: str) -> None:
    try:
        found = moment(text, WEDNESDAY, LONDON)
    except BadPlan as wrong:
        assert str(wrong)
    else:
        assert found > WEDNESDAY


@given(st.integers(min_value=1, max_value=365 * 24 * 60), st.sampled_from([LONDON, NEW_YORK, ZoneInfo("Asia/Tokyo")]))
def test_every_local_minute_reads_back(minutes: int, zone: ZoneInfo) -> None:
    """Of a whole year, both changes of the clocks in it; the hour that comes twice is its first."""
    there = WEDNESDAY + minutes * times.MINUTE
    back = moment(f"{times.local(there, zone):%Y-%m-%d %H:%M}", WEDNESDAY - times.DAY, zone)
    assert back in (there, there - times.HOUR)
    assert times.local(back, zone) == times.local(there, zone)


def test_the_hour_that_the_clocks_skip_does_not_exist() -> None:
    spring = at(27, "12:00", 3, year=2027)
    with pytest.raises(BadPlan, match="clocks skip"):
        moment("Sun 01:30", spring, LONDON)
    # a night with a change has as many hours as it has: 23 in spring, 25 in autumn
    assert moment("Sun 12:00", spring, LONDON) - spring == 23 * times.HOUR
    autumn = at(30, "12:00", 10, year=2027)
    assert moment("Sun 12:00", autumn, LONDON) - autumn == 25 * times.HOUR


def test_sleep_is_read_and_kept() -> None:
    sleep = Sleep.read("23:00-06:30", LONDON)
    assert sleep.words() == "23:00-06:30"
    assert sleep.asleep(at(26, "23:00")) and sleep.asleep(at(27, "06:29")) and not sleep.asleep(at(27, "06:30"))
    assert sleep.wakes(at(26, "23:10")) == at(27, "06:30")
    assert sleep.before(at(27, "03:00"), 90 * times.MINUTE) == at(26, "21:25")  # to 22:55, on the 5 minutes looked at
    none = Sleep.read("none", LONDON)
    assert not any(none.asleep(at(26, f"{hour}:00")) for hour in range(24)) and none.words() == "none"
    assert Sleep.read("11 pm - 6 am").words() == "23:00-06:00"


@pytest.mark.parametrize(
    "text", ["23:00", "23:00-23:00", "08:00-23:30", "22:00-46:00", "x-y", "-", "23:00-06:00-07:00"]
)
def test_a_sleep_that_cannot_be_is_answered_with_a_sentence(text: str) -> None:
    with pytest.raises(BadPlan) as wrong:
        Sleep.read(text)
    assert "none" in str(wrong.value) or "time of day" in str(wrong.value)


@given(st.integers(0, 1439), st.integers(0, 14 * 60 - 1), st.integers(0, 3 * 1440), st.integers(5, 180))
def test_what_is_moved_before_the_sleep_ends_before_it(begin: int, length: int, minute: int, need: int) -> None:
    sleep = Sleep(begin, (begin + length) % 1440, LONDON)
    end = WEDNESDAY + minute * times.MINUTE
    found = sleep.before(end, need * times.MINUTE)
    assert found + need * times.MINUTE <= end
    assert sleep.free(found, found + need * times.MINUTE)
    woken = sleep.wakes(end)
    assert not sleep.asleep(woken) and woken - end <= 14 * times.HOUR
    assert times.local(end, LONDON) + timedelta(days=1) > times.local(woken, LONDON)


def test_a_number_keeps_its_percent_sign_wherever_a_line_ends() -> None:
    for before in range(60, 82):
        lines = wrapped("x" * before + " odds of 97 % at least", 80)
        assert not any(line.lstrip().startswith("%") for line in lines), before
        assert " ".join(lines).endswith("odds of 97 % at least")
