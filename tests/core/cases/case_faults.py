"""Faults a pit, a fan or a board can have, one at a time: each ends with the fan off and says which it was."""

from cases.kit import Pit
from hearth.core import fields, orders, parts, programme, whole


def test_a_reading_that_never_moves_is_none():
    pit = Pit()
    pit.hold(120.0)
    still = whole.seconds(pit.settings.frozen_after)
    out = pit.run(120.0, still + 40, wiggle=False)
    assert out.bad == fields.PROBE_FROZEN and out.trip == fields.TRIP_PROBE and out.fan == 0
    pit.now.order = fields.ORDER_ACKNOWLEDGE
    assert pit.run(120.0, wiggle=False).answer == fields.FAULT_STANDS
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=119.0) == fields.ACCEPTED


def test_under_a_full_fan_a_still_reading_counts_faster():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=40.0)
    pit.run(40.0, 400)
    assert pit.out.fan == 10000
    out = pit.run(40.0, whole.seconds(pit.settings.frozen_after) // 4, wiggle=False)
    assert out.bad == fields.PROBE_FROZEN and out.fan == 0


def test_a_still_reading_of_a_pit_that_is_off_means_nothing():
    pit = Pit()
    assert pit.run(20.0, 2000, wiggle=False).bad == 0


def test_colder_than_any_air_is_a_couple_with_its_leads_swapped():
    pit = Pit()
    pit.hold(120.0)
    out = pit.run(-80.0, 1)
    assert out.bad == fields.PROBE_REVERSED
    out = pit.run(-80.0, 30)
    assert out.trip == fields.TRIP_PROBE and out.fan == 0


def test_a_rise_no_charcoal_makes_is_grease():
    pit = Pit()
    pit.hold(128.0)
    out = pit.run(128.0, 30, per_cycle=2.0)
    assert out.trip == fields.TRIP_FLARE and out.reason == fields.TRIPPED_FLARE and out.fan == 0
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=180) == fields.FAULT_STANDS  # it still rises
    pit.run(170.0, 60, per_cycle=-0.1)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED and pit.out.fan == 0


def test_a_rise_under_a_driven_fan_is_given_half_a_minute_without_it():
    for goes_on in (False, True):
        pit = Pit(lead=0)  # nothing is looked ahead: the hand drives the fan until the rise itself stops it
        pit.hold(131.0)
        pit.order(fields.ORDER_FAN, 8000, 300)
        out = pit.run(135.2, 9, per_cycle=1.2)
        assert out.fan == 8000 and out.trip == fields.NO_TRIP
        out = pit.run(146.0, 2, per_cycle=1.2)
        assert out.fan == 0 and out.reason == fields.TOO_HOT and out.trip == fields.NO_TRIP
        out = pit.run(148.4, 18, per_cycle=1.2 if goes_on else 0.2)
        assert out.trip == (fields.TRIP_FLARE if goes_on else fields.NO_TRIP)


def test_a_fire_that_a_lid_gave_air_may_carry_the_pit_past_its_band_for_a_minute():
    for goes_on in (False, True):
        pit = Pit()
        pit.hold(130.0)
        pit.run(130.0, 20, per_cycle=-2.0)
        pit.run(90.0, 20, per_cycle=2.0)
        out = pit.run(130.0, 16, per_cycle=1.2)
        assert out.reason == fields.TOO_HOT and out.fan == 0 and out.trip == fields.NO_TRIP
        pit.run(149.2, 20, per_cycle=1.2 if goes_on else 0.1)
        assert pit.out.trip == (fields.TRIP_FLARE if goes_on else fields.NO_TRIP)


def test_a_fast_rise_below_the_band_is_a_lid_shut_again():
    pit = Pit()
    pit.hold(128.0)
    pit.run(128.0, 40, per_cycle=-1.5)
    assert pit.run(68.0, 25, per_cycle=2.0).trip == fields.NO_TRIP


def test_a_pit_that_rises_far_above_its_band_without_the_fan_trips():
    pit = Pit()
    pit.hold(128.0)
    out = pit.run(140.0, 60, per_cycle=0.05)
    assert out.trip == fields.NO_TRIP
    out = pit.run(152.0, whole.seconds(pit.settings.run_after) + 60, per_cycle=0.05)
    assert out.trip == fields.TRIP_RUNAWAY and out.reason == fields.TRIPPED_RUNAWAY and out.fan == 0


def test_the_fans_own_wires_trip_after_a_while_and_only_a_sound_fan_can_be_acknowledged():
    pit = Pit()
    pit.hold(120.0)
    pit.now.fan_fault = fields.FAN_NOT_TURNING
    assert pit.run(120.0, 5).trip == fields.NO_TRIP
    out = pit.run(120.0, 10)
    assert out.trip == fields.TRIP_FAN and out.reason == fields.TRIPPED_FAN and out.fan == 0
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED and pit.out.fan == 0  # only driving it can show more
    for fault in (fields.FAN_NOT_STOPPING, fields.FAN_SHORTED, fields.FAN_FED, fields.FAN_OUT):
        pit.order(fields.ORDER_START)
        pit.now.fan_fault = fault
        assert pit.run(120.0, 15).trip == fields.TRIP_FAN
        assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.FAULT_STANDS
        pit.now.fan_fault = fields.FAN_FINE
        assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED and pit.out.fan == 0


def test_a_pit_over_its_limit_goes_before_a_trip_that_does_not_speak_of_fire():
    pit = Pit()
    pit.hold(120.0)
    pit.now.fan_fault = fields.FAN_NOT_STOPPING
    assert pit.run(120.0, 15).trip == fields.TRIP_FAN
    out = pit.run(180.0, 5)
    assert out.trip == fields.TRIP_HOT and out.reason == fields.TRIPPED_HOT and pit.memory.trips == 2
    assert pit.run(180.0, 50).trip == fields.TRIP_HOT and pit.memory.trips == 2


