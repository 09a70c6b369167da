"""Button, lamp and buzzer: what the cook presses, sees and hears. Time is handed in."""

from __future__ import annotations

import pytest
from hearth.core import Out, fields
from hearth.drivers.button import Button
from hearth.drivers.buzzer import Buzzer
from hearth.drivers.lamp import PATTERNS, Lamp


class Finger:
    """A button polled every 2 ms, as the board does."""

    def __init__(self) -> None:
        self.button = Button()
        self.now = 0
        self.down = False
        self.events: list[tuple[str, int]] = []
        self.wait(200)

    def wait(self, ms: int, bounce: int = 0) -> None:
        until = self.now + ms
        bouncing = self.now + bounce
        while self.now < until:
            self.now += 2
            level = self.down if self.now >= bouncing or self.now // 2 % 2 else not self.down
            self.button.step(level, self.now)
            if self.button.pressed:
                self.button.pressed = False
                self.events.append(("pressed", self.now))
            if self.button.held:
                self.button.held = False
                self.events.append(("held", self.now))
            if self.button.let_go:
                self.button.let_go = False
                self.events.append(("let go", self.now))

    def press(self, ms: int, bounce: int = 0) -> None:
        self.down = True
        self.wait(ms, bounce)
        self.down = False
        self.wait(500, bounce)


@pytest.fixture
def finger() -> Finger:
    return Finger()


def names(finger: Finger) -> list[str]:
    return [name for name, _ in finger.events]


@pytest.mark.parametrize("ms", [80, 300, 950])
@pytest.mark.parametrize("bounce", [0, 20])
def test_a_short_press_is_one_event_when_it_is_let_go(finger: Finger, ms: int, bounce: int) -> None:
    finger.press(ms, bounce)
    assert names(finger) == ["pressed"]


@pytest.mark.parametrize("ms", [10, 24])
def test_a_twitch_is_nothing(finger: Finger, ms: int) -> None:
    finger.press(ms)
    assert finger.events == []


@pytest.mark.parametrize("ms", [1100, 2900])
def test_between_short_and_long_is_neither(finger: Finger, ms: int) -> None:
    finger.press(ms, bounce=20)
    assert finger.events == []


@pytest.mark.parametrize("bounce", [0, 20])
def test_a_long_hold_is_told_after_three_seconds_and_once_more_when_it_ends(finger: Finger, bounce: int) -> None:
    began = finger.now
    finger.press(5000, bounce)
    assert names(finger) == ["held", "let go"]
    assert 3000 <= finger.events[0][1] - began <= 3060 and 5000 <= finger.events[1][1] - began <= 5060


def test_a_hold_that_no_finger_lasts_is_not_let_go(finger: Finger) -> None:
    finger.press(20000, bounce=20)
    assert names(finger) == ["held"]


@pytest.mark.parametrize("stuck", [4000, 10000, 20000])
def test_a_button_stuck_down_from_the_start_says_nothing_until_it_was_up(stuck: int) -> None:
    finger = Finger.__new__(Finger)
    finger.button, finger.now, finger.down, finger.events = Button(), 0, True, []
    finger.wait(stuck)
    assert finger.events == []
    finger.down = False
    finger.wait(100)
    assert finger.events == []
    finger.press(300)
    assert names(finger) == ["pressed"]


def test_a_button_that_sticks_later_acknowledges_once_and_holds_no_lid_open(finger: Finger) -> None:
    finger.down = True
    finger.wait(60000)
    assert names(finger) == ["held"]


def test_two_presses_are_two_events(finger: Finger) -> None:
    finger.press(200)
    finger.press(200)
    assert names(finger) == ["pressed", "pressed"]


def seen(state: int) -> list[int]:
    """The lamp's level every 125 ms over two repeats."""
    levels: list[int] = []
    lamp = Lamp((levels.append,))
    lamp.show(state)
    shown = []
    for slot in range(32):
        lamp.step(slot * 125 + 60)
        shown.append(levels[-1])
    return shown


def test_every_state_has_its_own_pattern_and_shows_that_the_board_lives() -> None:
    assert len(PATTERNS) == fields.TRIPPED + 1 == len(set(PATTERNS))
    for state in range(len(PATTERNS)):
        shown = seen(state)
        assert 1 in shown and shown[:16] == shown[16:]


