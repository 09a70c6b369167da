"""One step inside, at, and outside of every declared edge: the orders, the rows of a programme, what a start keeps."""

from cases.kit import Pit
from hearth.core import fields, law, leak, need, openings, orders, programme
from hearth.link import messages

LIMIT = 15500  # 0.01 C: top of a band under the usual trip limit
ROW = [12110, 13500, fields.END_BY_HAND, 0]


def test_every_argument_of_an_order_takes_its_ends_and_nothing_beyond():
    for name in messages.ORDERS:
        code, arguments = messages.ORDERS[name]
        for i, (argument, low, high) in enumerate(arguments):
            order = {"name": name}
            for other, least, _ in arguments:
                order[other] = least
            for value in (low, low + 1, high - 1, high):
                order[argument] = value
                assert messages.check(order)[0] == code and messages.check(order)[i + 1] == value, order
            for value in (low - 1, high + 1):
                order[argument] = value
                assert messages.check(order) == "out_of_range", order
            del order[argument]
            assert messages.check(order) == "bad_arguments", order


def answers(code, tries, **settings):
    """{(first, second): answer} of a pit that holds; each order is the first one that it is given."""
    found = {}
    for first, second in tries:
        pit = Pit(**settings)
        pit.hold(128.0, 500)
        pit.now.meat_1 = pit.now.meat_2 = pit.now.meat_3 = 9000
        found[first, second] = pit.order(code, first, second)
    return found


def test_the_law_itself_refuses_one_step_beyond():
    yes, no, narrow = fields.ACCEPTED, fields.OUT_OF_RANGE, fields.BAND_ORDER
    assert answers(
        fields.ORDER_BAND, ((4000, 4200), (3999, 4200), (4001, 4200), (12000, LIMIT), (12000, LIMIT + 1))
    ) == {(4000, 4200): yes, (3999, 4200): no, (4001, 4200): narrow, (12000, LIMIT): yes, (12000, LIMIT + 1): no}
    highest = messages.ORDERS["band"][1][1][2]
    assert answers(fields.ORDER_BAND, ((18000, highest), (18000, highest + 1)), pit_limit=40000) == {
        (18000, highest): yes,
        (18000, highest + 1): no,
    }
    assert answers(
        fields.ORDER_FAN, ((0, 900), (6000, 900), (6001, 900), (-1, 900), (0, 901), (0, 1), (0, -1)), ceiling=6000
    ) == {(0, 900): yes, (6000, 900): yes, (6001, 900): no, (-1, 900): no, (0, 901): no, (0, 1): yes, (0, -1): no}
    assert answers(fields.ORDER_OPENED, ((0, 0), (1800, 0), (1801, 0), (-1, 0))) == {
        (0, 0): yes,
        (1800, 0): yes,
        (1801, 0): no,
        (-1, 0): no,
    }
    assert answers(fields.ORDER_WITNESS, ((0, 0), (1, 0), (3, 0), (4, 0), (-1, 0))) == {
        (0, 0): yes,
        (1, 0): yes,
        (3, 0): yes,
        (4, 0): no,
        (-1, 0): no,
    }
    assert answers(fields.ORDER_RELY, ((0, 0), (2, 0), (3, 0), (-1, 0))) == {
        (0, 0): yes,
        (2, 0): yes,
        (3, 0): no,
        (-1, 0): no,
    }
    assert answers(fields.ORDER_MEAT, ((0, 0), (2000, 0), (2001, 0), (-1, 0))) == {
        (0, 0): yes,
        (2000, 0): yes,
        (2001, 0): no,
        (-1, 0): no,
    }
    assert answers(fields.ORDER_EXPERIMENT, ((100, 2400), (1500, 2400), (99, 2400), (1501, 2400), (100, 2401))) \
        == {(100, 2400): yes, (1500, 2400): yes, (99, 2400): no, (1501, 2400): no, (100, 2401): no}  # fmt: skip


def test_a_row_of_a_programme_refuses_one_step_beyond():
    band, kind = "a band out of range", "an unknown kind of end"
    hand, time = "an end by hand takes no number", "a time out of range"
    meat = "a meat temperature out of range"
    for row, words in (
        ([4000, 4201, 0, 0], ""), ([3999, 4201, 0, 0], band), ([4000, 4200, 0, 0], ""), ([4000, 4199, 0, 0], band),
        ([12110, LIMIT, 0, 0], ""), ([12110, LIMIT + 1, 0, 0], band),
        ([12110, 13500, 4, 3000], ""), ([12110, 13500, 5, 3000], kind), ([12110, 13500, -1, 0], kind),
        ([12110, 13500, 0, 12000], ""), ([12110, 13500, 0, 12001], hand), ([12110, 13500, 0, -1], hand),
        ([12110, 13500, 1, 1], ""), ([12110, 13500, 1, 0], time),
        ([12110, 13500, 1, 5760], ""), ([12110, 13500, 1, 5761], time),
        ([12110, 13500, 2, 3000], ""), ([12110, 13500, 2, 2999], meat),
        ([12110, 13500, 4, 12000], ""), ([12110, 13500, 4, 12001], meat),
    ):  # fmt: skip
        assert programme.wrong([ROW, row], LIMIT) == words, row
        if not words:  # what passes here fits the memory
            pit = Pit()
            programme.load(pit.settings, pit.memory, [row], 0, 0)
            assert pit.memory.wrong() is None, row


def test_eight_phases_fit_and_nine_are_refused():
    pit = Pit()
    eight = [[12110 + i, 13500, fields.END_AFTER, 60] for i in range(fields.ROWS)]
    assert fields.ROWS == 8 and programme.wrong(eight, LIMIT) == ""
    assert programme.wrong(eight + [ROW], LIMIT) == "more than eight phases"
    programme.load(pit.settings, pit.memory, eight, 0, 0)
    assert pit.memory.phases == 8 and len(pit.memory.rows) == 8 * fields.ROW
    assert pit.memory.rows[-fields.ROW :] == [12117, 13500, fields.END_AFTER, 60]


