"""Cooks, pieces, events, alarms, cores: what people and the engine write down."""

import pytest
from logbook_kit import BOARD, BOOT
from tuyere.logbook import Logbook
from tuyere.logbook.errors import BadEntry, CookOpen, NoSuchEntry
from tuyere.logbook.kinds import BOARD_KINDS, KINDS, LEVELS, PLACES, WRAPS, words
from tuyere.logbook.rows import Forecast
from tuyere.text import Length, Temperature, text


@pytest.fixture
def cook(book):
    return book.cooks.start("Saturday", 1_000, BOARD, False)


def test_a_cook_opens_and_ends(book, cook):
    row = book.cooks.open()
    assert row == book.cooks.get(cook) == book.cooks.all()[0]
    assert (row.name, row.started, row.board, row.simulated, row.ended) == ("Saturday", 1_000, BOARD, False, 0)
    book.cooks.set_meat_on(cook, 5_000)
    with pytest.raises(BadEntry, match="later time"):
        book.cooks.end(cook, 999)
    book.cooks.end(cook, 9_000)
    assert book.cooks.open() is None
    assert (book.cooks.get(cook).meat_on, book.cooks.get(cook).ended) == (5_000, 9_000)


def test_one_open_cook_at_a_time(book, cook):
    with pytest.raises(CookOpen, match=f'cook {cook} "Saturday" is still open; end it'):
        book.cooks.start("Sunday", 2_000, BOARD, False)
    with pytest.raises(BadEntry, match="name"):
        book.cooks.start("  ", 2_000, BOARD, False)


def test_a_cook_survives_closing_the_file(path):
    with Logbook(path) as book:
        id = book.cooks.start("night", 5, "other board", True)
    with Logbook(path) as book:
        assert book.cooks.open().id == id and book.cooks.open().simulated


def test_a_cook_that_is_not_there(book):
    for ask in (book.cooks.get, book.reading.counts, book.reading.trend, lambda id: next(book.reading.cycles(id))):
        with pytest.raises(NoSuchEntry, match="there is none yet"):
            ask(3)
    book.cooks.start("one", 0, BOARD, True)
    with pytest.raises(NoSuchEntry, match=r"no cook 3 .*only cook 1.*tuyere log list"):
        book.cooks.get(3)
    with pytest.raises(NoSuchEntry):
        book.cooks.get(10**30)


def test_pieces(book, cook):
    flat = book.pieces.add(cook, name="flat", mass=3.4, probe=1, cut="brisket flat")
    point = book.pieces.add(cook, name="point")
    book.pieces.change(flat, place="oven", wrap="paper", shade=6, shade_at=70, on_at=5, hand=71.5, hand_at=80)
    first, second = book.pieces.of(cook)
    assert (first.id, first.name, first.mass, first.probe, first.cut) == (flat, "flat", 3.4, 1, "brisket flat")
    assert (first.place, first.wrap, first.shade, first.shade_at, first.on_at) == ("oven", "paper", 6, 70, 5)
    assert (first.hand, first.hand_at) == (71.5, 80)
    assert (second.id, second.place, second.shade, second.mass) == (point, "pit", None, None)
    book.pieces.change(flat, shade=None)
    assert book.pieces.of(cook)[0].shade is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"mass": 0}, "10 g to 100.0 kg"),
        ({"mass": float("nan")}, "10 g to 100.0 kg"),
        ({"probe": 4}, "0 to 3"),
        ({"probe": True}, "0 to 3"),
        ({"shade": 11}, "0 to 10"),
        ({"place": "garage"}, ", ".join(PLACES)),
        ({"wrap": "wool"}, ", ".join(WRAPS[1:])),
        ({"name": ""}, "not empty"),
        ({"colour": "red"}, 'no "colour" to set; there are name, cut'),
    ],
)
def test_a_piece_with_a_value_that_cannot_be_is_not_stored(book, cook, fields, words):
    with pytest.raises(BadEntry, match=words):
        book.pieces.add(cook, **{"name": "flat", **fields})
    assert book.pieces.of(cook) == []


def test_pieces_and_alarms_that_are_not_there(book, cook):
    with pytest.raises(BadEntry, match="needs a name"):
        book.pieces.add(cook)
    for change in (lambda: book.pieces.change(9, shade=3), lambda: book.pieces.change(9)):
        with pytest.raises(NoSuchEntry, match="no piece 9"):
            change()
    with pytest.raises(NoSuchEntry, match="no alarm 9"):
        book.alarms.change(9, cleared=1)


