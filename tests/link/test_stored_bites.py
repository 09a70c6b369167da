"""What the board goes on from after a power cut, or after its watchdog has bitten."""

from __future__ import annotations

from hearth.core import fields
from hearth.loop import CHECKPOINT
from night_kit import Night


def test_a_short_power_cut_goes_on_and_a_long_one_calls(night: Night) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("start")
    night.order("settings", values={"gain": 444, "pit_offset": -50})
    night.cycles(400)
    owed = night.loop.memory.owed
    night.power_up()
    assert night.loop.settings.gain == 444 and night.loop.settings_number == 1
    night.cycles(5)
    assert night.loop.out.resume == fields.RESUMED and night.loop.now.board & fields.BOARD_CUT
    assert night.loop.memory.mode == 2 and abs(night.loop.memory.owed - owed) < owed // 2
    night.board.pit = 60.0
    night.power_up()
    night.cycles(5)
    assert night.loop.out.reason == fields.NOT_RESUMED and night.board.demand == 0


def bits(night: Night) -> int:
    return int(night.loop.now.board) & (fields.BOARD_WATCHDOG | fields.BOARD_SHORT | fields.BOARD_CUT)


def test_a_bite_in_the_climb_goes_on_at_any_temperature(night: Night) -> None:
    night.order("start")
    night.cycles(90)
    assert night.board.pit < 60 and not night.loop.memory.arrived
    night.bite()
    night.cycles(3)
    assert bits(night) == fields.BOARD_WATCHDOG | fields.BOARD_SHORT | fields.BOARD_CUT
    assert night.loop.out.resume == fields.RESUMED and night.loop.out.state == fields.CLIMBING
    assert night.board.demand >= night.loop.memory.reach  # as a climb begins: it grows from there


def test_a_cut_in_the_climb_stays_off_as_ever(night: Night) -> None:
    night.order("start")
    night.cycles(90)
    night.power_up()
    night.cycles(3)
    assert bits(night) == fields.BOARD_CUT
    assert night.loop.out.reason == fields.NOT_RESUMED and night.board.demand == 0


def test_the_cycles_that_a_bite_has_cost_count_for_the_phase(night: Night) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("programme", rows=[[12110, 13500, fields.END_AFTER, 15], [9000, 9500, 0, 0]])
    night.order("start")
    night.cycles(CHECKPOINT + 140)  # the memory on the flash is 140 cycles old
    before = night.loop.memory.phase_cycles
    night.bite()
    assert night.loop.memory.phase_cycles == before and night.loop.memory.cycles == CHECKPOINT + 140
    night.cycles(CHECKPOINT // 2 - 143)
    assert night.loop.out.phase == 0
    night.cycles(8)
    assert night.loop.out.phase == 1  # after 15 min, and not after those lost on top


def test_a_memory_older_than_the_last_checkpoint_makes_no_outage_short(night: Night) -> None:
    """The flash has failed for an hour: what it holds is another state of the fire."""
    night.order("start")
    night.cycles(90)
    night.last = night.loop.memory.cycles + 3 * CHECKPOINT
    night.power_up()
    night.cycles(3)
    assert bits(night) == fields.BOARD_WATCHDOG | fields.BOARD_CUT


def test_an_opening_is_kept_for_a_start_after_a_bite(night: Night) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("start")
    night.cycles(CHECKPOINT + 5)
    night.order("opened")
    for _ in range(12):
        night.board.pit -= 2.0
        night.cycles(1)
    assert night.loop.memory.openings == 1
    night.bite()
    assert night.loop.memory.openings == 1


def test_bites_on_end_trip_as_ever(night: Night) -> None:
    night.order("start")
    night.cycles(5)
    for _ in range(5):
        night.bite()
        night.cycles(3)
    assert night.loop.out.trip == fields.TRIP_RESTARTS and night.board.demand == 0


def test_restarting_again_and_again_trips_and_a_good_run_forgives(night: Night) -> None:
    for _ in range(5):
        night.power_up()
        night.cycles(3)
    assert night.loop.out.trip == fields.TRIP_RESTARTS and night.board.demand == 0
    night.order("acknowledge")
    night.cycles(400)
    night.power_up()
    night.cycles(3)
    assert night.loop.out.trip == fields.NO_TRIP


def test_a_stop_is_not_forgotten_by_a_power_cut(night: Night) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("start")
    night.cycles(320)  # a checkpoint of the holding pit lies on the flash
    night.order("stop")
    night.cycles(1)
    night.power_up()
    night.cycles(5)
    assert night.loop.out.state == fields.OFF and night.loop.out.resume == fields.NO_RESUME
