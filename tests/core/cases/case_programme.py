"""Phases end by time, by a probe, by hand; past the last row the fire is meant to end."""

from cases.kit import Pit
from hearth.core import fields, programme

ROWS = [
    [12110, 13500, fields.END_AFTER, 2],
    [12500, 13700, fields.END_MEAT_2, 9500],
    [6000, 7000, fields.END_BY_HAND, 0],
]


def loaded():
    pit = Pit()
    assert programme.wrong(ROWS, 15500) == ""
    programme.load(pit.settings, pit.memory, ROWS, 0, 0)
    pit.hold(126.0, 10)
    return pit


def test_phases_end_by_time_and_by_their_probe():
    pit = loaded()
    assert pit.out.phase == 0
    pit.run(126.0, 60)
    assert pit.out.phase == 1 and pit.memory.low == 12500
    pit.now.meat_1 = 9900
    assert pit.run(126.0, 60).phase == 1
    pit.now.meat_2 = 9500
    assert pit.run(126.0, 10).phase == 1  # not by a glance
    assert pit.run(126.0, 10).phase == 2


def test_past_the_last_row_the_fire_may_die():
    pit = loaded()
    assert pit.order(fields.ORDER_PHASE, 3) == fields.ACCEPTED
    assert pit.out.state == fields.BURNOUT and pit.out.fan == 0 and pit.out.reason == fields.COOK_OVER
    assert pit.order(fields.ORDER_START) == fields.ACCEPTED and pit.out.phase == 0


def test_phases_that_are_not_there_are_refused():
    pit = loaded()
    assert pit.order(fields.ORDER_PHASE, 4) == fields.NO_SUCH_PHASE
    assert Pit().order(fields.ORDER_PHASE, 0) == fields.NO_SUCH_PHASE


def test_wrong_programmes_are_named():
    for rows in (
        [[12110, 13500, 0, 0]] * 9,
        [[12110, 13500, 0]],
        [[12110, 12200, 0, 0]],
        [[3000, 5000, 0, 0]],
        [[12110, 16000, 0, 0]],
        [[12110, 13500, 5, 0]],
        [[12110, 13500, fields.END_BY_HAND, 200000]],
        [[12110, 13500, fields.END_BY_HAND, -1]],
        [[12110, 13500, fields.END_AFTER, 0]],
        [[12110, 13500, fields.END_MEAT_1, 200]],
        [["a", 13500, 0, 0]],
    ):
        assert programme.wrong(rows, 15500) != "", rows


def test_a_new_programme_keeps_the_row_in_force():
    pit = loaded()
    pit.run(126.0, 60)
    programme.load(pit.settings, pit.memory, ROWS[:2], 1, 0)
    assert pit.memory.phase == 1 and pit.memory.phases == 2
    programme.load(pit.settings, pit.memory, ROWS[:1], 1, 0)
    assert pit.memory.phase == 0


def test_a_phase_that_moves_keeps_its_time_and_one_entered_afresh_begins_it():
    pit = loaded()
    pit.run(126.0, 80)
    assert pit.out.phase == 1
    stood = pit.memory.phase_cycles
    programme.load(pit.settings, pit.memory, [ROWS[0], ROWS[2], ROWS[1]], 2, 0)
    assert (pit.memory.phase, pit.memory.phase_cycles, pit.memory.low) == (2, stood, 12500)
    programme.load(pit.settings, pit.memory, ROWS, 1, 1)
    assert (pit.memory.phase, pit.memory.phase_cycles, pit.memory.low) == (1, 0, 12500)


def test_at_rest_a_new_programme_waits_in_the_row_it_is_given():
    pit = loaded()
    pit.order(fields.ORDER_STOP)
    programme.load(pit.settings, pit.memory, ROWS, 2, 0)
    assert (pit.memory.phase, pit.memory.low) == (2, 6000) and pit.memory.mode == fields.MODE_OFF
    pit.order(fields.ORDER_START)
    assert pit.out.phase == 2


def test_without_a_programme_the_settings_give_the_band():
    pit = Pit(band_low=10000, band_high=11000)
    programme.enter(pit.settings, pit.memory, 0)
    pit.order(fields.ORDER_START, celsius=20)
    assert (pit.memory.low, pit.memory.high) == (10000, 11000)


def test_stop_and_start_keep_an_ordered_band():
    pit = Pit()
    pit.hold(126.0, 10)
    assert pit.order(fields.ORDER_BAND, 10700, 12100) == fields.ACCEPTED
    pit.order(fields.ORDER_STOP)
    pit.order(fields.ORDER_START)
    assert (pit.memory.low, pit.memory.high) == (10700, 12100)


def test_an_empty_programme_while_holding_leaves_the_band():
    pit = loaded()
    programme.load(pit.settings, pit.memory, [], 0, 0)
    assert pit.memory.phases == 0 and (pit.memory.low, pit.memory.high) == (12110, 13500)
    assert pit.run(126.0, 5).state == fields.HOLDING
