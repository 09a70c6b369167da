"""What a screen sees: plain structs. `engine.rpc` sends them as JSON, `client` reads them back.

Times are UTC in whole milliseconds (of the cook's clock, which runs as fast as
the twin). Temperatures are degrees C, fan demand 0..1, shares 0..1, masses kg.
"""

from __future__ import annotations

from msgspec import Struct, field

from tuyere.meat import safety
from tuyere.text import Said


class Link(Struct):
    """How the engine stands with the board."""

    state: str = "searching"  # searching, asking, open, lost, none
    words: Said = "looking for a board"
    port: str = ""
    board: str = ""  # id of the board
    kind: str = ""  # "pico", "twin", ...
    simulated: bool = False
    speed: float = 1.0  # of a twin: simulated seconds per second; 0 = as fast as it goes
    firmware: str = ""  # hash
    boot: int = 0
    heap_free: int = 0  # bytes, as of the last hello
    damaged: int = 0  # lines dropped so far
    recorded: int = 0  # records stored of the cook, or of this boot while there is none
    missing: int = 0  # of those, known to be lost


class Cycle(Struct):
    """The newest cycle."""

    at: int = 0
    sequence: int = 0
    pit: float | None = None  # None while the reading is bad
    meats: list[float | None] = field(default_factory=list)
    ambient: float | None = None
    fan: float = 0.0
    state: str = "off"
    reason: str = "not_started"
    trip: str = ""
    low: float = 121.1
    high: float = 135.0
    aim: float = 128.05
    pull: float = 0.0
    owed: float = 0.0
    brake: float = 0.0
    need: float = 0.0
    share: float = 1.0  # of the set gain, what the board answers with
    lesson: str = ""  # why: of codes.LESSONS
    phase: int = 0
    supply: float | None = None  # V; None where it is not measured
    turns: int | None = None  # of the fan, 1/min; None where they are not counted
    fan_fault: int = 0  # code of hearth.core.fields, FAN_FINE ...
    board: int = 0  # bits of hearth.core.fields, BOARD_SETTINGS ...
    lost: int = 0  # meat probe without a reading in a phase that ends by it
    resume: str = ""  # after a power cut: waiting, refused, resumed
    witness: str = ""  # what a second probe beside the pit's says of it: waits, agrees, pit_low, low
    beside: int = 0  # the meat probe that hangs there; 0 none
    differs: float = 0.0  # C; the pit's reading less that probe's, smoothed


class Phase(Struct):
    """A row of the programme with its text."""

    name: str
    low: float
    high: float
    end: Said  # "by hand", "after 2 h", "at 06:00", "when probe 1 reaches 95 C"
    end_kind: int = 0
    end_value: float = 0.0  # minutes or degrees C
    purpose: str = ""  # what it is for, of programme.PURPOSES; "" not told
    clock: str = ""  # "06:00": the time of day that `end_value` was counted to


class Decision(Struct):
    """What food safety asks of a piece (`tuyere.cook.food_safety`): the same on every page."""

    verdict: str = ""  # of food_safety.VERDICTS; "": nothing to say, it is not on yet or carved
    by: int = 0  # until when something must be done if nothing changes; 0: nothing must be done, or it is past
    since: int = 0  # since when it counts: below the limit, or not read; 0: it does not
    said: list[Said] = field(default_factory=list)  # what to do and why; the first sentence is enough by itself
    why: Said = ""  # the rule, with its source


