"""Inhibits clear themselves, trips are latched; no fault feeds the fire."""

from cases.kit import Pit
from hearth.core import fields


def test_two_bad_readings_change_nothing_three_stop_the_fan():
    pit = Pit()
    pit.hold(120.0)
    fan = pit.out.fan
    assert fan > 0
    assert pit.run(-50.0, 2, faults=fields.PROBE_OPEN).fan > fan // 2
    out = pit.run(-50.0, 1, faults=fields.PROBE_OPEN)
    assert out.fan == 0 and out.reason == fields.READING_BAD and out.trip == fields.NO_TRIP
    assert pit.run(120.0, 1).fan > 0


def test_a_minute_of_bad_readings_trips_and_stays_tripped():
    pit = Pit()
    pit.hold(120.0)
    out = pit.run(0.0, 30, faults=fields.PROBE_SILENT)
    assert out.state == fields.TRIPPED and out.trip == fields.TRIP_PROBE and out.reason == fields.TRIPPED_PROBE
    assert pit.run(120.0, 100).state == fields.TRIPPED and pit.out.fan == 0


def test_acknowledging_never_starts_the_fan():
    pit = Pit()
    pit.hold(120.0)
    pit.run(0.0, 30, faults=fields.PROBE_OPEN)
    assert pit.order(fields.ORDER_START, celsius=120) == fields.STANDS_TRIPPED
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=120) == fields.ACCEPTED
    out = pit.run(120.0, 50)
    assert out.fan == 0 and out.state == fields.OFF
    assert pit.order(fields.ORDER_START) == fields.ACCEPTED and pit.out.fan > 0


def test_a_fault_that_stands_cannot_be_acknowledged_away():
    pit = Pit()
    pit.hold(120.0)
    pit.run(0.0, 30, faults=fields.PROBE_OPEN)
    pit.now.faults = fields.PROBE_OPEN
    pit.now.order = fields.ORDER_ACKNOWLEDGE
    assert pit.run(0.0, 1, faults=fields.PROBE_OPEN).answer == fields.FAULT_STANDS


def test_one_hot_glitch_does_not_trip_three_do():
    pit = Pit()
    pit.hold(128.0)
    assert pit.run(400.0, 2).trip == fields.NO_TRIP
    pit.run(128.0, 20)
    out = pit.run(400.0, 3)
    assert out.trip == fields.TRIP_HOT and out.fan == 0


def test_far_above_the_band_the_fan_rests_even_by_hand():
    pit = Pit()
    pit.hold(128.0)
    pit.order(fields.ORDER_FAN, 5000, 600)
    assert pit.run(160.0, 60).fan == 0 and pit.out.reason == fields.TOO_HOT
    assert pit.run(140.0, 60).fan == 5000


def test_never_a_fan_without_a_first_good_reading():
    pit = Pit()
    pit.now.order = fields.ORDER_START
    assert pit.run(20.0, 1, faults=fields.PROBE_OPEN).fan == 0


def test_fan_by_hand_expires_and_is_bounded():
    pit = Pit()
    pit.run(100.0, 10)
    assert pit.order(fields.ORDER_FAN, 5000, 7200) == fields.OUT_OF_RANGE
    assert pit.order(fields.ORDER_FAN, 10001, 60) == fields.OUT_OF_RANGE
    assert pit.order(fields.ORDER_FAN, 5000, 60) == fields.ACCEPTED
    assert pit.run(100.0, 40).fan == 0 and pit.out.state == fields.OFF


def test_stop_is_always_taken():
    pit = Pit()
    pit.hold(120.0)
    assert pit.order(fields.ORDER_STOP) == fields.ACCEPTED and pit.out.fan == 0 and pit.out.state == fields.OFF


def test_bands_are_checked():
    pit = Pit()
    pit.hold(120.0)
    assert pit.order(fields.ORDER_BAND, 13000, 13100) == fields.BAND_ORDER
    assert pit.order(fields.ORDER_BAND, 13000, 17000) == fields.OUT_OF_RANGE
    assert pit.memory.high == 13500


def test_an_acknowledge_without_a_trip_and_codes_without_meaning():
    pit = Pit()
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=20) == fields.ACCEPTED
    pit.memory.trip = fields.TRIP_SETTINGS
    assert pit.run(20.0).reason == fields.TRIPPED_SETTINGS and pit.out.fan == 0
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED and pit.out.state == fields.OFF


def test_a_hot_trip_stands_until_the_pit_has_cooled():
    pit = Pit()
    pit.hold(128.0)
    pit.run(400.0, 3)
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=390) == fields.FAULT_STANDS
    pit.run(100.0, 30)
    assert pit.order(fields.ORDER_ACKNOWLEDGE, celsius=100) == fields.ACCEPTED


def test_the_hand_gives_the_fan_back_and_openings_are_bounded():
    pit = Pit()
    pit.hold(128.0)
    assert pit.order(fields.ORDER_FAN, 0, 0) == fields.NOT_RUNNING
    pit.order(fields.ORDER_FAN, 4000, 600)
    pit.order(fields.ORDER_FAN, 5000, 600)  # a second hand keeps what to go back to
    assert pit.order(fields.ORDER_FAN, 0, 0) == fields.ACCEPTED and pit.out.state == fields.HOLDING
    assert pit.order(fields.ORDER_OPENED, 1801) == fields.OUT_OF_RANGE
    assert pit.order(fields.ORDER_OPENED, 60) == fields.ACCEPTED
    assert pit.order(fields.ORDER_OPENED, 300) == fields.ACCEPTED and pit.out.state == fields.OPENED
    pit.run(0.0, 30, faults=fields.PROBE_OPEN)
    assert pit.order(fields.ORDER_FAN, 5000, 60, celsius=128) == fields.STANDS_TRIPPED
    assert pit.order(fields.ORDER_START) == fields.STANDS_TRIPPED


def test_a_start_while_holding_changes_nothing():
    pit = Pit()
    pit.hold(128.0)
    owed = pit.memory.owed
    assert owed > 0 and pit.order(fields.ORDER_START) == fields.ACCEPTED and pit.memory.owed >= owed


def test_no_time_no_filter():
    pit = Pit()
    pit.hold(128.0, 10)
    smooth = pit.memory.smooth
    pit.now.dt = 0
    pit.run(140.0, 3)
    assert pit.memory.smooth == smooth
