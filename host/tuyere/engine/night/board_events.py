"""What the board did, read from its records as events of the cook's log.

Each event is identified by its record, so reading a record twice writes nothing new. The position of the reading is
kept with the cook. An engine that was killed goes on where it was, and late records count, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import msgspec
from hearth.core import fields
from msgspec import Struct, field

from tuyere import codes
from tuyere.cook import faults as guards
from tuyere.cook import lessons
from tuyere.cook.cycles import RESUMES, word
from tuyere.logbook import Logbook
from tuyere.logbook.reading import Picked
from tuyere.text import Duration, Mass, Said, Share, Span, band, text

NAME = "diary"  # the cook's text that holds the position of the reading
SAVE_AFTER = 2000  # cycles read without an event
FIRST = 2  # sequence: the cycles of a boot that nothing came before
WITNESSED = {
    fields.WITNESS_AGREES: "witness_agrees",
    fields.WITNESS_PIT_LOW: "witness_pit_low",
    fields.WITNESS_LOW: "witness_low",
}
AT_REST = tuple(codes.STATES.index(name) for name in codes.AT_REST)


class Seen(NamedTuple):
    """The parts of a cycle from which events are made, in the board's numbers."""

    state: int = fields.OFF
    reason: int = fields.NOT_STARTED
    trip: int = fields.NO_TRIP
    phase: int = 0
    low: int = 0
    high: int = 0
    resume: int = fields.NO_RESUME
    fan_fault: int = 0
    bad: int = 0
    settings: int = 0
    share: int = 0  # of the set gain, 0.1 %; 0: a board that does not learn
    lesson: int = fields.NO_LESSON
    call: int = 0
    witness: int = fields.WITNESS_NONE
    order: int = fields.NO_ORDER  # one that was accepted
    first: int = 0
    second: int = 0
    differs: int = 0


STANDS = len(Seen._fields) - 4  # fields that stand until they change; the order is of one cycle
WANTED = (
    *(("out", name) for name in ("state", "reason", "trip", "phase", "low", "high", "resume")),
    ("now", "fan_fault"), ("out", "bad"), ("head", "settings"),
    ("out", "share"), ("out", "lesson"), ("out", "call"), ("out", "witness"),
    ("now", "order"), ("now", "first"), ("now", "second"), ("out", "differs"),
)  # fmt: skip
ALSO = (("head", "sequence"), ("out", "answer"))


class Progress(Struct):
    """How far a cook's records have been read."""

    after: int = 0  # id of the record
    boots: dict[str, list[int]] = field(default_factory=dict)  # "board/boot" -> Seen of its last cycle


class Happened(NamedTuple):
    """Something that the records tell."""

    kind: str  # of `logbook.kinds.BOARD_KINDS`
    text: Said = ""
    value: float | None = None


class Diary:
    """Writes what one cook's records tell into its log. `name(row)` gives the words of a phase."""

    def __init__(self, logbook: Logbook, cook: int, name: Callable[[int], str]) -> None:
        self._logbook = logbook
        self._cook = cook
        self._name = name
        try:
            self._progress = msgspec.json.decode(logbook.cooks.text(cook, NAME) or "{}", type=Progress)
        except ValueError:
            self._progress = Progress()
        self._unsaved = 0

    def take(self, now: int) -> bool:
        """Read what is new; True if an event was written. `now` (UTC ms) is when it is noted."""
        known = self._progress
        last, runs = self._logbook.reading.picked(self._cook, known.after, (*WANTED, *ALSO))
        if last == known.after:
            return False
        boots, found = dict(known.boots), []
        for run in sorted(runs, key=lambda run: run.utc[:1]):
            name = f"{run.board}/{run.boot}"
            if run.utc and boots and name not in boots:
                found.append((run.utc[0], f"{name}/restart", Happened("board_restarted")))
            known_so_far = boots.get(name, [])  # an earlier version kept fewer numbers
            before = Seen(*known_so_far) if len(known_so_far) == len(Seen._fields) else None
            for i, seen, happened in _read(run, before, self._name):
                boots[name] = list(seen)
                sequence = run.columns["head", "sequence"][i]
                found += [(run.utc[i], f"{name}/{sequence}", one) for one in happened]
        progress = Progress(last, boots)
        self._unsaved += sum(len(run.utc) for run in runs)
        if found or self._unsaved >= SAVE_AFTER:
            with self._logbook.together():
                for at, source, one in found:
                    self._logbook.events.note_once(self._cook, one.kind, at, now, source, one.value, one.text)
                self._logbook.cooks.set_text(self._cook, NAME, msgspec.json.encode(progress).decode())
            self._unsaved = 0
        self._progress = progress
        return bool(found)


