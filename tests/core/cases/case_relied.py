"""Who relies on the host: the buzzer calls when it is silent or reaches nobody, and the pit is held as before."""

from cases.kit import Pit
from hearth.core import fields


def alone(pit, silent=True):
    pit.now.board = fields.BOARD_ALONE if silent else 0


def test_a_silent_host_calls_only_if_somebody_relies_on_it():
    pit = Pit()
    pit.hold()
    alone(pit)
    assert pit.run(128.0, 30).call == 0
    assert pit.order(fields.ORDER_RELY, fields.RELIED) == fields.ACCEPTED
    assert pit.out.call == 1 and pit.run(128.0, 3000).call == 1
    alone(pit, False)
    assert pit.run(128.0, 1).call == 0


def test_a_host_that_reaches_nobody_calls_until_it_does():
    pit = Pit()
    pit.hold()
    assert pit.order(fields.ORDER_RELY, fields.UNREACHED) == fields.ACCEPTED and pit.out.call == 2
    assert pit.run(128.0, 30).call == 2
    pit.order(fields.ORDER_RELY, fields.RELIED)
    assert pit.out.call == 0


def test_a_person_who_answers_is_believed_until_the_next_time():
    pit = Pit()
    pit.hold()
    pit.order(fields.ORDER_RELY, fields.RELIED)
    alone(pit)
    assert pit.run(128.0, 10).call == 1
    pit.order(fields.ORDER_OPENED, 60)
    assert pit.out.call == 0 and pit.run(128.0, 300).call == 0
    alone(pit, False)
    pit.run(128.0, 10)
    alone(pit)
    assert pit.run(128.0, 1).call == 1


def test_the_host_does_not_answer_its_own_call():
    pit = Pit()
    pit.hold()
    for level in (fields.RELIED, fields.UNREACHED, fields.UNREACHED):
        pit.order(fields.ORDER_RELY, level)
    assert pit.out.call == 2
    pit.order(fields.ORDER_LOOKED)
    assert pit.out.call == 0
    pit.order(fields.ORDER_RELY, fields.UNREACHED)
    assert pit.run(128.0, 10).call == 0  # the same call
    pit.order(fields.ORDER_RELY, fields.RELIED)
    pit.order(fields.ORDER_RELY, fields.UNREACHED)
    assert pit.out.call == 2  # another


def test_a_silent_host_that_comes_back_and_reaches_nobody_calls_anew():
    pit = Pit()
    pit.hold()
    pit.order(fields.ORDER_RELY, fields.RELIED)
    alone(pit)
    pit.run(128.0, 3)
    pit.order(fields.ORDER_OPENED, 60)
    assert pit.out.call == 0
    alone(pit, False)
    assert pit.order(fields.ORDER_RELY, fields.UNREACHED) == fields.ACCEPTED and pit.out.call == 2


def test_nobody_relies_on_it_after_a_stop():
    pit = Pit()
    pit.hold()
    pit.order(fields.ORDER_RELY, fields.RELIED)
    pit.order(fields.ORDER_STOP)
    alone(pit)
    assert pit.run(100.0, 10).call == 0 and pit.memory.relied == 0
    pit.order(fields.ORDER_START)
    assert pit.run(128.0, 10).call == 0


def test_a_level_that_does_not_exist_is_refused():
    pit = Pit()
    pit.hold()
    for level in (-1, 3, 100000):
        assert pit.order(fields.ORDER_RELY, level) == fields.OUT_OF_RANGE
    assert pit.memory.relied == 0


def test_the_fan_is_that_of_a_board_with_a_host():
    one, other = Pit(), Pit()
    one.hold()
    other.hold()
    other.order(fields.ORDER_RELY, fields.RELIED)
    alone(other)
    one.run(128.0, 1)
    for i in range(300):
        assert one.run(126.0 + i % 5).fan == other.run(126.0 + i % 5).fan
    assert other.out.call == 1
