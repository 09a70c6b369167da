"""How much to buy: from guests through yield and trim to raw mass, and in how many pieces."""

from __future__ import annotations

import math
from collections.abc import Mapping

from msgspec import Struct

from tuyere.meat.cuts import CUTS
from tuyere.plan.practice import NAMES, PRACTICE
from tuyere.plan.request import Asked, Own, check_piece
from tuyere.plan.times import BadPlan
from tuyere.text import Count, Mass, text

MORE = 1.02  # rounding of the masses of pieces is less
TOO_MUCH = 3.0  # times what is asked for; a cut of which no piece is smaller is the wrong one
COMFORT = 1.12  # times the typical mass of a cut: heavier ones are hard to come by


class Amounts(Struct):
    """kg: as bought, as it goes on (trimmed), carved; and g of it for each guest (None without guests)."""

    bought: float
    on: float
    carved: float
    portion: float | None
    pieces: int
    trim: float  # share cut off
    cooked: float  # carved, as a share of what went on


def amounts(asked: Asked, cooked: Mapping[str, float]) -> tuple[Amounts, list[Own]]:
    """What to buy, and the pieces as they go on. cooked: by cut, carved meat as a share of what goes on."""
    if asked.own:
        own = list(asked.own)
        on = sum(piece.mass for piece in own)
        bought = sum(piece.mass / (1.0 - PRACTICE[piece.cut].trim) for piece in own)
        trim = 1.0 - on / bought
    else:
        trim = PRACTICE[asked.cut].trim
        if asked.raw is not None:
            bought = asked.raw
        else:
            bought = (asked.guests or 0) * asked.portion_g / 1000.0 / cooked[asked.cut] / (1.0 - trim)
        on = bought * (1.0 - trim)
        own = _shared(asked, on)
        if (whole := sum(piece.mass for piece in own)) > on * MORE:  # the smallest piece that there is
            on, bought = whole, whole / (1.0 - trim)
    carved = sum(piece.mass * cooked[piece.cut] for piece in own)
    portion = carved * 1000.0 / asked.guests if asked.guests else None
    return Amounts(bought, on, carved, portion, len(own), trim, carved / on), own


def _shared(asked: Asked, on: float) -> list[Own]:
    """A mass of meat in pieces of one mass."""
    least, typical, most = CUTS[asked.cut].kg
    count = asked.pieces or max(1, math.ceil(on / (typical * COMFORT)))
    each = on / count
    if count > asked.most or each > most:
        need = max(count, math.ceil(on / most))
        if asked.pieces and math.ceil(on / (typical * COMFORT)) <= asked.most:
            raise BadPlan(
                text(
                    "{on} trimmed in {pieces} makes {each} each, and a {cut} has at most {most}: give at least {least} "
                    "--pieces.",
                    on=Mass(on), pieces=Count(asked.pieces, "piece"), each=Mass(each), cut=asked.cut, most=Mass(most),
                    least=math.ceil(on / most),
                )
            )  # fmt: skip
        raise BadPlan(
            text(
                "This takes {need} of {cut}, {on} trimmed, and {cooks} has at most {most}: give several --cookers, or "
                "smaller portions.",
                need=Count(need, "piece"), cut=asked.cut, on=Mass(on), most=asked.most,
                cooks="one cook" if len(asked.kinds) == 1 else f"a cook on {len(asked.kinds)} cookers",
            )
        )  # fmt: skip
    if each < least:
        smaller = [cut for cut, what in CUTS.items() if what.kg[0] <= on < what.kg[2] and what.kg[0] < least]
        if asked.raw is None and not asked.pieces and not smaller and on < least <= on * TOO_MUCH:
            on = least  # no whole piece is smaller
        if asked.pieces or on < least:
            another = f", or another --cut, such as {smaller[0]}" if smaller else ""
            fewer = "fewer pieces, or " if count > 1 else ""
            raise BadPlan(
                text(
                    "{on} trimmed in {pieces} makes {each} each, and a {cut} has at least {least}: take {fewer}more "
                    "meat{another}.",
                    on=Mass(on), pieces=Count(count, "piece"), each=Mass(each), cut=asked.cut, least=Mass(least),
                    fewer=fewer, another=another,
                )
            )  # fmt: skip
        count = max(1, int(on / least))
        each = on / count
    made = [Own(NAMES[i], round(each, 2), asked.cut, asked.flat, None, asked.start, asked.intact) for i in range(count)]
    for piece in made:
        check_piece(piece)
    return made
