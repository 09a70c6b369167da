"""A second probe at the grate: what it says of the pit's, when it holds the pit, and when it is none any more."""

from cases.kit import Pit
from hearth.core import fields, law, witness


class Beside(Pit):
    """A pit that climbs from 20 C, with meat probe 2 hung beside its own."""

    def __init__(self, **settings):
        super().__init__(**settings)
        self.now.meat_2 = 2000
        assert self.order(fields.ORDER_WITNESS, 2, celsius=20) == fields.NOT_RUNNING
        self.order(fields.ORDER_START)
        self.run(20.0, 3)
        assert self.order(fields.ORDER_WITNESS, 2) == fields.ACCEPTED
        assert self.out.witness == fields.WITNESS_WAITS

    def climb(self, minutes, pit, second, from_pit=20.0, from_second=20.0):
        """Both go to where they are told in a straight line, by whole tenths of a degree."""
        cycles = minutes * 30
        for i in range(1, cycles + 1):
            tenths = int(from_second * 10) + int((second - from_second) * 10) * i // cycles
            self.now.meat_2 = tenths * 10
            self.run((int(from_pit * 10) + int((pit - from_pit) * 10) * i // cycles) / 10)
        return self.out


def test_two_that_rise_together_agree():
    pit = Beside()
    out = pit.climb(30, 120.0, 112.0)
    assert out.witness == fields.WITNESS_AGREES and pit.memory.doubt == 0
    assert abs(out.differs - 800) < 200


def test_a_pit_probe_that_reads_half_of_the_rise_is_called_and_the_pit_held_by_the_witness():
    pit = Beside()
    out = pit.climb(20, 65.0, 110.0)
    assert out.witness == fields.WITNESS_PIT_LOW and pit.memory.doubt == fields.BY_MORE
    assert out.reason == fields.PROBE_DOUBTED and out.differs < -3000
    out = pit.climb(10, 75.0, 133.0, 65.0, 110.0)
    assert out.fan < 500  # by its own reading the pit would get all the air there is
    out = pit.climb(10, 70.0, 120.0, 75.0, 133.0)
    assert 1000 < out.fan < fields.FULL
    assert out.fan <= witness.most(pit.settings, pit.memory)


def test_while_it_is_about_to_call_the_fan_is_bounded_already():
    pit = Beside()
    for _ in range(900):
        pit.now.meat_2 += 12
        if pit.run(20.0).witness == fields.WITNESS_PIT_LOW:
            break
        if pit.memory.witness_for > 0:
            assert pit.out.fan <= witness.most(pit.settings, pit.memory)
    assert pit.out.witness == fields.WITNESS_PIT_LOW
    assert pit.memory.witness_for < witness.FOR + 3 and pit.memory.witness_cycles < 700


def test_before_it_calls_too_the_fan_does_no_more_than_the_witness_asks_for():
    pit = Beside()
    pit.memory.reach = fields.FULL
    pit.now.meat_2 = 12500
    pit.memory.witness_fast = pit.memory.witness_slow = 125 * 1600
    out = pit.run(20.0)
    assert out.witness == fields.WITNESS_WAITS and pit.memory.doubt == 0 and pit.memory.witness_for > 0
    assert out.fan == witness.most(pit.settings, pit.memory) < fields.FULL // 2 < out.pull


def test_a_probe_that_only_lags_is_not_called():
    pit = Beside()
    out = pit.climb(8, 90.0, 118.0)  # the slower one is more than two minutes behind, and reads 71 % of the rise
    assert out.witness != fields.WITNESS_PIT_LOW and pit.memory.witness_for == 0
    out = pit.climb(12, 126.0, 130.0, 90.0, 118.0)
    assert out.witness == fields.WITNESS_AGREES


def test_a_witness_that_reads_far_less_is_the_one_that_is_off_and_soon_none():
    pit = Beside()
    out = pit.climb(25, 115.0, 30.0)
    assert out.witness == fields.WITNESS_LOW and pit.memory.doubt == 0 and out.reason != fields.PROBE_DOUBTED
    out = pit.climb(14, 120.0, 32.0, 115.0, 30.0)
    assert out.witness == fields.WITNESS_NONE and pit.memory.witness == 0 and out.differs == 0


def test_a_witness_that_goes_into_the_meat_ends_by_itself():
    pit = Beside()
    pit.climb(30, 128.0, 124.0)
    assert pit.out.witness == fields.WITNESS_AGREES
    pit.now.meat_2 = 400
    pit.run(120.0, 150)
    assert pit.out.witness == fields.WITNESS_NONE and pit.memory.doubt == 0


def test_one_that_is_pulled_out_ends_too_and_one_without_a_reading_is_refused():
    pit = Beside()
    pit.climb(5, 40.0, 40.0)
    pit.now.meat_2 = fields.ABSENT
    pit.run(40.0, witness.GONE - 1)
    assert pit.out.witness == fields.WITNESS_WAITS
    pit.run(40.0, 2)
    assert pit.out.witness == fields.WITNESS_NONE
    assert pit.order(fields.ORDER_WITNESS, 2) == fields.NO_READING
    assert pit.order(fields.ORDER_WITNESS, 4) == fields.OUT_OF_RANGE
    pit.now.meat_1 = pit.now.meat_3 = 4000
    for probe in (1, 3):
        assert pit.order(fields.ORDER_WITNESS, probe) == fields.ACCEPTED and pit.memory.witness == probe
    assert pit.order(fields.ORDER_WITNESS, 0) == fields.ACCEPTED and pit.out.witness == fields.WITNESS_NONE


def test_where_it_is_taken_away_the_pit_is_held_where_it_read():
    pit = Beside()
    pit.climb(20, 65.0, 110.0)
    pit.climb(10, 72.0, 130.0, 65.0, 110.0)
    pit.now.meat_2 = 400  # into the meat
    out = pit.run(70.0, 150)
    assert out.witness == fields.WITNESS_NONE and pit.memory.doubt == fields.BY_MORE and pit.memory.mark_stands == 1
    assert pit.memory.mark <= 73 * 1600 and out.aim <= 7300 and out.reason == fields.PROBE_DOUBTED
    assert pit.run(74.0, 100).fan < 2000  # and not driven on to the band
    pit.order(fields.ORDER_STOP)
    pit.order(fields.ORDER_START)
    assert pit.memory.mark_stands == 1 and pit.run(74.0, 5).aim <= 7500  # a start alone changes nothing of it
    pit.order(fields.ORDER_LOOKED)
    assert pit.memory.mark_stands == 0 and pit.memory.doubt == 0 and pit.out.aim == law.goal(pit.memory) >> 4


def test_a_witness_that_agrees_ends_a_doubt():
    pit = Beside()
    pit.climb(20, 65.0, 110.0)
    assert pit.memory.doubt == fields.BY_MORE
    out = pit.climb(12, 110.0, 112.0, 108.0, 110.0)  # somebody has put it right, and said nothing
    assert out.witness == fields.WITNESS_AGREES and pit.memory.doubt == 0
    assert out.aim == law.goal(pit.memory) >> 4 and out.reason != fields.PROBE_DOUBTED


def test_after_somebody_looked_the_two_are_compared_anew():
    pit = Beside()
    pit.climb(20, 65.0, 110.0)
    pit.order(fields.ORDER_LOOKED)
    assert pit.memory.doubt == 0 and pit.out.witness == fields.WITNESS_WAITS
    out = pit.climb(6, 66.0, 112.0, 65.0, 110.0)
    assert out.witness == fields.WITNESS_PIT_LOW and pit.memory.doubt == fields.BY_MORE


def test_nothing_is_counted_while_a_lid_is_open():
    pit = Beside()
    pit.climb(18, 128.0, 128.0)
    pit.order(fields.ORDER_OPENED)
    pit.now.meat_2 = 12000
    pit.run(126.0, 15, per_cycle=-2.0)  # a quick probe falls at once, a thick one later
    assert pit.memory.open_fell and pit.memory.witness_for == 0
    pit.run(90.0, 60)
    assert pit.memory.witness_for == 0 and pit.memory.doubt == 0


def test_no_phase_ends_by_a_probe_that_hangs_in_the_air():
    pit = Beside()
    pit.memory.phases = 2
    for i in range(8):
        pit.memory.rows[i] = (12110, 13500, fields.END_MEAT_2, 9500, 12110, 13500, fields.END_BY_HAND, 0)[i]
    out = pit.climb(30, 126.0, 124.0)
    assert out.phase == 0 and out.witness == fields.WITNESS_AGREES
    pit.order(fields.ORDER_WITNESS, 0)
    assert pit.run(126.0, 30).phase == 1


def test_the_air_outside_is_measured_or_taken_from_the_colder_of_the_two():
    pit = Beside()
    assert pit.memory.witness_base == 2000
    pit.now.meat_2 = 9000
    pit.run(100.0, 60)
    pit.order(fields.ORDER_WITNESS, 2)
    assert pit.memory.witness_base == witness.WARMEST_BASE  # both are warm already
    pit.now.ambient = -500
    pit.order(fields.ORDER_WITNESS, 2)
    assert pit.memory.witness_base == -500


def test_a_probe_without_a_good_pit_reading_is_not_compared():
    pit = Beside()
    pit.climb(5, 40.0, 40.0)
    before = pit.memory.witness_cycles
    pit.run(0.0, 10, faults=fields.PROBE_OPEN)
    assert pit.memory.witness_cycles == before
