"""What the board did becomes events of the cook's log: each once, whatever happens to the engine."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import pytest
from hearth.core import fields, records
from hearth.link import messages
from rendered import words
from tuyere.engine.night.board_events import Diary, Seen, happened
from tuyere.logbook import Logbook
from tuyere.logbook.kinds import BOARD_KINDS

UTC = 1_778_000_000_000
LAYOUT = {part: records.layout(getattr(fields, part.upper())) for part in ("now", "out", "memory", "settings")}
PHASES = ("open smoke", "wrapped")


def name(row: int) -> str:
    return PHASES[row] if row < len(PHASES) else "the end"


HELD = Seen(state=fields.HOLDING, reason=fields.IN_BAND, low=12110, high=13500)
OFF = Seen(low=12110, high=13500)


@pytest.mark.parametrize(
    ("before", "changes", "wanted"),
    [
        (HELD, {}, []),
        (HELD, {"state": fields.FADING, "reason": fields.FIRE_FADING}, []),  # an alarm says it
        (OFF, {"state": fields.CLIMBING, "order": fields.ORDER_START}, [("started", "")]),
        (HELD, {"order": fields.ORDER_START}, []),  # it ran already
        (HELD, {"state": fields.OFF, "order": fields.ORDER_STOP}, [("stopped", "")]),
        (OFF, {"order": fields.ORDER_STOP}, []),
        (HELD, {"low": 10700, "high": 11800, "order": fields.ORDER_BAND}, [("band_changed", "107-118 C")]),
        (
            HELD,
            {"phase": 1, "low": 10700, "high": 11800},
            [("phase_changed", "wrapped"), ("band_changed", "107-118 C")],
        ),
        (HELD, {"phase": 2, "state": fields.BURNOUT}, [("phase_changed", "the end")]),
        (HELD, {"state": fields.OPENED, "reason": fields.OPENED_FELT}, [("opened_felt", "")]),
        (
            HELD,
            {"state": fields.OPENED, "reason": fields.OPENED_TOLD, "order": fields.ORDER_OPENED},
            [("opened_told", "")],
        ),
        (HELD._replace(state=fields.OPENED, reason=fields.OPENED_FELT), {"reason": fields.STILL_OPEN}, []),
        (
            HELD,
            {"state": fields.MANUAL, "order": fields.ORDER_FAN, "first": 4000, "second": 300},
            [("fan_by_hand", "40 % for 5 min")],
        ),
        (HELD._replace(state=fields.MANUAL), {"state": fields.HOLDING}, [("fan_given_back", "its time was over")]),
        (HELD, {"order": fields.ORDER_MEAT, "first": 330}, [("meat_told", "33.0 kg")]),
        (HELD, {"order": fields.ORDER_MEAT}, [("meat_told", "none")]),
        (
            HELD._replace(state=fields.FADING, reason=fields.PROBE_DOUBTED),
            {"state": fields.HOLDING, "reason": fields.BELOW_BAND, "order": fields.ORDER_MEAT, "first": 330},
            [("meat_told", "33.0 kg"), ("meat_explains", "")],
        ),
        (
            HELD._replace(state=fields.MANUAL),
            {"state": fields.HOLDING, "order": fields.ORDER_FAN, "second": 0},
            [("fan_given_back", "")],
        ),
        (HELD, {"order": fields.ORDER_WITNESS, "first": 2}, [("witness_hung", "probe 2")]),
        (HELD, {"order": fields.ORDER_WITNESS, "witness": fields.WITNESS_WAITS}, []),
        (
            HELD._replace(witness=fields.WITNESS_WAITS),
            {"witness": fields.WITNESS_PIT_LOW, "differs": -4200},
            [("witness_pit_low", "by 42 C")],
        ),
        (
            HELD._replace(witness=fields.WITNESS_PIT_LOW),
            {"witness": fields.WITNESS_AGREES, "differs": 300},
            [("witness_agrees", "by 3 C")],
        ),
        (HELD._replace(witness=fields.WITNESS_AGREES), {"differs": 500}, []),
        (HELD._replace(witness=fields.WITNESS_AGREES), {"witness": fields.WITNESS_NONE}, []),
        (HELD, {"state": fields.TRIPPED, "trip": fields.TRIP_FLARE}, [("tripped", "grease is burning")]),
        (
            HELD,
            {"state": fields.TRIPPED, "trip": fields.TRIP_FAN, "fan_fault": fields.FAN_NOT_STOPPING},
            [("tripped", "the fan does not stop")],
        ),
        (
            OFF._replace(state=fields.TRIPPED, trip=fields.TRIP_HOT),
            {"state": fields.OFF, "trip": 0, "order": fields.ORDER_ACKNOWLEDGE},
            [("trip_acknowledged", "")],
        ),
        (
            HELD._replace(share=1000),
            {"share": 800, "lesson": fields.SWUNG},
            [
                (
                    "learned",
                    "the pit swung up and down again and again, so the board answers less: from 100 % to 80 % of the "
                    "set gain",
                )
            ],
        ),
        (HELD._replace(share=600), {"share": 1000}, []),  # a fresh start climbs with the set gain
        (HELD, {"share": 1000, "lesson": fields.CARRIED}, []),  # the firmware before did not learn
        (HELD, {"order": fields.ORDER_FORGET}, [("forgot", "")]),
        (HELD, {"settings": 1}, [("settings_changed", "")]),
        (OFF, {"resume": fields.RESUME_REFUSED, "reason": fields.NOT_RESUMED}, [("not_resumed", "")]),
        (OFF, {"resume": fields.RESUMED, "state": fields.CLIMBING}, [("resumed", "")]),
        (OFF, {"resume": fields.RESUME_PENDING}, []),
    ],
)  # fmt: skip
def test_each_change_by_itself(before: Seen, changes: dict[str, Any], wanted: list[tuple[str, str]]) -> None:
    changed = before._replace(**{"order": 0, **changes})
    assert [(one.kind, words(one.text)) for one in happened(before, changed, name)] == wanted
    assert {kind for kind, _ in wanted} <= set(BOARD_KINDS)


def cycle(sequence: int, boot: int = 7, **values: int) -> bytes:
    now, out = records.Now(), records.Out()
    for key, value in values.items():
        setattr(now if hasattr(now, key) else out, key, value)
    head = struct.pack(messages.HEAD, messages.CYCLE, boot, sequence, sequence * 2000, 0)
    return head + now.pack() + out.pack()


def night() -> list[bytes]:
    """Started, opened, a band, a refused order, tripped: five events in 60 cycles."""
    started = {"order": fields.ORDER_START, "answer": fields.ACCEPTED, "state": fields.CLIMBING}
    refused = {"order": fields.ORDER_FAN, "second": 9, "answer": fields.OUT_OF_RANGE}
    there: dict[int, dict[str, int]] = {
        5: started,
        20: {"state": fields.OPENED, "reason": fields.OPENED_FELT},
        30: {"state": fields.HOLDING, "reason": fields.IN_BAND},
        35: {"low": 10700, "high": 11800},
        40: refused,
        50: {"state": fields.TRIPPED, "trip": fields.TRIP_HOT, "fan": 0},
    }
    values: dict[str, int] = {}
    made = []
    for sequence in range(1, 61):
        values.update(there.get(sequence, {}))
        made.append(cycle(sequence, **values))
        for key in ("order", "answer", "second"):
            values.pop(key, None)
    return made


WANTED = [(5, "started"), (20, "opened_felt"), (35, "band_changed"), (50, "tripped")]


@pytest.fixture
def book(tmp_path: Path) -> Any:
    with Logbook(tmp_path / "l.sqlite") as book:
        for boot in (7, 8):
            book.boards.hello("b", boot, {"layout": LAYOUT}, 1)
            book.boards.pair("b", boot, 0, UTC + (boot - 7) * 10_000_000)
        book.cooks.start("one", UTC, "b", False)
        yield book


def told(book: Logbook) -> list[tuple[int, str]]:
    return [((event.at - UTC) // 2000, event.kind) for event in book.events.of(1)[::-1]]


@pytest.mark.parametrize("size", [1, 7, 60])
def test_the_night_in_any_portions(book: Logbook, size: int) -> None:
    diary, made = Diary(book, 1, name), night()
    for i in range(0, len(made), size):
        book.records.add("b", 7, made[i : i + size], 1)
        diary.take(UTC)
    assert told(book) == WANTED
    assert {event.source for event in book.events.of(1)} == {f"b/7/{sequence}" for sequence, _ in WANTED}
    assert not diary.take(UTC)


@pytest.mark.parametrize("size", [1, 7, 60])
def test_an_engine_that_comes_up_anew_each_time_writes_nothing_twice_and_forgets_nothing(
    book: Logbook, size: int
) -> None:
    made = night()
    for i in range(0, len(made), size):
        book.records.add("b", 7, made[i : i + size], 1)
        Diary(book, 1, name).take(UTC)
    assert told(book) == WANTED
    book.cooks.set_text(1, "diary", "nonsense")  # even if it has to read all of it again
    assert Diary(book, 1, name).take(UTC) and told(book) == WANTED


def test_another_boot_is_a_restart_and_an_earlier_one_may_come_late(book: Logbook) -> None:
    diary = Diary(book, 1, name)
    book.records.add("b", 7, [cycle(1, state=fields.HOLDING), cycle(2, state=fields.HOLDING)], 1)
    diary.take(UTC)
    resumed = {"state": fields.HOLDING, "resume": fields.RESUMED}
    book.records.add("b", 8, [cycle(1, 8, **resumed), cycle(2, 8, **resumed)], 1)
    diary.take(UTC)
    book.records.add(
        "b", 7, [cycle(3, state=fields.OPENED, reason=fields.OPENED_FELT)], 1
    )  # from the flash of the board
    diary.take(UTC)
    kinds = [(event.kind, event.source) for event in book.events.of(1)[::-1]]
    assert kinds == [("opened_felt", "b/7/3"), ("board_restarted", "b/8/restart"), ("resumed", "b/8/1")]


def test_a_full_disk_writes_nothing_and_it_is_read_again(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    from tuyere.logbook.errors import DiskFull

    diary = Diary(book, 1, name)
    book.records.add("b", 7, night(), 1)

    def full(*_: Any, **__: Any) -> bool:
        raise DiskFull("full")

    monkeypatch.setattr(book.cooks, "set_text", full)
    with pytest.raises(DiskFull):
        diary.take(UTC)
    assert told(book) == []
    monkeypatch.undo()
    assert diary.take(UTC) and told(book) == WANTED
