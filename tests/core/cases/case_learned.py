"""What the board learns: how strong its fan is on this pit, and how strongly to answer."""

from cases.kit import Pit
from hearth.core import Settings, fields, law, learned, reach, resume


def settled(**settings):
    """A pit that is held; the first arrival is over."""
    pit = Pit(**settings)
    pit.hold(131.0)
    assert pit.memory.settled == 1
    return pit


def swing(pit, halves, width=6.0, cycles=90):
    """So many half swings of the reading about 130 C, each of so many cycles."""
    for i in range(halves):
        start, step = (130.0 - width / 2, width / cycles) if i % 2 == 0 else (130.0 + width / 2, -width / cycles)
        pit.run(start, cycles, per_cycle=step)
    return pit.out.share


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


def test_swings_lower_the_share_and_no_further_than_its_bound():
    pit = settled()
    assert swing(pit, 2) == 1000
    assert swing(pit, 2) == 800 and pit.out.lesson == fields.SWUNG and pit.memory.learned == 800
    for _ in range(12):
        pit.memory.owed = 0
        swing(pit, 6, width=16.0)
    assert pit.out.share == learned.LEAST


def test_small_slow_and_few_swings_change_nothing():
    pit = settled()
    assert swing(pit, 20, width=3.5) == 1000
    swing(pit, 8, width=6.0, cycles=300)
    assert pit.out.lesson != fields.SWUNG
    pit = settled()
    assert swing(pit, 2) == 1000
    pit.run(131.0, 400)
    assert swing(pit, 2) == 1000


def test_a_swing_in_which_the_fan_hardly_moves_is_the_winds():
    pit = settled()
    for i in range(12):
        pit.memory.lately = 9000 * 1000
        pit.run(127.0 if i % 2 else 133.0, 90, per_cycle=0.067 if i % 2 else -0.067)
        assert pit.memory.swings == 0
    assert pit.out.share == 1000


def test_what_stands_above_the_band_makes_the_aim_give_way_and_it_comes_back():
    pit = settled()
    pit.run(131.0, 30, per_cycle=-1.0)
    pit.run(101.0, 30, per_cycle=1.0)
    pit.run(131.5, 700)
    usual = pit.out.aim
    pit.memory.owed = 6000 * 1000
    pit.run(135.5, 20)
    assert pit.out.fan > 0 and 15 * learned.YIELDS <= pit.memory.yields <= 20 * learned.YIELDS
    assert 60 < usual - pit.out.aim < 105
    pit.run(135.5, 60)
    assert pit.memory.yields <= (pit.memory.high - pit.memory.low) * learned.YIELDS_MOST
    pit.run(131.0, 20)
    given = pit.memory.yields
    pit.run(131.0, 600)
    assert pit.memory.yields == given - 600
    pit.order(fields.ORDER_BAND, 10000, 11500)
    assert pit.memory.yields == 0


def test_a_pit_that_is_too_hot_without_a_fan_leaves_the_aim():
    pit = settled()
    pit.memory.owed = 0
    pit.run(138.0, 300)
    assert pit.out.fan == 0 and pit.memory.yields == 0
    pit = settled(learn=0)
    pit.memory.owed = 6000 * 1000
    pit.run(135.5, 60)
    assert pit.memory.yields == 0


def test_a_late_return_raises_the_share_and_no_further_than_its_bound():
    pit = settled()
    pit.run(127.0, learned.LATE + 40)
    assert pit.out.share == 1150 and pit.out.lesson == fields.SLUGGISH
    pit.run(127.0, 20 * learned.LATE)
    assert pit.out.share <= learned.MOST


def test_a_fan_that_can_do_no_more_or_no_less_is_no_late_return():
    pit = settled(ceiling=1000)
    pit.run(127.0, 900)
    assert pit.out.state == fields.HOLDING and pit.out.fan == 1000 and pit.out.share == 1000
    pit = settled()
    pit.run(138.0, 900)
    assert pit.out.fan == 0 and pit.out.share == 1000


def test_a_quiet_night_changes_nothing():
    pit = settled()
    for i in range(200):
        pit.run(130.5 + (i % 3) * 0.5, 60)
    assert pit.out.share == 1000 and pit.memory.learned == 1000 and pit.out.lesson == fields.NO_LESSON


