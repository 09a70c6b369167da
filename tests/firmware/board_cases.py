"""What the Pico drives, reads, tells and leaves behind. Runs on CPython and MicroPython."""

import os

import twin_frames as frames
from board_bench import Bench, Here, NoLine, duty, made, press, reading, sees
from hearth.board import PINS
from hearth.core import Out, Settings, fields
from hearth.drivers.servo import TRAVEL_MS
from hearth.loop import run
from twin_parts import SCRATCH, TICKS


class Silent:
    """A line on which nobody speaks, and nobody listens."""

    def read(self):
        return b""

    def write(self, data):
        return 0


def test_made_it_drives_nothing_and_arms_the_watchdog():
    bench, pico = made()
    for name in ("fan", "servo"):
        assert duty(bench, name) == 0
    assert bench.Pin.all[PINS["buzzer"]].level == 0
    assert bench.Pin.all[PINS["fan_supply"]].level == 0
    assert bench.armed == 8000 and not bench.fed
    pico.feed(7)
    assert bench.fed


def test_the_fan_is_off_before_anything_else_is_touched():
    bench = Bench()
    Here(bench, os, bench.clock, NoLine())
    first = [entry[1] for entry in bench.log[:2]]
    assert first == [PINS["fan_supply"], PINS["fan"]], bench.log[:4]


def test_read_fills_everything():
    bench, pico = made()
    now = reading(bench, pico)
    assert now.pit == 12345 and now.faults == 0
    assert 5050 < now.meat_1 < 5150, now.meat_1  # 40000 counts: 34.5 kohm under 22 kohm
    assert now.meat_1 < now.meat_2 < now.meat_3 and now.ambient < now.meat_1
    assert abs(now.supply - 12000) < 5 and now.turns == -1 and now.fan_fault == fields.FAN_FINE


def test_a_supply_that_the_blower_pulls_down_is_read_at_its_lowest():
    bench, pico = made()
    gate = bench.Pin.all[PINS["fan"]]

    def look():
        conducts = bench.clock.us % 1000 * 65535 < gate.duty * 1000
        return (10200 if conducts else 11600) * 65535 // 22214

    pico._supply.counts = pico._drain._supply = look
    pico.fan(3000)
    bench.clock.us = 500  # between two pulses
    now = reading(bench, pico)
    assert abs(now.supply - 10200) < 10 and now.fan_fault == fields.FAN_FINE, now.supply
    pico.fan(0)
    assert abs(reading(bench, pico).supply - 11600) < 10


def test_offsets_are_added_and_the_ends_cut_off():
    settings = Settings()
    settings.pit_offset, settings.meat_1_offset, settings.ambient_offset = 150, -200, 30
    bench, plain = made()
    before = reading(bench, plain)
    bench, pico = made(settings)
    now = reading(bench, pico)
    assert now.pit == 12495
    assert now.meat_1 == before.meat_1 - 200 and now.meat_2 == before.meat_2 and now.ambient == before.ambient + 30
    assert reading(bench, pico, hot=49950).pit == 50000


def test_probes_that_are_open_or_short_are_absent_and_offsets_leave_that_alone():
    settings = Settings()
    settings.meat_1_offset = settings.meat_2_offset = 500
    bench, pico = made(settings)
    now = reading(bench, pico, probes=(65535, 0, 20000, 65535))
    assert (now.meat_1, now.meat_2, now.ambient) == (fields.ABSENT,) * 3
    assert now.meat_3 != fields.ABSENT


def test_a_multiplexer_that_cannot_be_believed_has_no_probes():
    bench, pico = made()
    bench.channels[7] = 0
    for _ in range(4):
        now = reading(bench, pico)
    assert (now.meat_1, now.meat_2, now.meat_3, now.ambient) == (fields.ABSENT,) * 4
    assert now.pit == 12345 and now.faults == 0


