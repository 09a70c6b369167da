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
