"""A cooker known from its nights, and settings of the board that suit it.

    from tuyere import tune
    night = tune.Night(seconds, pit_c, fan, openings=[(start_s, length_s, told)], outside_c=8.0, meat_on_s=3600)
    cooker = tune.identify(night)
    found = tune.search(cooker, nights=2000, seed=1)

How it works and what it reaches is in README.md beside this file.
"""

from tuyere.tune.cooker import Cooker, Member, Spread
from tuyere.tune.known import identify
from tuyere.tune.night import Night, of_cook
from tuyere.tune.search import Found, Score, search

__all__ = ["Cooker", "Found", "Member", "Night", "Score", "Spread", "identify", "of_cook", "search"]
