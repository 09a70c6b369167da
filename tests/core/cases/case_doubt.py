"""How much air a pit may take before its probe is doubted, what a doubt does, and what ends it."""

from cases.kit import Pit
from hearth.core import climb, doubt, fields, held_back, need, openings, resume

LOW = 80.0  # what the slipped probe reads


class Held(Pit):
    """A pit that climbed from the cold and is held; then `lid` goes up, and the probe reads 80 C and stays there."""

    def __init__(self, held=130.0, **settings):
        super().__init__(**settings)
        self.order(fields.ORDER_START, celsius=20)
        self.run(20, 500, per_cycle=0.2)
        self.run(120, 200, per_cycle=0.05)
        self.run(held, 700)

    def lid(self, held=130.0):
        """An opening that ends at 80 C."""
        self.run(held, 60, per_cycle=-(held - 70.0) / 60)
        self.run(70.0, 10, per_cycle=1.0)
        assert self.memory.open_left == 0 and self.out.state == fields.HOLDING
        return self

    def doubted_after(self, celsius=LOW):
        """Cycles from now on until the probe is doubted; None if it is not within 4000."""
        for i in range(4000):
            if self.run(celsius).reason == fields.PROBE_DOUBTED:
                assert self.memory.doubt == 1 and self.out.state == fields.FADING
                return i
        return None


def test_a_pit_that_reads_low_after_a_lid_is_doubted_and_kept_at_what_it_lately_did():
    pit = Held().lid()
    lately = pit.memory.lately // 1000
    most = pit.settings.lack_most * 3000 // (12110 - 2700 - 8000)  # cycles
    assert held_back.LEAST_KEPT < lately < fields.FULL // 2
    assert most - 10 <= pit.doubted_after() <= most + 10
    assert pit.run(LOW, 2).fan == lately and pit.out.trip == fields.NO_TRIP


def test_a_climbing_reading_does_not_end_a_doubt_nor_does_any_order_but_looked():
    pit = Held().lid()
    pit.doubted_after()
    kept = pit.run(LOW, 2).fan
    pit.run(LOW, 400, per_cycle=0.06)
    pit.run(128.0, 400)
    assert pit.out.reason == fields.PROBE_DOUBTED  # in the band, and still
    assert held_back.keeps(pit.memory) == kept  # what it needed is not learnt from a doubted pit
    pit.order(fields.ORDER_START)
    pit.order(fields.ORDER_ACKNOWLEDGE)
    pit.order(fields.ORDER_BAND, 12000, 13400)
    pit.order(fields.ORDER_STOP)
    assert pit.order(fields.ORDER_START) == fields.ACCEPTED
    pit.run(128.0, 400, per_cycle=-0.06)
    at = pit.now.pit / 100
    pit.order(fields.ORDER_STOP)
    pit.order(fields.ORDER_START)
    assert pit.run(at, 5).reason == fields.PROBE_DOUBTED and kept <= pit.out.fan < kept + 1000
    resume.wake(pit.memory)
    pit.now.board = fields.BOARD_SHORT
    assert kept <= pit.run(at, 10).fan < kept + 2000 and pit.memory.doubt == 1  # nor a cut of the power
    assert pit.order(fields.ORDER_LOOKED) == fields.ACCEPTED
    pit.run(at, 200)
    assert pit.out.state == fields.HOLDING and pit.out.fan > kept


def test_after_a_trip_of_the_fire_a_start_goes_on_with_what_it_knew():
    for code in (fields.TRIP_FIRE, fields.TRIP_FELL):
        pit = Held()
        if code == fields.TRIP_FELL:
            pit.run(130.0, 90, per_cycle=-1.0)
            pit.run(40.0, 1200)
        else:
            pit.run(130.0, 400, per_cycle=-0.08)
            pit.run(98.0, 1000)
            assert pit.memory.lack == 0
        assert pit.out.trip == code and pit.memory.doubt == 1
        at = pit.now.pit / 100
        pit.run(at, 120)
        assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED
        assert pit.order(fields.ORDER_START) == fields.ACCEPTED
        out = pit.run(at, 60)
        assert out.reason == fields.PROBE_DOUBTED and out.fan == pit.memory.lately // 1000 < fields.FULL // 2
        pit.order(fields.ORDER_STOP)
        pit.order(fields.ORDER_LOOKED)
        pit.order(fields.ORDER_START)
        assert pit.run(at, 60).fan == fields.FULL and pit.memory.doubt == 0  # who looked begins afresh


