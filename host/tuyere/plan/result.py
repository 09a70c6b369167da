"""A plan as it is printed, kept and given to other programs. Times UTC ms, masses kg, temperatures C, shares 0..1.

Sentences with measures are typed text (`tuyere.text`). Plans that were kept before that hold plain sentences.
"""

from __future__ import annotations

from msgspec import Struct, field

from tuyere.cook.planned import Filling, Kitchen, Phase, PlannedPiece
from tuyere.plan.burning import Burning
from tuyere.plan.buying import Amounts
from tuyere.text import Said


class Row(Struct):
    """A line of the timetable. kind: thaw, check, trim, light, on, round, fuel, asleep, wrap, warm, done, hold, carve,
    serve. hands: whether the cook is needed; until: 0 for a moment; more: what stands on the full page alone; pit: the
    number of the cooker, 0 for all."""

    at: int
    kind: str
    what: Said
    detail: Said = ""
    until: int = 0
    hands: bool = True
    more: Said = ""
    pit: int = 0


class Odds(Struct):
    """A start, and what it would be like: odds to be ready, the likely finish of the last piece, hours of hold."""

    on: int
    odds: float
    likely: int  # 0: it may never come
    hold: float
    beyond: float
    asks: list[str] = field(default_factory=list)
    chosen: bool = False


class Wrap(Struct):
    """When a batch of pieces is wrapped, and its window."""

    cut: str
    at: int
    window: list[int]
    pieces: list[str] = field(default_factory=list)


class Pit(Struct):
    """A cooker of the plan: its kind, when it is lit, when its first meat goes on, its charcoal and water."""

    cooker: str
    light: int
    on: int
    fuel: Burning


class Item(Struct):
    """A thing to buy or have ready."""

    what: Said
    detail: Said = ""


class Caution(Struct):
    """A rule with where it stands, or a warning (source "")."""

    text: Said
    source: str = ""


class Plan(Struct):
    """The plan. The first fields are those of `tuyere.cook.planned.Planned`, which a running cook takes."""

    name: str
    light: int
    on: int
    serve: int
    pieces: list[PlannedPiece]
    phases: list[Phase]
    kitchen: Kitchen
    made: int
    guests: int | None
    low: float
    high: float
    sleep: str
    odds: float
    asked_odds: float
    first: list[int]  # done, the first piece: 10, 50, 90 %
    last: list[int]  # and the last; 0 for never
    wraps: list[Wrap]  # by batch; none to stay bare
    hold_hours: float  # that the hot hold stays above the limit, of a vented piece
    limit: float
    members: int  # of the ensemble
    amounts: Amounts
    fuel: Burning  # of all cookers
    rows: list[Row] = field(default_factory=list)
    others: list[Odds] = field(default_factory=list)
    shopping: list[Item] = field(default_factory=list)
    cautions: list[Caution] = field(default_factory=list)
    learnt: list[Said] = field(default_factory=list)
    words: list[Said] = field(default_factory=list)  # how the start was chosen
    warnings: list[Said] = field(default_factory=list)  # small portions, thin odds, what is late already
    pits: list[Pit] = field(default_factory=list)
    fillings: list[Filling] = field(default_factory=list)
    straight_hours: float = 0.0  # the same, of a piece put in straight from the pit
    oven: float | None = None  # C to which the low oven is set

    @property
    def typed(self) -> bool:
        """Whether its sentences have typed values; those of a plan that an earlier version kept have not."""
        return not self.shopping or not isinstance(self.shopping[0].what, str)
