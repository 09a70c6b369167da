"""What the screen is given: columns of cycles, read by the layout their own board announced."""

import struct

import msgspec
import pytest
from hearth.core import Memory, Settings, fields
from hearth.link import messages
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook_kit import BOARD, BOOT, LAYOUT, cycle, hello, night, state
from tuyere.cook.snapshot import Trend as Shown
from tuyere.logbook import Logbook
from tuyere.logbook.rows import Trend

UTC = 1_778_000_000_000
CALM = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def cook(book):
    book.boards.pair(BOARD, BOOT, 0, UTC)
    return book.cooks.start("one", UTC, BOARD, True)


def test_the_columns_are_those_of_the_screen_and_the_outside():
    shown = [field.name for field in msgspec.structs.fields(Shown)]
    assert [field.name for field in msgspec.structs.fields(Trend)] == [*shown[:-1], "ambient"]
    assert shown[-1] == "whole"  # of what is sent, not of the night


def test_values_and_units(book, cook):
    book.records.add(
        BOARD,
        BOOT,
        [
            state(0, low=9000, high=9500),  # the band is each cycle's own
            cycle(1, pit=12345, meat_1=6550, meat_2=fields.ABSENT, ambient=1250, fan=2500, low=11000, high=12000),
            cycle(2, pit=50000, faults=fields.PROBE_OPEN, meat_1=fields.ABSENT, fan=0, low=11000, high=12550),
            cycle(3, pit=-1000, meat_1=6560, meat_3=0, fan=10000, low=10005, high=12000),
        ],
        cook,
    )
    trend = book.reading.trend(cook)
    assert trend.at == [UTC + 2000, UTC + 4000, UTC + 6000]
    assert trend.pit == [123.45, None, -10.0]  # a faulty reading is none
    assert trend.fan == [0.25, 0.0, 1.0]
    assert trend.meat_1 == [65.5, None, 65.6]
    assert trend.meat_2 == [None] * 3
    assert trend.meat_3 == [None, None, 0.0]
    assert trend.ambient[0] == 12.5
    assert (trend.low, trend.high) == ([110.0, 110.0, 100.05], [120.0, 125.5, 120.0])


def test_a_reading_that_core_found_bad_is_none(book, cook):
    book.records.add(BOARD, BOOT, [cycle(1, pit=12345, bad=fields.PROBE_FROZEN), cycle(2, pit=12345)], cook)
    assert book.reading.trend(cook).pit == [None, 123.45]


def test_some_fields_of_the_cycles_that_are_new_boot_by_boot(book, cook):
    records, names = night(6), (("head", "sequence"), ("out", "state"), ("out", "no such field"))
    book.records.add(BOARD, BOOT, records[:4], cook)
    last, [run] = book.reading.picked(cook, 0, names)
    assert (run.board, run.boot, run.utc) == (BOARD, BOOT, [UTC + 2000 * n for n in (1, 2, 3)])
    assert run.columns["head", "sequence"] == [1, 2, 3] and set(run.columns["out", "state"]) == {fields.CLIMBING}
    assert ("out", "no such field") not in run.columns
    assert book.reading.picked(cook, last, names) == (last, [])
    book.boards.hello(BOARD, 9, hello(boot=9), seen=1)
    book.records.add(BOARD, 9, [cycle(4, 9)], cook)
    book.records.add(BOARD, BOOT, records[4:], cook)
    _, runs = book.reading.picked(cook, last, names)
    assert {(run.boot, *run.columns["head", "sequence"]) for run in runs} == {(BOOT, 4, 5, 6), (9, 4)}
    assert book.reading.stored(cook) == 8


def test_only_what_is_new(book, cook):
    records = night(10)
    book.records.add(BOARD, BOOT, records[:6], cook)
    first = book.reading.trend(cook)
    assert book.reading.trend(cook, first.last) == Trend(cook=cook, last=first.last)
    book.records.add(BOARD, BOOT, records[6:], cook)
    second = book.reading.trend(cook, first.last)
    assert second.at == [UTC + i * 2000 for i in range(6, 11)]
    assert first.at + second.at == book.reading.trend(cook).at
    assert second.last == book.reading.trend(cook).last


@CALM
@given(cuts=st.lists(st.integers(0, 41), max_size=6), late=st.sets(st.integers(0, 40), max_size=6))
def test_the_pieces_of_a_trend_make_the_whole(tmp_path_factory, cuts, late):
    records = [state(0)] + [cycle(i, pit=i, low=5000 + i, high=6000 + i) for i in range(1, 41)]
    records[20] = state(20, cause=messages.CHANGED)
    first = [i for i in range(41) if i not in late]
    with Logbook(tmp_path_factory.mktemp("cuts") / "logbook.sqlite") as book:
        book.boards.hello(BOARD, BOOT, hello(), 1)
        id = book.cooks.start("one", 0, BOARD, True)
        book.boards.pair(BOARD, BOOT, 0, UTC)
        pieces, last = [], 0
        for batch in [
            *(first[a:b] for a, b in zip([0, *sorted(cuts)], [*sorted(cuts), 41], strict=True)),
            sorted(late),
        ]:
            book.records.add(BOARD, BOOT, [records[i] for i in batch], id)
            part = book.reading.trend(id, last)
            last = part.last
            pieces += zip(part.at, part.pit, part.low, part.high, strict=True)
        whole = book.reading.trend(id)
        assert sorted(pieces) == list(zip(whole.at, whole.pit, whole.low, whole.high, strict=True))
        assert whole.low == [(5000 + i) / 100 for i in range(1, 41) if i != 20]