def test_a_lid_on_the_way_does_not_make_a_slow_climb_a_doubtful_one():
    for told in (0, 1):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=20)
        pit.run(20.0, 600, per_cycle=0.1)
        if told:
            pit.order(fields.ORDER_OPENED)
        pit.run(80.0, 30, per_cycle=-0.8)
        pit.run(56.0, 12, per_cycle=1.0)
        assert pit.memory.arrived == 0 and pit.memory.openings == 1 and pit.memory.climb_due > 0
        out = pit.run(68.0, 1500, per_cycle=0.02)  # 50 min, more than a full fan may do beyond the usual later on
        assert out.state == fields.CLIMBING and out.fan == fields.FULL


def test_a_climb_that_takes_far_more_than_its_own_beginning_is_called_and_not_held_back():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20.0, 300, per_cycle=0.2)
    pit.run(80.0, 30, per_cycle=-1.2)
    pit.run(44.0, 12, per_cycle=1.0)
    due = pit.memory.climb_due
    assert due > 0
    for _ in range(400):
        out = pit.run(pit.now.pit / 100, 10, per_cycle=0.008)
        if out.reason == fields.PROBE_DOUBTED:
            break
    assert out.reason == fields.PROBE_DOUBTED and out.fan == fields.FULL and pit.memory.climb_spent >= due


def test_a_climb_that_has_shown_nothing_yet_has_no_budget():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=60)
    pit.run(60.0, 40, per_cycle=0.1)
    pit.run(64.0, 20, per_cycle=-0.8)
    pit.run(48.0, 12, per_cycle=1.0)
    assert pit.memory.openings == 1 and pit.memory.climb_due == 0
    assert pit.run(60.0, 3000, per_cycle=0.01).reason != fields.PROBE_DOUBTED
    slow = Pit()
    slow.order(fields.ORDER_START, celsius=20)
    slow.memory.climb = climb.MOST_AIR
    slow.run(20.0, 400, per_cycle=0.1)
    slow.run(60.0, 20, per_cycle=-0.8)
    slow.run(44.0, 12, per_cycle=1.0)
    assert slow.memory.openings == 1 and slow.memory.climb_due == 0


def test_without_a_lid_more_may_be_missing():
    pit = Held()
    pit.run(130.0, 800, per_cycle=-0.0625)  # too slow for a lid, and then it creeps up
    for i in range(4000):
        if pit.run(LOW + i * 0.004).reason == fields.PROBE_DOUBTED:
            break
    assert pit.memory.openings == 0 and pit.memory.doubt == 1
    assert pit.memory.lack >= doubt.UNMOVED * pit.settings.lack_most * doubt.A_MINUTE


def test_after_a_later_opening_half_as_much():
    pit = Held()
    pit.memory.openings, pit.memory.held, pit.memory.lid_since = 1, 0, 1
    first = doubt.allowed(pit.memory, 1000)
    pit.memory.openings, pit.memory.held = 2, openings.LOADED
    assert doubt.allowed(pit.memory, 1000) == first // 2


def test_a_probe_that_lies_on_something_warm_is_told_by_the_air_and_not_let_up():
    pit = Held().lid()
    pit.run(108.0, 10)
    cycles = 0
    while pit.memory.doubt == 0 and cycles < 2000:
        pit.run(108.0 + cycles * 0.001)
        cycles += 1
    assert 400 < cycles < 800 and pit.memory.lack < pit.settings.lack_most * doubt.A_MINUTE
    assert pit.memory.mark_most == pit.memory.mark  # so near its band it is held where it reads


