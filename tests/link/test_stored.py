"""What the firmware's loop keeps on its flash, and how the host gets it: no record is lost, none is made up."""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import pytest
from fake_board import FakeBoard, Wire
from hearth.core import fields
from hearth.link import messages
from hearth.link.lines import decode
from hearth.loop import CHECKPOINT, Loop, run
from hearth.store import kept, segments
from tuyere.link.session import Cut, Earlier, Gap, Hello, Notice, Record, Session


class Night:
    """A board with a flash, and a host that is there or not. `logbook` is what the host has on its disk."""

    def __init__(self, folder: Path, ring: int = 4096) -> None:
        self.folder, self.ring = folder, ring
        self.board = FakeBoard(Wire())
        self.logbook: dict[int, list[int]] = {}
        self.made: dict[tuple[int, int], bytes] = {}
        self.got: dict[tuple[int, int], bytes] = {}
        self.said: list[object] = []
        self.session = Session(lambda board, boot: self.logbook.get(boot, [0])[-1])
        self.now = 0.0
        self.most = 8  # records from flash in a period
        self.last: int | None = None  # the last cycle before a bite
        self.boot = 100
        self.loop = self.power_up()

    def power_up(self) -> Loop:
        """A new boot on the old flash; the pit goes on."""
        old, self.boot = self.board, self.boot + 1
        self.board = FakeBoard(Wire(), boot=self.boot, ring=self.ring)
        self.board.folder = str(self.folder)
        self.board.between = lambda serve: serve(self.most)  # type: ignore[call-arg]
        self.board.pit, self.board.lit = old.pit, old.lit
        if self.last is not None:
            self.board.began_by, self.board.last_cycle, self.last = "watchdog", self.last, None
        self.loop = Loop(self.board)
        append = self.loop.ring.append

        def noted(record: bytes) -> None:
            self.made[self.boot, self.loop.ring.next] = bytes(record)
            append(record)

        self.made[self.boot, 0] = bytes(self.loop.ring.take() or b"")
        self.loop.ring.rewind(0)
        self.loop.ring.append = noted
        return self.loop

    def bite(self) -> Loop:
        """The watchdog restarts it: what its register keeps is known."""
        self.last = self.loop.memory.cycles & 0xFFFFFF
        return self.power_up()

    def order(self, name: str, **arguments: object) -> None:
        self.loop.talk.orders.append(
            {"id": 1, "name": name, "code": messages.ORDERS[name][0], "first": 0, "second": 0, **arguments}
        )

    def cycles(self, count: int) -> None:
        """No host."""
        for _ in range(count):
            self.loop.step()
            self.board.stream.take()

    def with_host(self, cycles: int) -> None:
        """The host listens and keeps what it gets."""
        if not self.session.is_open:
            self.session.opened(self.now)
        for _ in range(cycles):
            self.now += 2.0
            self.board.stream.to_board += self.session.take()
            self.loop.step()
            for event in [*self.session.feed(self.board.stream.take(), self.now), *self.session.tick(self.now)]:
                self.said.append(event)
                if isinstance(event, Record):
                    assert self.got.setdefault((event.boot, event.sequence), event.data) == event.data
                    self.logbook.setdefault(event.boot, [0]).append(event.sequence + 1)
                    self.session.keep(event.boot, event.sequence)
                elif isinstance(event, Gap):
                    self.logbook.setdefault(event.boot, [0]).append(event.last + 1)


@pytest.fixture
def night(tmp_path: Path) -> Night:
    return Night(tmp_path / "flash")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path) -> None:
    (tmp_path / "flash").mkdir()


def test_a_night_without_a_host_is_whole_in_the_morning(night: Night) -> None:
    night.with_host(20)
    night.order("start")
    night.session.closed()
    night.cycles(3000)
    assert night.loop.ring.lost > 0
    night.most = 64
    night.with_host(100)
    assert not [e for e in night.said if isinstance(e, Gap)]
    boot = [key for key in night.made if key[0] == 101]
    assert len(boot) - 30 < len(night.got) and all(night.got[key] == night.made[key] for key in night.got)
    assert sorted(key[1] for key in night.got) == list(range(len(night.got)))


