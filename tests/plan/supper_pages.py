"""Seven suppers as whole pages, by a forecast of plain numbers. `python tests/plan/supper_pages.py` writes them anew:
read what changed line by line before it is kept."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PAGES = HERE / "suppers"
if __name__ == "__main__":
    for room in ("link", "engine", "logbook", "plan"):
        sys.path.insert(0, str(HERE.parent / room))

from plan_kit import LONDON, at, lighten, make  # noqa: E402
from tuyere.plan import page  # noqa: E402
from tuyere.plan.request import Own  # noqa: E402
from tuyere.plan.result import Plan  # noqa: E402

MIXED = (Own("Alder", 5.5), Own("Bramble", 3.2, "pork shoulder"), Own("Clover", 1.3, "pork ribs"))
EACH = (
    Own("Alder", 5.5), Own("Bramble", 2.5, "flat"), Own("Clover", 2.0, "point"), Own("Dogwood", 3.2, "pork shoulder"),
    Own("Elder", 2.2, "beef ribs"), Own("Fern", 1.6, "chuck"), Own("Gorse", 1.3, "pork ribs"),
    Own("Hazel", 2.0, "lamb shoulder"),
)  # fmt: skip
FULL = ("of_each_cut", "mixed_table")  # with all that the page holds back from a reader in a hurry
SUPPERS: dict[str, tuple[str, dict[str, Any]]] = {  # file: units, and what is asked
    "family_of_6": ("F", {"name": "Sunday dinner", "guests": 6, "cut": "flat", "serve": at(29, "18:00"),
                          "region": "us"}),
    "hall_of_40": ("C", {"region": "uk", "use": "trade", "oven": True, "outside": 5.0}),
    "party_of_150": ("F", {"name": "Harvest party", "guests": 150, "cookers": ("cabinet", "cabinet", "upright"),
                           "oven": True, "region": "us", "use": "trade"}),
    "pork_for_noon": ("F", {"name": "Saturday noon", "guests": 12, "cut": "pork shoulder", "serve": at(28, "12:00")}),
    "mixed_table": ("C", {"name": "Mixed table", "guests": 20, "own": MIXED, "cooker": "cabinet", "region": "de"}),
    "of_each_cut": ("C", {"name": "One of each", "guests": 40, "own": EACH, "cookers": ("cabinet", "upright"),
                          "region": "uk"}),
    "slow_overnight": ("F", {"name": "Slow night", "guests": 10, "low": 101.7, "high": 112.8, "serve": at(28, "19:00"),
                             "cooker": "ceramic", "outside": -5.0}),
}  # fmt: skip


def made(name: str) -> tuple[Plan, str]:
    """The plan, and the reader's units."""
    units, what = SUPPERS[name]
    return make(**what), units


def whole(name: str, plan: Plan, units: str) -> str:
    """The page as a reader has it."""
    return "\n".join(page.page(plan, units, LONDON, full=name in FULL)) + "\n"


if __name__ == "__main__":
    PAGES.mkdir(exist_ok=True)
    lighten(setattr)
    for supper in SUPPERS:
        told = whole(supper, *made(supper))
        (PAGES / f"{supper}.txt").write_text(told, encoding="utf-8")
        print(told)
