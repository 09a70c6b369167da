"""Board time to UTC."""

from __future__ import annotations

from tuyere.engine.device.board_clock import LONGEST_MS, Clock, Pair

WALL = 1_700_000_000_000


class Wall:
    ms = WALL

    def __call__(self) -> int:
        return self.ms


def test_half_the_round_trip_is_taken_off() -> None:
    clock = Clock(Wall())
    assert clock.hello("b", 1, 5000, 0.4) == Pair(5000, WALL - 200)
    assert clock.utc(6000) == WALL + 800


def test_a_new_pair_when_it_drifts_or_after_half_an_hour() -> None:
    wall = Wall()
    clock = Clock(wall)
    clock.hello("b", 1, 0, 0.0)
    wall.ms += 10_000
    assert clock.hello("b", 1, 10_050, 0.0) is None  # 50 ms off says nothing
    assert clock.hello("b", 1, 10_300, 0.0) == Pair(10_300, WALL + 10_000)
    assert clock.hello("b", 1, 5_000, 3.0) is None  # the answer took too long to be trusted
    wall.ms += LONGEST_MS
    assert clock.hello("b", 1, 10_300 + LONGEST_MS, 0.0) is not None


def test_a_real_boards_now_is_the_wall() -> None:
    wall = Wall()
    clock = Clock(wall)
    clock.hello("b", 1, 0, 0.0)
    clock.seen(999_999)
    assert clock.now() == WALL


def test_a_twin_is_paired_once_and_its_newest_record_is_now() -> None:
    wall = Wall()
    clock = Clock(wall)
    assert clock.hello("t", 1, 7000, 0.1, simulated=True) == Pair(7000, WALL)
    wall.ms += 1000
    assert clock.hello("t", 1, 600_000, 0.1, simulated=True) is None
    clock.seen(607_000)
    clock.seen(10_000)
    assert clock.now() == WALL + 600_000


def test_a_twins_later_boot_and_a_known_boot_keep_their_place() -> None:
    clock = Clock(Wall())
    assert clock.hello("t", 2, 4000, 0.1, simulated=True, start=WALL + 50_000) == Pair(0, WALL + 50_000)
    again = Clock(Wall())
    assert again.hello("t", 2, 9000, 0.1, simulated=True, known=Pair(0, 123)) is None
    assert again.utc(1000) == 1123
    assert Clock(Wall()).utc(5) is None