def test_what_lies_on_flash_from_before_a_power_cut_comes_first(night: Night) -> None:
    night.order("start")
    night.board.pit = 127.0
    night.board.lit = 0.4
    night.cycles(2000)
    on_flash = night.loop.flash.spool.runs()[0][2] if night.loop.flash.spool else 0
    night.power_up()
    night.most = 64
    night.with_host(100)
    earlier = [e for e in night.said if isinstance(e, Earlier)]
    assert [e.boot for e in earlier] == [101] and earlier[0].hello["boot"] == 101
    boots = [e.boot for e in night.said if isinstance(e, Record)]
    assert boots == sorted(boots) and set(boots) == {101, 102}
    assert all(night.got[key] == night.made[key] for key in night.got)
    last = max(key[1] for key in night.got if key[0] == 101)
    assert 1000 < last < 2010 and last < on_flash
    assert night.loop.flash.spool is not None and [run[0] for run in night.loop.flash.spool.runs()] == [102]


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
    assert night.loop.out.resume == fields.RESUMED and night.board.demand > 5000
    assert night.loop.out.state == fields.CLIMBING


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


def said(night: Night) -> dict[str, Any]:
    """The last answer to an order."""
    lines = [json.loads(payload) for kind, payload in map(decode, night.loop.talk._first) if kind == messages.ANSWER]  # type: ignore[misc]
    return lines[-1]  # type: ignore[no-any-return]


def ordered(night: Night, name: str, **arguments: object) -> dict[str, Any]:
    """Give an order and let it be carried out."""
    del night.loop.talk._first[:]
    night.board.between = lambda serve: None
    night.order(name, **arguments)
    night.loop.step()
    while night.loop.talk.orders:  # a full block of records goes first
        night.loop.step()
    return said(night)


def test_settings_that_contradict_the_band_in_force_are_refused_with_both_numbers(night: Night) -> None:
    night.order("programme", rows=[[12110, 13500, 0, 0], [14000, 15000, 0, 0]])
    night.order("start")
    night.cycles(3)
    answer = ordered(night, "settings", values={"pit_limit": 16900})  # fits 135 C; the second phase goes to 150
    assert answer == {"id": 1, "ok": False, "why": "over_limit", "numbers": {"high": 15000, "pit_limit": 16900}}
    answer = ordered(night, "settings", values={"rest_above": 2600})
    assert answer["why"] == "over_limit"
    assert answer["numbers"] == {"high": 15000, "rest_above": 2600, "pit_limit": 17500}
    assert night.loop.settings.pit_limit == 17500 and night.loop.settings_number == 0
    assert ordered(night, "settings", values={"pit_limit": 17000})["ok"]
    assert ordered(night, "settings", values={"pit_limit": 15400})["numbers"]["high"] == 15000
    night.order("stop")
    night.cycles(1)
    assert ordered(night, "settings", values={"pit_limit": 15600})["ok"]  # nothing is held, and its own band fits
    answer = ordered(night, "start")
    assert answer["why"] == "over_limit" and answer["numbers"] == {"high": 15000, "pit_limit": 15600}
    assert night.loop.memory.mode == fields.MODE_OFF
    answer = ordered(night, "settings", values={"pit_limit": 15400})
    assert answer["numbers"] == {"high": 13500, "pit_limit": 15400}


def test_a_band_or_a_programme_against_the_limit_is_refused_with_both_numbers(night: Night) -> None:
    night.loop.talk.orders.append({"id": 7, "name": "band", "code": fields.ORDER_BAND, "first": 12000, "second": 16000})
    night.board.between = lambda serve: None
    night.loop.step()
    assert said(night) == {"id": 7, "ok": False, "why": "over_limit", "numbers": {"high": 16000, "pit_limit": 17500}}
    assert night.loop.out.high == 13500
    answer = ordered(night, "programme", rows=[[12110, 13500, 0, 0], [12110, 15600, 0, 0]])
    assert answer["numbers"] == {"high": 15600, "pit_limit": 17500} and night.loop.memory.phases == 0


def test_settings_that_are_in_force_already_are_accepted_and_cost_nothing(night: Night) -> None:
    assert ordered(night, "settings", values={"gain": 444})["ok"]
    number, records = night.loop.settings_number, night.loop.ring.next
    for _ in range(40):
        assert ordered(night, "settings", values={"gain": 444})["ok"]
    assert night.loop.settings_number == number and night.loop.ring.next == records + 40  # one record a cycle


def test_what_was_accepted_is_on_the_flash(night: Night) -> None:
    for i in range(8):
        assert ordered(night, "settings", values={"gain": 500 + i})["ok"]
        assert b'"gain": %d' % (500 + i) in (night.folder / "kept-settings").read_bytes()