def test_each_fault_of_the_converter_costs_its_readings_only():
    bench, pico = made()
    for world, fault in (
        ({"faults": fields.PROBE_OPEN}, fields.PROBE_OPEN),
        ({"faults": frames.COUPLE_LIVE}, fields.PROBE_SHORT),  # this chip tells over and under voltage as one
        ({"faults": fields.PROBE_SHORT}, 0),  # a lead on ground or on 3.3 V: no bit for certain
        ({"faults": fields.PROBE_TO_SUPPLY}, 0),
        ({"hot": 51000}, fields.PROBE_RANGE),
        ({"cold": 9000}, fields.COLD_JUNCTION),
        ({"bus": frames.BUS_SILENT}, fields.PROBE_SILENT),
        ({"bus": frames.BUS_LOW}, fields.PROBE_SILENT),
        ({"bus": frames.BUS_SWAPPED}, fields.PROBE_SILENT),
    ):
        assert reading(bench, pico, **world).faults == fault, world
        for _ in range(2):  # a chip that has not answered is set up again, and its first conversion not taken
            now = reading(bench, pico)
        assert (now.pit, now.faults) == (12345, 0), world


def test_a_bus_that_raises_is_a_silent_converter():
    bench, pico = made()

    class Broken:
        def read(self):
            raise OSError(5)

    pico._converter = Broken()
    assert reading(bench, pico).faults == fields.PROBE_SILENT


def test_the_other_converter_is_read_in_its_own_way():
    settings = Settings()
    settings.converter = 31855
    bench, pico = made(settings, converter=31855)
    now = reading(bench, pico)
    assert abs(now.pit - 12345) < 30 and now.faults == 0, now.pit  # 1/4 C a step
    assert reading(bench, pico, faults=fields.PROBE_TO_SUPPLY).faults == fields.PROBE_TO_SUPPLY
    assert reading(bench, pico, cold=9000).faults == fields.COLD_JUNCTION


def test_the_other_converter_is_frozen_when_its_bits_are_and_not_when_its_couple_is():
    settings = Settings()
    settings.converter, settings.frozen_after = 31855, 60
    bench, pico = made(settings, converter=31855)
    assert not any(reading(bench, pico).faults for _ in range(60))
    told = [reading(bench, pico, bus=frames.BUS_FROZEN).faults for _ in range(40)]
    assert told.index(fields.PROBE_FROZEN) == 29 and told[29:] == [fields.PROBE_FROZEN] * 11, told
    assert reading(bench, pico).faults == 0


def test_a_fan_found_still_is_looked_at_anew_once_a_person_has_seen_to_it():
    for wires in (2, 4):
        settings = Settings()
        settings.fan_wires = wires
        bench, pico = made(settings, wires=wires)
        out = Out()
        pico.fan(5000)
        for _ in range(3):
            now = reading(bench, pico, ms=2000, fan=frames.FAN_SWITCH_OPEN if wires == 2 else frames.FAN_UNPLUGGED)
        assert now.fan_fault == fields.FAN_NOT_TURNING
        out.state = fields.TRIPPED
        pico.show(out)
        pico.fan(0)
        for _ in range(3):
            assert reading(bench, pico, ms=2000).fan_fault == fields.FAN_NOT_TURNING  # the cook is told which it is
        out.state = fields.OFF
        pico.show(out)
        assert reading(bench, pico, ms=2000).fan_fault == fields.FAN_FINE


def test_settings_that_do_not_concern_a_part_leave_it_alone():
    bench, pico = made()
    settings = Settings()
    settings.gain = 500
    pico.configure(settings)
    assert reading(bench, pico).faults == 0  # no new first conversion
    settings.mains = 60
    pico.configure(settings)
    assert reading(bench, pico).faults == fields.PROBE_SILENT
    assert not bench.couple.registers[0] & 1
    settings.probe_beta = 3000
    before = reading(bench, pico).meat_1
    pico.configure(settings)
    assert reading(bench, pico).meat_1 != before


def test_a_four_wire_fan_has_its_frequency_its_supply_and_its_turns():
    settings = Settings()
    settings.fan_wires = 4
    bench, pico = made(settings, wires=4)
    assert bench.drive() == 0
    pico.fan(5000)
    assert abs(bench.drive() - 32768) < 2
    now = reading(bench, pico, ms=2000)
    assert 1400 < now.turns <= 1500 and now.fan_fault == fields.FAN_FINE
    for _ in range(3):
        now = reading(bench, pico, ms=2000, fan=frames.FAN_UNPLUGGED)
    assert now.turns == 0 and now.fan_fault == fields.FAN_NOT_TURNING
    pico.fan(0)
    assert bench.drive() == 0 and duty(bench, "fan") == 65535  # a high pin is a low wire