def test_two_boots_stand_in_the_order_of_time(book, cook):
    book.records.add(BOARD, 5, night(3, boot=5), cook)  # a boot without a hello of its own
    book.records.add(BOARD, BOOT, night(3), cook)
    book.boards.pair(BOARD, 5, 0, UTC + 100_000)
    trend = book.reading.trend(cook)
    assert trend.at == [UTC + ms for ms in (2000, 4000, 6000, 102_000, 104_000, 106_000)]
    assert [row["boot"] for row in book.reading.cycles(cook)] == [BOOT] * 3 + [5] * 3


def test_records_of_another_cook_stay_out(book, cook):
    records = night(10)
    book.records.add(BOARD, BOOT, records[:6] + records[10:], cook)
    book.cooks.end(cook, UTC + 1)
    other = book.cooks.start("two", UTC, BOARD, True)
    book.records.add(BOARD, BOOT, records[6:10], other)  # late, from the middle of the first cook
    assert book.reading.trend(cook).at == [UTC + i * 2000 for i in (1, 2, 3, 4, 5, 10)]
    assert book.reading.trend(other).at == [UTC + i * 2000 for i in (6, 7, 8, 9)]


# -- layouts of other firmware -----------------------------------------------------


def test_an_old_firmware_with_other_fields_is_read_by_its_own_layout(book, cook):
    """Tenths instead of hundredths, no third meat, no top of the band, a field nobody knows today, rows of numbers."""
    layout = {
        "now": [["pit", "h", 0, 10], ["meat_1", "h", 0, 10], ["hum", "B", 3, 1], ["faults", "B", 0, 1]],
        "out": [["fan", "B", 0, 1], ["low", "H", 0, 10]],
        "memory": [["low", "H", 0, 10], ["high", "H", 0, 10], ["past", "b", 2, 1]],
        "settings": [["gain", "I", 0, 1]],
    }
    book.boards.hello("old", 9, hello(layout), 1)
    book.boards.pair("old", 9, 0, UTC + 50_000)
    first = struct.pack(messages.HEAD, messages.STATE, 9, 0, 0, 0)
    first += struct.pack("<B8sHHbbI", messages.BOOTED, bytes(range(8)), 1100, 1211, -3, 4, 77)
    second = struct.pack(messages.HEAD, messages.CYCLE, 9, 1, 2000, 0) + struct.pack(
        "<hhBBBBBH", 1234, 655, 1, 2, 3, 0, 50, 1055
    )
    book.records.add("old", 9, [first, second], cook)
    trend = book.reading.trend(cook)
    assert (trend.pit, trend.meat_1, trend.meat_3) == ([123.4], [65.5], [None])
    assert (trend.low, trend.high, trend.fan) == ([105.5], [135.0], [0.5])  # the default where none is told
    (row,) = book.reading.cycles(cook)
    assert row["now_hum"] == [1, 2, 3] and row["now_pit"] == 123.4 and row["out_fan"] == 50
    (found,) = book.reading.states(cook)
    assert found.memory == {"low": 1100, "high": 1211, "past": [-3, 4]} and found.settings == {"gain": 77}
    assert found.core == "0001020304050607" and found.utc == UTC + 50_000
    # and beside a board of today, in one cook
    book.records.add(BOARD, BOOT, night(2), cook)
    assert len(book.reading.trend(cook).at) == 3 and {row["board"] for row in book.reading.cycles(cook)} == {
        "old",
        BOARD,
    }
    assert ("now", "hum") in book.reading.columns(cook) and ("out", "need") in book.reading.columns(cook)


def test_states_come_back_as_whole_numbers(book, cook):
    memory, chosen = Memory(), Settings()
    memory.rows[5], memory.smooth, chosen.gain = -77, -160000, 451
    inner = struct.pack(messages.STATE_HEAD, messages.HOURLY, b"\x01" * 8) + memory.pack() + chosen.pack()
    book.records.add(BOARD, BOOT, [struct.pack(messages.HEAD, 2, BOOT, 0, 6, 3) + inner], cook)
    (found,) = book.reading.states(cook)
    assert found.memory == {name: getattr(memory, name) for name, _ in memory.NAMES}
    assert found.settings == {name: getattr(chosen, name) for name, _ in chosen.NAMES}
    assert (found.cause, found.settings_number, found.at, found.utc) == (messages.HOURLY, 3, 6, UTC + 6)


def test_cycles_give_every_field_in_a_persons_units(book, cook):
    book.records.add(BOARD, BOOT, [cycle(1, pit=12345, dt=1999, order=6, owed=-1234, aim=12805, meat_2=-10000)], cook)
    (row,) = book.reading.cycles(cook)
    named = {f"{part}_{name}" for part in ("now", "out") for name, *_ in LAYOUT[part]}
    assert {name for name in row if name.startswith(("now_", "out_"))} == named
    assert (row["now_pit"], row["now_dt"], row["now_order"], row["out_owed"], row["out_aim"], row["now_meat_2"]) == (
        *(123.45, 1999, 6, -12.34, 128.05, None),
    )
    assert (row["utc"], row["at"], row["sequence"], row["settings"], row["estimated"]) == (
        UTC + 2000,
        2000,
        1,
        1,
        False,
    )


def test_export_walks_in_chunks_without_losing_a_cycle(book, cook, monkeypatch):
    from tuyere.logbook import reading

    records = night(10) + night(11, first=11)
    book.records.add(BOARD, BOOT, records, cook)
    monkeypatch.setattr(reading, "CHUNK", 4)
    assert [row["sequence"] for row in book.reading.cycles(cook)] == [*range(1, 11), *range(12, 23)]
    assert [row[3] for row in book.reading.records(cook)] == records