def test_orders_that_write_are_rationed_and_those_of_safety_are_not(night: Night) -> None:
    why = [ordered(night, "settings", values={"gain": 500 + i})["why"] for i in range(messages.WRITES + 5)]
    assert why == ["accepted"] * messages.WRITES + ["too_soon"] * 5
    assert night.loop.settings.gain == 500 + messages.WRITES - 1
    for name in ("band", "start", "phase", "fan", "programme"):
        assert ordered(night, name, rows=[])["why"] == "too_soon", name
    for name in ("stop", "acknowledge", "opened", "looked"):
        assert ordered(night, name)["why"] != "too_soon", name
    night.cycles(messages.FORGIVEN)
    assert [ordered(night, "settings", values={"gain": 600 + i})["why"] for i in range(2)] == ["accepted", "too_soon"]


def test_a_demand_by_hand_may_be_changed_as_often_as_one_likes(night: Night) -> None:
    night.order("start")
    night.cycles(1)
    for i in range(60):
        night.loop.talk.orders.append(
            {"id": i, "name": "fan", "code": fields.ORDER_FAN, "first": 2000 + 10 * i, "second": 60}
        )
        night.cycles(1)
        assert night.loop.out.answer == fields.ACCEPTED


def test_one_order_of_the_loop_a_cycle_in_the_order_they_came(night: Night) -> None:
    for gain in (500, 501):
        night.order("settings", values={"gain": gain})
    night.order("start")
    night.order("settings", values={"gain": 502})
    seen = []
    for _ in range(4):
        night.cycles(1)
        seen.append((night.loop.settings.gain, night.loop.memory.mode))
    assert seen == [(500, 0), (501, 0), (502, 2), (502, 2)]


def test_a_long_hold_acknowledges_what_calls_and_else_says_that_somebody_looked(night: Night) -> None:
    night.order("start")
    night.cycles(3)
    night.board.button_held = True
    night.cycles(1)
    assert night.loop.now.order == fields.NO_ORDER
    night.board.button_let_go = True
    night.cycles(1)
    assert night.loop.now.order == fields.ORDER_LOOKED and night.loop.out.answer == fields.ACCEPTED
    night.board.faults = fields.PROBE_OPEN
    night.cycles(40)
    assert night.loop.out.trip == fields.TRIP_PROBE
    night.board.button_held = True
    night.cycles(1)
    assert night.loop.now.order == fields.ORDER_ACKNOWLEDGE
    night.board.button_let_go = True
    night.cycles(1)
    assert night.loop.now.order == fields.NO_ORDER  # that hold has said what it meant


def test_a_stop_is_not_forgotten_by_a_power_cut(night: Night) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("start")
    night.cycles(320)  # a checkpoint of the holding pit lies on the flash
    night.order("stop")
    night.cycles(1)
    night.power_up()
    night.cycles(5)
    assert night.loop.out.state == fields.OFF and night.loop.out.resume == fields.NO_RESUME


def test_damaged_settings_are_the_defaults_and_trip(night: Night) -> None:
    night.order("settings", values={"gain": 444})
    night.cycles(2)
    path = night.folder / "kept-settings"
    data = bytearray(path.read_bytes())
    data[-3] ^= 1
    path.write_bytes(data)
    night.power_up()
    night.cycles(2)
    assert night.loop.settings.gain == 350 and night.loop.out.trip == fields.TRIP_SETTINGS
    night.order("acknowledge")
    night.order("settings", values={"gain": 400})
    night.cycles(3)
    assert night.loop.out.trip == fields.NO_TRIP and not night.loop.now.board & fields.BOARD_SETTINGS
    night.power_up()
    night.cycles(2)
    assert night.loop.settings.gain == 400 and night.loop.out.trip == fields.NO_TRIP


def test_settings_that_do_not_fit_each_other_are_damaged_too(tmp_path: Path) -> None:
    body = json.dumps({"number": 3, "values": {"band_low": 13400, "band_high": 13500}}).encode()
    kept.save(str(tmp_path / "flash" / "kept-settings"), body)
    night = Night(tmp_path / "flash")
    night.cycles(2)
    assert night.loop.settings.band_low == 12110 and night.loop.out.trip == fields.TRIP_SETTINGS


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


