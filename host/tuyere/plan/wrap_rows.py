"""The lines of the wraps, and names of pieces in a line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Row
from tuyere.plan.rounds import fire
from tuyere.plan.start import Start
from tuyere.plan.times import MINUTE, beside
from tuyere.plan.wrapping import wrap_takes

SLIGHT = 10 * MINUTE  # outside of its window a wrap serves as well


def wrap_rows(asked: Asked, own: Sequence[Own], chosen: Start) -> Iterator[Row]:
    """A line for each batch."""
    zone = asked.sleep.zone
    for going in chosen.goings:
        one = going.wrap
        if one is None:
            continue
        pit = going.batch.slot.pit
        what = f"Wrap {named(own, going.batch.pieces)} in {asked.wrap}"
        what += f", look at {fire(asked.kinds[pit])}"
        window = f"Window {beside(one.window[0], one.at, zone)}-{beside(one.window[1], one.at, zone)}"
        bark = f"{beside(one.bark[0], one.at, zone)}-{beside(one.bark[1], one.at, zone)}"
        if one.at > one.window[1] + SLIGHT:
            where = f"{window}; later for your sleep: the bark gets darker."
        elif one.at < one.window[0] - SLIGHT:
            where = f"{window}; sooner for your sleep: the bark stays lighter."
        elif one.window[1] < one.bark[0]:
            where = f"{window}, sooner than the bark needs ({bark}; it stays lighter): the first may be done soon."
        else:
            where = f"{window}."
        more = "Note the colour first: it deepens under the wrap for 45-105 min more."
        yield Row(one.at, "wrap", what, where, one.at + wrap_takes(going.batch), more=more, pit=pit + 1)


def named(own: Sequence[Own], pieces: Iterable[int]) -> str:
    """'Alder, Bramble and Clover'; many that stand together in the list are counted."""
    places = sorted(pieces)
    names = [own[i].name for i in places]
    if len(names) > 3 and places[-1] - places[0] == len(places) - 1:
        return f"{names[0]} to {names[-1]} ({len(names)} pieces)"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
