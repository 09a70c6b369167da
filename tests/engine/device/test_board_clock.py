"""Board time to UTC."""

from __future__ import annotations

import pytest
from tuyere.engine.device import board_clock
from tuyere.engine.device.board_clock import LONGEST_MS, WITHIN, Clock, Pair

WALL = 1_700_000_000_000


class Wall:
    """A wall clock; `lasting` goes with it, less what it has stepped by."""

    ms = WALL
    stepped = 0

    def __call__(self) -> int:
        return self.ms

    def lasting(self) -> float:
        return (self.ms - self.stepped) / 1000

    def step(self, by: int) -> None:
        self.ms += by
        self.stepped += by


def clock_of(wall: Wall) -> Clock:
    return Clock(wall, wall.lasting)


def test_half_the_round_trip_is_taken_off() -> None:
    clock = clock_of(Wall())
    assert clock.hello("b", 1, 5000, 0.4) == Pair(5000, WALL - 200)
    assert clock.utc(6000) == WALL + 800


def test_a_new_pair_when_it_drifts_or_after_half_an_hour() -> None:
    wall = Wall()
    clock = clock_of(wall)
    clock.hello("b", 1, 0, 0.0)
    wall.ms += 10_000
    assert clock.hello("b", 1, 10_050, 0.0) is None  # 50 ms off says nothing
    assert clock.hello("b", 1, 10_300, 0.0) == Pair(10_300, WALL + 10_000)
    assert clock.hello("b", 1, 5_000, 3.0) is None  # the answer took too long to be trusted
    wall.ms += LONGEST_MS
    assert clock.hello("b", 1, 10_300 + LONGEST_MS, 0.0) is not None


def test_a_real_boards_now_is_the_wall() -> None:
    wall = Wall()
    clock = clock_of(wall)
    clock.hello("b", 1, 0, 0.0)
    clock.seen(999_999)
    assert clock.now() == WALL


def test_a_twin_is_paired_once_and_its_newest_record_is_now() -> None:
    wall = Wall()
    clock = clock_of(wall)
    assert clock.hello("t", 1, 7000, 0.1, simulated=True) == Pair(7000, WALL)
    wall.ms += 1000
    assert clock.hello("t", 1, 600_000, 0.1, simulated=True) is None
    clock.seen(607_000)
    clock.seen(10_000)
    assert clock.now() == WALL + 600_000


def test_a_twins_later_boot_and_a_known_boot_keep_their_place() -> None:
    clock = clock_of(Wall())
    assert clock.hello("t", 2, 4000, 0.1, simulated=True, start=WALL + 50_000) == Pair(0, WALL + 50_000)
    again = clock_of(Wall())
    assert again.hello("t", 2, 9000, 0.1, simulated=True, known=Pair(0, 123)) is None
    assert again.utc(1000) == 1123
    assert clock_of(Wall()).utc(5) is None


HOUR = 3_600_000


def stepping(wall: Wall) -> tuple[Clock, list[tuple[int, bool]]]:
    """A clock that has met a real board, and the steps it has told."""
    clock, moved = clock_of(wall), list[tuple[int, bool]]()
    clock.on_step = lambda by, before: moved.append((by, before)) is None
    clock.hello("b", 1, 0, 0.0)
    return clock, moved


def test_a_step_is_held_back_and_moves_the_times_once_the_board_has_told() -> None:
    for by in (-2 * HOUR, 2 * HOUR, 3000):
        wall = Wall()
        clock, moved = stepping(wall)
        wall.ms += 20_000
        clock.look()
        wall.step(by)
        clock.look()
        assert clock.now() == WALL + 20_000 and moved == []  # as if nothing had been
        wall.ms += 5_000
        assert clock.hello("b", 1, 25_000, 0.0) is None  # the pair that moved with it still holds
        assert moved == [(by, False)]
        assert clock.now() == WALL + 25_000 + by == clock.utc(25_000)