def test_either_switch_of_either_fan_stops_it_and_a_shorted_one_is_found_at_rest():
    for wires in (2, 4):
        settings = Settings()
        settings.fan_wires = wires
        bench, pico = made(settings, wires=wires)
        pico.fan(5000)
        reading(bench, pico, ms=2000)
        assert bench.drive() > 0
        pico.fan(0)
        told = []
        for _ in range(4):
            told.append(reading(bench, pico, ms=2000, fan=frames.FAN_SUPPLY_SHORTED).fan_fault)
            assert bench.drive() == 0
        assert told == [fields.FAN_FINE] * 2 + [fields.FAN_FED] * 2, (wires, told)
        assert reading(bench, pico, ms=2000).fan_fault == fields.FAN_FINE
        sees(bench, fan=frames.FAN_SWITCH_SHORTED)
        assert bench.drive() == 0
        sees(bench, fan=frames.FAN_SUPPLY_SHORTED)
        pico.end()
        assert bench.drive() == 0  # nobody drives the pin


def test_a_two_wire_blower_that_is_not_there_is_told_from_a_shorted_switch():
    for fan, told in ((frames.FAN_UNPLUGGED, fields.FAN_OUT), (frames.FAN_SWITCH_SHORTED, fields.FAN_SHORTED)):
        bench, pico = made()
        for _ in range(4):
            now = reading(bench, pico, ms=2000, fan=fan)
        assert now.fan_fault == told, now.fan_fault


def test_changing_the_wires_turns_the_fan_off():
    settings = Settings()
    bench, pico = made(settings)
    pico.fan(8000)
    settings.fan_wires = 4
    pico.configure(settings)
    assert duty(bench, "fan") == 65535 and bench.Pin.all[PINS["fan_supply"]].level == 0
    pico.fan(8000)
    settings.fan_wires = 2
    pico.configure(settings)
    assert duty(bench, "fan") == 0 and bench.Pin.all[PINS["fan_supply"]].level == 0


def test_the_damper_follows_the_demand_and_not_its_pulses():
    settings = Settings()
    settings.servo_shut, settings.servo_open = 1000, 2000
    bench, pico = made(settings)
    pin = bench.Pin.all[PINS["servo"]]
    assert pin.pulse_ns == 1000000
    pico.fan(0, 600)
    assert pin.pulse_ns == 1060000
    pico.fan(1200, 600)
    assert pin.pulse_ns == 0  # stands already
    pico.fan(0)
    assert pin.pulse_ns == 1000000
    settings.servo_shut = 0
    pico.configure(settings)
    pico.fan(5000)
    assert pin.pulse_ns == 0