def test_a_trip_blinks_as_fast_as_it_goes_and_holding_is_steady() -> None:
    assert seen(fields.TRIPPED) == [1, 0] * 16
    assert seen(fields.HOLDING) == [1] * 32
    assert sum(seen(fields.OFF)) == 2


def test_the_lamp_is_only_written_when_it_changes() -> None:
    levels: list[int] = []
    lamp = Lamp((levels.append, levels.append))
    lamp.show(fields.HOLDING)
    for now in range(0, 4000, 2):
        lamp.step(now)
    assert levels == [1, 1]


class Tone:
    level = -1

    def __call__(self, level: int) -> None:
        self.level = level


class Sound:
    """A buzzer listened to for a minute."""

    def __init__(self) -> None:
        self.tone = Tone()
        self.buzzer = Buzzer(self.tone)
        self.out = Out()
        self.now = 0

    def share(self, state: int, trip: int = 0, reason: int = 0, answer: int = 0) -> float:
        """The share of a minute that it sounds."""
        self.out.state, self.out.trip, self.out.reason, self.out.answer = state, trip, reason, answer
        self.buzzer.show(self.out)
        self.out.answer = 0
        loud = 0
        for i in range(6000):
            self.now += 10
            if i % 200 == 199:
                self.buzzer.show(self.out)
            self.buzzer.step(self.now)
            loud += self.tone.level > 0
        return loud / 6000


@pytest.fixture
def sound() -> Sound:
    return Sound()


def test_silent_from_the_start_and_in_ordinary_states(sound: Sound) -> None:
    assert sound.tone.level == 0
    for state in (fields.OFF, fields.MANUAL, fields.CLIMBING, fields.HOLDING, fields.OPENED, fields.BURNOUT):
        assert sound.share(state) == 0.0 and not sound.buzzer.calling


def test_a_trip_calls_for_as_long_as_it_stands(sound: Sound) -> None:
    for _ in range(3):
        assert sound.share(fields.TRIPPED, fields.TRIP_HOT) == pytest.approx(0.5, abs=0.02)
    assert sound.buzzer.calling
    assert sound.share(fields.OFF) == 0.0


def test_no_order_but_acknowledging_silences_a_trip(sound: Sound) -> None:
    for answer in (fields.ACCEPTED, fields.STANDS_TRIPPED, fields.OUT_OF_RANGE, fields.BAND_ORDER):
        assert sound.share(fields.TRIPPED, fields.TRIP_PROBE, answer=answer) > 0.4
    assert sound.share(fields.TRIPPED, fields.TRIP_PROBE, answer=fields.FAULT_STANDS) == 0.0
    assert sound.share(fields.TRIPPED, fields.TRIP_PROBE) == 0.0, "it stays silent while the same trip stands"


def test_a_new_trip_after_an_acknowledged_one_calls_again(sound: Sound) -> None:
    sound.share(fields.TRIPPED, fields.TRIP_PROBE, answer=fields.FAULT_STANDS)
    assert sound.share(fields.TRIPPED, fields.TRIP_HOT) > 0.4
    sound.share(fields.TRIPPED, fields.TRIP_HOT, answer=fields.FAULT_STANDS)
    sound.share(fields.OFF)
    assert sound.share(fields.TRIPPED, fields.TRIP_HOT) > 0.4


def test_a_cook_that_was_not_resumed_calls_until_somebody_is_there(sound: Sound) -> None:
    assert sound.share(fields.OFF, reason=fields.NOT_RESUMED) > 0.4
    assert sound.share(fields.OFF, reason=fields.NOT_RESUMED, answer=fields.ACCEPTED) == 0.0


def test_a_fading_fire_chirps_now_and_then(sound: Sound) -> None:
    assert 0.0 < sound.share(fields.FADING) < 0.02
    assert not sound.buzzer.calling


def test_a_host_that_reaches_nobody_or_is_silent_is_heard(sound: Sound) -> None:
    sound.out.call = 2
    assert sound.share(fields.HOLDING) == pytest.approx(0.5, abs=0.02) and sound.buzzer.calling
    sound.out.call = 1
    assert 0.05 < sound.share(fields.FADING) < 0.2 and sound.buzzer.calling
    sound.out.call = 0
    assert sound.share(fields.HOLDING) == 0.0 and not sound.buzzer.calling
