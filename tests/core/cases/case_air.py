"""How much air a pit may take: a fan that is cut, a probe that is doubted."""

from cases.kit import Pit
from hearth.core import doubt, fields, openings


def test_a_full_fan_that_does_not_bring_the_pit_back_is_cut_to_its_usual_until_someone_comes():
    pit = Pit()
    pit.hold(126.0, 900)
    pit.run(126.0, 140, per_cycle=-0.08)
    did = pit.memory.lately // 1000
    assert pit.run(114.8, 750, per_cycle=0.003).fan == fields.FULL
    out = pit.run(117.1, 100, per_cycle=0.004)  # it rises, and so the fire may be far hotter than the probe
    assert out.state == fields.FADING and out.fan == did < 8000 and out.trip == fields.NO_TRIP
    pit.order(fields.ORDER_OPENED, 60)
    pit.run(118.0, 40, per_cycle=-0.2)
    out = pit.run(114.0, 400, per_cycle=0.004)
    assert out.fan == fields.FULL and out.state == fields.HOLDING
    pit.run(115.6, 1000, per_cycle=-0.02)  # and with less air, too, a dead fire is one in the end
    out = pit.run(95.6, 900)
    assert out.trip == fields.TRIP_FIRE and out.fan == 0


class Climbed(Pit):
    """A pit that has climbed from the cold, and then the meat went on: a probe that reads 104 C and hardly rises."""

    def __init__(self, per_cycle=0.2, held=130.0):
        super().__init__()
        self.order(fields.ORDER_START, celsius=20)
        self.run(20, int(100 / per_cycle), per_cycle=per_cycle)
        self.run(120, 200, per_cycle=0.05)
        self.run(held, 700)
        self.lid(held)

    def lid(self, held=130.0):
        """An opening that ends at 104 C."""
        self.run(held, 30, per_cycle=-1.2)
        self.run(held - 36, 12, per_cycle=1.0)
        assert self.memory.open_left == 0 and self.out.state == fields.HOLDING

    def cut_after(self):
        """Cycles from 104 C on until the fan is cut."""
        for i in range(4000):
            out = self.run(104)
            if out.fan == doubt.cut_to(self.memory):
                assert out.state == fields.FADING and out.reason == fields.PROBE_DOUBTED
                return i
        return None


def test_a_pit_may_take_twice_the_air_of_its_first_climb_to_come_back():
    pit = Climbed()
    climb, lately = pit.memory.climb, pit.memory.lately // 1000
    assert doubt.allowed(pit.settings, pit.memory) >= 2 * climb
    assert 2 * climb // fields.FULL < pit.cut_after() < 4 * climb // fields.FULL
    assert pit.run(106.0, 30).fan == lately


def test_a_cooker_that_climbs_on_less_air_is_cut_sooner():
    assert Climbed(per_cycle=0.4).cut_after() < Climbed(per_cycle=0.2).cut_after() - 60


def test_after_a_later_opening_half_as_much():
    first = Climbed()
    took = first.cut_after()
    second = Climbed()
    second.run(104.0, 60, per_cycle=0.3)
    second.run(122.0, 400, per_cycle=0.02)
    second.run(130.0, openings.LOADED)
    second.lid()
    assert second.memory.openings == 2 and second.cut_after() < took * 2 // 3


def test_a_lid_that_goes_up_in_the_band_counts_as_having_been_there_and_on_the_way_too():
    early = Pit()
    early.order(fields.ORDER_START, celsius=100)  # warm: no climb from the cold was seen
    early.run(100.0, 100, per_cycle=0.2)
    early.run(120.0, 30, per_cycle=-1.0)
    early.run(90.0, 12, per_cycle=1.0)
    assert early.memory.arrived == 0 and early.memory.climb_seen == fields.CLIMB_UNSEEN
    assert early.run(102, 1200).reason == fields.PROBE_DOUBTED
    there = Pit()
    there.order(fields.ORDER_START, celsius=20)
    there.run(20.0, 520, per_cycle=0.2)
    there.memory.arrived = 0
    there.run(124.0, 30, per_cycle=-1.0)
    assert there.memory.arrived == 1


