"""Food safety: lethality by table, time in the growth range of bacteria, come-up, and rules of the US.

Each rule has its text and its source, and each ends with the same words: follow your local rules. "From memory" marks
a rule that we did not read in its source. Heat below 54.4 C (130 F) counts for nothing. `tuyere.meat.regions` puts the
rules of a place together, and `tuyere.cook.food_safety` applies them to a piece; nothing else does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tuyere.meat.tables import LETHAL_7_MIN, LETHAL_C, LETHAL_MIN
from tuyere.text import Duration, Mass, Range, Reader, Said, Span, Temperature, render, text

CREDIT_C = LETHAL_C[0]  # 54.4 C
GROWTH_C = (40.0 / 9.0, 60.0)  # 40-140 F, the "danger zone" of USDA and FDA for consumers
COME_UP_C = (10.0, 54.4)
COME_UP_H = 6.0
HEAVY_KG = 4.5  # 10 lb
INSIDE_C, INSIDE_MIN = LETHAL_C[15], 3  # 62.8 C (145 F), see NOT_INTACT
LEFT_OUT_H = 2.0  # between 4 C and the hot-hold limit: USDA, advice to consumers; the UK allows one period under 2 h
HOT_AIR_C, HOT_AIR_H = 32.2, 1.0  # in air above 90 F: the same advice
KEEPS_BY = 5.0  # K by which a hot-holding appliance exceeds the limit: DIN 10508, as BfR 037/2020 quotes it
PIT_ERROR = 10.0  # K by which meat on a grate may lie cooler than the pit probe reads: common practice, no source
KEEPS_SPAN = Span(KEEPS_BY)
LOCAL = "Follow your local rules."


def required_minutes(t: float, logs: float = 6.5) -> float:
    """Minutes at t C for 6.5 or 7 logs of Salmonella in beef: the FSIS table, interpolated in the logarithm of time.

    inf below 54.4 C, 0 from 70 C on, as in the table. ValueError for other logs or a t that is not a finite number.
    """
    if logs not in (6.5, 7.0):
        raise ValueError(f"The table has 6.5 and 7 logs, not {logs:g}.")
    _temperature(t, "required_minutes")
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
    """Lethality of `temperatures` (C, one every `seconds`) as a multiple of the table: 1 is enough, inf from 70 C on.

    ValueError for a temperature that is not finite, and for seconds that are not finite or below 0.
    """
    _seconds(seconds, "times_over")
    total = 0.0
    for t in temperatures:
        needed = required_minutes(t, logs)
        total += math.inf if needed == 0.0 else seconds / 60.0 / needed
    return total


def growth_minutes(temperatures: Iterable[float], seconds: float) -> float:
    """Minutes between 4 and 60 C. Arguments and errors as in `times_over`."""
    _seconds(seconds, "growth_minutes")
    return sum(seconds for t in temperatures if GROWTH_C[0] < _temperature(t, "growth_minutes") < GROWTH_C[1]) / 60.0


def come_up_hours(temperatures: Sequence[float], seconds: float) -> float | None:
    """Hours between 10 and 54.4 C on the way up; None before 54.4 C. Arguments and errors as in `times_over`."""
    _seconds(seconds, "come_up_hours")
    for t in temperatures:
        _temperature(t, "come_up_hours")
    low = next((i for i, t in enumerate(temperatures) if t > COME_UP_C[0]), None)
    high = next((i for i, t in enumerate(temperatures) if t >= COME_UP_C[1]), None)
    if low is None or high is None:
        return None
    return (high - low) * seconds / 3600.0


def left_out_hours(room_c: float) -> float:
    """Total hours that food may spend between 4 C and the hot-hold limit in a room at room_c, C.

    USDA, advice to consumers: 2 h, or 1 h in air above 32.2 C (90 F). ValueError for a room_c that is not finite.
    """
    return HOT_AIR_H if _temperature(room_c, "left_out_hours") > HOT_AIR_C else LEFT_OUT_H


def _temperature(t: float, where: str) -> float:
    """t if it is finite. ValueError otherwise: comparisons with NaN are false, so it would be neither cold nor hot."""
    if not math.isfinite(t):
        raise ValueError(f"{where}: {t} is no temperature in C; leave out what was not read.")
    return t


def _seconds(seconds: float, where: str) -> None:
    if not 0.0 <= seconds < math.inf:
        raise ValueError(f"{where}: {seconds} s cannot lie between two readings; give a number from 0 on.")


@dataclass(frozen=True)
class Rule:
    """A rule: its text, its source, and its limit in C if it has one."""

    text: Said
    source: str
    c: float | None = None

    @property
    def said(self) -> Said:
        """The rule's text with its source."""
        return text("{rule} ({source})", rule=self.text, source=self.source)

    def __str__(self) -> str:
        return f"{render(self.said, Reader('C'))} {LOCAL}"


