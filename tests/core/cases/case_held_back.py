"""What a doubt does with the pit, and what is no evidence for one."""

from cases.case_doubt import LOW, Held
from cases.kit import Pit
from hearth.core import doubt, fields, held_back, need, openings


def test_without_a_lid_more_may_be_missing():
    pit = Held()
    pit.run(130.0, 800, per_cycle=-0.0625)  # too slow for a lid, and then it creeps up
    for i in range(4000):
        if pit.run(LOW + i * 0.004).reason == fields.PROBE_DOUBTED:
            break
    assert pit.memory.openings == 0 and pit.memory.doubt == 1
    assert pit.memory.lack * 100 >= doubt.UNMOVED * pit.settings.lack_most * doubt.A_MINUTE


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
    full = pit.settings.strain_after * 1000 // fields.PERIOD_MS  # cycles of full fan
    assert full < cycles < full * 5 // 3 and pit.memory.lack < pit.settings.lack_most * doubt.A_MINUTE
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
    pit.run(LOW + 4.0, 3000)
    assert at + 2900 * held_back.CREEPS <= pit.memory.mark <= at + held_back.LET_UP
    pit.run(86.0, 6000)
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
    pit.run(90.0, 167, per_cycle=0.18)
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
    pit.run(20.0, 278, per_cycle=0.18)
    before = pit.memory.climb
    pit.order(fields.ORDER_FAN, 5000, 300)
    pit.run(75.0, 60)
    assert pit.memory.climb - before >= 60 * 5000
    need.new_band(pit.memory)
    assert pit.memory.usual == pit.memory.lately
