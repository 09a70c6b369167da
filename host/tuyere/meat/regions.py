"""The food rules of a place, by region and use, each with where it stands; "ask your authority" where none was found.

Laws and guidelines change: the words say what was read, and the local authority has the last word. A page for one
region names no rule of another. Numbers that no rule of the region gives are marked as what Tuyere goes by.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from tuyere.meat import safety
from tuyere.meat.safety import Rule
from tuyere.text import Duration, Temperature, text

USES = ("home", "trade")
REGIONS = {  # code: in words
    "us": "of the US", "uk": "of England, Wales and NI", "scotland": "of Scotland", "de": "of Germany",
    "at": "of Austria", "eu": "of another EU state", "other": "elsewhere",
}  # fmt: skip
ASK = "ask your authority"
OURS = f"what Tuyere goes by; {ASK}"


@dataclass(frozen=True)
class Rules:
    """What a place asks of hot meat. hold, reheat, raw: their `c` is the limit, C; most_h: hours for which hot holding
    is allowed, None for no such limit; dry_oven, lethality: None where the place has none."""

    hold: Rule
    raw: Rule
    cooling: Rule
    reheat: Rule
    left_out: Rule
    come_up: Rule
    not_intact: Rule
    toxins: Rule
    most_h: float | None = None
    lethality: Rule | None = None
    dry_oven: Rule | None = None

    @property
    def limit(self) -> float:
        """The hot-hold limit, C."""
        return self.hold.c or HOME_C


HOME_C = 60.0
_C = Temperature
_TWO, _COOL = Duration(3600.0 * safety.LEFT_OUT_H), Duration(5400.0)
# read in legislation.gov.uk: 2005/2059 (England, as made) and 2006/31 (Wales), schedule 4, paragraphs 2, 6 and 7; that
# of Scotland 2006/3, schedule 4, paragraph 2
UK_LAW = "Food Hygiene Regulations, schedule 4"
SCOTS_LAW = "The Food Hygiene (Scotland) Regulations 2006, schedule 4"
BFR = "BfR 037/2020 and DIN 10506:2023, as the consumer council of DIN reports them"
AUSTRIA = "Leitlinie fuer Grosskuechen, Oesterreichisches Lebensmittelbuch, chapter 7"
EU_LAW = f"Regulation (EC) 852/2004 gives no number; {ASK}"


def _plain(hold: Rule) -> Rules:
    """With what Tuyere goes by for all but the hot hold."""
    return Rules(
        hold=hold,
        raw=Rule(text("Keep raw meat at {c} or below until it goes on.", c=_C(5.0)), OURS, 5.0),
        cooling=Rule(
            text("What is left goes into the fridge within {time}, in flat pieces.", time=_TWO), OURS
        ),
        reheat=Rule(text("Reheat once, to {c} in the middle.", c=_C(75.0)), OURS, 75.0),
        left_out=Rule(
            text(
                "Throw away what has been between {cold} and {hot} for more than {long}, {short} in air above {air}.",
                cold=_C(safety.GROWTH_C[0]), hot=_C(hold.c or HOME_C), long=_TWO,
                short=Duration(3600.0 * safety.HOT_AIR_H), air=_C(safety.HOT_AIR_C),
            ),
            OURS,
        ),
        come_up=Rule(safety.COME_UP.text, OURS),
        not_intact=Rule(
            text(
                "Rolled, injected or needled meat may carry bacteria inside: {c} for {time} in its coldest spot.",
                c=_C(70.0), time=Duration(120.0),
            ),
            OURS,
        ),
        toxins=Rule(safety.TOXINS.text, "from memory"),
    )  # fmt: skip


def _us(hold: Rule, trade: bool) -> Rules:
    home = text(
        "What is left goes into the fridge within {time}, in shallow portions; {short} in air above {air}.",
        time=_TWO, short=Duration(3600.0 * safety.HOT_AIR_H), air=_C(safety.HOT_AIR_C),
    )  # fmt: skip
    return Rules(
        hold=hold,
        raw=Rule(
            text("Keep raw meat at {c} or below until it goes on.", c=_C(5.0)),
            "FDA Food Code 3-501.16, as quoted in WAC 246-215-03525", 5.0,
        ),
        cooling=safety.COOLING if trade else Rule(home, "USDA, advice to consumers"),
        reheat=Rule(
            text("Reheat to {c} in the middle.", c=_C(safety.REHEATED_C)), "USDA, advice to consumers",
            safety.REHEATED_C,
        ),
        left_out=safety.LEFT_OUT,
        come_up=safety.COME_UP,
        not_intact=safety.NOT_INTACT,
        toxins=safety.TOXINS,
        lethality=safety.LETHALITY,
        dry_oven=safety.DRY_OVEN,
    )  # fmt: skip


def _uk(hold: Rule, trade: bool, scots: bool) -> Rules:
    found = _plain(hold)
    law = SCOTS_LAW if scots else UK_LAW
    advice = "FSA advice, as nibusinessinfo.co.uk gives it"
    cool = Rule(
        text(
            "Cool what is left as fast as you can, ideally within {time}, and into the fridge; eat it within two days.",
            time=_COOL,
        ),
        "a council's advice for homes (Pendle)",
    )  # fmt: skip
    if trade:
        cool = Rule(
            "Cool what is left as quickly as possible, then into the fridge.",
            f"{SCOTS_LAW}, paragraph 2; {advice}" if scots else advice,
        )
    reheat = Rule(
        text("Reheat once, until it is steaming hot: {c} in the middle.", c=_C(75.0)), f"from memory; {ASK}", 75.0
    )
    if scots and trade:
        reheat = Rule(
            text("Reheat to {c}.", c=_C(82.0)), "SI 1995/2200, regulation 14, kept as paragraph 3 of the schedule", 82.0
        )
    left = Rule(
        text("Hot food may be below {hot} once, for less than {time}: then throw it away.", hot=_C(63.0), time=_TWO),
        f"{law}, paragraph 7" if not scots else OURS,
    )  # fmt: skip
    return replace(
        found,
        raw=Rule(
            text("Keep raw meat in a fridge, {c} or below, until it goes on{law}.", c=_C(5.0),
                 law=text("; the trade's law says {c}", c=_C(8.0)) if not scots else ""),
            OURS if scots else f"{advice}; {law}, paragraph 2", 5.0,
        ),
        cooling=cool,
        reheat=reheat,
        left_out=left,
        not_intact=Rule(
            text(
                "Rolled, injected or needled joints are cooked through: {c} for {time} in the coldest spot.",
                c=_C(70.0), time=Duration(120.0),
            ),
            f"{advice}; the temperature from a university's course for homes (Nottingham)",
        ),
    )  # fmt: skip


def _germany(use: str) -> Rules:
    words = text("Keep hot food at {c} or above at every point; set what keeps it {by} higher.", c=_C(60.0),
                 by=safety.KEEPS_SPAN)  # fmt: skip
    return replace(
        _plain(Rule(words, BFR if use == "trade" else "BfR 037/2020, advice to consumers", 60.0)),
        cooling=Rule(
            text("Cool what is left below {c} within {time}, in flat pieces.", c=_C(10.0), time=_TWO),
            "BfR 008/2008, as a consultant retells it",
        ),
    )  # fmt: skip


def _austria(use: str) -> Rules:
    if use == "home":
        return _plain(
            Rule(
                text("Keep hot food at {c} or above.", c=_C(60.0)),
                "advice to consumers, in the Austrian press (news.at)",
                60.0,
            )
        )
    words = text("Keep hot food at {c} or above, for {time} at most.", c=_C(70.0), time=Duration(3.0 * 3600.0))
    return replace(
        _plain(Rule(words, f"{AUSTRIA}.1, written for large kitchens", 70.0)),
        most_h=3.0,
        cooling=Rule(
            text(
                "Cool what is left from {hot} to {cold} within {time}, then to {store}.",
                hot=_C(75.0), cold=_C(10.0), time=Duration(3600.0), store=_C(4.0),
            ),
            f"{AUSTRIA}.2",
        ),
        reheat=Rule(text("Reheat to {c} in the middle.", c=_C(75.0)), f"{AUSTRIA}.2", 75.0),
    )  # fmt: skip


def rules(use: str = "home", region: str = "other") -> Rules:
    """The rules of a region for `use` home or trade. ValueError on anything else."""
    if use not in USES:
        raise ValueError(f"Hot holding is for home or trade, not {use!r}.")
    if region not in REGIONS:
        raise ValueError(f"The region is {', '.join(REGIONS)}, not {region!r}.")
    trade = use == "trade"
    if region == "us":
        return _us(safety.TRADE_US if trade else safety.HOME, trade)
    if region in ("uk", "scotland"):
        law = SCOTS_LAW if region == "scotland" else UK_LAW
        where = f"{law}, paragraph {2 if region == 'scotland' else 6}"
        source = where if trade else f"{where}: the law of the trade, taken for homes, too"
        return _uk(Rule(text("Keep hot food at {c} or above.", c=_C(63.0)), source, 63.0), trade, region == "scotland")
    if region == "de":
        return _germany(use)
    if region == "at":
        return _austria(use)
    number = 63.0 if trade else HOME_C
    source = EU_LAW if region == "eu" else ASK
    return _plain(Rule(text("Keep it hot at {c} or above: Tuyere knows no rule of this place.", c=_C(number)),
                       source, number))  # fmt: skip


def cautions(
    found: Rules,
    intact: bool,
    mass_kg: float,
    trade: bool = False,
    come_up_h: float | None = None,
    probe_c: float | None = None,
    hours: float = 0.0,
) -> list[Rule]:
    """The rules that matter for a piece. come_up_h: hours from 10 to 54.4 C, expected or measured; None before 54.4 C,
    when `hours` of cooking count instead. probe_c: its coldest middle, now or at the end, C."""
    out: list[Rule | None] = []
    if not intact:
        out.append(found.not_intact)
    if (come_up_h if come_up_h is not None else hours) > safety.COME_UP_H:
        out.append(found.come_up)
    if probe_c is not None and probe_c < 70.0:
        out.append(found.lethality)
    if trade and mass_kg < safety.HEAVY_KG:
        out.append(found.dry_oven)
    return [one for one in out if one is not None]
