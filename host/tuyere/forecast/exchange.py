"""What a forecast is made from and what comes of it: plain structs, one JSON line each way between engine and worker.

Times are UTC in whole milliseconds of the cook's clock, 0 for "not". Temperatures are degrees C, masses kg, lengths m,
shares and fan demand 0..1. A range is the 10, 50 and 90 % of an ensemble.
"""

from __future__ import annotations

from msgspec import Struct, field

from tuyere.meat.safety import PIT_ERROR
from tuyere.text import Said


class Note(Struct):
    """An event of the cook's log; kinds as in `tuyere.logbook.kinds`, with "unwrapped" told as wrapped with text ""."""

    at: int
    kind: str
    value: float | None = None
    text: str = ""


class Columns(Struct):
    """What the board read, thinned to about one entry a minute, oldest first; None where there was no reading."""

    at: list[int] = field(default_factory=list)
    pit: list[float | None] = field(default_factory=list)
    fan: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    ambient: list[float | None] = field(default_factory=list)
    meats: list[list[float | None]] = field(default_factory=list)  # [3][n], by probe


class KnownPiece(Struct, kw_only=True):
    """One piece as the cook knows it. None and "": not known; what is drawn instead is said in `finish`."""

    id: int
    name: str = ""
    cut: str = "packer"
    mass: float | None = None
    flat: float | None = None  # thickness of the first part, m
    point: float | None = None  # of the second
    start: float | None = None  # C, as it went on
    intact: bool = True
    target: float = 95.5  # C in the probed part
    probe: int = 0  # 1..3, 0 for none
    place: str = "pit"  # as in `tuyere.logbook.kinds.PLACES`
    held: bool = False  # it is done, and only kept hot where it is
    on_at: int = 0  # 0: not on yet
    wrap_with: str = "paper"  # the plan: paper, foil, or "" to stay bare
    wanted_shade: float = 8.0  # 0..10, at which it should come out of the wrap
    notes: list[Note] = field(default_factory=list)  # its own, oldest first: shade, wrapped, probe_seated, out ...


class Earlier(Struct, kw_only=True):
    """How a piece of an earlier cook was cooked. `piece.wrap_with` is the wrap that it got, "" for none."""

    cook: int
    piece: KnownPiece
    pit_c: float  # the pit's level by its probe
    wrap_h: float  # hours after it went on
    altitude: float
    hours: float  # until it was done; 0: not known
    shade_h: float = 0.0  # until its bark had shade 8; 0: not known


class Known(Struct, kw_only=True):
    """All that is known of a cook at `now`."""

    now: int
    low: float = 121.1  # the band ahead
    high: float = 135.0
    altitude: float = 0.0  # m
    cooker: str = ""  # kind, "" unknown
    fuel: float | None = None  # kg at the start
    hold: str = "box"  # where the pieces are held, see `tuyere.meat.hold.PLACES`
    vented: float = 0.0  # min in the room before that
    limit: float = 60.0  # hot-hold limit, C
    use: str = "home"  # whose food rules: `tuyere.meat.regions`
    region: str = "other"
    room: float = 20.0  # C where it is held
    pit_error: float = PIT_ERROR  # K by which meat in the pit may lie cooler than its probe reads
    lead: float = 75.0  # min from wrapping to the wanted shade
    meat_on: int = 0
    done_by: int = 0  # when all pieces must be done to be served in time
    pieces: list[KnownPiece] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)  # of the pit: opened, fuel_added, ash_knocked ...
    columns: Columns = field(default_factory=Columns)
    earlier: list[Earlier] = field(default_factory=list)  # the user's own nights before this one
    seed: int = 1


class Range(Struct):
    """10, 50 and 90 %."""

    early: int
    likely: int
    late: int


class PieceAhead(Struct):
    """What is to come of one piece."""

    id: int
    finish: Range | None = None  # None: done, not in the heat, or it may never come (`words` says which)
    in_time: float | None = None  # share of the ensemble that is done by `Known.done_by`; None: not asked, or no finish
    wrap: Range | None = None  # the window: from, best, until
    wrap_words: Said = ""
    hold_until: int = 0  # when its coldest spot falls below the limit
    words: list[Said] = field(default_factory=list)  # plateau, water gone, what wrapping or a higher band would save
    probe_words: Said = ""  # where its probe seems to be, if not mid-thickness
    at: list[int] = field(default_factory=list)  # the probe's temperature ahead
    low: list[float] = field(default_factory=list)
    mid: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)


class Ahead(Struct):
    """What is to come of the cook."""

    now: int
    pieces: list[PieceAhead] = field(default_factory=list)
    fuel_left: float | None = None  # kg, 50 %
    fuel: Range | None = None  # when it ends
    fuel_words: Said = ""
    members: int = 0  # of the ensemble
    seconds: float = 0.0  # of work that it took