def test_settings_must_leave_room_around_the_band():
    room = {"band_low": 12110, "pit_limit": 15500}
    for changes, fits in (
        ({"band_high": 13500}, 1), ({"band_high": 13501}, 0), ({"band_high": 12310}, 1), ({"band_high": 12309}, 0),
        ({"servo_shut": 500, "servo_open": 501}, 1), ({"servo_shut": 499, "servo_open": 2000}, 0),
        ({"servo_shut": 2000, "servo_open": 499}, 0),
    ):  # fmt: skip
        pit = Pit(**room)
        for name in changes:
            setattr(pit.settings, name, changes[name])
        assert orders.fit(pit.settings) == fits, changes


# what a fire has shown, and says nothing of the next one
OF_THE_FIRE = (
    "full_cycles", "more_cycles", "lack", "strain", "lid_since", "held", "lately", "usual", "proven", "climb",
    "climb_spent", "climb_due", "settled", "swings", "swing_for", "late", "calm_left", "fall_cycles", "recover_left",
    "open_spent", "hand_past", "run_cycles", "flare_cycles", "starved", "above", "excursion", "openings",
)  # fmt: skip


def test_a_start_inherits_nothing_of_the_fire_before():
    pit = Pit()
    for name in OF_THE_FIRE:
        setattr(pit.memory, name, 1)
    pit.memory.share, pit.memory.learned, pit.memory.reach = 400, 400, 9000
    assert orders.start(pit.settings, pit.now, pit.memory) == fields.ACCEPTED
    assert [name for name in OF_THE_FIRE if getattr(pit.memory, name)] == []
    assert (pit.memory.share, pit.memory.learned, pit.memory.reach) == (1000, 400, 2500)


def test_what_a_fire_needs_is_learnt_from_the_demand_that_holds_it():
    memory = Pit().memory
    memory.arrived, memory.smooth = 1, memory.low * 16
    need.learn(memory, 3000)
    assert (memory.lately, memory.usual, memory.held, memory.proven) == (3000000, 3000000, 1, memory.low)
    need.learn(memory, 4200)  # a 120th of the way
    assert (memory.lately, memory.usual, memory.held) == (3010000, 3010000, 2)
    memory.calm_left = 1
    need.learn(memory, 4200)  # the last disturbed cycle counts as undisturbed
    assert (memory.lately, memory.held, memory.calm_left) == (3019916, 3, 0)
    stood = memory.lately, memory.usual, memory.held
    for name, value in (("doubt", 1), ("recover_left", 1), ("arrived", 0)):
        before = getattr(memory, name)
        setattr(memory, name, value)
        need.learn(memory, 9000)
        setattr(memory, name, before)
        assert (memory.lately, memory.usual, memory.held) == stood, name


def test_what_is_usual_is_the_plain_mean_until_it_is_known():
    memory = Pit().memory
    memory.arrived, memory.smooth, memory.held = 1, memory.low * 16, 1
    for cycles, usual in ((0, 3010000), (119, 3010000), (999, 3001200), (2699, 3000444), (2700, 3000444)):
        memory.need_cycles, memory.usual = cycles, 3000000
        need.learn(memory, 4200)
        assert memory.usual == usual and memory.need_cycles == min(cycles + 1, need.USUAL)
    need.new_band(memory)
    assert memory.need_cycles == 0 and memory.usual == memory.lately


def test_what_the_demand_strays_by_counts_up_and_down_alike():
    memory = Pit().memory
    memory.arrived, memory.smooth, memory.held = 1, memory.low * 16, 1
    for demand, gusts in ((4200, 2666), (1800, 2666), (3000, 0)):
        memory.lately, memory.gusts = 3000000, 0
        need.learn(memory, demand)
        assert memory.gusts == gusts


def test_a_pit_is_above_its_band_from_one_step_over_the_top():
    pit = Pit()
    memory = pit.memory
    found = []
    for over in (0, 1, 1, 0):
        memory.smooth = memory.high * 16 + over
        leak.watch(pit.settings, memory, 100)
        found.append((memory.above, memory.excursion))
    assert found == [(0, 0), (1, 1), (2, 2), (0, 2)]


def test_a_reading_counts_as_it_is_up_to_two_degrees_from_the_last():
    for step, counts in ((200, 1), (201, 0), (-200, 1), (-201, 0)):
        pit = Pit()
        pit.hold(128.0, 10)
        last = pit.now.pit = pit.memory.last
        pit.now.pit = last + step
        law.take_reading(pit.settings, pit.now, pit.memory)
        assert (pit.memory.pit == last + step) == counts, step


def test_what_a_lid_proves_of_a_fire_that_has_held_nothing_is_where_it_fell_from():
    for held, start, proven in ((0, 11000, 11000), (0, 12500, 12110), (1, 11000, 0)):
        pit = Pit()
        pit.memory.held, pit.memory.open_from = held, start
        openings.believe(pit.settings, pit.memory)
        assert pit.memory.proven == proven, (held, start)


def test_a_second_fast_cycle_goes_on_with_an_opening_past_its_time():
    for cycles, left in ((1, 0), (2, 1)):
        pit = Pit()
        pit.hold(128.0, 10)
        memory = pit.memory
        memory.open_left, memory.open_fell, memory.open_from, memory.fall_cycles = 1, 1, memory.pit + 600, cycles
        memory.open_low = memory.pit
        openings.watch_shut(pit.settings, memory)
        assert memory.open_left == left, cycles
