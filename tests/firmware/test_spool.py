"""The spool on CPython: every record comes back as the loop made it; what cannot is passed over and said."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hearth.core import Now, cycle
from hearth.link import messages
from hearth.store import block, segments
from hearth.store.spool import Spool
from hypothesis import given, settings
from hypothesis import strategies as st
from spool_kit import BLOCK, CORE, Boot, Night, draw

LIMIT = 1200 * 1024


@pytest.fixture
def folder(tmp_path: Path) -> str:
    return str(tmp_path / "spool")


def files(folder: str) -> list[Path]:
    return sorted(Path(folder).iterdir())


def spans(folder: str, boot: Boot) -> list[tuple[int, int]]:
    """(first, next) of each block in the files, found by their contents alone."""
    found = []
    for file in files(folder):
        data = file.read_bytes()
        for i in range(data.count(block.MAGIC)):
            whole = block.Expansion(CORE)
            part = data[sum(map(segments.capacity, range(i))) :][:BLOCK]
            whole.buffer[: len(part)] = part
            if whole.take(len(part)):
                found.append((whole.first, whole.next))
    return found


READINGS = st.fixed_dictionaries({row[0]: st.integers(row[3], row[4]) for row in Now.TABLE})
STEPS = st.lists(
    st.one_of(READINGS, st.integers(0, 60_000), st.sampled_from(["change", "hourly", "write"])), max_size=60
)


@settings(max_examples=60, deadline=None)
@given(steps=STEPS, seed=st.integers(0, 10_000), start=st.integers(0, 60))
def test_any_night_comes_back(tmp_path_factory: pytest.TempPathFactory, steps: list, seed: int, start: int) -> None:
    """Any inputs in their ranges, cycles that are late, state records and programme or settings in between."""
    folder = str(tmp_path_factory.mktemp("night"))
    boot = Boot(Spool(folder, LIMIT, CORE), 4_294_967_295, seed)
    for step in steps:
        if isinstance(step, dict):
            for name, value in step.items():
                setattr(boot.now, name, value)
            boot.cycle()
        elif isinstance(step, int):
            boot.at += step
            boot.cycle()
        elif step == "change":
            boot.change()
        elif step == "hourly":
            boot.state(messages.HOURLY)
        else:
            boot.spool.write()
    start = min(start, len(boot.records))
    assert [record for record in boot.spool.read(boot.number, start) if record] == boot.records[start:]
    boot.spool.write()
    again = Spool(folder, LIMIT, CORE)
    assert list(again.read(boot.number, 0)) == boot.records
    assert again.runs() == [(boot.number, 0, len(boot.records))]
    assert not again.lost and not again.broken


def test_a_night_is_small(folder: str) -> None:
    """With everything fitted that makes noise: 16 bytes a cycle at most on average, openings of blocks included."""
    night = Night(Spool(folder, LIMIT, CORE))
    for _ in range(4000):
        night.step()
    assert list(night.spool.read(7, 0)) == night.records
    assert night.spool.bytes_written / night.flashed < 16


def test_reading_in_the_middle_takes_single_steps(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(3)
    first, after = spans(folder, boot)[1]
    start = after - 2
    looked = 1 + start - first  # a block read in vain, then cycles run again to get there: one a step
    got = list(itertools.islice(boot.spool.read(7, start), looked + 5))
    assert got[:looked] == [b""] * looked
    assert got[looked:] == boot.records[start : start + 5]


def test_a_step_reads_one_block_however_many_lie_before(folder: str, monkeypatch: pytest.MonkeyPatch) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(segments.BLOCKS + 4)
    all_spans = spans(folder, boot)
    reads = [0]
    take = segments.Segments.take

    def counted(self: object, segment: object, i: int) -> bool:
        reads[0] += 1
        return bool(take(self, segment, i))  # type: ignore[arg-type]

    monkeypatch.setattr(segments.Segments, "take", counted)
    got = []
    for record in boot.spool.read(7, all_spans[12][0]):
        assert reads[0] <= 1
        reads[0] = 0
        got.append(record)
    assert [record for record in got if record] == boot.records[all_spans[12][0] :]
    assert got.count(b"") == 12  # those before are read once, and not again for each block after it


def test_a_segment_that_goes_while_it_is_read_ends_nothing(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(2 * segments.BLOCKS + 3)
    all_spans = spans(folder, boot)
    reading = boot.spool.read(7, all_spans[5][0] + 1)
    assert next(reading) == b""
    boot.spool.kept(7, all_spans[15][1] - 1)
    assert boot.spool.tidy() and not boot.spool.tidy()
    assert [record for record in reading if record] == boot.records[all_spans[16][0] :]
    assert not boot.spool.broken and boot.spool.lost == []


def test_a_new_reader_ends_the_one_before(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(2)
    before, after = boot.spool.read(7, 0), boot.spool.read(7, 3)
    assert next(before) == boot.records[0]
    assert [next(after) for _ in range(4)] == [b"", b"", b"", boot.records[3]]
    assert list(before) == []
    assert list(after) == boot.records[4:] and boot.spool.lost == []


def test_reading_goes_on_while_the_block_is_filled_and_written(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    got = []
    reader = boot.spool.read(7, 0)
    for _ in range(100):  # of the open block no cycle is run twice
        boot.cycle()
        got.append(next(reader))
    assert got == boot.records[:100] and boot.flashed == 0
    for _ in range(4):
        boot.fill()
        got += [next(reader) for _ in range(50)]
    got += list(reader)
    assert [record for record in got if record] == boot.records


def test_due_comes_in_time_and_nothing_goes_if_it_is_not_heeded(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    while not boot.spool.due():
        boot.cycle()
    assert boot.spool.due() and boot.spool.bytes_written == 0
    boot.fill(2, writes=False)  # the loop never calls write
    assert list(boot.spool.read(7, 0)) == boot.records
    assert len(spans(folder, boot)) >= 2


def test_no_more_than_ten_minutes_are_in_ram_alone(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    for _ in range(2000):  # nothing moves: a block would hold an hour of this
        boot.cycle()
        boot.write()
        assert len(boot.records) - boot.flashed <= 300


def test_a_change_with_no_room_left_opens_the_next_block(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    while boot.spool._block.room() >= block.CHANGE:
        draw(boot.now, boot.dice)
        boot.cycle()
    boot.change()
    assert spans(folder, boot) == [(0, len(boot.records) - 1)]
    boot.cycle()
    assert list(boot.spool.read(7, 0)) == boot.records


@pytest.mark.parametrize("wild", [False, True])
def test_a_host_that_keeps_up_leaves_the_flash_alone(folder: str, wild: bool) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    for i in range(3000):
        if wild:
            draw(boot.now, boot.dice)
        boot.cycle()
        boot.write()
        boot.spool.kept(7, len(boot.records) - (1 if i % 3 == 0 else 4))
    assert boot.spool.bytes_written == 0
    first = boot.spool.runs()[0][1]
    assert list(boot.spool.read(7, 0)) == boot.records[first:]


def test_what_the_host_has_goes_segment_by_segment(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(2 * segments.BLOCKS + 3)
    ends = [after for _, after in spans(folder, boot)]
    assert len(files(folder)) == 3
    boot.spool.kept(8, 10**6)  # some other boot
    boot.spool.kept(7, ends[15] - 2)  # all but one record of the first segment
    assert len(files(folder)) == 3 and not boot.spool.tidy()
    boot.spool.kept(7, ends[15] - 1)
    assert len(files(folder)) == 3  # to be deleted when there is time; it is held no more
    assert boot.spool.runs() == [(7, ends[15], len(boot.records))]
    assert list(boot.spool.read(7, 0)) == boot.records[ends[15] :]
    boot.spool.kept(7, len(boot.records) - 1)
    for left in (2, 1, 0):
        assert boot.spool.tidy() and len(files(folder)) == left  # one a cycle
    assert not boot.spool.tidy()
    boot.fill(1)  # and the next segment is a new one
    assert [file.name for file in files(folder)] == ["00000003"]


def test_several_boots_oldest_first(folder: str) -> None:
    boots = []
    for number in (900, 5, 70):
        boot = Boot(Spool(folder, LIMIT, CORE), number)
        boot.fill(2)
        boots.append(boot)
    ends = [len(boot.records) if boot is boots[-1] else boot.flashed for boot in boots]
    spool = Spool(folder, LIMIT, CORE)
    assert spool.runs() == [(900, 0, ends[0]), (5, 0, ends[1]), (70, 0, boots[2].flashed)]
    for boot in boots:
        assert list(spool.read(boot.number, 0)) == boot.records[: boot.flashed]
    assert list(spool.read(12345, 0)) == []
    spool.kept(900, ends[0] - 1)
    assert [run[0] for run in spool.runs()] == [5, 70]


def test_at_the_limit_the_oldest_go_and_it_is_said(folder: str) -> None:
    boot = Boot(Spool(folder, 40 * BLOCK, CORE))
    boot.fill(40)
    assert not boot.spool.full and boot.spool.dropped == 0
    ends = [after for _, after in spans(folder, boot)]
    boot.fill(1)
    assert boot.spool.full and boot.spool.dropped == ends[15]
    assert boot.spool.lost == [(7, 0, ends[15], "full")]
    assert list(boot.spool.read(7, 0)) == boot.records[ends[15] :]
    assert sum(-(-file.stat().st_size // BLOCK) for file in files(folder)) == 25
    boot.spool.kept(7, ends[15] - 2)
    boot.spool.kept(8, 10**6)
    assert len(boot.spool.lost) == 1  # nothing later of that boot is kept yet
    boot.spool.kept(7, len(boot.records) - 1)
    assert not boot.spool.full and boot.spool.lost == []


def damage(folder: str, number: int, i: int) -> None:
    """Change one byte in the middle of a file's i-th block."""
    file = files(folder)[number]
    data = bytearray(file.read_bytes())
    data[sum(map(segments.capacity, range(i))) + 1000] ^= 16
    file.write_bytes(data)


