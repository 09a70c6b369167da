"""How much air a pit may take before its probe is doubted, what a doubt does, and what ends it."""

from cases.kit import Pit
from hearth.core import climb, doubt, fields, held_back, openings, resume

LOW = 80.0  # what the slipped probe reads


class Held(Pit):
    """A pit that climbed from the cold and is held; then `lid` goes up, and the probe reads 80 C and stays there."""

    def __init__(self, held=130.0, **settings):
        super().__init__(**settings)
        self.order(fields.ORDER_START, celsius=20)
        self.memory.reach = fields.FULL  # a weak fan
        self.run(20, 556, per_cycle=0.18)
        self.run(120, 200, per_cycle=0.05)
        self.run(held, 700)

    def lid(self, held=130.0):
        """An opening that ends at 80 C; the reading came back so that all of the evidence counts, from now on."""
        self.run(held, 60, per_cycle=-(held - 70.0) / 60)
        self.run(70.0, 100, per_cycle=0.1)
        assert self.memory.open_left == 0 and self.out.state == fields.HOLDING
        self.memory.rose_fast = self.memory.fell_fast * 100 // doubt.NINTH + 1
        self.memory.lack = self.memory.strain = 0
        return self

    def doubted_after(self, celsius=LOW):
        """Cycles from now on until the probe is doubted; None if it is not within 4000."""
        for i in range(4000):
            if self.run(celsius).reason == fields.PROBE_DOUBTED:
                assert self.memory.doubt == 1 and self.out.state == fields.FADING
                return i
        return None


def evidence(pit, celsius=LOW):
    """Cycles at a temperature after which `lack_most` is missing."""
    return pit.settings.lack_most * 3000 // (12110 - pit.settings.lack_below - int(celsius * 100))


def test_a_pit_that_reads_low_after_a_lid_is_doubted_and_kept_at_what_it_lately_did():
    pit = Held().lid()
    lately = pit.memory.lately // 1000
    most = evidence(pit)
    assert held_back.LEAST_KEPT < lately < fields.FULL // 2
    assert most - 10 <= pit.doubted_after() <= most + 10
    assert lately <= pit.run(LOW, 2).fan < lately + 20 and pit.out.trip == fields.NO_TRIP


def test_a_reading_that_comes_back_slowly_is_doubted_sooner_and_one_that_nobody_told_of_at_once():
    after = {}
    for told in (0, 1):
        pit = Held()
        if told:
            pit.order(fields.ORDER_OPENED)
        pit.run(130.0, 25, per_cycle=-2.0)  # a probe that slips, and no lid
        assert pit.run(LOW, 160).state == fields.HOLDING
        assert pit.memory.lid_since == (fields.LID if told else fields.NO_LID)
        after[told] = pit.doubted_after() + 160 - 145  # the opening ends after 5 min
    assert after[0] * 100 // evidence(pit) in range(doubt.LOOKS_SLIPPED - 8, doubt.LOOKS_SLIPPED + 9)
    assert after[1] * 100 // evidence(pit) in range(doubt.LEAST_SHARE - 8, doubt.LEAST_SHARE + 9)
    pit = Held()
    pit.run(130.0, 25, per_cycle=-2.0)
    pit.run(LOW, 160, per_cycle=-0.08)  # cold meat: it goes on falling
    assert pit.memory.lid_since == fields.LID


def test_a_shallow_fall_under_cold_meat_is_a_lids_though_nobody_told_of_it():
    for fell in (28.0, 35.5, 36.5):
        pit = Held()
        pit.run(130.0, 20, per_cycle=-fell / 20)
        assert pit.run(130.0 - fell, 170).state == fields.HOLDING
        deep = openings.fallen(pit.memory) >= openings.SLIPPED
        assert deep == (fell > 36.0)  # the first cycles of a fall are not felt as one
        assert pit.memory.lid_since == (fields.NO_LID if deep else fields.LID)


def share_after(fall, rise, later=False):
    """% of the evidence that a reading may show, if it falls 70 C and comes back 30 C at such paces, C a cycle.

    later: an hour after another lid, from which it came back at once.
    """
    pit = Held()
    if later:
        pit.run(130.0, 30, per_cycle=-2.0)
        pit.run(70.0, 30, per_cycle=2.0)
        pit.run(130.0, openings.LOADED)
    pit.order(fields.ORDER_OPENED)
    pit.run(130.0, int(70 / fall), per_cycle=-fall)
    pit.run(60.0, int(30 / rise), per_cycle=rise)
    assert pit.memory.open_left == 0 and pit.memory.lid_since == fields.LID
    return doubt.allowed(pit.memory, 100)


def test_the_evidence_goes_with_how_fast_it_came_back_beside_how_fast_it_fell():
    slowly = share_after(2.0, 0.1)
    assert doubt.LEAST_SHARE < slowly < 60
    assert slowly * 4 // 3 < share_after(2.0, 0.2) < 120
    assert slowly * 4 // 3 < share_after(1.0, 0.1) < 120
    assert share_after(1.0, 0.8) == doubt.MOST_SHARE
    assert doubt.LEAST_SHARE < share_after(1.0, 0.2, later=True) <= share_after(1.0, 0.2) // 2
    assert share_after(0.4, 0.03) == 100  # so slow a fall is the weather's


def test_after_another_lid_the_evidence_waits_for_how_the_reading_comes_back_from_that_one():
    for rise, cycles in ((0.4, 0), (0.03, openings.RETURNS)):
        pit = Held().lid()
        pit.memory.lack = 120 * doubt.A_MINUTE  # enough for a reading that comes back slowly, too little for this one
        assert pit.run(LOW, 30).reason != fields.PROBE_DOUBTED
        pit.order(fields.ORDER_OPENED)
        pit.run(LOW, 20, per_cycle=-1.0)
        shut = None
        for i in range(300):
            at = min(LOW, LOW - 20 + rise * i)
            if pit.run(at).reason == fields.PROBE_DOUBTED:
                break
            if shut is None and pit.memory.open_left == 0:
                shut = i
        assert (pit.memory.doubt, i - shut if pit.memory.doubt else 0) == (1 if cycles else 0, cycles)


def test_a_climbing_reading_does_not_end_a_doubt_nor_does_any_order_but_looked():
    pit = Held().lid()
    pit.doubted_after()
    pit.run(LOW, 2)
    kept = held_back.keeps(pit.memory)
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
            assert pit.memory.lack < pit.settings.lack_most * doubt.A_MINUTE
        assert pit.out.trip == code and pit.memory.doubt == fields.BY_MORE
        at = pit.now.pit / 100
        pit.run(at, 120)
        assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED
        assert pit.order(fields.ORDER_START) == fields.ACCEPTED
        out = pit.run(at, 60)
        assert out.reason == fields.PROBE_DOUBTED and out.fan < fields.FULL // 2
        assert 0 <= out.fan - pit.memory.lately // 1000 < 20
        pit.order(fields.ORDER_STOP)
        pit.order(fields.ORDER_LOOKED)
        pit.order(fields.ORDER_START)
        assert pit.run(at, 400).fan == fields.FULL and pit.memory.doubt == 0  # who looked begins afresh


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
    pit.run(20.0, 333, per_cycle=0.18)
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
