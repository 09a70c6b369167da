"""Openings told and felt, recovery, fading, the first arrival."""

from cases.kit import Pit
from hearth.core import decide, drive, fields


def test_told_opening_rests_the_fan_and_ends_when_the_lid_is_shut():
    pit = Pit()
    pit.hold(126.0)
    owed = pit.memory.owed
    assert pit.order(fields.ORDER_OPENED) == fields.ACCEPTED
    out = pit.run(126.0, 50, per_cycle=-1.0)
    assert out.fan == 0 and out.state == fields.OPENED and out.reason == fields.OPENED_TOLD
    assert pit.memory.owed == owed
    out = pit.run(77.0, 8, per_cycle=1.5)
    assert out.state == fields.HOLDING and out.reason == fields.RECOVERING


def test_untold_opening_is_felt():
    pit = Pit()
    pit.hold(126.0)
    out = pit.run(126.0, 15, per_cycle=-0.8)
    assert out.state == fields.OPENED and out.reason == fields.OPENED_FELT and out.fan == 0
    assert pit.memory.openings == 1


def test_a_fire_going_out_is_not_an_opening():
    pit = Pit()
    pit.hold(128.0)
    pit.run(128.0, 300, per_cycle=-0.1)  # 3 C/min
    assert pit.memory.openings == 0


def test_an_opening_ends_at_the_latest_after_its_time():
    pit = Pit()
    pit.hold(126.0)
    pit.order(fields.ORDER_OPENED, 60)
    assert pit.run(126.0, 28).state == fields.OPENED
    assert pit.run(126.0, 2).state == fields.HOLDING


def test_no_surge_after_an_opening():
    pit = Pit()
    pit.hold(126.0, 900)
    owed = pit.memory.owed // 1000
    pit.order(fields.ORDER_OPENED)
    pit.run(126.0, 40, per_cycle=-1.2)
    out = pit.run(78.0, 20, per_cycle=1.0)
    assert out.reason == fields.RECOVERING and out.fan <= owed + decide.SURGE


def test_opened_is_refused_when_nothing_is_held():
    assert Pit().order(fields.ORDER_OPENED) == fields.NOT_RUNNING


def test_fading_is_said_before_anything_is_done():
    pit = Pit(fade_after=120)
    pit.hold(126.0)
    pit.run(126.0, 400, per_cycle=-0.03)
    out = pit.run(114.0, 90, per_cycle=-0.01)
    assert out.state == fields.FADING and out.reason == fields.FIRE_FADING


def test_a_climb_that_rises_is_not_fading():
    pit = Pit(fade_after=120)
    pit.order(fields.ORDER_START, celsius=20)
    assert pit.run(20, 1200, per_cycle=0.05).state == fields.CLIMBING


def test_arrival_in_the_band():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=110)
    assert pit.out.state == fields.CLIMBING
    pit.run(110, 260, per_cycle=0.05)
    assert pit.run(123.0, 60).state == fields.HOLDING


class Fan:
    """A fan's memory of itself."""

    def __init__(self, slowest=1500, breakaway=2500):
        self.pit = Pit(slowest=slowest, breakaway=breakaway)

    def give(self, demand, cycles):
        return [drive.duty(self.pit.settings, self.pit.memory, demand) for _ in range(cycles)]


def test_a_fan_starts_with_a_push_and_then_does_as_told():
    fan = Fan()
    assert fan.give(3000, 3) == [3000, 3000, 3000]
    fan = Fan()
    given = fan.give(1600, 20)
    assert max(given) == 2500 and given[-1] == 1600 and 0 in given[:2]


def test_below_its_slowest_a_fan_is_pulsed_to_the_same_mean():
    fan = Fan()
    given = fan.give(400, 300)
    assert set(given) == {0, 2500}
    assert abs(sum(given) / 300 - 400) <= 10


def test_no_demand_forgets_what_was_owed_to_the_fan():
    fan = Fan()
    fan.give(400, 4)
    assert fan.give(0, 1) == [0]
    assert fan.give(400, 5) == [0] * 5
