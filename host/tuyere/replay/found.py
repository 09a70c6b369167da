"""What a replay found."""

from __future__ import annotations

import msgspec
from msgspec import Struct

from tuyere.logbook.rows import Flaw, Gap

Shown = int | float | str


class Difference(Struct):
    """The first place where the replay and the record part; both sides as a person reads them."""

    board: str
    boot: int
    sequence: int
    at: int  # board ms
    utc: int
    estimated: bool  # utc is a guess
    part: str  # "out" of a cycle, "memory" or "settings" of a state record, "number" of the settings of a cycle
    field: str
    help: str  # the field in words
    unit: str
    recorded: Shown
    replayed: Shown
    also: list[str] = msgspec.field(default_factory=list)  # other fields that differ in the same record


class Boot(Struct):
    """One power-up of the board, as far as it is of this cook."""

    board: str
    boot: int
    started: int  # UTC ms of power-up
    estimated: bool
    first: int  # sequence of the first record looked at
    last: int
    cycles: int  # stored
    replayed: int
    states: int


class Passed(Struct):
    """Cycles first..last that could not be run again, and why."""

    board: str
    boot: int
    first: int
    last: int
    cycles: int
    why: str


class Ran(Struct):
    """One core that cycles were run with."""

    core: str  # beginning of its hash
    recorded: str  # beginning of the hash of the core that recorded them
    today: bool
    compiled: bool
    cycles: int = 0


class Replay(Struct):
    """All of a replay. `equal`: every cycle run and every state record compared is as recorded, bit for bit."""

    cook: int
    name: str
    simulated: bool
    foreign: bool = False  # a log of another program: no law of ours decided anything in it
    with_today: bool = False  # today's core was asked for
    what_if: bool = False  # some cycles were run with another core than the one that recorded them
    equal: bool = False
    cycles: int = 0  # stored, with those that lead up to the cook
    lead: int = 0  # cycles of these before the cook's first record
    replayed: int = 0
    different: int = 0  # cycles of which an output differs
    states: int = 0  # state records stored
    compared: int = 0  # state records whose memory was compared
    states_different: int = 0
    changes: int = 0  # state records written for a change of settings or programme
    changes_followed: int = 0  # of these: the core makes the very same change
    first: Difference | None = None
    boots: list[Boot] = msgspec.field(default_factory=list)
    restarts: int = 0
    gaps: list[Gap] = msgspec.field(default_factory=list)
    flaws: list[Flaw] = msgspec.field(default_factory=list)  # where the logbook is not as it was stored
    cuts: list[str] = msgspec.field(default_factory=list)  # in words
    passed: list[Passed] = msgspec.field(default_factory=list)
    cores: list[Ran] = msgspec.field(default_factory=list)
    missing_cores: list[str] = msgspec.field(
        default_factory=list
    )  # beginnings of hashes without a source that can be run
    seconds: float = 0.0  # decoding, running, comparing
    reading: float = 0.0  # seconds of reading from the logbook
    preparing: float = 0.0  # seconds of compiling, or of loading what was compiled before
    speed: float = 0.0  # cycles/s, without the reading