class Piece(Struct, kw_only=True):
    """One piece of meat."""

    id: int
    name: str
    cut: str = ""
    mass: float | None = None
    probe: int = 0  # 1..3, 0 for none
    place: str = "pit"  # as in `tuyere.logbook.kinds.PLACES`
    held: bool = False  # it is done, and only kept hot in the pit or the oven
    oven: float | None = None  # what the oven that holds it is set to, C
    tender_at: int = 0  # when a person felt that it is tender; 0: not yet
    not_tender_at: int = 0  # when a person last felt that it is not; 0: never
    part_of: int = 0  # the piece that it was divided from, at `parted_at`; 0: none
    parted_at: int = 0
    in_time: float | None = None  # odds that it is done in time for serving
    temperature: float | None = None  # by probe, or the last hand reading
    by_hand: bool = False
    shade: int | None = None
    shade_at: int = 0
    wrap: str = ""  # "", paper, foil, other
    on_at: int = 0  # 0: not on yet
    goes_on: int = 0  # when the plan has it go on, while it is not; 0: no plan says it
    flat: float | None = None  # thickness of its first part, m; None not measured
    point: float | None = None  # of the second
    start: float | None = None  # as it went on
    intact: bool = True  # neither rolled, nor injected, nor needled
    target: float = 95.5
    wanted_shade: float = 8.0
    wrap_with: str = "paper"  # the plan: paper, foil, "" stays bare
    # what is expected, 0 for not; early, likely, late are the 10, 50 and 90 % of the forecast
    finish_early: int = 0
    finish_likely: int = 0
    finish_late: int = 0
    wrap_from: int = 0
    wrap_best: int = 0
    wrap_until: int = 0
    hold_until: int = 0  # when its coldest spot falls below the hot-hold limit
    expected: list[Said] = field(default_factory=list)  # the same and why, in sentences
    safe: list[Said] = field(
        default_factory=list
    )  # what its probe has shown by the tables of food safety, in sentences
    verdict: Said = ""  # whether it is done, as far as its probe can say
    place_since: int = 0  # when it came to its place from another one; 0: it has not left the pit
    unlit: bool = False  # it lies in the pit, and its finish depends on a fire that nobody keeps
    decision: Decision = field(default_factory=Decision)


class Event(Struct, kw_only=True):
    """Something that happened; `at` when it happened, `noted` when it was written down.

    Kinds and their words: `tuyere.logbook.kinds`, KINDS for a person's notes, BOARD_KINDS for what the board did.
    """

    id: int
    at: int
    noted: int
    kind: str
    piece: int = 0  # 0: the pit
    value: float | None = None  # shade, kg, degrees C ...
    text: Said = ""  # what a person wrote is a plain str, and stays as it is
    by: str = ""  # "" a person, "twin" the hands of a simulated cook, "board" otherwise


class Prompt(Struct):
    """What the hands must do next."""

    kind: str  # key of the event that answers it, "look", or of the order or key that does: "phase", "serving", "wake"
    words: Said
    due: int  # 0: now
    piece: int = 0
    rank: int = 5  # what goes first, of `tuyere.cook.ranks`


class Alarm(Struct, kw_only=True):
    """Something that needs a person (ISA-18.2: acknowledge, shelve)."""

    id: int
    raised: int
    level: str  # "urgent", "warning"
    what: Said
    why: Said = ""
    checks: list[Said] = field(default_factory=list)  # ordered, plain words
    acknowledged: int = 0
    shelved: int = 0  # until
    cleared: int = 0
    code: str = ""  # of its cause; stable, where the words may change


class Forecast(Struct, kw_only=True):
    """A piece's temperature ahead: columns of equal length, 10, 50 and 90 %."""

    piece: int
    at: list[int]
    low: list[float]
    mid: list[float]
    high: list[float]


class Kitchen(Struct):
    """With what and where is cooked and held."""

    cooker: str = ""  # kind, "" not told
    fuel: float | None = None  # kg at the start, None not told
    altitude: float = 0.0  # m
    hold: str = "box"  # box, box with towels, low oven, counter
    vented: float = 0.0  # min in the room before that
    room: float = 20.0
    use: str = "home"  # home or trade
    region: str = "other"  # of `tuyere.meat.regions`
    lead: float = 75.0  # min from the wrap to the wanted shade
    oven_lowest: float | None = None  # C, its lowest setting; None not told
    oven_error: float = safety.KEEPS_BY  # K by which the oven may be colder than it is set to
    pit_error: float = safety.PIT_ERROR  # K by which meat in the pit may lie cooler than its probe reads


class Cook(Struct, kw_only=True):
    """One cook."""

    id: int
    name: str
    started: int
    ended: int = 0
    meat_on: int = 0
    simulated: bool = False
    board: str = ""
    cycles: int = 0
    in_band: float | None = None  # share of time since the count began (see `cook.score`)


class Serving(Struct):
    """What the serving time leaves (`tuyere.cook.serving`); times UTC ms, 0 for not known."""

    at: int = 0
    done_by: int = 0  # when all pieces must be done, to rest before carving
    carve: int = 0  # when carving begins
    likely: int = 0  # when the last piece is likely done
    odds: float | None = None  # that all are done by `done_by`
    late: bool = False
    words: Said = ""  # all of it in one line