@pytest.mark.parametrize("i", [0, 1, 7, 15])
def test_a_damaged_block_takes_only_itself(folder: str, i: int) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(20)
    all_spans = spans(folder, boot)
    damage(folder, 0, i)
    spool = Spool(folder, LIMIT, CORE)
    first, after = all_spans[i]
    got = [record for record in spool.read(7, 0) if record]
    assert got == boot.records[:first] + boot.records[after : boot.flashed]
    if i:
        assert spool.lost == [(7, first, after, "torn")]
    else:  # nothing held before it: what is held begins later
        assert spool.lost == [] and spool.runs()[0] == (7, after, boot.flashed)
    list(spool.read(7, 0))
    assert len(spool.lost) <= 1  # said once


def test_half_a_block_at_the_end_is_none(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(3)
    file = files(folder)[0]
    file.write_bytes(file.read_bytes()[:-1000])
    spool = Spool(folder, LIMIT, CORE)
    assert spool.runs() == [(7, 0, spans(folder, boot)[1][1])]
    again = Boot(spool, 8)
    again.fill(2)
    assert list(spool.read(8, 0)) == again.records


@pytest.mark.parametrize("whole", [0, 3])
def test_after_a_write_that_failed_half_way(folder: str, whole: int, monkeypatch: pytest.MonkeyPatch) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(whole)
    first = boot.flashed
    names = [file.name for file in files(folder)]

    def half(path: str, mode: str, image: memoryview) -> None:
        with open(path, mode) as file:
            file.write(image[:2000])
        raise OSError(5, "no")

    with monkeypatch.context() as patched:
        patched.setattr(segments, "put", half)
        boot.fill(1)
    after = boot.flashed
    assert boot.spool.broken and boot.spool.lost == [(7, first, after, "flash")]
    assert [file.name for file in files(folder)] == names  # no new file stays of it
    boot.fill(2)
    assert not boot.spool.broken
    assert list(Spool(folder, LIMIT, CORE).read(7, 0)) == boot.records[:first] + boot.records[after : boot.flashed]


def test_other_files_and_empty_ones(folder: str) -> None:
    Path(folder).mkdir()
    for name in ("notes.txt", "0000000g", "000000FF", "+0000001", "1", "ffffffff0"):
        (Path(folder) / name).write_text("not ours")
    (Path(folder) / "00000003").write_bytes(b"")  # a cut right after it was made
    (Path(folder) / "00000004").write_bytes(bytes(9000))  # no block in it
    boot = Boot(Spool(folder, 5 * BLOCK, CORE))
    boot.fill(1)
    assert "00000003" not in [file.name for file in files(folder)]
    assert boot.spool.runs() == [(7, 0, len(boot.records))]
    boot.fill(3)  # past the limit: the file without a block is the oldest, and no record goes with it
    assert "00000004" not in [file.name for file in files(folder)] and boot.spool.dropped == 0
    assert (Path(folder) / "notes.txt").read_text() == "not ours"
    assert not boot.spool.broken


def test_blocks_of_another_core_are_lost_until_the_host_knows(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, b"a former"))
    boot.fill(2)
    for _ in range(2):  # it is said after every start
        spool = Spool(folder, LIMIT, CORE)
        assert spool.lost == [(7, 0, boot.flashed, "core")]
        assert spool.runs() == [] and list(spool.read(7, 0)) == []
    spool.kept(7, boot.flashed - 1)
    assert spool.tidy() and spool.lost == [] and files(folder) == []


