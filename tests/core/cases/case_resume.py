"""After a power cut the pit's own reading decides: near its band the board goes on, else it stays off and says so."""

from cases.kit import Pit
from hearth.core import fields, resume


def cut():
    """A pit held for a while, and its memory woken as after a power cut."""
    pit = Pit()
    pit.hold(124.0)
    assert pit.memory.owed > 0
    resume.wake(pit.memory)
    assert pit.memory.fan == 0 and pit.memory.mode == 0
    return pit


def test_a_pit_near_its_band_is_held_on_with_what_it_owed():
    pit = cut()
    owed = pit.memory.owed
    out = pit.run(118.0, 3)
    assert out.resume == fields.RESUMED and out.fan > 0 and pit.memory.owed >= owed and pit.memory.arrived == 1
    assert pit.order(fields.ORDER_ACKNOWLEDGE) == fields.ACCEPTED
    assert pit.out.resume == fields.NO_RESUME and pit.out.fan > 0


def test_a_pit_that_has_gone_cold_is_left_off():
    pit = cut()
    out = pit.run(80.0, 3)
    assert out.resume == fields.RESUME_REFUSED and out.reason == fields.NOT_RESUMED and out.fan == 0
    assert pit.run(124.0, 50).fan == 0  # one decision, not one for every reading
    assert pit.order(fields.ORDER_START) == fields.ACCEPTED
    assert pit.out.resume == fields.NO_RESUME and pit.out.fan > 0


def test_without_a_reading_it_waits_and_then_refuses():
    pit = cut()
    out = pit.run(0.0, 100, faults=fields.PROBE_SILENT)
    assert out.resume == fields.RESUME_PENDING and out.fan == 0
    out = pit.run(0.0, 60, faults=fields.PROBE_SILENT)
    assert out.resume == fields.RESUME_REFUSED and out.fan == 0


def test_what_was_off_or_tripped_stays_so():
    pit = Pit()
    pit.hold(124.0)
    pit.order(fields.ORDER_STOP)
    resume.wake(pit.memory)
    assert pit.run(124.0, 5).fan == 0 and pit.out.resume == fields.NO_RESUME
    pit = Pit()
    pit.hold(124.0)
    pit.order(fields.ORDER_STOP)
    pit.order(fields.ORDER_FAN, 5000, 600)  # taken from off: what it goes back to
    resume.wake(pit.memory)
    assert pit.run(124.0, 5).fan == 0 and pit.out.resume == fields.NO_RESUME
    pit = Pit()
    pit.hold(124.0)
    pit.run(0.0, 30, faults=fields.PROBE_OPEN)
    resume.wake(pit.memory)
    assert pit.run(124.0, 5).trip == fields.TRIP_PROBE and pit.out.fan == 0


def test_a_fan_by_hand_goes_back_to_holding_after_a_power_cut():
    pit = Pit()
    pit.hold(124.0)
    pit.order(fields.ORDER_FAN, 5000, 600)
    resume.wake(pit.memory)
    assert pit.run(124.0, 5).state == fields.HOLDING and pit.out.resume == fields.RESUMED


def test_a_trip_on_waking_refuses_and_a_hand_ends_the_waiting():
    pit = cut()
    pit.now.board = fields.BOARD_RESTARTS
    out = pit.run(124.0, 1)
    assert out.resume == fields.RESUME_REFUSED and out.trip == fields.TRIP_RESTARTS and out.fan == 0
    pit = cut()
    pit.run(0.0, 1, faults=fields.PROBE_SILENT)
    pit.now.order = fields.ORDER_STOP
    assert pit.run(0.0, 1, faults=fields.PROBE_SILENT).resume == fields.NO_RESUME
    assert pit.run(124.0, 20).fan == 0


def test_after_a_short_outage_it_goes_on_at_any_temperature():
    for bit in (fields.BOARD_SHORT, fields.BOARD_SHORT | fields.BOARD_WATCHDOG):
        pit = Pit()
        pit.order(fields.ORDER_START, celsius=20)
        pit.run(20.0, 222, per_cycle=0.18)  # in the climb
        reach = pit.memory.reach
        resume.wake(pit.memory)
        pit.now.board = bit
        assert pit.run(60.0, 2).resume == fields.RESUME_PENDING
        out = pit.run(60.0, 1)
        assert out.resume == fields.RESUMED and out.state == fields.CLIMBING and out.fan == reach >= 2500
        pit = cut()
        pit.now.board = bit
        out = pit.run(70.0, 3)  # after a lid
        assert out.resume == fields.RESUMED and out.state == fields.HOLDING and 0 < out.fan < fields.FULL
        assert out.reason == fields.RECOVERING
    for bit in (fields.BOARD_CUT, fields.BOARD_WATCHDOG):  # a bite after which nobody knows how old the memory is
        pit = cut()
        pit.now.board = bit
        assert pit.run(70.0, 3).resume == fields.RESUME_REFUSED
