"""What the board learns while it holds: how strongly to answer."""

from cases.kit import Pit, settled
from hearth.core import Settings, fields, law, learned, reach, resume


def swing(pit, halves, width=6.0, cycles=90):
    """So many half swings of the reading about 130 C, each of so many cycles."""
    for i in range(halves):
        start, step = (130.0 - width / 2, width / cycles) if i % 2 == 0 else (130.0 + width / 2, -width / cycles)
        pit.run(start, cycles, per_cycle=step)
    return pit.out.share


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


def test_guards_that_go_by_readings_act_in_the_same_cycle_with_every_share():
    for celsius, faults, wiggle, trip in (
        (180.0, 0, True, fields.TRIP_HOT),
        (131.0, 1, True, fields.TRIP_PROBE),
        (131.0, 0, False, fields.TRIP_PROBE),
    ):
        after = []
        for share in (learned.LEAST, fields.WHOLE, learned.MOST):
            pit = settled()
            pit.memory.share = share
            cycles = 1
            while pit.run(celsius, 1, faults, wiggle=wiggle).trip != trip and cycles < 300:
                cycles += 1
            after.append(cycles)
        assert after[0] == after[1] == after[2] < 300
    for share in (learned.LEAST, learned.MOST):
        pit = settled()
        pit.memory.share = share
        assert pit.run(151.0, 40).reason == fields.TOO_HOT and pit.out.fan == 0


def test_a_fire_that_ends_is_called_with_the_least_share_too():
    pit = settled()
    pit.memory.share = learned.LEAST
    assert pit.run(131.0, 1500, per_cycle=-0.05).state == fields.FADING
