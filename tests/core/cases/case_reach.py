"""What the climb shows: how strong the fan is on this pit, and with how much of the gain the holding begins."""

from cases.kit import Pit, settled
from hearth.core import fields, law, learned, reach


def test_a_climb_begins_with_little_fan_and_asks_for_more_while_the_pit_hardly_rises():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    assert pit.run(20, 2).fan <= 2600
    pit.run(20, 60, per_cycle=0.02)  # 0.6 C/min
    grown = pit.memory.reach
    assert 3500 < grown < 5000 and pit.out.fan == grown
    pit.run(21.2, 300, per_cycle=0.15)  # 4.5 C/min: a good pace
    assert abs(pit.memory.reach - grown) < 700


def test_a_pit_that_rises_fast_gets_less_and_less_fan():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20, 100, per_cycle=0.6)  # 18 C/min
    assert pit.memory.reach < 1000 and pit.out.fan <= pit.memory.reach
    pit.run(80, 200, per_cycle=0.6)
    assert pit.memory.reach >= reach.LEAST


def test_a_reach_that_was_too_much_is_approached_slowly():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20, 150, per_cycle=0.02)
    most = pit.memory.reach
    assert most > 5000 and pit.memory.too_much == 0
    pit.run(23, 60, per_cycle=0.4)  # 12 C/min, and it shrinks for minutes
    assert pit.memory.reach < most // 4 and most <= pit.memory.too_much < most + 700
    for share, slowly in ((3, 0), (6, 1)):  # tenths of what was too much
        pit.run(47, 60)
        pit.memory.reach = was = pit.memory.too_much * share // 10
        pit.run(47, 20)
        grown = pit.memory.reach - was
        at_once = 20 * min(reach.GROWS, reach.GROWS_LEAST + was // reach.GROWS_PART)
        if slowly:
            assert 0 < grown <= at_once // reach.SLOWER
        else:
            assert at_once - 40 <= grown <= at_once * 6 // 5


def test_a_strong_fan_answers_in_its_own_parts_until_the_arrival_is_over():
    pulls = []
    for strong in (10000, 2000):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=90)
        pit.memory.reach = strong
        pulls.append(pit.run(122.0, 1).pull)
    assert abs(pulls[0] - 5 * pulls[1]) <= 5 * 6  # 0.01 %: a degree of the gain that is cut off, times five


def test_after_the_first_lid_the_whole_gain_holds_and_what_the_fan_did_is_owed():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.memory.reach = 6000
    pit.run(20, 556, per_cycle=0.18)
    pit.run(120, 200, per_cycle=0.05)
    pit.run(130.0, 200)
    lately = pit.memory.lately
    assert pit.memory.settled == 0 and law.scale(pit.memory) == pit.memory.reach < fields.FULL
    pit.run(130.0, 30, per_cycle=-1.0)
    pit.run(100.0, 10, per_cycle=1.0)
    assert pit.memory.settled == 1 and law.scale(pit.memory) == fields.FULL
    assert pit.memory.owed >= lately and pit.memory.share == 1000


def test_a_fan_that_was_far_too_strong_begins_to_hold_with_a_part_of_the_gain():
    for strong, share in ((10000, 1000), (2800, 1000), (1680, 600), (350, learned.LEAST)):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=90)
        pit.memory.arrived, pit.memory.held, pit.memory.reach = 1, reach.SETTLES, strong
        reach.settle(pit.settings, pit.memory, 0)
        assert abs(pit.memory.share - share) <= 20
        assert pit.memory.lesson == (fields.STRONG if share < 1000 else fields.NO_LESSON)
        assert pit.memory.learned == 1000  # of the fan, not of the fire


def test_a_climb_that_wobbled_and_little_fan_to_hold_make_a_gentle_beginning():
    least = learned.LEAST
    for wobbles, lately, share in ((2, 1000, 1000), (3, 1000, 200), (4, 3000, 600), (3, 6000, 1000), (4, 100, least)):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=90)
        pit.memory.arrived, pit.memory.held, pit.memory.reach = 1, reach.SETTLES, fields.FULL
        pit.memory.wobbles, pit.memory.lately = wobbles, lately * 1000
        reach.settle(pit.settings, pit.memory, 0)
        assert pit.memory.share == share


def test_a_climb_that_met_a_lid_is_braked_half_as_far_ahead():
    brakes = []
    for openings in (0, 1):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=60)
        pit.memory.reach = fields.FULL
        pit.run(60.0, 60, per_cycle=0.1)
        pit.memory.openings = openings
        brakes.append(pit.run(66.0, 2, per_cycle=0.1).brake)
    assert abs(brakes[0] - 2 * brakes[1]) <= 4 and brakes[1] > 500


def test_swings_on_the_way_to_the_band_lower_the_share():
    for halves, share in ((2, 1000), (3, learned.LESS_CLIMB), (6, 409)):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=60)
        pit.run(60.0, 300, per_cycle=0.1)
        for i in range(halves):
            pit.run(90.0 if i % 2 else 95.0, 60, per_cycle=0.083 if i % 2 else -0.083)
        assert pit.memory.wobbles == min(halves, reach.WOBBLED) and pit.memory.settled == 0
        assert pit.out.share == share
        assert pit.out.lesson == (fields.NO_LESSON if halves < learned.ENOUGH else fields.SWUNG)


def test_a_lid_on_the_way_up_does_not_end_the_first_arrival():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.memory.reach = 3000
    pit.run(20, 500, per_cycle=0.16)
    pit.run(100.0, 20, per_cycle=-1.0)
    pit.run(80.0, 300, per_cycle=0.15)
    assert pit.memory.openings == 1 and pit.memory.arrived == 0 and pit.memory.settled == 0
    pit.run(125.0, 20)
    pit.run(130.0, reach.SOON - 40)
    assert pit.memory.arrived == 1 and pit.memory.settled == 0
    pit.run(130.0, 60)
    assert pit.memory.settled == 1


def test_after_a_lid_the_air_that_comes_back_is_no_fire_that_rises_too_fast():
    pit = settled()
    pit.memory.reach = 4000
    pit.run(131.0, 20, per_cycle=-1.5)
    pit.run(101.0, 30, per_cycle=0.95)  # 28 C/min
    pit.run(129.0, 20)
    assert pit.memory.recover_left == 0 and pit.memory.calm_left > 0 and pit.memory.reach >= 4000
    pit = settled()
    pit.memory.reach = 4000
    pit.run(131.0, 20, per_cycle=0.95)  # the same without a lid
    assert pit.memory.reach < 4000


def test_a_start_on_a_hot_pit_reckons_with_its_whole_gain():
    pit = Pit()
    pit.hold(125.0, 3)
    assert pit.memory.settled == 1 and pit.memory.reach == fields.FULL


def test_breath_and_what_a_doubt_keeps_go_before_the_reach():
    pit = Pit(breath=1500)
    pit.order(fields.ORDER_START, celsius=90)
    pit.memory.arrived, pit.memory.reach = 1, 400
    assert pit.run(131.0, 3).fan == 1500
