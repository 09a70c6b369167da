"""What the firmware's loop keeps on its flash, and how the host gets it: no record is lost, none is made up."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import pytest
from hearth.core import fields
from hearth.link import messages
from hearth.loop import CHECKPOINT, run
from hearth.store import kept, segments
from night_kit import Night
from tuyere.link.session import Cut, Earlier, Gap, Hello, Notice, Record


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
    (tmp_path / "flash").mkdir()
    body = json.dumps({"number": 3, "values": {"band_low": 13400, "band_high": 13500}}).encode()
    kept.save(str(tmp_path / "flash" / "kept-settings"), body)
    night = Night(tmp_path / "flash")
    night.cycles(2)
    assert night.loop.settings.band_low == 12110 and night.loop.out.trip == fields.TRIP_SETTINGS


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
    (tmp_path / "flash").mkdir()
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


@pytest.mark.parametrize("harm", ["none", "checksum", "body", "gone"])
def test_a_memory_that_cannot_be_read_leaves_the_fan_off_and_is_said(night: Night, harm: str) -> None:
    night.board.pit, night.board.lit = 127.0, 0.42
    night.order("start")
    night.with_host(CHECKPOINT + 5)
    path = Path(night.board.folder) / "kept-memory"
    if harm == "checksum":
        path.write_bytes(path.read_bytes()[:-1] + b"?")
    elif harm == "body":
        kept.save(str(path), b"no checkpoint")
    elif harm == "gone":
        path.unlink()
    night.power_up()
    night.session.closed()
    night.said.clear()
    night.with_host(5)
    [hello] = [e for e in night.said if isinstance(e, Hello)]
    damaged = harm in ("checksum", "body")
    assert hello.hello["forgot"] == int(damaged)
    assert (night.loop.out.state == fields.OFF) == (harm != "none")
    assert (night.board.demand == 0) == (harm != "none")