def test_a_cycle_that_comes_out_otherwise_ends_its_block(folder: str, monkeypatch: pytest.MonkeyPatch) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    boot.fill(3)
    (first, after), *_ = spans(folder, boot)
    turn = first + 10

    def another(settings, now, memory, out):  # type: ignore[no-untyped-def]
        cycle(settings, now, memory, out)
        if boot.spool._whole.sequence == turn - 1:
            out.aim ^= 1

    monkeypatch.setattr(block, "cycle", another)
    got = list(boot.spool.read(7, 0))
    assert got == boot.records[:turn] + boot.records[after:]
    assert boot.spool.lost == [(7, turn, after, "check")]


def test_a_memory_touched_without_a_word_is_noticed(folder: str) -> None:
    boot = Boot(Spool(folder, LIMIT, CORE))
    for _ in range(20):
        boot.cycle()
    boot.memory.owed += 1  # shows in no output
    boot.state(messages.HOURLY)
    assert list(boot.spool.read(7, 0)) == boot.records[:21]
    assert boot.spool.lost == [(7, 21, 22, "check")]


def test_a_folder_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    spool = Spool(str(tmp_path / "file"), LIMIT, CORE)
    assert spool.broken
    boot = Boot(spool)
    boot.fill(3)
    assert boot.spool.broken and boot.spool.dropped > 0
    first = boot.spool.runs()[0][1] if boot.spool.runs() else len(boot.records)
    assert list(boot.spool.read(7, 0)) == boot.records[first:]
    assert [run[3] for run in boot.spool.lost] == ["flash"] * 3


def test_no_more_lost_runs_than_there_is_memory_for(folder: str) -> None:
    boot = Boot(Spool(folder, BLOCK, CORE))  # every block pushes out the one before
    boot.fill(40)
    assert len(boot.spool.lost) == 32
    assert boot.spool.lost[-1][2] == boot.spool.runs()[0][1]


def test_a_segment_that_is_not_to_be_deleted_is_a_flash_that_fails(tmp_path: Path) -> None:
    files = segments.Segments(str(tmp_path), None)
    one, other = segments.Segment(1, 7, 0), segments.Segment(2, 7, 9)
    files.all = [one, other]
    (tmp_path / "00000001").write_bytes(b"x")
    files.delete(one)
    assert not files.broken and files.all == [other] and not list(tmp_path.iterdir())
    files.delete(other)  # there is no such file
    assert files.broken and files.all == []
