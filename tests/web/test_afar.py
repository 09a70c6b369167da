"""What may be done from the page, and each thing that may not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import MINUTE, snapshot, trend
from hearth.link.messages import ORDERS
from tuyere.client.client import EngineError
from tuyere.cook.snapshot import Alarm
from tuyere.logbook.kinds import KINDS
from tuyere.text import Temperature, text
from tuyere.web import afar
from web_kit import Page

COLUMNS = trend(6.0)
NOW = COLUMNS.at[-1]


def page(home: Path, **changes: Any) -> Page:
    """A held pit at 250-275 F, with some things otherwise."""
    shot = msgspec.structs.replace(snapshot(COLUMNS), **changes)
    return Page(home, shot)


def asked(found: Page) -> list[tuple[str, dict[str, Any]]]:
    """What reached the engine beyond looking."""
    return [(name, given) for name, given in found.engine.calls if name != "snapshot"]


def cycle(**changes: Any) -> Any:
    return msgspec.structs.replace(snapshot(COLUMNS).cycle, **changes)


def urgent(code: str = "fading", **changes: Any) -> Alarm:
    return Alarm(id=7, raised=NOW, level="urgent", what="x", code=code, **changes)


# -- what may be done -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "call"),
    [
        ({"do": "awake"}, ("awake", {})),
        ({"do": "stop"}, ("order", {"name": "stop"})),
        ({"do": "opened"}, ("order", {"name": "opened", "seconds": 0})),
        ({"do": "undo", "note": 20}, ("note_undo", {"id": 20})),
        ({"do": "band", "low": "225", "high": "250"}, ("order", {"name": "band", "low": 107.22, "high": 121.11})),
        ({"do": "band", "low": "107 C", "high": "121 C"}, ("order", {"name": "band", "low": 107.0, "high": 121.0})),
    ],
)
def test_what_a_person_away_from_the_pit_may_do(tmp_path: Path, wanted: Any, call: Any) -> None:
    found = page(tmp_path)
    answer = found.do(**wanted)
    assert answer.status == 200, answer.words
    assert asked(found) == [call]


def test_a_note_is_dated_back_on_the_cook_s_clock_and_measured_in_the_reader_s_units(tmp_path: Path) -> None:
    found = page(tmp_path)
    assert found.do(do="note", kind="wrapped", piece=1, words="paper", ago=20).words == "Noted: wrapped."
    assert found.do(do="note", kind="fuel_added", value="10", units="F").status == 200
    assert found.do(do="note", kind="hand_reading", piece=3, value="203", units="F").status == 200
    first, second, third = (given for _, given in asked(found))
    assert first == {"kind": "wrapped", "piece": 1, "value": None, "text": "paper", "at": NOW - 20 * MINUTE}
    assert second["value"] == pytest.approx(4.536, abs=0.001) and second["at"] == NOW
    assert third["value"] == pytest.approx(95.0)


def test_a_note_is_kept_as_words_that_can_be_read(tmp_path: Path) -> None:
    found = page(tmp_path)
    assert found.do(do="note", kind="said", words=" wind\r\nfrom\x00 the \u202ewest ").words == "Noted."
    assert asked(found)[0][1]["text"] == r"wind from\x00 the \u202ewest"
    assert found.do(do="note", kind="said", words=" \n ").status == 403 and len(asked(found)) == 1


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("divided", "fuel_looked")])
def test_each_kind_of_note_can_be_made(tmp_path: Path, kind: str) -> None:
    found = page(tmp_path)
    value = "100 C" if KINDS[kind].value.startswith("C") else "5" if KINDS[kind].value else ""
    assert found.do(do="note", kind=kind, piece=1, value=value, words="words").status == 200
    assert asked(found)[0][1]["kind"] == kind


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ({"do": "band", "low": "250", "high": "hot"}, "A band has two temperatures: from and to."),
        ({"do": "band", "low": "", "high": "275"}, "A band has two temperatures: from and to."),
        (
            {"do": "note", "kind": "fuel_added", "value": "a lot"},
            "'a lot' cannot be read: give a number, with its unit if you like.",
        ),
        (
            {"do": "note", "kind": "wrapped", "piece": 1, "ago": 24 * 60 + 1},
            "A note can be dated back by a day at most.",
        ),
        ({"do": "note", "kind": "said", "words": " "}, "A note needs words."),
        ({"do": "seen", "alarm": 8}, "That alarm stands no more."),
    ],
)
def test_what_cannot_be_taken_says_why_and_reaches_no_engine(tmp_path: Path, wanted: Any, words: str) -> None:
    found = page(tmp_path, alarms=[urgent()])
    answer = found.do(**wanted)
    assert (answer.status, answer.words) == (403, words) and asked(found) == []


def test_an_alarm_is_acknowledged(tmp_path: Path) -> None:
    found = page(tmp_path, alarms=[urgent()])
    assert found.do(do="seen", alarm=7).status == 200
    assert asked(found) == [("alarm_acknowledge", {"id": 7})]


def test_what_the_engine_refuses_comes_back_in_the_reader_s_units(tmp_path: Path) -> None:
    found = page(tmp_path)
    found.engine.answers["note"] = EngineError("x", 1, text("reading of {given}", given=Temperature(300.0)))
    answer = found.post("/do?units=F", {"do": "note", "kind": "hand_reading", "value": "1"})
    assert (answer.status, answer.words) == (409, "reading of 572 F")
    found.engine.answers["order"] = {"ok": False, "words": "Not done: the board is busy."}
    assert found.do(do="stop").words == "Not done: the board is busy."


# -- a higher band ------------------------------------------------------------------------


HIGHER = {"do": "band", "low": "260", "high": "285"}
LOWER = {"do": "band", "low": "240", "high": "265"}
DOUBTS = [
    {"doubted": True},
    {"cycle": cycle(reason="probe_doubted")},
    {"cycle": cycle(reason="still_open")},
    {"cycle": cycle(state="tripped", trip="hot")},
    {"alarms": [urgent()]},
    {"alarms": [urgent(acknowledged=NOW)]},
    {"alarms": [urgent(shelved=NOW + MINUTE)]},
    {"stale": True},
    {"link": msgspec.structs.replace(snapshot(COLUMNS).link, state="lost")},
    {"cycle": None},
]


@pytest.mark.parametrize("changes", DOUBTS)
def test_a_higher_band_is_refused_and_a_lower_one_is_taken(tmp_path: Path, changes: dict[str, Any]) -> None:
    found = page(tmp_path, **changes)
    answer = found.do(**HIGHER)
    assert answer.status == 403 and answer.words.startswith("Not higher") and asked(found) == []
    if changes.get("cycle", 1) is not None:
        assert found.do(**LOWER).status == 200


@pytest.mark.parametrize("wanted", [{"low": "240", "high": "285"}, {"low": "260", "high": "275"}])
def test_one_end_that_is_higher_makes_a_band_higher(tmp_path: Path, wanted: dict[str, str]) -> None:
    found = page(tmp_path, doubted=True)
    assert found.do(do="band", **wanted).status == 403


def test_a_higher_band_is_taken_while_nothing_stands(tmp_path: Path) -> None:
    found = page(tmp_path, alarms=[urgent(cleared=NOW), Alarm(id=8, raised=NOW, level="warning", what="x")])
    assert found.do(**HIGHER).status == 200


def test_the_band_is_judged_by_the_pit_as_it_stands_and_not_as_the_device_saw_it(tmp_path: Path) -> None:
    found = page(tmp_path)
    found.engine.shot = msgspec.structs.replace(found.engine.shot, doubted=True)  # the page has not heard of it yet
    assert found.hub.shot is not None and not found.hub.shot.doubted
    assert found.do(**HIGHER).status == 403


@pytest.mark.parametrize("ends", [("", "250"), ("hot", "250"), ("90", "250"), ("240", "999"), ("nan", "nan")])
def test_a_band_that_is_none_is_refused(tmp_path: Path, ends: tuple[str, str]) -> None:
    found = page(tmp_path)
    assert found.do(do="band", low=ends[0], high=ends[1]).status == 403 and asked(found) == []


# -- what is for the pit's side ---------------------------------------------------------------


FOR_THE_PIT = [name for name in ORDERS if name not in ("band", "opened", "stop")]
METHODS = ["start", "cook_start", "cook_end", "piece_add", "piece_change", "piece_divide", "kitchen_change", "shelve",
           "alarm_shelve", "alarm_acknowledge", "serve_change", "wake_answer", "order", "settings", ""]  # fmt: skip


@pytest.mark.parametrize("name", [*FOR_THE_PIT, *METHODS])
def test_what_is_for_the_pit_s_side_is_refused(tmp_path: Path, name: str) -> None:
    found = page(tmp_path)
    answer = found.do(do=name)
    assert (answer.status, answer.words) == (403, afar.AT_THE_PIT)
    assert asked(found) == []


def test_all_orders_of_the_board_but_three_are_for_the_pit_s_side() -> None:
    assert {"start", "fan", "acknowledge", "looked", "phase", "programme", "settings", "witness"} <= set(FOR_THE_PIT)


@pytest.mark.parametrize("code", ["trip_hot", "trip_probe", afar.RESUMED.code])
def test_a_trip_is_acknowledged_at_the_pit(tmp_path: Path, code: str) -> None:
    found = page(tmp_path, alarms=[urgent(code)])
    answer = found.do(do="seen", alarm=7)
    assert answer.status == 403 and "at the pit" in answer.words and asked(found) == []


def test_an_alarm_that_stands_no_more_is_not_acknowledged(tmp_path: Path) -> None:
    found = page(tmp_path, alarms=[urgent(cleared=NOW)])
    assert found.do(do="seen", alarm=7).status == 403
    assert found.do(do="seen", alarm=99).status == 403


def test_nothing_from_afar_counts_as_having_looked(tmp_path: Path) -> None:
    """Whatever is done, no order `looked` reaches the engine, and no event that ends a doubt."""
    found = page(tmp_path, doubted=True, alarms=[urgent("probe_doubted")])
    for wanted in (
        {"do": "looked"},
        {"do": "note", "kind": "looked"},
        {"do": "note", "kind": "fuel_looked"},
        {"do": "note", "kind": "witness_agrees"},
    ):
        assert found.do(**wanted).status == 403
    for kind in afar.NOTES:
        found.clock.on(60)
        found.do(do="note", kind=kind, piece=1, value="5")
    found.do(do="seen", alarm=7)
    assert not any(given.get("name") == "looked" for _, given in asked(found))
    assert not {given.get("kind") for _, given in asked(found)} & {"looked", "witness_agrees", "fuel_looked"}


@pytest.mark.parametrize("wanted", [{"do": "note", "kind": "divided", "piece": 1}, {"do": "note", "kind": "started"},
                                    {"do": "note", "kind": "shade", "piece": 1, "value": "dark"},
                                    {"do": "note", "kind": "spritzed", "ago": -1},
                                    {"do": "note", "kind": "spritzed", "ago": 10**6}])  # fmt: skip
def test_a_note_that_is_none_is_refused(tmp_path: Path, wanted: dict[str, Any]) -> None:
    found = page(tmp_path)
    assert found.do(**wanted).status == 403 and asked(found) == []


DEEDS = [{"do": "awake"}, {"do": "opened"}, {"do": "stop"}, LOWER, {"do": "seen", "alarm": 7},
         {"do": "note", "kind": "spritzed"}, {"do": "undo", "note": 20}]  # fmt: skip


@pytest.mark.parametrize("wanted", DEEDS)
def test_a_device_that_may_only_look_does_nothing(tmp_path: Path, wanted: dict[str, Any]) -> None:
    found = Page(tmp_path, snapshot(COLUMNS), look=True)
    answer = found.do(**wanted)
    assert (answer.status, answer.words) == (403, afar.LOOK_ONLY) and found.engine.calls == []


@pytest.mark.parametrize("body", [b"", b"[]", b"null", b'{"do":1}', b'{"do":"stop","more":1}', b'{"do":"stop"',
                                  b'{"do":"note","piece":"1"}', b'{"do":"band","low":225}', b"\xff\xfe",
                                  b"[" * 4000])  # fmt: skip
def test_what_is_not_of_that_shape_reaches_no_engine(tmp_path: Path, body: bytes) -> None:
    found = page(tmp_path)
    assert found.post("/do", body).status == 403 and found.engine.calls == []


def test_without_an_engine_nothing_is_done(tmp_path: Path) -> None:
    found = page(tmp_path)
    found.hub.follower.source = None
    answer = found.do(do="stop")
    assert answer.status == 409 and "No engine" in answer.words
