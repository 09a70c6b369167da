"""Small things kept whole: what comes back is what was written, or it is said that it is not."""

from __future__ import annotations

import io
import json
import os
from pathlib import Path

import pytest
from hearth.core import Memory, Settings
from hearth.store import kept
from hearth.store.flash import Flash
from hypothesis import given
from hypothesis import strategies as st


@pytest.fixture
def path(tmp_path: Path) -> str:
    return str(tmp_path / "settings")


def test_never_written(path: str) -> None:
    assert kept.load(path) is None


def test_the_last_one_written_comes_back(path: str) -> None:
    for body in (b"first", b"", b"\x00" * kept.MOST):
        assert kept.save(path, body)
        assert kept.load(path) == body
    assert os.listdir(Path(path).parent) == ["settings"]


def test_it_asks_for_no_more_than_there_is(path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """MicroPython makes room for all that is asked for, in one piece; a board at boot may have none of 8 KB."""
    asked: list[int] = []

    class Counting(io.FileIO):
        def read(self, size: int | None = -1, /) -> bytes:
            asked.append(-1 if size is None else size)
            return super().read(size)

    kept.save(path, b"a short one")
    monkeypatch.setattr(kept, "open", lambda path, mode: Counting(path, mode.replace("b", "")), raising=False)
    assert kept.load(path) == b"a short one"
    assert asked == [kept.HEAD_SIZE, len(b"a short one") + 1]


def test_any_changed_byte_and_any_missing_byte_is_noticed(path: str) -> None:
    kept.save(path, b"the whole truth")
    good = Path(path).read_bytes()
    head, another, length = (
        "^is not a kept file$",
        "^has another CRC-32 than was written$",
        "^has another length than was written$",
    )
    for i in range(len(good)):
        Path(path).write_bytes(good[:i] + bytes([good[i] ^ 1 << i % 8]) + good[i + 1 :])
        with pytest.raises(kept.Damaged, match=head if i < 4 else length if i < 8 else another):
            kept.load(path)
        Path(path).write_bytes(good[:i])
        with pytest.raises(kept.Damaged, match=head if i < kept.HEAD_SIZE else length):
            kept.load(path)
    Path(path).write_bytes(good + b"!")
    with pytest.raises(kept.Damaged, match=length):
        kept.load(path)


def test_what_a_cut_left_beside_is_no_news(path: str) -> None:
    kept.save(path, b"old")
    Path(path + kept.BESIDE).write_bytes(b"half of the ne")
    assert kept.load(path) == b"old"
    assert os.listdir(Path(path).parent) == ["settings"]


def test_a_medium_that_refuses_keeps_the_old_one(path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    kept.save(path, b"old")

    def refuse(old: str, new: str) -> None:
        raise OSError(5, "no")

    monkeypatch.setattr(kept, "_replace", refuse)
    assert not kept.save(path, b"new")
    assert os.listdir(Path(path).parent) == ["settings"]  # nothing is left beside it
    assert kept.load(path) == b"old"


def test_no_such_folder_and_no_such_file(tmp_path: Path) -> None:
    assert not kept.save(str(tmp_path / "none" / "settings"), b"new")
    (tmp_path / "folder").mkdir()
    with pytest.raises(kept.Damaged, match="read"):
        kept.load(str(tmp_path / "folder"))


PLAIN = [row for row, (_, count) in zip(Settings.TABLE, Settings.NAMES, strict=True) if not count]


@given(st.tuples(*[st.integers(row[3], row[4]) for row in PLAIN]), st.integers(0, 65535))
def test_settings_come_back(values: tuple[int, ...], number: int) -> None:
    before, after = Settings(), Settings()
    before.set_values(values)
    assert kept.take_settings(kept.pack_settings(before, number), after) == number
    assert after.values() == before.values()


def body(**changes: object) -> bytes:
    whole = json.loads(kept.pack_settings(Settings(), 3))
    whole["values"].update(changes)
    return json.dumps(whole).encode()


def test_another_field_table_takes_what_it_knows() -> None:
    settings = Settings()
    settings.gain = settings.reset = 999
    assert kept.take_settings(b'{"number": 4, "values": {"gain": 500, "of_another_time": "x"}}', settings) == 4
    assert settings.gain == 500
    assert settings.reset == Settings().reset  # not named: its default


NO_SETTINGS, NOT_WHOLE = "^holds no settings$", "^holds a value that is no whole number$"


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (body(gain=5001), "^holds gain = 5001, outside 10..5000$"),
        (body(gain=-1), "^holds gain = -1, outside 10..5000$"),
        (body(gain=3.5), NOT_WHOLE),
        (body(gain="350"), NOT_WHOLE),
        (body(gain=None), NOT_WHOLE),
        (body(gain=True), NOT_WHOLE),
        (body(gain=[350]), NOT_WHOLE),
        (b"", NO_SETTINGS),
        (b"{", NO_SETTINGS),
        (b"[]", NO_SETTINGS),
        (b"\xff\xfe", NO_SETTINGS),
        (b'{"number": 4}', NO_SETTINGS),
        (b'{"number": 4, "values": 7}', NO_SETTINGS),
        (b'{"number": 4, "values": ["gain"]}', NO_SETTINGS),
        (b'{"number": 65536, "values": {}}', NOT_WHOLE),
        (b'{"number": "4", "values": {}}', NOT_WHOLE),
    ],
)
def test_damaged_settings_change_nothing(bad: bytes, says: str) -> None:
    settings = Settings()
    settings.gain = 777
    before = settings.values()
    with pytest.raises(kept.Damaged, match=says):
        kept.take_settings(bad, settings)
    assert settings.values() == before


def test_checkpoint() -> None:
    memory, again = Memory(), Memory()
    memory.phase, memory.owed, memory.rows[5] = 2, 1234567, -7
    packed = kept.pack_checkpoint(b"12345678", 4_000_000_000, 1 << 40, memory)
    assert kept.take_checkpoint(packed, b"12345678", again) == (4_000_000_000, 1 << 40)
    assert again.values() == memory.values()


def test_a_checkpoint_of_another_core_is_not_taken() -> None:
    memory, again = Memory(), Memory()
    memory.phase = 2
    packed = kept.pack_checkpoint(b"12345678", 1, 2, memory)
    assert kept.take_checkpoint(packed, b"12345679", again) is None
    assert again.values() == Memory().values()


def test_a_checkpoint_that_cannot_be() -> None:
    memory, again = Memory(), Memory()
    memory.mode = 3  # 0..2
    for bad, says in (
        (kept.pack_checkpoint(b"12345678", 1, 2, memory), "^holds mode = 3, outside 0..2$"),
        (b"", "^holds no checkpoint$"),
        (b"12345678" + bytes(11), "^holds no checkpoint$"),
        (b"12345678" + bytes(12 + 3), "^holds a memory of another size$"),
    ):
        with pytest.raises(kept.Damaged, match=says):
            kept.take_checkpoint(bad, b"12345678", again)
    assert again.values() == Memory().values()


@pytest.mark.parametrize(
    ("written", "finished", "made_up"),
    [(100, 110, 10), (100, 111, 0), (100, 100, 0), (100, -1, 0), (0xFFFFFF, 0, 1), (0, 0, 0)],
)
def test_cycles_that_a_short_outage_cost_are_made_up_for_and_those_of_a_long_one_are_not(
    tmp_path: Path, written: int, finished: int, made_up: int
) -> None:
    flash, before, after = Flash(str(tmp_path), b"the core"), Memory(), Memory()
    before.cycles = written
    flash.keep_memory(7, 0, before)
    assert flash.read_memory(after, finished, 10) and after.cycles == written + made_up
