"""What counts as an opened lid: a fall, not a word, not a corrupt reading; and for how long all of it may last."""

from cases.kit import Pit
from hearth.core import decide, fields, openings


def loaded():
    """A pit with two lids behind it, an hour held."""
    pit = Pit()
    pit.hold(126.0)
    for cycles in (openings.LOADED, 300):
        pit.run(126.0, 20, per_cycle=-1.0)
        pit.run(106.0, 20, per_cycle=1.0)
        pit.run(126.0, cycles)
    assert pit.memory.openings == 2 and pit.memory.open_left == 0
    return pit


def test_corrupt_readings_open_no_lid_and_trip_nothing():
    for spike in (16, 64, -64):
        for cycles in (1, 2):
            pit = loaded()
            pit.run(126.0, 100, per_cycle=-0.08)  # 3 C under the band
            pit.run(118.0 + spike, cycles)
            for _ in range(100):
                assert pit.run(118.0, 5).state not in (fields.OPENED, fields.TRIPPED), (spike, cycles)
            if spike > 0 or cycles == 1:
                assert pit.memory.openings == 2


def test_one_corrupt_reading_moves_neither_the_filter_nor_the_arrival():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=60)
    pit.run(60.0, 100)
    before = pit.memory.smooth
    pit.run(188.0, 1)
    assert pit.run(60.0, 3).state == fields.CLIMBING and abs(pit.memory.smooth - before) <= 16
    assert pit.memory.arrived == 0


def test_a_word_without_a_fall_is_no_opening():
    pit = Pit()
    pit.hold(126.0)
    assert pit.order(fields.ORDER_OPENED, 60) == fields.ACCEPTED
    pit.run(126.0, 60)
    assert pit.memory.openings == 0 and pit.memory.open_left == 0 and pit.memory.recover_left == 0
    pit.order(fields.ORDER_OPENED, 60)
    pit.run(126.0, 10, per_cycle=-1.0)
    assert pit.memory.openings == 1


def test_told_again_while_the_lid_is_up_is_one_opening():
    pit = Pit()
    pit.hold(126.0)
    pit.order(fields.ORDER_OPENED, 60)
    for _ in range(4):
        pit.run(pit.now.pit / 100, 6, per_cycle=-1.0)
        assert pit.order(fields.ORDER_OPENED, 60) == fields.ACCEPTED
    assert pit.memory.openings == 1 and pit.memory.open_from >= 12500


def test_an_order_that_keeps_coming_does_not_keep_a_dying_fire_from_being_judged():
    pit = Pit()
    pit.hold(133.0, 900)
    refused = 0
    celsius = 133.0
    for _ in range(180):  # every 4 min, and the pit falls 0.5 C a minute
        if pit.out.trip == fields.NO_TRIP:
            refused += 1 if pit.order(fields.ORDER_OPENED, 300) == fields.OPENED_ENOUGH else 0
        pit.run(celsius, 60)
        pit.run(celsius - 1.0, 59)
        celsius = max(16.0, celsius - 2.0)
    assert refused > 5 and pit.memory.openings == 0
    assert pit.out.trip == fields.TRIP_FIRE and pit.out.fan == 0


def test_a_lid_announced_on_the_way_leaves_the_fire_some_air():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=60)
    pit.run(60.0, 30)
    assert pit.order(fields.ORDER_OPENED) == fields.ACCEPTED
    out = pit.run(60.0, 20)
    assert out.state == fields.OPENED and out.fan == decide.CLIMB_OPEN