def _read(run: Picked, before: Seen | None, name: Callable[[int], str]) -> Iterator[tuple[int, Seen, list[Happened]]]:
    """(index, what was seen, what happened) of the cycles where something did, and of the last."""
    count = len(run.utc)
    columns = [run.columns.get(wanted, [0] * count) for wanted in WANTED]
    answers = run.columns.get(("out", "answer"), [0] * count)
    standing: tuple[int, ...] | None = before[:STANDS] if before is not None else None
    for i, numbers in enumerate(zip(*columns, strict=True)):
        if numbers[:STANDS] == standing and numbers[STANDS] == fields.NO_ORDER and i < count - 1:
            continue
        accepted = answers[i] == fields.ACCEPTED
        now = Seen(*numbers) if accepted else Seen(*numbers)._replace(order=fields.NO_ORDER)
        if before is None:
            fresh = run.columns["head", "sequence"][i] <= FIRST
            state = fields.OFF if now.order == fields.ORDER_START else now.state
            before = now._replace(state=state, resume=fields.NO_RESUME if fresh else now.resume)
        yield i, now, list(happened(before, now, name))
        before, standing = now, numbers[:STANDS]


def happened(before: Seen, now: Seen, name: Callable[[int], str]) -> Iterator[Happened]:
    """What has changed from one cycle to a later one."""
    if now.resume != before.resume and now.resume in (fields.RESUME_REFUSED, fields.RESUMED):
        yield Happened("resumed" if word(RESUMES, now.resume) == "resumed" else "not_resumed")
    if now.order == fields.ORDER_START and before.state in AT_REST:
        yield Happened("started")
    if now.order == fields.ORDER_STOP and before.state not in AT_REST:
        yield Happened("stopped")
    if now.order == fields.ORDER_ACKNOWLEDGE and before.trip and not now.trip:
        yield Happened("trip_acknowledged")
    if now.order == fields.ORDER_FAN and now.second > 0:
        said = text("{fan} for {time}", fan=Share(now.first / 10_000), time=Duration(now.second))
        yield Happened("fan_by_hand", said)
    elif before.state == fields.MANUAL and now.state not in (fields.MANUAL, *AT_REST):
        yield Happened("fan_given_back", "" if now.order == fields.ORDER_FAN else "its time was over")
    if now.phase != before.phase:
        yield Happened("phase_changed", name(now.phase), float(now.phase))
    if (now.low, now.high) != (before.low, before.high):
        yield Happened("band_changed", text("{band}", band=band(now.low / 100, now.high / 100)))
    if now.order == fields.ORDER_LOOKED:
        yield Happened("looked")
    if now.order == fields.ORDER_MEAT:
        yield Happened("meat_told", text("{mass}", mass=Mass(now.first / 10)) if now.first else "none")
        if before.reason == fields.PROBE_DOUBTED != now.reason:
            yield Happened("meat_explains")
    if now.order == fields.ORDER_WITNESS and now.first:
        yield Happened("witness_hung", f"probe {now.first}")
    if now.witness != before.witness and now.witness in WITNESSED:
        yield Happened(WITNESSED[now.witness], text("by {span}", span=Span(abs(now.differs) / 100)))
    if now.order == fields.ORDER_OPENED:
        yield Happened("opened_told")
    elif now.reason == fields.OPENED_FELT and before.state != fields.OPENED:
        yield Happened("opened_felt")
    if now.trip and now.trip != before.trip:
        yield Happened("tripped", guards.trip(word(codes.TRIPS, now.trip), now.bad, now.fan_fault).what[9:])
    if now.share != before.share and before.share and now.lesson:
        lesson = word(codes.LESSONS, now.lesson)
        yield Happened("learned", lessons.changed(lesson, before.share / fields.WHOLE, now.share / fields.WHOLE))
    if now.order == fields.ORDER_FORGET:
        yield Happened("forgot")
    if now.call and now.call != before.call:
        yield Happened("called_silent" if now.call == 1 else "called_unheard")
    if now.settings != before.settings:
        yield Happened("settings_changed")


def phase_name(names: Sequence[str], row: int) -> str:
    """The words of a row of the programme."""
    return names[row] if row < len(names) else "the end, fan off"