def test_events_come_back_newest_first_by_when_they_happened(book, cook):
    flat = book.pieces.add(cook, name="flat")
    book.events.note(cook, "meat_on", 100, 100)
    book.events.note(cook, "shade", 300, 300, piece=flat, value=4)
    late = book.events.note(cook, "spritzed", 200, 900, text="apple juice")  # dated back
    assert [event.kind for event in book.events.of(cook)] == ["shade", "spritzed", "meat_on"]
    assert [event.kind for event in book.events.of(cook, limit=1)] == ["shade"]
    event = book.events.of(cook)[1]
    assert (event.id, event.at, event.noted, event.text, event.piece, event.value) == (
        *(late, 200, 900, "apple juice", 0, None),
    )


# the events of the house's own list: what happens in a cook (design page, "The unit is the piece")
EVENTS = (
    "meat_on moved probe_seated pan_filled fuel_added fuel_looked ash_knocked wood_added opened spritzed shade wrapped "
    "out tender in_oven hold_pit hold_oven in_box cooling in_fridge divided carved thrown_away hand_reading said"
)


def test_every_kind_of_event_can_be_noted(book, cook):
    assert list(KINDS) == EVENTS.split()
    flat = book.pieces.add(cook, name="flat")
    for kind, known in KINDS.items():
        for said in known.texts or ("", "anything"):
            for value in (known.low, known.high) if known.value else (None,):
                book.events.note(cook, kind, 1, 1, piece=flat if known.needs_piece else 0, value=value, text=said)
    assert {event.kind for event in book.events.of(cook)} == set(KINDS)


@pytest.mark.parametrize(
    ("kind", "more", "words"),
    [
        ("danced", {}, "no event"),
        ("shade", {"value": 4}, "say which"),
        ("shade", {"piece": 1}, "needs a value"),
        (
            "shade",
            {"piece": 1, "value": 11},
            r"^\"shade of the bark\" 11 is out of range: give a whole number from 0 to 10",
        ),
        ("shade", {"piece": 1, "value": 5.5}, "5.5 is not whole: give a whole number from 0 to 10"),
        ("hand_reading", {"piece": 1, "value": float("nan")}, "give -20 C to 150 C"),
        ("spritzed", {"value": 2}, "takes no value"),
        ("opened_felt", {}, "no event"),  # the board's, not a person's
        ("fuel_added", {"value": -1}, "give 0 g to 50.0 kg"),
        ("fuel_added", {"text": "damp"}, "lit or unlit"),
        ("wrapped", {"piece": 1, "text": "wool"}, "paper or foil or other"),
    ],
)
def test_an_event_that_cannot_be_is_not_noted(book, cook, kind, more, words):
    book.pieces.add(cook, name="flat")
    with pytest.raises(BadEntry, match=words):
        book.events.note(cook, kind, 1, 1, **more)
    assert book.events.of(cook) == []


def test_what_the_board_did_is_written_once_however_often_it_is_read(book, cook):
    for _ in range(2):
        wrote = [
            book.events.note_once(cook, kind, 5, 9, "board-1/7/33", text="a") for kind in ("tripped", "band_changed")
        ]
    assert wrote == [False, False]
    assert book.events.note_once(cook, "tripped", 6, 9, "board-1/7/34")
    events = book.events.of(cook)
    assert [(e.kind, e.at, e.source) for e in events] == [
        ("tripped", 6, "board-1/7/34"), ("band_changed", 5, "board-1/7/33"), ("tripped", 5, "board-1/7/33"),
    ]  # fmt: skip
    assert not set(KINDS) & set(BOARD_KINDS) and words("tripped") == "tripped, fan off" and words("a_b") == "a b"
    for kind, source in (("shade", "x"), ("tripped", ""), ("nonsense", "x")):
        with pytest.raises(BadEntry, match="no event of a board"):
            book.events.note_once(cook, kind, 1, 1, source)


def test_a_note_that_is_withdrawn_stays_in_the_file(book, cook):
    wrong, right = book.events.note(cook, "spritzed", 1, 1), book.events.note(cook, "spritzed", 2, 2)
    book.events.note_once(cook, "tripped", 3, 3, "x")
    book.events.withdraw(wrong, 7)
    assert [e.id for e in book.events.of(cook) if not e.source] == [right]
    assert [e.withdrawn for e in book.events.of(cook, withdrawn=True) if e.id == wrong] == [7]
    with pytest.raises(BadEntry, match="already"):
        book.events.withdraw(wrong, 8)
    for other in (book.events.of(cook)[0].id, 99, 10**30):
        with pytest.raises(NoSuchEntry, match="no note"):
            book.events.withdraw(other, 8)


