"""A cooker as its nights leave it known: members of an ensemble, each a whole pit, with weights and ranges."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tuyere.text import Said
from tuyere.tune.sensitivity import Answer

Array = Any  # a numpy array of float64


@dataclass
class Member:
    """One pit that explains the nights: its sequences when lit (state, constants), its row, its weight 0..1."""

    s: list[float]
    p: list[float]
    row: Array
    weight: float
    kind: str
    misfit_c: float = 0.0  # root mean square of what it leaves unexplained, C
    answers: list[Answer] = field(default_factory=list)  # to its fan, early and late in the first night


@dataclass(frozen=True)
class Spread:
    """What is known of one property: low, middle and high (10, 50 and 90 %), and in words.

    told: how much narrower the night made it, 1 = it is known exactly, 0 = no more than before.
    """

    name: str
    low: float
    middle: float
    high: float
    told: float
    words: Said = ""


@dataclass
class Cooker:
    """An ensemble: `members` (their weights add up to 1) and what they have in common.

    misfit_c: root mean square of what the best guess leaves unexplained in the nights, C; ahead_c: the same over the
    part that was not fitted, run freely, None where all was; fits: False where the model cannot explain the nights:
    then nothing should be concluded from it. says_little: what the nights do not show, and what to do about it.
    """

    members: list[Member]
    spreads: list[Spread] = field(default_factory=list)
    misfit_c: float = 0.0
    ahead_c: float | None = None
    fits: bool = True
    held: float | None = None  # share in band when its members are held through the first night by the board's law
    was_held: float | None = None  # and as recorded
    says_little: list[Said] = field(default_factory=list)
    nights: list[str] = field(default_factory=list)
    lead: float = 0.0  # root mean square of the lead that the nights' fires needed, share of the fire
    tried_s: float = 0.0  # of experiments in its nights
    strength: Any = None  # a `tune.strength.Strength` where the nights' marks told it
    runs: int = 0  # nights simulated to find it

    @property
    def best(self) -> Member:
        """The member of the greatest weight."""
        return max(self.members, key=lambda one: one.weight)