def _hours(hours: float) -> Duration:
    return Duration(3600.0 * hours)


HOME = Rule(text("Keep hot food at {c} or above.", c=Temperature(60.0)), "USDA, advice to consumers", 60.0)
TRADE_US = Rule(
    text(
        "Hot holding at {c} or above; roasts cooked to the table at {roasts}.",
        c=Temperature(57.0), roasts=Temperature(54.4),
    ),
    "FDA Food Code 3-501.16, as quoted in WAC 246-215-03525",
    57.0,
)  # fmt: skip
COOLING = Rule(
    text(
        "Cool what is left from {hot} to {warm} within {first} and to {cold} within {all} in all.",
        hot=Temperature(57.0), warm=Temperature(21.1), first=_hours(2.0), cold=Temperature(5.0), all=_hours(6.0),
    ),
    "FDA Food Code 3-501.14, in part read",
)  # fmt: skip
LEFT_OUT = Rule(
    text(
        "Throw away what has been between {cold} and {hot} for more than {long}, {short} in air above {air}.",
        cold=Temperature(GROWTH_C[0]), hot=Temperature(60.0), long=_hours(LEFT_OUT_H), short=_hours(HOT_AIR_H),
        air=Temperature(HOT_AIR_C),
    ),
    "USDA, advice to consumers, read as others quote it",
)  # fmt: skip
REHEATED_C = 73.9  # 165 F through and through: USDA, advice to consumers
LETHALITY = Rule(
    text(
        "6.5 logs of Salmonella: {a} at {ac}, {b} at {bc}, at once at {cc}, in the coldest spot.",
        a=Duration(720.0), ac=Temperature(60.0), b=Duration(240.0), bc=Temperature(INSIDE_C), cc=Temperature(70.0),
    ),
    "USDA FSIS Appendix A, 1999, a reprint; the revision of 2021 keeps it, from memory",
)  # fmt: skip
COME_UP = Rule(
    text(
        "From {low} to {high} within {time}.",
        low=Temperature(COME_UP_C[0]), high=Temperature(CREDIT_C), time=_hours(COME_UP_H),
    ),
    "USDA FSIS cooking guideline 2021, from memory",
)  # fmt: skip
NOT_INTACT = Rule(
    text(
        "Rolled, injected or needled meat may carry bacteria inside: {c} and {time} in its coldest spot.",
        c=Temperature(INSIDE_C), time=Duration(60.0 * INSIDE_MIN),
    ),
    "9 CFR 317.2(e)(3), label of needle- or blade-tenderized beef",
)  # fmt: skip
DRY_OVEN = Rule(
    text(
        "A roast under {mass} in a dry oven needs {dry}; at {moist} it needs moist air.",
        mass=Mass(HEAVY_KG), dry=Range(Temperature(163.0), Temperature(177.0)), moist=Temperature(121.1),
    ),
    "older FDA Food Code, as in a US county's sheet; not written for smoked brisket",
)  # fmt: skip
PROBE = Rule("Put the probe in once the surface is hot, and clean: it carries what is outside inwards.", "from memory")
TOXINS = Rule(
    "Heating again does not undo what grew: the toxin of Staphylococcus aureus withstands cooking, and so do the "
    "spores of Clostridium perfringens.",
    "Washington State University Extension, Staphylococcal poisoning; foodsafetysite.com, for teachers of "
    "foodservice, on reheating",
)
