"""Cold meat that a person has noted: how much more a pit may show before its probe is doubted, and for how long."""

from cases.case_doubt import LOW, Held, evidence
from cases.kit import Pit
from hearth.core import cold_meat, doubt, fields, openings

HEAVY = 200  # 0.1 kg, 20 kg


def noted(pit, mass=HEAVY):
    """The pit, and that so much cold meat went on."""
    assert pit.order(fields.ORDER_MEAT, mass) == fields.ACCEPTED and pit.memory.cold == mass
    return pit


def test_meat_beyond_an_ordinary_load_adds_its_share_to_the_evidence():
    plain = Held().lid().doubted_after()
    assert -3 <= noted(Held().lid(), cold_meat.ORDINARY).doubted_after() - plain <= 0
    more = noted(Held().lid()).doubted_after() - plain
    each = more * (12110 - 2000 - 8000) // (HEAVY - cold_meat.ORDINARY)
    assert each in range(cold_meat.LACKS - 200, cold_meat.LACKS + 200)


def test_air_beyond_the_usual_is_the_meats_as_well():
    pit = Held().lid()
    most = doubt.allowed(pit.memory, pit.settings.strain_after * doubt.A_SECOND)
    pit.memory.strain = most
    noted(pit)
    assert pit.run(110.0, 20).reason != fields.PROBE_DOUBTED
    pit.memory.strain = most + cold_meat.strains(pit.memory)
    assert pit.run(110.0, 3).reason == fields.PROBE_DOUBTED


def test_a_climb_has_the_air_for_it():
    for mass in (0, HEAVY):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=20)
        pit.run(20.0, 333, per_cycle=0.18)
        pit.run(80.0, 30, per_cycle=-1.2)
        pit.run(44.0, 12, per_cycle=1.0)
        assert pit.memory.climb_due > 0
        noted(pit, mass)
        enough = pit.memory.climb_due + cold_meat.strains(pit.memory)
        pit.memory.climb_spent = enough - fields.FULL - 1
        assert pit.run(56.0).reason != fields.PROBE_DOUBTED
        pit.memory.climb_spent = enough - 1
        assert pit.run(56.0).reason == fields.PROBE_DOUBTED


def test_it_is_forgotten_once_the_pit_is_back_after_the_lid():
    pit = noted(Held())  # before the lid goes up
    pit.run(130.0, 300)
    assert pit.memory.cold == HEAVY
    pit.lid()
    assert pit.memory.cold == HEAVY
    pit.run(LOW, 100, per_cycle=0.45)
    pit.run(125.0, 30)
    assert pit.memory.cold == pit.memory.cold_left == 0


def test_it_is_forgotten_after_half_an_hour_in_the_band_two_hours_below_and_at_a_stop():
    for celsius, pace in ((130.0, cold_meat.IN_BAND), (118.0, 1)):
        pit = Held()
        pit.run(celsius, 60)
        noted(pit)
        pit.run(celsius, cold_meat.LASTS // pace - 2)
        assert pit.memory.cold == HEAVY and pit.memory.cold_left == pace
        assert pit.run(celsius).answer == fields.NO_ANSWER and pit.memory.cold == 0
    noted(pit)
    pit.order(fields.ORDER_STOP)
    assert pit.memory.cold == pit.memory.cold_left == 0
    assert pit.order(fields.ORDER_MEAT, HEAVY) == fields.NOT_RUNNING and pit.memory.cold == 0


def test_a_new_sum_takes_the_place_of_the_old_one_and_nothing_takes_it_back():
    pit = noted(noted(Held()), 50)
    assert pit.memory.cold_left == cold_meat.LASTS - cold_meat.IN_BAND
    noted(pit, 0)
    assert pit.memory.cold_left == 0
    assert pit.order(fields.ORDER_MEAT, cold_meat.MOST + 1) == fields.OUT_OF_RANGE and pit.memory.cold == 0


def test_a_doubt_that_air_raised_is_weighed_again_when_meat_is_noted_late():
    pit = Held().lid()
    pit.doubted_after()
    pit.run(LOW, 300)  # what raised it does not grow while the board itself holds the pit down
    noted(pit)
    assert pit.memory.doubt == 0 and pit.out.reason != fields.PROBE_DOUBTED
    most = evidence(pit) * cold_meat.lacks(pit.memory) // (pit.settings.lack_most * doubt.A_MINUTE)
    assert most - 10 <= pit.doubted_after() <= most + 10  # and comes again
    noted(pit)
    assert pit.memory.doubt == fields.BY_AIR


def test_no_meat_ends_a_doubt_that_more_than_air_has_raised():
    pit = Held()
    pit.run(130.0, 90, per_cycle=-1.0)
    pit.run(40.0, 1200)
    assert pit.out.trip == fields.TRIP_FELL and pit.memory.doubt == fields.BY_MORE
    pit.run(40.0, 120)
    pit.order(fields.ORDER_ACKNOWLEDGE)
    pit.order(fields.ORDER_START)
    noted(pit, cold_meat.MOST)
    assert pit.memory.doubt == fields.BY_MORE


def test_a_later_lid_by_which_cold_meat_goes_on_counts_as_a_first_one():
    pit = Held()
    pit.memory.openings, pit.memory.held = 2, openings.LOADED
    assert openings.later(pit.memory)
    noted(pit)
    assert not openings.later(pit.memory)