def test_a_phase_that_ends_by_itself_forgives_nothing():
    pit = Climbed()
    pit.cut_after()
    spent = pit.memory.strain
    pit.memory.phases = 2
    for i in range(8):
        pit.memory.rows[i] = (12110, 13500, fields.END_AFTER, 1, 12500, 14000, fields.END_BY_HAND, 0)[i]
    pit.run(104, 40)
    assert pit.memory.phase == 1 and pit.memory.low == 12500 and pit.memory.strain >= spent
    assert pit.out.reason == fields.PROBE_DOUBTED
    pit.order(fields.ORDER_PHASE, 1)
    assert pit.memory.strain >= spent  # nor does an order
    pit.order(fields.ORDER_LOOKED)
    assert pit.memory.strain < spent // 4


def test_a_cold_climb_is_never_cut_however_long():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20.0, 400, per_cycle=0.2)
    out = pit.run(100.0, 900, per_cycle=0.01)
    assert out.fan > 9900 and out.state == fields.CLIMBING


def test_air_given_by_hand_counts_for_the_climb_and_another_band_is_learnt_anew():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20.0, 250, per_cycle=0.2)
    before = pit.memory.climb
    pit.order(fields.ORDER_FAN, 5000, 300)
    pit.run(75.0, 60)
    assert pit.memory.climb - before >= 60 * 5000
    pit = Climbed()
    pit.order(fields.ORDER_BAND, 10200, 11300)
    assert pit.memory.usual == pit.memory.lately and pit.memory.before == 0


def test_a_fire_that_burned_low_may_take_more():
    pit = Climbed()
    pit.memory.lately = 1000 * doubt.THROTTLED
    least = doubt.allowed(pit.settings, pit.memory)
    pit.memory.lately = 0
    assert abs(doubt.allowed(pit.settings, pit.memory) - least * 2) < 10000


def test_a_low_fire_is_cut_to_what_keeps_it_alive_and_then_trips_later():
    pit = Climbed(held=134.0)
    assert pit.memory.lately < 500 * doubt.THROTTLED
    assert pit.cut_after() is not None and pit.out.fan == doubt.THROTTLED // 2
    left = 900 - pit.memory.full_cycles
    pit.run(99.0, 2 * left - 20)  # half as fast as under a full fan: it has not been given much of a chance
    assert pit.out.trip == fields.NO_TRIP and pit.out.fan == doubt.THROTTLED // 2
    assert pit.run(99.0, 40).trip == fields.TRIP_FIRE


def test_a_lid_gives_back_three_quarters_of_what_was_spent_and_who_looked_at_the_probe_all():
    pit = Climbed()
    pit.cut_after()
    spent = pit.memory.strain
    pit.order(fields.ORDER_OPENED, 30)
    pit.run(104.0, 15, per_cycle=-1.0)
    assert pit.memory.openings == 2 and spent // 4 <= pit.memory.strain <= spent // 4 + 14 * fields.FULL
    pit.order(fields.ORDER_BAND, 12110, 13500)
    assert pit.memory.strain >= spent // 4
    pit.order(fields.ORDER_LOOKED)
    assert pit.memory.strain <= fields.FULL


def test_far_more_air_after_the_meat_went_on_than_cold_meat_explains_is_said():
    pit = Climbed(held=129.0)
    assert pit.memory.before > 500 * doubt.THROTTLED
    pit.run(116.0, 60, per_cycle=0.15)  # the probe reads cool: it comes back and stays, at twice the air
    out = pit.run(124.0, 700)
    assert out.state == fields.FADING and out.reason == fields.PROBE_DOUBTED and out.trip == fields.NO_TRIP
    assert out.fan < fields.FULL and pit.memory.lately > 2 * pit.memory.before
    assert pit.run(133.0, 300).state == fields.FADING  # and stays said until a person comes
    assert pit.order(fields.ORDER_LOOKED) == fields.ACCEPTED
    assert pit.run(131.0, 30).state == fields.HOLDING


def test_cold_meat_is_not_doubted():
    pit = Climbed(held=131.0)
    pit.run(116.0, 60, per_cycle=0.25)
    assert pit.run(129.0, 700).state == fields.HOLDING and pit.memory.doubt == 0