def test_without_a_hello_a_step_counts_after_a_while() -> None:
    wall = Wall()
    clock, moved = stepping(wall)
    wall.step(-HOUR)
    clock.look()
    wall.ms += round(1000 * WITHIN) - 1
    clock.look()
    assert moved == []
    wall.ms += 1
    clock.look()
    assert moved == [(-HOUR, False)] and clock.now() == wall.ms


def test_a_pause_between_reading_the_two_clocks_is_no_step() -> None:
    wall = Wall()
    clock, moved = stepping(wall)
    wall.step(-3_000)  # the process slept after it had read the wall clock
    clock.look()
    wall.step(3_000 - 4)
    clock.look()
    wall.ms += round(1000 * WITHIN)
    clock.look()
    assert moved == [] and clock.now() == wall.ms


def test_time_that_passed_for_the_board_as_well_is_no_step() -> None:
    wall = Wall()
    clock, moved = stepping(wall)
    wall.step(8 * HOUR)  # a paused machine: its own count stood, the wall clock was set right after it
    clock.look()
    assert clock.now() == WALL
    clock.hello("b", 1, 8 * HOUR, 0.0)
    assert moved == [] and clock.now() == WALL + 8 * HOUR == clock.utc(8 * HOUR)


def test_a_step_that_cannot_be_written_down_is_tried_again() -> None:
    wall = Wall()
    clock, _ = stepping(wall)
    tries: list[int] = []
    clock.on_step = lambda by, before: len(tries) > 2 or bool(tries.append(by))  # type: ignore[func-returns-value]
    wall.step(-HOUR)
    clock.look()
    for _ in range(3):
        wall.ms += 20_000
        clock.look()
        assert clock.now() == wall.ms + HOUR
    wall.ms += 1_000
    clock.look()
    assert tries == [-HOUR] * 3 and clock.now() == wall.ms == clock.utc(61_000)


def test_a_step_while_no_engine_ran_is_told_by_the_board() -> None:
    for by in (-2 * HOUR, 2 * HOUR):
        wall = Wall()
        wall.ms += HOUR
        wall.step(by)
        clock, moved = clock_of(wall), list[tuple[int, bool]]()
        clock.on_step = lambda by, before, to=moved: to.append((by, before)) is None
        clock.hello("b", 1, HOUR, 0.0, known=Pair(0, WALL))
        assert moved == [(by, True)] and clock.utc(HOUR) == WALL + HOUR + by == clock.now()


def test_a_slow_crystal_is_no_step() -> None:
    wall = Wall()
    wall.ms += 12 * HOUR
    clock, moved = clock_of(wall), list[int]()
    clock.on_step = lambda by, before: moved.append(by) is None
    clock.hello("b", 1, 12 * HOUR - 4_000, 0.0, known=Pair(0, WALL))  # 90 ppm
    assert moved == []


def test_a_twins_cook_does_not_hang_on_the_wall_clock() -> None:
    wall = Wall()
    clock, moved = clock_of(wall), list[int]()
    clock.on_step = lambda by, before: moved.append(by) is None
    clock.hello("t", 1, 0, 0.0, simulated=True)
    clock.seen(4_000)
    wall.step(-HOUR)
    wall.ms += 60_000
    clock.look()
    assert moved == [] and clock.now() == WALL + 4_000 and clock.board_now() == 4_000


@pytest.mark.parametrize(("platform", "clock"), [("linux", 7), ("darwin", 6), ("win32", -1)])
def test_the_lasting_clock_is_the_one_that_goes_on_in_sleep(
    platform: str, clock: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(board_clock.sys, "platform", platform)
    monkeypatch.setattr(board_clock.time, "CLOCK_BOOTTIME", 7, raising=False)
    monkeypatch.setattr(board_clock.time, "CLOCK_MONOTONIC", 6, raising=False)
    monkeypatch.setattr(board_clock.time, "clock_gettime", float, raising=False)
    monkeypatch.setattr(board_clock.time, "monotonic", lambda: -1.0)
    assert board_clock.lasting_clock() == clock
