"""The experiment: small steps about the need, turned by the pit, over at once when anything is not as it should be."""

from cases.kit import Pit
from hearth.core import cycle, experiment, fields

STEP, LONG = 500, 2400


class Lag:
    """A pit that rises with its fan: 0.02 C a cycle for each 10 % over its need of 30 %. Whole numbers only: a float a
    cycle would fill the heap of an interpreter that must not collect."""

    def __init__(self):
        self.pit = Pit(learn=0)
        self.at = 1280000  # 0.0001 C
        self.pit.hold(128.0, 30)

    def run(self, cycles):
        """So many cycles."""
        pit = self.pit
        for _ in range(cycles):
            self.at += (pit.out.fan - 3000) // 5
            pit.now.pit = self.at // 100 + (pit.memory.cycles & 1)
            cycle(pit.settings, pit.now, pit.memory, pit.out)
            pit.now.order = pit.now.first = pit.now.second = 0
        return pit.out

    def begin(self, step=STEP, seconds=LONG):
        """Order it; the answer."""
        return self.pit.order(fields.ORDER_EXPERIMENT, step, seconds)


def steady():
    """A pit that has been held for 20 min."""
    lag = Lag()
    lag.run(600)
    assert lag.pit.memory.held > experiment.STEADY
    return lag


def test_steps_up_and_down_about_the_need_and_ends_by_itself():
    lag = steady()
    base = lag.pit.memory.lately // 1000
    assert lag.begin() == fields.ACCEPTED
    base = lag.pit.memory.trial_base
    seen, low, high = set(), 30000, 0
    for _ in range(LONG // 2 - 1):
        out = lag.run(1)
        if out.reason == fields.EXPERIMENTING:
            seen.add(out.fan)
        low, high = min(low, lag.pit.memory.pit), max(high, lag.pit.memory.pit)
    assert seen == {base - STEP, base + STEP}
    assert lag.pit.memory.low + 100 < low and high < lag.pit.memory.high - 100
    assert high - low > experiment.TURN
    out = lag.run(5)
    assert out.reason != fields.EXPERIMENTING and lag.pit.memory.trial_left == 0


def test_the_law_goes_on_without_a_bump():
    lag = steady()
    lag.begin()
    lag.run(100)
    base = lag.pit.memory.trial_base
    assert lag.pit.order(fields.ORDER_EXPERIMENT, 0, 0) == fields.ACCEPTED
    out = lag.run(1)
    assert out.reason != fields.EXPERIMENTING and -100 <= out.fan - base <= 100


def test_it_ends_near_an_edge():
    for celsius in (122.4, 133.7):
        lag = steady()
        lag.begin()
        assert lag.run(3).reason == fields.EXPERIMENTING
        assert lag.pit.run(celsius, 4).reason != fields.EXPERIMENTING
        assert lag.pit.memory.trial_left == 0


def test_a_lid_told_or_felt_a_bad_reading_and_any_plan_of_a_person_end_it():
    for order in (fields.ORDER_OPENED, fields.ORDER_STOP, fields.ORDER_START, fields.ORDER_BAND, fields.ORDER_FAN):
        lag = steady()
        lag.begin()
        lag.run(3)
        first, second = (11500, 13000) if order == fields.ORDER_BAND else (1000, 60)
        assert lag.pit.order(order, first if order in (fields.ORDER_BAND, fields.ORDER_FAN) else 0, second) == 1
        assert lag.pit.memory.trial_left == 0
    lag = steady()
    lag.begin()
    lag.run(3)
    lag.pit.run(128.0, 20, per_cycle=-1.0)
    assert lag.pit.memory.trial_left == 0 and lag.pit.out.state == fields.OPENED
    lag = steady()
    lag.begin()
    lag.run(3)
    lag.pit.memory.open_left = 30  # felt while the pit still stands in the midst of its band
    assert lag.run(1).state == fields.OPENED and lag.pit.memory.trial_left == 0
    lag = steady()
    lag.begin()
    lag.run(3)
    lag.pit.run(128.0, 5, faults=fields.PROBE_OPEN)
    assert lag.pit.memory.trial_left == 0 and lag.pit.out.fan == 0


def test_a_doubt_and_a_fire_that_fades_end_it():
    for name, value in (("doubt", 1), ("state", fields.FADING)):
        lag = steady()
        lag.begin()
        assert lag.run(3).reason == fields.EXPERIMENTING
        setattr(lag.pit.memory, name, value)
        lag.run(1)
        assert lag.pit.memory.trial_left == 0


def test_it_does_not_begin_unless_the_pit_is_steady():
    pit = Pit()
    assert pit.order(fields.ORDER_EXPERIMENT, STEP, LONG, celsius=20.0) == fields.NOT_RUNNING
    assert pit.order(fields.ORDER_EXPERIMENT, 0, 0) == fields.NOT_RUNNING
    pit.hold(128.0, 100)
    assert pit.order(fields.ORDER_EXPERIMENT, STEP, LONG) == fields.NOT_STEADY
    lag = steady()
    assert lag.begin(step=50) == fields.OUT_OF_RANGE and lag.begin(seconds=3000) == fields.OUT_OF_RANGE
    lag.pit.run(134.0, 3)
    assert lag.begin() == fields.NOT_STEADY
    lag = steady()
    lag.pit.memory.doubt = 1
    assert lag.begin() == fields.NOT_STEADY


def test_a_pit_that_does_not_move_is_stepped_every_ten_minutes():
    lag = steady()
    lag.begin()
    fans = [lag.pit.run(128.05).fan for _ in range(2 * experiment.QUARTER)]
    turns = [i for i in range(1, len(fans)) if fans[i] != fans[i - 1]]
    assert len(turns) == 2 and turns[1] - turns[0] == experiment.QUARTER
    assert abs(fans[turns[0]] - fans[0]) == 2 * STEP


def test_what_the_fire_needs_is_not_learned_from_it():
    lag = steady()
    lag.pit.settings.learn = lag.pit.memory.settled = 1
    lag.pit.memory.late = 0
    usual, owed, share = lag.pit.memory.usual, lag.pit.memory.owed, lag.pit.memory.share
    lag.begin()
    lag.run(400)
    assert lag.pit.memory.trial_left > 0
    assert lag.pit.memory.usual == usual and lag.pit.memory.owed == owed
    assert lag.pit.memory.share == share and lag.pit.memory.late == 0  # it stands off the aim, by order