def test_a_low_supply_rests_the_fan_and_lets_it_come_back():
    pit = Pit()
    pit.hold(120.0)
    pit.now.supply = 9000
    assert pit.run(120.0, 2).fan > 0
    out = pit.run(120.0, 1)
    assert out.fan == 0 and out.reason == fields.SUPPLY_LOW
    pit.now.supply = 12000
    assert pit.run(120.0, parts.WEAK_REST - 1).fan == 0
    assert pit.run(120.0, 2).fan > 0
    pit.now.supply = 0  # not measured
    assert pit.run(120.0, 10).fan > 0


def sag(pit, cycles, celsius):
    """A supply of 11.6 V that gives 10.2 V while the fan is driven."""
    for _ in range(cycles):
        pit.now.supply = 10200 if pit.out.duty else 11600
        pit.run(celsius)


def test_a_supply_that_sags_under_the_fan_is_called_all_the_while_and_trips_by_its_own_name():
    pit = Pit()
    pit.hold(126.0)
    pit.run(126.0, 400, per_cycle=-0.0775)
    sag(pit, 100, 95.0)
    said = 0
    for _ in range(200):
        sag(pit, 1, 95.0)
        said += 1 if pit.out.reason == fields.SUPPLY_LOW else 0
    assert said == 200
    sag(pit, 1200, 95.0)
    assert pit.out.trip == fields.TRIP_SUPPLY and pit.out.reason == fields.TRIPPED_SUPPLY and pit.out.fan == 0
    pit.now.supply = 10200
    pit.run(95.0, 3)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.FAULT_STANDS
    pit.now.supply = 12000
    pit.run(95.0, parts.WEAK_REST)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED and pit.memory.weak_share == 0


def test_a_supply_that_is_good_again_is_soon_no_longer_called():
    pit = Pit()
    pit.hold(120.0)
    pit.now.supply = 9000
    pit.run(120.0, 400)
    pit.now.supply = 12000
    out = pit.run(120.0, parts.WEAK_REST + 4 * (parts.WEAK_MOST - parts.WEAK_SAID) + 8)
    assert out.reason != fields.SUPPLY_LOW and out.fan > 0


def test_no_trip_of_the_fire_is_acknowledged_while_the_pit_still_rises():
    pit = Pit()
    pit.hold(128.0)
    pit.run(152.0, whole.seconds(pit.settings.run_after) + 80, per_cycle=0.05)
    assert pit.out.trip == fields.TRIP_RUNAWAY
    at = pit.now.pit / 100
    pit.run(at, 30, per_cycle=0.05)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.FAULT_STANDS
    pit.run(at, 60)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED
    pit = Pit()
    pit.hold(128.0)
    pit.memory.trip = fields.TRIP_FIRE
    pit.run(100.0, 60, per_cycle=0.4)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.FAULT_STANDS
    pit.run(124.0, 60)
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED


def test_a_boards_own_faults_trip_once_each():
    for bit, code, reason in (
        (fields.BOARD_SETTINGS, fields.TRIP_SETTINGS, fields.TRIPPED_SETTINGS),
        (fields.BOARD_RESTARTS, fields.TRIP_RESTARTS, fields.TRIPPED_RESTARTS),
    ):
        pit = Pit()
        pit.now.board = bit
        out = pit.run(120.0, 2)
        assert out.trip == code and out.reason == reason and out.fan == 0
        assert pit.order(fields.ORDER_START) == fields.STANDS_TRIPPED
        assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED
        assert pit.run(120.0, 5).trip == fields.NO_TRIP  # seen and answered; the bit alone does not trip again
        assert pit.order(fields.ORDER_START) == fields.ACCEPTED
    pit = Pit()
    pit.now.board = fields.BOARD_FLASH | fields.BOARD_FULL | fields.BOARD_WATCHDOG | fields.BOARD_CUT
    assert pit.run(120.0, 2).trip == fields.NO_TRIP


def test_a_phase_that_waits_for_a_lost_probe_says_which():
    pit = Pit()
    pit.settings.pit_limit = 17500
    pit.memory.phases = 1
    pit.memory.rows[:4] = [12110, 13500, fields.END_MEAT_2, 9500]
    pit.now.meat_2 = 6000
    pit.hold(126.0, 30)
    assert pit.out.lost == 0
    pit.now.meat_2 = fields.ABSENT
    assert pit.run(126.0, 10).lost == 0
    assert pit.run(126.0, 10).lost == 2 and pit.out.fan > 0 and pit.out.phase == 0
    pit.now.meat_2 = 6000
    assert pit.run(126.0, 1).lost == 0
    pit.now.meat_2 = fields.ABSENT
    assert pit.run(126.0, 20).lost == 2
    programme.load(pit.settings, pit.memory, [[12110, 13500, fields.END_BY_HAND, 0]], 0, 0)
    assert pit.run(126.0, 20).lost == 0


def test_settings_must_fit_each_other_and_the_parts():
    for changes in (
        {},
        {"servo_shut": 900, "servo_open": 2100},
        {"mains": 60, "fan_wires": 4},
    ):
        assert orders.fit(Pit(**changes).settings) == 1
    for changes in (
        {"band_low": 13400},
        {"band_high": 16000},
        {"mains": 55},
        {"fan_wires": 3},
        {"servo_shut": 1500, "servo_open": 1500},
        {"servo_shut": 0, "servo_open": 2000},
        {"servo_shut": 1, "servo_open": 2000},
    ):
        assert orders.fit(Pit(**changes).settings) == 0