def test_a_programs_last_words_reach_the_next_host(night: Night) -> None:
    class Burnt(Exception):
        pass

    def read(now: object) -> None:
        raise Burnt("bus")

    night.board.read = read  # type: ignore[method-assign]
    night.board.demand = 5000
    with pytest.raises(Burnt):
        run(night.board)
    assert night.board.demand == 0
    night.power_up()
    night.with_host(5)
    assert any(isinstance(e, Notice) and "Burnt" in e.text for e in night.said)
    night.power_up()
    night.said.clear()
    night.with_host(5)
    assert not [e for e in night.said if isinstance(e, Notice)]


def test_a_flash_that_cannot_be_written_is_said_and_the_pit_is_held(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    night = Night(tmp_path / "flash")

    def put(path: str, mode: str, *parts: bytes) -> None:
        raise OSError(5, "EIO")

    monkeypatch.setattr(kept, "put", put)
    monkeypatch.setattr(segments, "put", put)
    night.board.pit = 100.0
    night.order("start")
    night.cycles(3)
    assert night.loop.now.board & fields.BOARD_FLASH  # the start alone was worth keeping
    night.cycles(500)
    assert night.loop.now.board & fields.BOARD_FLASH and night.board.demand > 0
    night.with_host(60)
    gaps = [e for e in night.said if isinstance(e, Gap)]
    assert gaps and all(night.got[key] == night.made[key] for key in night.got)
    causes = [
        struct.unpack_from(messages.STATE_HEAD, data, messages.HEAD_SIZE)[0]
        for data in night.got.values()
        if data[0] == messages.STATE
    ]
    assert messages.GAP in causes


def test_a_slow_board_is_not_asked_again_from_the_front(night: Night) -> None:
    """A reader works through its block from the front, a cycle a step; the host's impatience must not restart it."""
    night.with_host(20)
    night.session.closed()
    night.cycles(800)
    night.most = 1
    night.with_host(200)
    assert night.logbook[101][-1] > 60


def test_a_flash_that_cannot_be_read_leaves_the_board_off(tmp_path: Path) -> None:
    night = Night(tmp_path / "flash")
    night.folder = tmp_path / "file"
    night.folder.write_text("not a folder")
    night.power_up()
    night.order("start")
    night.cycles(5)
    assert night.loop.out.trip == fields.TRIP_SETTINGS and night.board.demand == 0


def test_the_hello_says_what_is_held(night: Night) -> None:
    night.cycles(2000)
    held = json.loads(json.dumps(night.loop.talk.held()))
    assert held["first"] == 0 and held["next"] == night.loop.ring.next and held["earlier"] == []
    night.with_host(3)
    assert any(isinstance(e, Hello) for e in night.said)


def test_a_settings_file_of_another_table_is_taken_as_far_as_it_is_known(tmp_path: Path) -> None:
    kept.save(
        str(tmp_path / "flash" / "kept-settings"),
        json.dumps({"number": 7, "values": {"gain": 500, "of_old": 1}}).encode(),
    )
    night = Night(tmp_path / "flash")
    assert night.loop.settings.gain == 500 and night.loop.settings_number == 7


def test_what_a_power_cut_took_is_said_within_bounds(night: Night) -> None:
    night.with_host(20)
    night.order("start")
    night.with_host(CHECKPOINT + 50)
    night.session.closed()
    night.cycles(30)  # of these the RAM alone knows
    cut, made = night.boot, night.loop.ring.next
    night.power_up()
    night.with_host(10)
    [found] = [e for e in night.said if isinstance(e, Cut)]
    assert found.boot == cut and found.least <= made <= found.most
    assert found.reached == night.logbook[cut][-1] < made
    night.said.clear()
    night.session.closed()
    night.with_host(10)  # another host, or this one again: the same words
    assert [e for e in night.said if isinstance(e, Cut)] == [found]


def test_every_cut_of_a_night_without_a_host_is_said(night: Night) -> None:
    night.with_host(20)
    night.order("start")
    night.with_host(5)
    night.session.closed()
    made = {}
    for _ in range(3):
        night.cycles(CHECKPOINT + 40)
        made[night.boot] = night.loop.ring.next
        night.power_up()
    night.most = 64
    night.with_host(200)
    cuts = {e.boot: e for e in night.said if isinstance(e, Cut)}
    assert set(cuts) == set(made)
    assert all(cuts[boot].least <= count <= cuts[boot].most for boot, count in made.items())


def test_a_boot_that_only_another_host_knew_is_no_cut_of_ours(night: Night) -> None:
    night.cycles(20)
    night.power_up()
    night.logbook.clear()
    night.loop.flash.spool.lost.clear()
    night.with_host(5)
    assert not [e for e in night.said if isinstance(e, Cut)]
