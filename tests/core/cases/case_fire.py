"""Openings told and felt, recovery, fading, the first arrival."""

from cases.kit import Pit
from hearth.core import decide, drive, fading, fields, need, openings


def test_told_opening_does_not_chase_the_fall_and_ends_when_the_lid_is_shut():
    pit = Pit()
    pit.hold(126.0)
    owed = pit.memory.owed
    assert pit.order(fields.ORDER_OPENED) == fields.ACCEPTED
    out = pit.run(126.0, 50, per_cycle=-1.0)
    assert (
        out.fan == max(owed, pit.memory.lately) // 1000
        and out.state == fields.OPENED
        and out.reason == fields.OPENED_TOLD
    )
    assert pit.memory.owed == owed  # the fall teaches nothing
    out = pit.run(77.0, 8, per_cycle=1.5)
    assert out.state == fields.HOLDING and out.reason == fields.RECOVERING


def test_untold_opening_is_felt():
    pit = Pit()
    pit.hold(126.0)
    out = pit.run(126.0, 15, per_cycle=-0.8)
    assert out.state == fields.OPENED and out.reason == fields.OPENED_FELT
    assert out.fan == max(pit.memory.owed, pit.memory.lately) // 1000
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


def test_a_pit_that_does_not_come_back_gets_more_and_more_fan():
    pit = Pit()
    pit.hold(131.0, 900)
    base = max(pit.memory.owed, pit.memory.lately) // 1000
    assert base + decide.SURGE + 50 * decide.SURGE_GROWS < fields.FULL
    pit.order(fields.ORDER_OPENED)
    pit.run(131.0, 30, per_cycle=-1.2)
    pit.run(95.0, 4, per_cycle=1.0)  # shut; then cold meat takes all that the fire gives
    assert pit.memory.open_left == 0
    soon = pit.run(99.0, decide.PATIENCE - 5).fan
    assert soon == base + decide.SURGE
    assert pit.run(99.0, 25).fan == soon + 20 * decide.SURGE_GROWS


def test_opened_is_refused_when_nothing_is_held():
    assert Pit().order(fields.ORDER_OPENED) == fields.NOT_RUNNING


def test_the_fan_can_be_stopped_while_the_lid_is_open():
    pit = Pit(open_fan=0)
    pit.hold(126.0)
    pit.order(fields.ORDER_OPENED)
    assert pit.run(126.0, 20, per_cycle=-1.0).fan == 0


def test_a_deep_fall_without_a_rise_is_never_over_by_time():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 90, per_cycle=-1.0)  # the probe has come off the grate: 37 C, and there it creeps
    out = pit.run(37.0, 140, per_cycle=0.02)
    assert out.state == fields.OPENED and out.reason == fields.STILL_OPEN and out.fan == 0
    out = pit.run(39.8, 950)
    assert out.trip == fields.TRIP_FELL and out.reason == fields.TRIPPED_FELL and out.state == fields.TRIPPED


def test_after_a_shallow_fall_without_a_rise_the_fan_does_no_more_than_it_did_and_then_trips():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 20, per_cycle=-1.0)  # the meat goes on
    pit.run(106.0, 20, per_cycle=1.0)
    pit.run(126.0, openings.LOADED)
    pit.run(126.0, 30, per_cycle=-1.0)  # the probe lies beside the water pan: 96 C, and there it creeps
    did = max(pit.memory.owed, pit.memory.lately) // 1000
    out = pit.run(96.0, 300, per_cycle=0.003)
    assert out.state == fields.OPENED and out.reason == fields.STILL_OPEN and 0 < out.fan <= did
    out = pit.run(96.9, 850)
    assert out.trip == fields.TRIP_FELL and out.fan == 0


def test_a_gust_is_no_lid_that_stays_open():
    for fall, creeps in ((20, 0.0), (40, -0.08)):  # it takes little, or it goes on falling
        pit = Pit()
        pit.hold(126.0)
        pit.run(126.0, 20, per_cycle=-1.0)
        pit.run(106.0, 20, per_cycle=1.0)
        pit.run(126.0, openings.LOADED)
        pit.run(126.0, fall, per_cycle=-1.0)
        out = pit.run(126.0 - fall, 160, per_cycle=creeps)
        assert pit.memory.openings == 2 and out.state == fields.HOLDING and pit.memory.lid_since == fields.LID


def test_who_looks_in_before_the_meat_goes_on_is_not_held_to_the_stricter_rule():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 20, per_cycle=-1.0)  # only a look
    pit.run(106.0, 20, per_cycle=1.0)
    pit.run(126.0, 200)
    pit.run(126.0, 20, per_cycle=-1.0)  # now the meat goes on, and holds the pit down
    pit.run(106.0, 4, per_cycle=0.5)
    out = pit.run(107.5, 300)
    assert pit.memory.openings == 2 and pit.memory.open_left == 0 and out.reason != fields.STILL_OPEN


def test_cold_meat_may_hold_a_pit_down_after_the_first_opening():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 20, per_cycle=-1.0)
    out = pit.run(106.0, 300)
    assert out.state == fields.HOLDING and out.fan > max(pit.memory.owed, pit.memory.lately) // 1000


