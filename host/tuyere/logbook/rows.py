"""Structs that the logbook returns. Times are UTC in whole ms; temperatures C, fan demand 0..1, masses kg."""

from __future__ import annotations

from msgspec import Struct, field

from tuyere.text import Said


class Cook(Struct, kw_only=True):
    """One cook; `ended` and `meat_on` are 0 until they have happened.

    `origin` of its log: "" our own board, "import" another logbook, "foreign" another program (then no law of ours
    decided anything in it). `own`: this user's, which are all of our own boards, and an import of such a board.
    """

    id: int
    name: str
    started: int
    board: str
    simulated: bool
    ended: int = 0
    meat_on: int = 0
    origin: str = ""
    own: bool = True

    @property
    def teaches(self) -> bool:
        """Whether anything may be taken from it unasked: it is the user's own, and real."""
        return self.own and not self.simulated


class PieceRow(Struct, kw_only=True):
    """One piece of meat. `hand` is the last reading taken by hand, at `hand_at`; thickness m, None not measured."""

    id: int
    cook: int
    name: str
    cut: str = ""
    mass: float | None = None
    probe: int = 0  # 1..3, 0 for none
    place: str = "pit"
    shade: int | None = None
    shade_at: int = 0
    wrap: str = ""
    on_at: int = 0
    hand: float | None = None
    hand_at: int = 0
    flat: float | None = None  # thickness of the first part
    point: float | None = None  # of the second
    start: float | None = None  # C as it went on
    intact: bool = True  # neither rolled, nor injected, nor needled
    target: float = 95.5  # C in the probed part
    wanted_shade: float = 8.0
    wrap_with: str = "paper"  # the plan; "" stays bare
    held: bool = False  # it is done, and only kept hot in the pit or the oven
    oven: float | None = None  # what the oven that holds it is set to, C
    tender_at: int = 0  # when it was felt to be tender; 0: not yet
    not_tender_at: int = 0  # when it was last felt not to be
    part_of: int = 0  # the piece that it was divided from, at `parted_at`; 0: none
    parted_at: int = 0


class Event(Struct, kw_only=True):
    """Something that happened at `at` and was written down at `noted`; piece 0 is the pit.

    `source` is "" for a person's note, else the record it was read from; `withdrawn` is when a person took it back.
    """

    id: int
    cook: int
    at: int
    noted: int
    kind: str
    piece: int = 0
    value: float | None = None
    text: Said = ""  # a plain str as a person wrote it; typed where the board or a twin's hands say it
    source: str = ""
    withdrawn: int = 0


class Alarm(Struct, kw_only=True):
    """Something that needs a person; cook is None for an alarm outside any cook."""

    id: int
    cook: int | None
    raised: int
    level: str
    code: str  # of its cause, stable
    what: Said
    why: Said = ""
    checks: list[Said] = field(default_factory=list)
    acknowledged: int = 0
    shelved: int = 0  # until
    cleared: int = 0


class CallStep(Struct, kw_only=True):
    """A step in the life of a call; steps in `kinds.CALL_STEPS`."""

    id: int = 0  # given by the logbook
    cook: int | None
    code: str  # of the alarm's cause, or "test"
    alarm: int = 0
    step: str
    at: int  # UTC ms, the cook's clock
    wall: int  # UTC ms, the computer's clock; another one only in a simulated cook
    route: str = ""  # name of the route, "" where the step is of no route
    attempt: str = ""  # names one sending
    words: str = ""  # why it failed, or what was sent: "call", "repeat", "over" ...


class Forecast(Struct, kw_only=True):
    """A forecast as it was shown at `at`: 10, 50 and 90 %, UTC ms; kinds in `kinds.FORECASTS`, piece 0 is the pit."""

    cook: int
    piece: int
    kind: str
    at: int
    early: int
    likely: int
    late: int


class Gap(Struct):
    """Records first..last of a boot that are not in the logbook; cause "" if nobody knows why."""

    board: str
    boot: int
    first: int
    last: int
    cause: str = ""


class Cut(Struct):
    """A boot that ended with records in the board's RAM: `least` to `most` were made, `reached` are accounted for."""

    board: str
    boot: int
    reached: int
    least: int
    most: int

    @property
    def words(self) -> str:
        """'boot 7 ended, by a power cut or a restart: 12 to 90 of its records from 4,000 on were in ... RAM'."""
        low, high = max(self.least - self.reached, 0), self.most - self.reached
        count = f"{low:,} to {high:,}" if low else f"at most {high:,}"
        return (
            f"boot {self.boot} ended, by a power cut or a restart: {count} of its records from {self.reached:,} on "
            "were in the board's RAM"
        )


class Boot(Struct):
    """One power-up of a board. `estimated`: its UTC times are estimates."""

    board: str
    boot: int
    seen: int  # UTC of the first hello, 0 if it never said one
    firmware: str
    core: str
    estimated: bool
    started: int  # UTC of power-up


class Counts(Struct):
    """What is stored of a cook, and what is known to be missing."""

    cycles: int
    states: int
    gaps: int
    missing: int


class Flaw(Struct):
    """One difference between the file and its chain. `kind` is stable; `utc` is when its first record was made."""

    kind: str
    words: str
    link: int = 0  # of the chain, 0: none or unknown
    cooks: list[int] = field(default_factory=list)
    utc: int = 0


class Sound(Struct, kw_only=True):
    """What a comparison with the chain found. `notes` are no flaws: what limits what the chain can show."""

    flaws: list[Flaw] = field(default_factory=list)
    more: int = 0  # flaws beyond those listed
    notes: list[str] = field(default_factory=list)
    links: int = 0  # compared
    records: int = 0  # that were ever stored
    entries: int = 0
    head: str = ""  # digest of the newest link, hex

    @property
    def sound(self) -> bool:
        """Whether the file is as it was stored."""
        return not self.flaws


class State(Struct):
    """A state record. `memory` and `settings` hold the board's whole numbers by name, as a replay needs them."""

    board: str
    boot: int
    sequence: int
    at: int  # board ms
    utc: int
    settings_number: int
    cause: int  # hearth.link.messages: BOOTED, CHANGED, GAP, HOURLY
    core: str  # hash, hex
    memory: dict[str, int | list[int]]
    settings: dict[str, int | list[int]]


class Trend(Struct, kw_only=True):
    """Columns of cycles, oldest first, one entry a cycle; None where there was no reading."""

    cook: int
    last: int  # id to ask from next time
    at: list[int] = field(default_factory=list)  # UTC ms
    pit: list[float | None] = field(default_factory=list)
    fan: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    meat_1: list[float | None] = field(default_factory=list)
    meat_2: list[float | None] = field(default_factory=list)
    meat_3: list[float | None] = field(default_factory=list)
    ambient: list[float | None] = field(default_factory=list)
