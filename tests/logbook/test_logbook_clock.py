"""Board time to UTC."""

from hypothesis import given
from hypothesis import strategies as st
from logbook_kit import BOARD, cycle, hello
from tuyere.logbook.clock import Clock, Life, estimate

HOUR = 3_600_000
UTC = 1_778_000_000_000  # some instant


def boot(book, number, hours):
    """A boot with a hello-less record at its start and at its end."""
    book.records.add(BOARD, number, [cycle(0, number, at=0), cycle(1, number, at=hours * HOUR)], None)


def test_latest_pair_at_or_before_else_the_first():
    clock = Clock([(1_000, UTC), (5_000, UTC + 4_100)])
    assert clock.utc(0) == UTC - 1_000  # before the first pair
    assert clock.utc(4_999) == UTC + 3_999
    assert clock.utc(5_000) == UTC + 4_100
    assert clock.utc(6_000) == UTC + 5_100


def test_a_clock_put_back_corrects_the_times_before():
    clock = Clock([(0, UTC + HOUR), (1_000, UTC + 1_000)])  # the computer ran an hour fast until 1,000 ms
    assert clock.utc(0) == UTC
    assert clock.utc(999) == UTC + 999


PAIRS = st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 10**13)), min_size=1, max_size=12)


@given(pairs=PAIRS, ats=st.lists(st.integers(0, 2 * 10**9), max_size=30))
def test_time_never_runs_backwards_in_a_boot_and_the_newest_pair_holds(pairs, ats):
    pairs = list(dict(pairs).items())
    clock = Clock(pairs)
    ats = sorted(ats + [at for at, _ in pairs])
    utcs = clock.column(ats)
    assert utcs == [clock.utc(at) for at in ats]
    assert all(b - a >= t - s for a, b, s, t in zip(utcs, utcs[1:], ats, ats[1:], strict=False))
    newest, utc = max(pairs)
    assert clock.utc(newest) == utc


def test_a_boot_without_a_pair_is_put_between_its_neighbours_and_marked(book):
    boot(book, 10, 2)
    boot(book, 20, 1)  # nobody was there
    boot(book, 30, 1)
    book.boards.pair(BOARD, 10, 0, UTC)
    book.boards.pair(BOARD, 30, 60_000, UTC + 9 * HOUR + 60_000)
    boots = {row.boot: row for row in book.boards.boots(BOARD)}
    assert [row.boot for row in book.boards.boots(BOARD)][:3] == [10, 20, 30]
    assert not boots[10].estimated and boots[20].estimated and not boots[30].estimated
    # free: from 2 h to 9 h less the boot's 1 h, half of it before
    assert book.boards.utc(BOARD, 20, 0) == UTC + 2 * HOUR + 3 * HOUR
    assert book.boards.utc(BOARD, 20, HOUR) - book.boards.utc(BOARD, 20, 0) == HOUR
    book.boards.pair(BOARD, 20, HOUR, UTC + 4 * HOUR)  # now it is known
    assert book.boards.utc(BOARD, 20, 0) == UTC + 3 * HOUR
    assert not {row.boot: row for row in book.boards.boots(BOARD)}[20].estimated


def test_records_of_an_estimated_boot_are_marked_in_the_cycles(book):
    cook = book.cooks.start("one", UTC, BOARD, False)
    book.boards.hello(BOARD, 10, hello(), 1)
    for number in (10, 20):
        book.records.add(BOARD, number, [cycle(0, number), cycle(1, number)], cook)
    book.boards.pair(BOARD, 10, 0, UTC)
    assert [(row["boot"], row["estimated"]) for row in book.reading.cycles(cook)] == [(10, False)] * 2 + [
        (20, True)
    ] * 2
    assert book.reading.trend(cook).at == [UTC, UTC + 2000, UTC + 2000, UTC + 4000]


def test_one_neighbour_or_none():
    known = Clock([(0, UTC)])
    lives = [Life(HOUR, 0, None), Life(2 * HOUR, 0, known), Life(HOUR, 0, None), Life(HOUR, 0, None)]
    clocks = estimate(lives)
    assert [clock.utc(0) for clock in clocks] == [UTC - HOUR, UTC, UTC + 2 * HOUR, UTC + 3 * HOUR]
    assert [clock.estimated for clock in clocks] == [True, False, True, True]
    (alone,) = estimate([Life(HOUR, UTC, None)])
    assert alone.utc(HOUR) == UTC and alone.estimated


LIVES = st.lists(
    st.tuples(st.integers(0, HOUR), st.integers(0, HOUR), st.booleans()), min_size=1, max_size=8
)  # length, pause before, whether it has a pair


@given(lives=LIVES)
def test_estimated_boots_follow_each_other_without_overlap(lives):
    at, made = UTC, []
    for length, pause, paired in lives:
        at += pause
        made.append(Life(length, UTC, Clock([(0, at)]) if paired else None))
        at += length
    clocks = estimate(made)
    ends = [clock.utc(life.length) for clock, life in zip(clocks, made, strict=True)]
    assert all(end <= clock.utc(0) for end, clock in zip(ends, clocks[1:], strict=False))


def test_utc_of_a_boot_nobody_heard_of(book):
    import pytest
    from tuyere.logbook.errors import NoSuchEntry

    with pytest.raises(NoSuchEntry, match="connect it once"):
        book.boards.utc(BOARD, 999, 0)
    with pytest.raises(NoSuchEntry, match="connect it once"):
        book.boards.utc("nobody", 1, 0)


def test_what_was_written_before_a_change_of_the_clock_moves_with_its_cook_and_the_rest_stays(book):
    other = book.cooks.start("other", UTC, BOARD, False)
    book.cooks.end(other, UTC + 5)
    one = book.cooks.start("one", UTC, BOARD, False)
    book.records.add(BOARD, 10, [cycle(0, 10)], one)
    book.boards.pair(BOARD, 10, 0, UTC)
    piece = book.pieces.add(one, name="flat", on_at=UTC + 1)
    for cook in (one, other):
        book.events.note(cook, "spritzed", UTC + 2, UTC + 3)
        book.alarms.add(cook, UTC + 4, "urgent", "trip_hot", "too hot")
    upto = book.clock.written()
    late = book.events.note(one, "spritzed", UTC + HOUR, UTC + HOUR)
    book.alarms.add(one, UTC + HOUR, "urgent", "trip_hot", "too hot")
    book.clock.move(HOUR, boot=(BOARD, 10), upto=upto)
    assert (book.cooks.get(one).started, book.cooks.get(one).ended) == (UTC + HOUR, 0)  # 0 is no time
    assert [(row.on_at, row.shade_at) for row in book.pieces.of(one) if row.id == piece] == [(UTC + HOUR + 1, 0)]
    events = {row.id: (row.at, row.noted) for row in book.events.of(one)}
    assert events.pop(late) == (UTC + HOUR, UTC + HOUR)
    assert list(events.values()) == [(UTC + HOUR + 2, UTC + HOUR + 3)]
    assert sorted(row.raised for row in book.alarms.of(one)) == [UTC + HOUR, UTC + HOUR + 4]
    assert book.boards.utc(BOARD, 10, 0) == UTC + HOUR
    assert book.cooks.get(other).started == UTC and [row.at for row in book.events.of(other)] == [UTC + 2]
    book.clock.move(-HOUR, boot=(BOARD, 10))  # without a moment everything moves
    assert {row.id: row.at for row in book.events.of(one)}[late] == UTC
    book.clock.move(HOUR, cook=other)  # a cook without any board's time
    assert (book.cooks.get(other).started, book.cooks.get(one).started) == (UTC + HOUR, UTC)