def test_nothing_is_learned_of_lids_hands_other_bands_doubt_or_a_weak_supply():
    pit = settled()
    for _ in range(6):  # a lid every four minutes
        pit.run(131.0, 20, per_cycle=-1.0)
        pit.run(111.0, 20, per_cycle=0.8)
        pit.run(127.0, 80)
    assert pit.out.share == 1000
    pit = settled()
    for _ in range(8):
        pit.order(fields.ORDER_FAN, 2000, 170)
        swing(pit, 1)
        pit.run(130.0, 5)
    assert pit.out.share == 1000
    pit = settled()
    for i in range(8):  # the aim is on its way to another band all the time
        pit.order(fields.ORDER_BAND, 10000 + 1500 * (i % 2), 11500 + 1500 * (i % 2))
        swing(pit, 1, cycles=60)
    assert pit.out.share == 1000
    pit = settled()
    pit.memory.doubt, pit.memory.mark, pit.memory.mark_most = 1, 130 * 1600, 130 * 1600
    assert swing(pit, 12) == 1000
    pit = settled()
    pit.now.supply = 9000
    assert swing(pit, 12) == 1000


def test_learning_can_be_turned_off():
    pit = settled(learn=0)
    assert swing(pit, 12) == 1000
    pit.run(126.0, 1000)
    assert pit.out.share == 1000 and pit.memory.learned == 1000
    pit = Pit(learn=0)
    pit.order(fields.ORDER_START, celsius=90)
    pit.memory.arrived, pit.memory.held, pit.memory.reach = 1, reach.SETTLES, 500
    assert pit.run(130.0, 1).share == 1000 and pit.memory.settled == 1


def test_the_next_cook_climbs_with_the_set_gain_and_begins_half_way():
    pit = settled()
    swing(pit, 12)
    learnt = pit.memory.learned
    assert learnt < 800
    pit.order(fields.ORDER_STOP)
    pit.run(60.0, 100)
    memory = pit.memory
    resume.wake(memory)  # the power was cut between them
    pit.order(fields.ORDER_START, celsius=60.0)
    memory.reach = fields.FULL
    assert pit.run(60.0, 300, per_cycle=0.1).share == 1000 and pit.out.state == fields.CLIMBING
    pit.run(90.0, 500, per_cycle=0.08)
    pit.run(130.0, 100)
    assert memory.arrived == 1 and pit.out.share == (1000 + learnt) // 2 and pit.out.lesson == fields.CARRIED
    assert memory.learned == learnt


def test_another_cookers_share_is_left_within_two_hours():
    for foreign, width, better in ((1500, 6.0, 800), (250, 0.0, 950)):
        pit = Pit()
        pit.memory.learned = foreign
        pit.hold(131.0)
        assert pit.memory.share == (1000 + foreign) // 2
        if width:
            swing(pit, 40)  # two hours
            assert pit.out.share <= better
        else:
            pit.run(127.0, 3600)
            assert pit.out.share >= better


def test_other_gains_make_it_forget_without_a_bump():
    for name, value in (("gain", 300), ("reset", 1200), ("lead", 60), ("learn", 0)):
        pit = settled()
        swing(pit, 8)
        pit.run(131.0, 100)
        before = pit.out.fan
        new = Settings()
        setattr(new, name, value)
        law.rebase(pit.settings, new, pit.now, pit.memory)
        pit.settings = new
        assert pit.memory.share == pit.memory.learned == 1000 and pit.memory.lesson == fields.UNLEARNED
        assert abs(pit.run(131.0, 1).fan - before) < 30
    pit = settled()
    swing(pit, 8)
    new = Settings()
    new.pit_limit += 100  # no gain
    law.rebase(pit.settings, new, pit.now, pit.memory)
    assert pit.memory.share < 1000


def test_the_order_forgets_what_was_learned_without_a_bump():
    pit = settled()
    swing(pit, 8)
    pit.run(131.0, 100)
    before = pit.out.fan
    assert pit.order(fields.ORDER_FORGET, celsius=131.0) == fields.ACCEPTED
    assert pit.out.share == 1000 and pit.memory.learned == 1000 and pit.out.lesson == fields.UNLEARNED
    assert abs(pit.out.fan - before) < 30
    pit = settled()
    assert pit.order(fields.ORDER_FORGET, celsius=131.0) == fields.ACCEPTED
    assert pit.out.lesson == fields.NO_LESSON  # there was nothing to forget


def test_a_start_on_a_hot_pit_reckons_with_its_whole_gain():
    pit = Pit()
    pit.hold(125.0, 3)
    assert pit.memory.settled == 1 and pit.memory.reach == fields.FULL


def test_breath_and_what_a_doubt_keeps_go_before_the_reach():
    pit = Pit(breath=1500)
    pit.order(fields.ORDER_START, celsius=90)
    pit.memory.arrived, pit.memory.reach = 1, 400
    assert pit.run(131.0, 3).fan == 1500


def test_no_guard_becomes_less_strict():
    for share in (learned.LEAST, learned.MOST):
        pit = settled()
        pit.memory.share = share
        assert pit.run(180.0, 4).trip == fields.TRIP_HOT