def test_air_that_the_supply_did_not_give_is_no_evidence():
    pit = Held().lid()
    pit.now.supply = 9000
    pit.run(LOW, 30)
    lack = pit.memory.lack
    pit.run(LOW, 400)
    assert pit.memory.lack == lack and pit.memory.doubt == 0


def test_a_higher_band_is_no_evidence_and_a_phase_that_ends_forgives_none():
    pit = Held()
    pit.run(130.0, 300)
    assert pit.memory.proven == 12110
    pit.memory.phases = 2
    for i in range(8):
        pit.memory.rows[i] = (12110, 13500, fields.END_AFTER, 1, 14000, 15000, fields.END_BY_HAND, 0)[i]
    pit.run(130.0, 1600)
    assert pit.memory.phase == 1 and pit.memory.low == 14000
    assert pit.out.fan == fields.FULL and pit.memory.lack == 0 and pit.memory.doubt == 0
    pit = Held().lid()
    pit.run(LOW, 100)
    spent = pit.memory.lack
    pit.order(fields.ORDER_BAND, 12000, 13300)
    assert pit.memory.lack >= spent > 0 and pit.memory.proven == 12000
    assert pit.memory.usual == pit.memory.lately


def test_in_doubt_the_pit_is_held_where_it_reads_and_let_up_slowly():
    pit = Held().lid()
    pit.doubted_after()
    at = pit.memory.mark
    assert abs(at - LOW * 1600) < 1600 and pit.run(LOW, 2).aim <= LOW * 100 + 200
    kept = held_back.keeps(pit.memory)
    assert pit.run(LOW, 60).fan < kept + 1000
    assert pit.run(LOW - 6.0, 300, per_cycle=0.01).fan > kept  # a fire that sinks gets what holds it
    pit.run(LOW, 3000, per_cycle=0.002)
    assert at + 2900 * held_back.CREEPS <= pit.memory.mark <= at + held_back.LET_UP
    pit.run(86.0, 9000)
    assert pit.memory.mark <= at + held_back.LET_UP + held_back.CREEPS  # and no further by the fan


def test_in_doubt_a_pit_that_rises_on_what_it_lately_got_is_let_rise():
    pit = Held().lid()
    pit.doubted_after()
    out = pit.run(LOW, 500, per_cycle=0.08)
    assert pit.memory.mark > 110 * 1600 and out.fan == held_back.keeps(pit.memory)
    pit.run(122.0, 300, per_cycle=0.02)
    assert pit.run(133.0, 300).fan < held_back.keeps(pit.memory)  # in its band the law holds it as ever


def test_in_doubt_a_dead_fire_trips_as_ever():
    pit = Held().lid()
    pit.doubted_after()
    pit.run(LOW, 1500, per_cycle=-0.02)
    assert pit.run(50.0, 400, per_cycle=-0.01).trip == fields.TRIP_FIRE


def test_cold_meat_is_not_doubted():
    pit = Held(held=131.0).lid(131.0)
    pit.run(90.0, 150, per_cycle=0.2)
    assert pit.run(120.0, 700, per_cycle=0.01).state == fields.HOLDING and pit.memory.doubt == 0


def test_only_a_pit_that_was_held_is_held_back():
    pit = Held()
    pit.memory.lately = 0
    assert held_back.keeps(pit.memory) == held_back.LEAST_KEPT
    pit.memory.doubt, pit.memory.held = 1, 0
    assert not held_back.known(pit.memory)


def test_air_given_by_hand_counts_for_the_climb():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20.0, 250, per_cycle=0.2)
    before = pit.memory.climb
    pit.order(fields.ORDER_FAN, 5000, 300)
    pit.run(75.0, 60)
    assert pit.memory.climb - before >= 60 * 5000
    need.new_band(pit.memory)
    assert pit.memory.usual == pit.memory.lately
