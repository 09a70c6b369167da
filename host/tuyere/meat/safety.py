"""Food safety: lethality by table, time at which bacteria grow, come-up, whole muscle or not, hot-hold limits.

Rules carry their text and source; all end in the same words: follow your local rules. "From memory" marks what was not
read in its source. Nothing below 54.4 C (130 F) counts as killing anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tuyere.meat.tables import LETHAL_7_MIN, LETHAL_C, LETHAL_MIN

CREDIT_C = LETHAL_C[0]  # 54.4 C
GROWTH_C = (4.0, 60.0)  # 40-140 F, the "danger zone" of USDA and FDA for consumers
COME_UP_C = (10.0, 54.4)
COME_UP_H = 6.0
HEAVY_KG = 4.5  # 10 lb
LEFT_OUT_H = 2.0
LOCAL = "Follow your local rules."


def required_minutes(t: float, logs: float = 6.5) -> float:
    """Minutes at t C for 6.5 or 7 logs of Salmonella in beef: the FSIS table, straight in the time's logarithm between.

    inf below 54.4 C; 0 from 70 C on, as the table has it. ValueError for other logs.
    """
    if logs not in (6.5, 7.0):
        raise ValueError(f"The table has 6.5 and 7 logs, not {logs:g}.")
    table = LETHAL_MIN if logs == 6.5 else LETHAL_7_MIN
    if t < CREDIT_C:
        return math.inf
    if t >= 70.0:
        return 0.0
    for i in range(1, len(table)):
        if t < LETHAL_C[i]:
            share = (t - LETHAL_C[i - 1]) / (LETHAL_C[i] - LETHAL_C[i - 1])
            return math.exp((1.0 - share) * math.log(table[i - 1]) + share * math.log(table[i]))
    return table[-1]


def times_over(temperatures: Iterable[float], seconds: float, logs: float = 6.5) -> float:
    """How many times over these temperatures (C, one each `seconds`) reach the table; 1 is enough, inf from 70 C on."""
    total = 0.0
    for t in temperatures:
        needed = required_minutes(t, logs)
        total += math.inf if needed == 0.0 else seconds / 60.0 / needed
    return total


def growth_minutes(temperatures: Iterable[float], seconds: float) -> float:
    """Minutes between 4 and 60 C."""
    return sum(seconds for t in temperatures if GROWTH_C[0] < t < GROWTH_C[1]) / 60.0


def come_up_hours(temperatures: Sequence[float], seconds: float) -> float | None:
    """Hours between 10 and 54.4 C on the way up; None while it has not arrived."""
    low = next((i for i, t in enumerate(temperatures) if t > COME_UP_C[0]), None)
    high = next((i for i, t in enumerate(temperatures) if t >= COME_UP_C[1]), None)
    if low is None or high is None:
        return None
    return (high - low) * seconds / 3600.0


@dataclass(frozen=True)
class Rule:
    """A rule: what it says, where it stands, and the limit in C where it has one."""

    text: str
    source: str
    c: float | None = None

    def __str__(self) -> str:
        return f"{self.text} ({self.source}) {LOCAL}"


HOME = Rule("Keep hot food at 60 C (140 F) or above.", "USDA, advice to consumers", 60.0)
HOLDS: dict[tuple[str, str], Rule] = {
    ("trade", "us"): Rule(
        "Hot holding at 57 C (135 F) or above; roasts cooked to the table at 54 C (130 F).",
        "FDA Food Code 3-501.16, as quoted in WAC 246-215-03525",
        57.0,
    ),
    ("trade", "uk"): Rule("Hot holding at 63 C or above.", "Food Standards Agency guidance", 63.0),
    ("trade", "other"): Rule("No rule is known to us; 63 C is the strictest that we know.", "none", 63.0),
}
COOLING = Rule(
    "Cool what is left from 57 to 21 C within 2 h and to 5 C within 6 h in all.", "FDA Food Code 3-501.14, in part read"
)
LEFT_OUT = Rule(
    f"Throw away what has lain out below 60 C (140 F) for more than {LEFT_OUT_H:.0f} h, 1 h in air above 32 C (90 F).",
    "USDA, advice to consumers, read as others quote it",
)
REHEATED_C = 74.0  # 165 F through and through: USDA, advice to consumers
LETHALITY = Rule(
    "6.5 logs of Salmonella: 12 min at 60 C, 4 min at 62.8 C, at once at 70 C, in the coldest spot.",
    "USDA FSIS Appendix A, 1999, a reprint; the revision of 2021 keeps it, from memory",
)
COME_UP = Rule("From 10 to 54.4 C within 6 h.", "USDA FSIS cooking guideline 2021, from memory")
NOT_INTACT = Rule(
    "Rolled, injected or needled meat may carry bacteria inside: 62.8 C (145 F) and 3 min in its coldest spot.",
    "9 CFR 317.2(e)(3), label of needle- or blade-tenderized beef",
)
DRY_OVEN = Rule(
    "A roast under 4.5 kg (10 lb) in a dry oven needs 163-177 C (325-350 F); at 121 C (250 F) it needs moist air.",
    "older FDA Food Code, as in a US county's sheet; not written for smoked brisket",
)
PROBE = Rule("Put the probe in once the surface is hot, and clean: it carries what is outside inwards.", "from memory")


def hold_limit(use: str = "home", region: str = "other") -> Rule:
    """The hot-hold limit for `use` home or trade, in region us, uk or other. ValueError on anything else."""
    if use not in ("home", "trade"):
        raise ValueError(f"Hot holding is for home or trade, not {use!r}.")
    if region not in ("us", "uk", "other"):
        raise ValueError(f"The region is us, uk or other, not {region!r}.")
    return HOME if use == "home" else HOLDS[use, region]


def cautions(
    intact: bool,
    mass_kg: float,
    trade: bool = False,
    come_up_h: float | None = None,
    probe_c: float | None = None,
    hours: float = 0.0,
) -> list[Rule]:
    """The rules that a piece calls for. come_up_h: so long from 10 to 54.4 C (expected or seen; None: not yet there)
    after `hours` of cooking; probe_c: its coldest middle now or at the end."""
    found = []
    if not intact:
        found.append(NOT_INTACT)
    if (come_up_h if come_up_h is not None else hours) > COME_UP_H:
        found.append(COME_UP)
    if probe_c is not None and probe_c < 70.0:
        found.append(LETHALITY)
    if trade and mass_kg < HEAVY_KG:
        found.append(DRY_OVEN)
    return found