def test_an_event_of_another_cooks_piece_is_refused(book, cook):
    flat = book.pieces.add(cook, name="flat")
    book.cooks.end(cook, 2_000)
    other = book.cooks.start("Sunday", 3_000, BOARD, False)
    with pytest.raises(NoSuchEntry, match=f"cook {other} has no piece {flat}"):
        book.events.note(other, "out", 1, 1, piece=flat)


def test_alarms(book, cook):
    why = text("full at {pit} and falling", pit=Temperature(128.2))
    checks = [text("open the top vent by {by}", by=Length(0.01)), "look for ash"]
    fire = book.alarms.add(cook, 500, "urgent", "fading", "the fire is fading", why, checks)
    probe = book.alarms.add(cook, 400, "warning", "probe", "probe 2 reads nothing")
    loose = book.alarms.add(None, 100, "urgent", "trip_hot", "tripped before any cook")
    assert LEVELS == ("urgent", "warning")
    book.alarms.change(fire, acknowledged=600, shelved=900)
    book.alarms.change(probe, cleared=700)
    first, second = book.alarms.of(cook)
    assert (first.id, first.cleared) == (probe, 700)
    assert (second.code, second.what, second.why, second.checks) == ("fading", "the fire is fading", why, checks)
    assert (second.acknowledged, second.shelved, second.cleared) == (600, 900, 0)
    assert [alarm.id for alarm in book.alarms.of(cook, standing_only=True)] == [fire]
    assert [alarm.id for alarm in book.alarms.of(None)] == [loose]
    for level, fields in (("loud", {}), ("urgent", {"cleared": -1}), ("urgent", {"what": "other"})):
        with pytest.raises(BadEntry):
            book.alarms.change(book.alarms.add(cook, 1, level, "x", "x"), **fields)


def test_cores_are_kept_by_their_hash(book):
    files = {"law.py": "def pull(): ...\n", "fields.py": "ROWS = 8\n"}
    book.cores.keep("abc", files)
    book.cores.keep("abc", files)
    assert book.cores.get("abc") == files
    with pytest.raises(BadEntry, match="other source"):
        book.cores.keep("abc", {"law.py": ""})
    with pytest.raises(NoSuchEntry, match="no source of core xyz"):
        book.cores.get("xyz")


def test_texts_of_a_cook(book, cook):
    assert book.cooks.text(cook, "phases") is None
    book.cooks.set_text(cook, "phases", '["smoke"]')
    book.cooks.set_text(cook, "phases", '["smoke", "finish"]')
    assert book.cooks.text(cook, "phases") == '["smoke", "finish"]'


def test_boots_say_what_they_are(book):
    (row,) = book.boards.boots(BOARD)
    assert (row.board, row.boot, row.seen, row.firmware, row.core) == (BOARD, BOOT, 1_000, "f1", "c1")


def test_a_piece_in_detail(book, cook):
    id = book.pieces.add(cook, name="Alder")
    piece = book.pieces.of(cook)[0]
    assert (piece.flat, piece.start, piece.intact, piece.target, piece.wrap_with) == (None, None, True, 95.5, "paper")
    book.pieces.change(id, flat=0.045, point=0.08, start=4.0, intact=False, target=96.0, wanted_shade=7.0, wrap_with="")
    piece = book.pieces.of(cook)[0]
    assert (piece.flat, piece.point, piece.start, piece.intact) == (0.045, 0.08, 4.0, False)
    assert (piece.target, piece.wanted_shade, piece.wrap_with) == (96.0, 7.0, "")
    for field, wrong in (("flat", 0.5), ("start", 60), ("intact", 1), ("target", 130), ("wrap_with", "other")):
        with pytest.raises(BadEntry):
            book.pieces.change(id, **{field: wrong})
    assert book.pieces.of(cook)[0] == piece


def shown_at(cook, piece, kind, at, early, likely, late):
    return Forecast(cook=cook, piece=piece, kind=kind, at=at, early=early, likely=likely, late=late)


def test_forecasts_are_kept_as_they_were_shown(book, cook):
    piece = book.pieces.add(cook, name="Alder")
    shown = [
        shown_at(cook, piece, "finish", 2_000, 8_000, 9_000, 11_000),
        shown_at(cook, 0, "fuel", 2_000, 20_000, 30_000, 40_000),
        shown_at(cook, piece, "finish", 1_000, 7_000, 9_000, 12_000),
    ]
    book.forecasts.keep(shown)
    book.forecasts.keep(shown)
    assert book.forecasts.of(cook) == [shown[2], shown[1], shown[0]]
    assert book.forecasts.of(cook, "fuel") == [shown[1]] and book.forecasts.of(cook + 1) == []
    with pytest.raises(BadEntry, match="times go up"):
        book.forecasts.keep([shown_at(cook, piece, "finish", 3_000, 9_000, 8_000, 11_000)])