def test_time_survives_the_wrap_of_the_ticks():
    bench, pico = made()
    total = 0
    for step in (1, 599000, 2000, TICKS // 2 - 1, TICKS // 2 - 1, 7):
        bench.clock.now += step
        total += step
        assert pico.elapsed() == total
    assert total > TICKS


def test_a_press_and_a_hold_are_each_told_once():
    bench, pico = made()
    press(bench, pico, 300)
    assert pico.told() and not pico.told() and not pico.held() and not pico.let_go()
    press(bench, pico, 3500)
    assert pico.held() and not pico.held() and not pico.told()
    assert pico.let_go() and not pico.let_go()


def test_while_it_waits_the_link_is_served_and_lamp_and_buzzer_go_on():
    bench, pico = made()
    out = Out()
    out.state, out.trip = fields.TRIPPED, fields.TRIP_HOT
    pico.show(out)
    served = [0]
    levels = set()
    sounds = set()

    def serve():
        served[0] += 1
        levels.add((bench.Pin.all[PINS["lamp"]].level, bench.Pin.all[PINS["led"]].level))
        sounds.add(bench.Pin.all[PINS["buzzer"]].level > 0)

    began = pico.elapsed()
    pico.sleep_until(began + 2000, serve)
    assert pico.elapsed() - began == 2000
    assert not bench.fed  # only a finished cycle feeds the watchdog
    assert served[0] > 500 and levels == {(0, 0), (1, 1)} and sounds == {True, False}


def test_what_began_the_boot():
    for cause, reason, said in (("power", 0, "power"), ("watchdog", 1, "watchdog"), ("watchdog", 2, "power")):
        bench, pico = made(cause=cause)
        bench.mem32[0x40058008] = reason  # 2: a restart that was asked for
        assert pico.cause() == said


def test_after_a_bite_the_last_finished_cycle_is_known_and_after_three_no_more():
    bench, pico = made()
    assert pico.finished() == -1
    pico.feed(5)
    pico.feed(0x1000007)  # 24 bits of it are kept
    mark = bench.mem32[SCRATCH]
    assert 0 <= mark < 1 << 30  # a small integer: nothing is made for it
    for known in (7, 7, 7, -1, -1):
        bench, pico = made(cause="watchdog", mark=mark)
        assert pico.finished() == known
        mark = bench.mem32[SCRATCH]
    bench, pico = made(cause="watchdog", mark=mark)
    pico.feed(9)
    assert made(cause="watchdog", mark=bench.mem32[SCRATCH])[1].finished() == 9


def test_after_a_cut_or_a_restart_that_was_asked_for_nobody_knows_how_long_it_was():
    bench, pico = made()
    pico.feed(5)
    mark = bench.mem32[SCRATCH]
    bench, pico = made(mark=mark)  # asked for: the register outlives that, too
    assert pico.finished() == -1 and bench.mem32[SCRATCH] == 0
    assert made(cause="watchdog")[1].finished() == -1


def test_the_end_leaves_every_pulsed_pin_plainly_low():
    settings = Settings()
    settings.servo_shut, settings.servo_open = 1000, 2000
    bench, pico = made(settings)
    pico.fan(7000)
    out = Out()
    out.state = fields.TRIPPED
    pico.show(out)
    pico.sleep_until(pico.elapsed() + 100, lambda: None)
    del bench.log[:]
    pico.end()
    log = bench.log
    assert log[0] == ("duty", PINS["fan"], 0)
    still = log.index(("duty", PINS["servo"], 0))  # its pulses end
    assert sum([entry[1] for entry in log[:still] if entry[0] == "wait"]) >= TRAVEL_MS, "the damper shuts first"
    for name, put in (("fan", "let go"), ("servo", "plain")):
        number = PINS[name]
        low = log.index((put, number, 0 if put == "plain" else None))
        zeros = [i for i in range(low) if log[i] == ("duty", number, 0)]
        waited = sum([entry[1] for entry in log[zeros[-1] : low] if entry[0] == "wait"])
        assert zeros and waited >= 20, name  # a period of the slowest, 20 ms
        assert not [entry for entry in log[zeros[-1] + 1 : low] if entry[:2] == ("duty", number)]
        assert log.index(("stopped", number)) > low, "stopped first, the pin would keep its momentary level"
    assert ("plain", PINS["buzzer"], 0) in log
    assert bench.Pin.all[PINS["fan_supply"]].level == 0 and bench.Pin.all[PINS["lamp"]].level == 0


def test_whatever_ends_the_loop_leaves_the_pins_low():
    for problem in (ValueError, KeyboardInterrupt):
        bench, pico = made()
        pico.ring_size = 2000
        pico.stream = Silent()

        def read(now, pico=pico, problem=problem):
            pico._fan.set(7000)  # past what the loop itself would turn off
            raise problem

        pico.read = read
        try:
            run(pico)
            raise AssertionError
        except (ValueError, KeyboardInterrupt):
            pass
        for put, name, level in (("let go", "fan", None), ("plain", "servo", 0), ("plain", "buzzer", 0)):
            assert (put, PINS[name], level) in bench.log[-8:], bench.log[-8:]
        assert bench.drive() == 0 and bench.Pin.all[PINS["fan_supply"]].level == 0


def test_after_the_end_nothing_drives_the_fan_again():
    for wires in (2, 4):
        settings = Settings()
        settings.fan_wires = wires
        bench, pico = made(settings, wires=wires)
        pico.end()
        pico.fan(10000)
        assert bench.drive() == 0 and bench.Pin.all[PINS["fan_supply"]].level == 0


def test_release_ends_marks_and_restarts_into_a_board_without_watchdog():
    bench, pico = made()
    pico.fan(5000)
    pico.release()
    assert bench.drive() == 0 and bench.restarted == 1
    after = Bench()
    assert Here(after, os, after.clock, NoLine()).released and after.armed == 0
    again = Bench()
    assert not Here(again, os, again.clock, NoLine()).released and again.armed == 8000


def run_all():
    """All cases; how many failed."""
    import gc
    import sys

    failed = 0
    for name in sorted(globals()):
        if name.startswith("test_"):
            gc.collect()  # a case's log wants room in one piece
            try:
                globals()[name]()
                print("ok", name)
            except Exception as problem:
                failed += 1
                print("FAIL", name)
                sys.print_exception(problem, sys.stdout)
    return failed