class Breath(Struct):
    """How hard the fire answers its air (`tuyere.cook.breath`)."""

    share: float | None = None  # of the best of this fire; None: not known yet
    spent: int = 0  # when the whole fan is needed if it goes on so, UTC ms; 0: not within sight
    knock_by: int = 0  # until when to knock the ash off, UTC ms
    words: Said = ""  # one sentence, "" while there is nothing to say


class Next(Struct):
    """The kept plan that a cook begun now would take."""

    name: str
    pieces: list[str]


class Waking(Struct):
    """Whether somebody would be woken, and who is being called."""

    asked: bool = False  # a cook is open that calls somebody
    watched: bool = False  # a test since the fire was lit has woken somebody
    routes: int = 0  # that can wake
    ask_at: int = -1  # when the test before bed is due, the cook's clock; 0: now, -1: no sleep is planned
    calling: bool = False  # somebody is being called, and nobody has answered
    silent: int = 0  # s that "I'm awake" still holds
    unheard: bool = False  # no route accepts: whatever can sound must
    test_in: int = 0  # s until the test's call goes out
    test_waits: bool = False  # its digits can be typed
    test_failed: list[str] = field(default_factory=list)  # routes whose services did not take it, and why
    trouble: str = ""  # the routes cannot be read


class Snapshot(Struct):
    """All that a screen shows but the trend."""

    now: int  # the cook's clock
    link: Link
    words: list[Said]  # how the pit stands and why: a headline, then at most two lines
    cycle: Cycle | None = None
    stale: bool = False  # the newest cycle is older than 10 s of the board's time
    cook: Cook | None = None
    phases: list[Phase] = field(default_factory=list)
    phase_since: int = 0
    pieces: list[Piece] = field(default_factory=list)
    prompts: list[Prompt] = field(default_factory=list)  # in the order of `tuyere.cook.ranks`
    alarms: list[Alarm] = field(default_factory=list)  # not cleared, urgent first
    events: list[Event] = field(default_factory=list)  # newest first, at most 50
    last_note: Event | None = None  # what `note_undo` would withdraw
    logbook: str = ""
    kitchen: Kitchen = field(default_factory=Kitchen)
    fuel_left: float | None = None  # kg
    fuel_early: int = 0  # when it ends: 10, 50, 90 %; 0 for not known
    fuel_likely: int = 0
    fuel_late: int = 0
    fuel_words: Said = ""
    forecasts: list[Forecast] = field(default_factory=list)
    rules: list[Said] = field(default_factory=list)  # rules of food safety that apply to the pieces, with their sources
    doubted: bool = False  # the pit probe is in doubt until somebody says that they looked at it
    stays: bool = True  # the engine goes on when the last screen has gone
    planned: Next | None = None  # while no cook is open
    serving: Serving = field(default_factory=Serving)
    waking: Waking = field(default_factory=Waking)
    breath: Breath = field(default_factory=Breath)
    hand_most: int = 900  # s; the longest time for which the board takes a fan by hand


class About(Struct):
    """The engine itself."""

    pid: int
    up: float  # s since it started
    port: str = ""  # the port that was asked for, "" to look for a board
    twin: bool = False
    speed: float = 0.0  # of the twin
    cooker: str = ""
    seed: int | None = None
    trouble: str = ""  # that the twin practises
    link: Link = field(default_factory=Link)
    cook: str = ""  # name of the open one
    stays: bool = True  # it goes on when the last screen has gone
    screens: int = 0  # attached, the one that asks among them
    learned: int = 0  # share of its set gain that the board learned last, 0.1 %; 0 not known
    awake: str = ""  # how it keeps its machine awake, or why it cannot; "" while no cook asks for it


class Ended(Struct):
    """The engine ends on purpose; a screen starts no other."""

    words: str  # who ended it, a sentence


class Trend(Struct, kw_only=True):
    """Columns of cycles, oldest first, one entry a cycle; None where there was no reading."""

    cook: int
    last: int  # id to ask from next time
    at: list[int] = field(default_factory=list)
    pit: list[float | None] = field(default_factory=list)
    fan: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    meat_1: list[float | None] = field(default_factory=list)
    meat_2: list[float | None] = field(default_factory=list)
    meat_3: list[float | None] = field(default_factory=list)
    whole: bool = False  # all cycles of the cook from its first on: drop what came before