def test_a_pit_that_stands_in_its_band_after_a_small_fall_is_no_fallen_probe():
    pit = Pit()
    pit.hold(130.0)
    pit.run(130.0, 20, per_cycle=-1.0)
    pit.run(110.0, 20, per_cycle=1.0)
    pit.run(130.0, openings.LOADED)
    pit.run(130.0, 10, per_cycle=-0.7)
    out = pit.run(123.5, 1300)
    assert pit.memory.openings == 2 and pit.memory.open_left == 0 and out.trip == fields.NO_TRIP


def test_under_a_lower_ceiling_a_dead_fire_is_one_too():
    pit = Pit(ceiling=6000)
    pit.hold(126.0)
    pit.run(126.0, 500, per_cycle=-0.08)
    out = pit.run(86.0, 900)
    assert out.trip == fields.TRIP_FIRE and out.fan == 0


def test_a_lid_that_stood_open_long_and_is_shut_again_is_forgiven():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 90, per_cycle=-1.0)
    assert pit.run(37.0, 200).reason == fields.STILL_OPEN
    assert pit.run(37.0, 10, per_cycle=1.0).state == fields.HOLDING


def test_a_high_fan_that_lifts_nothing_is_fading_and_then_no_fire():
    pit = Pit(fade_after=240)
    pit.hold(126.0)
    pit.run(126.0, 400, per_cycle=-0.03)
    out = pit.run(114.0, 130, per_cycle=-0.01)
    assert out.state == fields.FADING and out.reason == fields.FIRE_FADING and out.fan == fields.FULL
    pit.run(112.7, 500, per_cycle=-0.03)
    out = pit.run(97.7, 600)
    assert out.trip == fields.TRIP_FIRE and out.reason == fields.TRIPPED_FIRE and out.fan == 0


def test_more_air_than_usual_is_fading_while_still_in_the_band():
    pit = Pit()
    pit.hold(133.0, 5400)  # three hours: what is usual is known
    out = pit.run(133.0, 60)
    assert out.state == fields.HOLDING
    out = pit.run(127.5, fading.MORE_FOR)
    assert out.state == fields.HOLDING  # a gust
    out = pit.run(127.5, 200)
    assert out.state == fields.FADING and out.reason == fields.FIRE_FADING and out.fan < fields.FULL
    assert pit.run(133.0, 300).state == fields.HOLDING


def used_to_little():
    """A pit whose fire has for hours needed little."""
    pit = Pit()
    pit.hold(132.0, 900)
    pit.memory.held, pit.memory.need_cycles = 4500, need.USUAL
    return pit


def is_above_usual(pit):
    """1 while the fire needs so much that a steady fan would be called fading in MORE_FOR cycles."""
    return 1 if pit.memory.lately >= pit.memory.usual + pit.settings.fade_more * 1000 else 0


def test_a_need_that_rises_steadily_is_fading_in_a_few_minutes():
    pit = used_to_little()
    above = 0
    for i in range(18):
        out = pit.run(132.0 - 0.4 * i, 50, per_cycle=-0.008)
        above += 50 * is_above_usual(pit)
        if out.state == fields.FADING:
            break
    assert out.reason == fields.FIRE_FADING and pit.memory.smooth > pit.memory.low * 16
    assert fading.MORE_FOR <= above <= fading.MORE_FOR + 50


def test_a_need_that_goes_up_and_down_in_gusts_is_no_fading_until_it_stays_up():
    pit = used_to_little()
    above = 0
    for _ in range(12):
        for start, step in ((129.0, -0.15), (125.25, 0.15)):
            out = pit.run(start, 25, per_cycle=step)
            above += 25 * is_above_usual(pit)
            assert out.state == fields.HOLDING and pit.memory.more_cycles < 10
    assert above > 2 * fading.MORE_FOR and pit.memory.openings == 0
    assert pit.run(125.0, fading.MORE_FOR).state == fields.HOLDING  # the gusts are over, and it needs as much
    assert pit.run(125.0, 550).reason == fields.FIRE_FADING


def test_gusts_that_come_and_go_within_minutes_are_no_fading():
    pit = used_to_little()
    for _ in range(5):
        pit.run(132.0, 25, per_cycle=-0.28)
        pit.run(125.0, fading.MORE_FOR - 50)
        pit.run(125.0, 25, per_cycle=0.28)
        assert pit.run(132.0, 150).state == fields.HOLDING


def test_a_fire_that_gets_air_past_the_fan_is_leaking():
    pit = Pit()
    pit.hold(131.0)
    out = pit.run(137.0, 290)
    assert out.reason == fields.ABOVE_BAND and out.fan == 0
    out = pit.run(137.0, 40)
    assert out.reason == fields.LEAKING and out.state == fields.HOLDING
    assert pit.memory.starved > 300 and pit.memory.excursion > 300
    assert pit.run(137.0, 40, per_cycle=-0.2).reason == fields.IN_BAND


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


def test_the_time_after_a_lid_is_no_evidence_of_a_greater_need():
    pit = Pit()
    pit.hold(132.13, 5400)
    pit.run(127.5, fading.MORE_FOR)
    before = pit.memory.more_cycles
    assert before > 0
    pit.memory.calm_left = openings.CALM
    pit.run(127.5, openings.CALM - 1)
    assert pit.memory.more_cycles == before
