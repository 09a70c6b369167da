"""Records go in once, whole, or not at all."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook_kit import BOARD, BOOT, cycle, hello, night, state, table
from tuyere.logbook import Logbook, RecordConflict
from tuyere.logbook.errors import BadRecord, HelloConflict, NoLayout, NoSuchEntry, NotWritable
from tuyere.logbook.records import CUT


def test_what_goes_in_comes_out(book):
    records = night(5)
    cook = book.cooks.start("one", 0, BOARD, True)
    assert book.records.add(BOARD, BOOT, records, cook) == 6
    assert list(book.reading.records(cook)) == [(BOARD, BOOT, i, data) for i, data in enumerate(records)]
    assert book.records.stored(BOARD, BOOT) == 6
    assert (book.reading.counts(cook).cycles, book.reading.counts(cook).states) == (5, 1)


def test_a_record_that_comes_twice_is_stored_once(book):
    records = night(5)
    cook = book.cooks.start("one", 0, BOARD, True)
    assert book.records.add(BOARD, BOOT, records[:4], cook) == 4
    assert book.records.add(BOARD, BOOT, records[2:] + records[2:], cook) == 2
    assert book.records.add(BOARD, BOOT, records, cook) == 0
    assert [row[5] for row in table(book)] == records
    assert book.reading.counts(cook).cycles == 5


@pytest.mark.parametrize("apart", [False, True], ids=["stored before", "in one batch"])
def test_other_bytes_under_the_same_key_are_refused_with_the_whole_batch(book, apart):
    records, other = night(3), cycle(2, pit=9999)
    if apart:
        batch = [*records, other]
    else:
        book.records.add(BOARD, BOOT, records[:3], None)
        batch = [records[3], other]
    before = table(book)
    with pytest.raises(RecordConflict) as caught:
        book.records.add(BOARD, BOOT, batch, None)
    assert table(book) == before
    assert (caught.value.board, caught.value.boot, caught.value.sequence) == (BOARD, BOOT, 2)
    for named in (BOARD, str(BOOT), "record 2 "):
        assert named in str(caught.value)


@pytest.mark.parametrize("bad", [b"", b"\x01short", cycle(9, boot=7), cycle(9, at=1 << 63)])
def test_one_bad_record_rolls_the_batch_back(book, bad):
    with pytest.raises(BadRecord, match="nothing of this batch was stored"):
        book.records.add(BOARD, BOOT, [*night(3), bad], None)
    assert table(book) == []


def test_a_cook_that_is_not_there_rolls_the_batch_back(book):
    with pytest.raises(NoSuchEntry, match="no cook 12"):
        book.records.add(BOARD, BOOT, night(3), 12)
    assert table(book) == []


def test_a_kind_of_record_from_a_later_firmware_is_kept(book):
    strange = b"\x09" + cycle(0)[1:] + b"more"
    assert book.records.add(BOARD, BOOT, [strange], None) == 1
    assert table(book)[0][5] == strange


def test_expected_is_one_past_what_is_stored_or_known_to_be_lost(book):
    assert book.records.expected("never seen", 1) == book.records.expected(BOARD, BOOT) == 0
    book.records.add(BOARD, BOOT, night(3), None)
    assert book.records.expected(BOARD, BOOT) == 4
    book.records.gap(BOARD, BOOT, 4, 9, "the board's ring was full")
    assert book.records.expected(BOARD, BOOT) == 10
    assert book.records.expected(BOARD, BOOT + 1) == 0
    with pytest.raises(BadRecord):
        book.records.gap(BOARD, BOOT, 9, 4, "backwards")


def test_gaps_are_what_is_not_there_with_the_cause_that_was_noted(book):
    cook = book.cooks.start("one", 0, BOARD, True)
    records = night(20)
    book.records.add(BOARD, BOOT, records[:5] + records[8:15] + records[16:], cook)
    book.records.gap(BOARD, BOOT, 5, 7, "ring full")
    book.records.gap(BOARD, BOOT, 6, 7, "told twice")
    book.records.gap(BOARD, BOOT, 17, 18, "but they came")
    book.records.gap(BOARD, BOOT, 21, 30, "at the end")
    found = [(gap.first, gap.last, gap.cause) for gap in book.reading.gaps(cook)]
    assert found == [(5, 7, "ring full"), (15, 15, ""), (21, 30, "at the end")]
    assert book.records.missing(BOARD, BOOT) == 13  # those known: 5..7 and 21..30
    counts = book.reading.counts(cook)
    assert (counts.gaps, counts.missing) == (3, 14)
    book.records.add(BOARD, BOOT, records[5:8] + records[15:16], cook)  # they came after all
    assert [(gap.first, gap.last) for gap in book.reading.gaps(cook)] == [(21, 30)]
    assert book.records.missing(BOARD, BOOT) == 10


def test_a_hole_whose_cause_is_known_in_part(book):
    cook = book.cooks.start("one", 0, BOARD, True)
    records = night(30)
    book.records.add(BOARD, BOOT, records[:5] + records[25:], cook)
    book.records.gap(BOARD, BOOT, 8, 9, "ring full")
    book.records.gap(BOARD, BOOT, 20, 40, "restart")
    found = [(gap.first, gap.last, gap.cause) for gap in book.reading.gaps(cook)]
    assert found == [(5, 7, ""), (8, 9, "ring full"), (10, 19, ""), (20, 24, "restart"), (31, 40, "restart")]


def test_a_gap_of_a_boot_without_any_record_is_shown(book):
    cook = book.cooks.start("one", 0, BOARD, True)
    book.records.gap(BOARD, 5, 0, 3, "lost with the power")
    assert [(gap.boot, gap.first, gap.last) for gap in book.reading.gaps(cook)] == [(5, 0, 3)]


def test_one_boot_has_one_layout(book):
    other = {**hello()["layout"], "now": [["pit", "i", 0, 10]]}
    with pytest.raises(HelloConflict, match="restart the board"):
        book.boards.hello(BOARD, BOOT, hello(other), seen=5)
    book.boards.hello(BOARD, BOOT, hello(), seen=5)  # the same again is fine, and the first sight stays
    assert book.boards.boots(BOARD)[0].seen == 1_000
    book.boards.hello(BOARD, BOOT + 1, hello(other), seen=6)


@pytest.mark.parametrize("layout", [{"now": 1}, {**hello()["layout"], "out": [["fan", "s", 0, 1]]}])
def test_without_a_usable_layout_records_are_kept_but_not_read(path, layout):
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(layout), seen=1)
        cook = book.cooks.start("one", 0, BOARD, True)
        book.records.add(BOARD, BOOT, night(2), cook)
        with pytest.raises(NoLayout, match="they are kept"):
            book.reading.trend(cook)
        book.boards.hello(BOARD, BOOT, hello(), seen=2)  # the board, asked again
        assert len(book.reading.trend(cook).at) == 2


def test_a_boot_that_never_said_hello_is_read_by_its_neighbours_layout(book):
    cook = book.cooks.start("one", 0, BOARD, True)
    book.records.add(BOARD, 77, night(2, boot=77), cook)
    assert book.reading.trend(cook).pit == [20.01, 20.02]


def test_a_neighbours_layout_is_taken_only_where_it_fits(book):
    """Boot 77 stands between one of another size, which is nearer, and the one that fits it."""
    other = {**hello()["layout"], "now": [["pit", "i", 0, 10]]}
    book.records.add(BOARD, 77, night(2, boot=77), cook := book.cooks.start("one", 0, BOARD, True))
    book.boards.hello(BOARD, 78, hello(other), seen=5)
    book.boards.hello(BOARD, 79, hello(), seen=6)
    away = [row[0] for row in book._store.rows("SELECT boot FROM boots ORDER BY id")]
    assert away[-3:] == [77, 78, 79]
    assert book.reading.trend(cook).pit == [20.01, 20.02]


def test_where_no_neighbours_layout_fits_nothing_is_read(path):
    other = {**hello()["layout"], "now": [["pit", "i", 0, 10]]}
    with Logbook(path) as book:
        cook = book.cooks.start("one", 0, BOARD, True)
        book.records.add(BOARD, 77, night(2, boot=77), cook)
        book.boards.hello(BOARD, 78, hello(other), seen=5)
        with pytest.raises(NoLayout, match="boot 77 of board board-1 never announced"):
            book.reading.trend(cook)


def test_reader_may_not_write(path, book):
    with Logbook(path, owner=False) as reader, pytest.raises(NotWritable, match="for reading only"):
        reader.records.add(BOARD, BOOT, night(1), None)


def test_together_is_all_or_nothing(book):
    cook = book.cooks.start("one", 0, BOARD, True)
    with pytest.raises(RuntimeError), book.together():
        piece = book.pieces.add(cook, name="flat")
        book.events.note(cook, "shade", 1, 1, piece=piece, value=4)
        raise RuntimeError
    assert book.pieces.of(cook) == [] and book.events.of(cook) == []
    with book.together():
        book.pieces.add(cook, name="point")
        with pytest.raises(BadRecord):
            book.records.add(BOARD, BOOT, [cycle(0), b""], cook)
        book.records.add(BOARD, BOOT, [state(0)], cook)
    assert [piece.name for piece in book.pieces.of(cook)] == ["point"]
    assert book.records.stored(BOARD, BOOT) == 1


NIGHT = {boot: night(12, boot) for boot in (3, 4)}
PARTS = st.lists(
    st.tuples(st.sampled_from([3, 4]), st.lists(st.integers(0, 12), min_size=1, max_size=13)), min_size=0, max_size=12
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(parts=PARTS, order=st.permutations([(boot, i) for boot in (3, 4) for i in range(13)]), cut=st.integers(1, 26))
def test_any_order_batching_and_repetition_ends_with_the_same_table(tmp_path_factory, parts, order, cut):
    with Logbook(tmp_path_factory.mktemp("any") / "logbook.sqlite") as book:
        book.boards.hello(BOARD, 3, hello(), 1)
        cook = book.cooks.start("one", 0, BOARD, True)
        stored = 0
        for boot, chosen in parts:  # pieces of it, again and again
            stored += book.records.add(BOARD, boot, [NIGHT[boot][i] for i in chosen], cook)
        for begin in range(0, 26, cut):  # then all of it, in any order
            for boot in (3, 4):
                batch = [NIGHT[boot][i] for its, i in order[begin : begin + cut] if its == boot]
                stored += book.records.add(BOARD, boot, batch, cook)
        assert stored == 26
        assert [(row[1], row[5]) for row in table(book)] == [(boot, data) for boot in (3, 4) for data in NIGHT[boot]]
        spans = book._store.rows("SELECT boot, first, last, records, cycles, states FROM spans ORDER BY boot")
        assert spans == [(3, 0, 12, 13, 12, 1), (4, 0, 12, 13, 12, 1)]
        assert book.reading.gaps(cook) == [] and len(book.reading.trend(cook).at) == 24


def test_a_cut_is_a_gap_as_far_as_it_is_certain_and_bounds_beyond(book):
    cook = book.cooks.start("A supper", 1, BOARD, False)
    book.boards.hello(BOARD, BOOT, hello(), 1)
    book.records.add(BOARD, BOOT, night(9), cook)
    assert book.records.cut(BOARD, BOOT, 10, 16, 376)
    assert not book.records.cut(BOARD, BOOT, 12, 16, 376)  # said again: the first word stands
    [cut] = book.reading.cuts(cook)
    assert (cut.reached, cut.least, cut.most) == (10, 16, 376)
    assert cut.words == (
        f"boot {BOOT} ended, by a power cut or a restart: 6 to 366 of its records from 10 on were in the board's RAM"
    )
    assert [(gap.first, gap.last, gap.cause) for gap in book.reading.gaps(cook)] == [(10, 15, CUT)]
    assert book.records.expected(BOARD, BOOT) == 16
    other = BOOT + 1
    book.boards.hello(BOARD, other, {**hello(), "boot": other}, 2)
    book.records.cut(BOARD, other, 50, 40, 400)  # all that is certain is stored
    assert len(book.reading.gaps(cook)) == 1
    assert book.reading.cuts(cook) == [cut]  # the other boot has no record of this cook
    book.cooks.end(cook, 3)
    book.records.cut(BOARD, BOOT + 3, 50, 40, 400)  # switched off when all was over
    assert book.reading.cuts(cook) == [cut]
    with pytest.raises(BadRecord, match="cannot have been cut"):
        book.records.cut(BOARD, BOOT + 2, 400, 40, 400)
