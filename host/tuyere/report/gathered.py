"""Everything a report says of a cook, read from the logbook."""

from __future__ import annotations

from dataclasses import dataclass

from tuyere.cook import food_safety, from_rows, kitchen, programme, summary
from tuyere.cook import snapshot as model
from tuyere.engine.night.minutes import Minutes
from tuyere.engine.night.safety_cache import Shown
from tuyere.logbook import Logbook, rows
from tuyere.meat import safety
from tuyere.score import Score
from tuyere.text import Said

SERVE = "serve"  # text of a cook: when its meat is served, UTC ms


@dataclass
class Night:
    """One cook. Times UTC ms; events oldest first; `end` is when it ended, or now."""

    cook: rows.Cook
    end: int
    in_band: float | None
    serve: int
    trend: model.Trend
    pieces: list[model.Piece]
    events: list[model.Event]
    alarms: list[rows.Alarm]
    forecasts: list[rows.Forecast]
    phases: list[model.Phase]
    looked: dict[int, food_safety.Looked]  # by piece
    rules: list[Said]
    learnt: list[Said]  # for the next plan


def phases(book: Logbook, cook: int) -> list[model.Phase]:
    """The programme as the board last told it; its changes are events."""
    states = book.reading.states(cook)
    return programme.recorded(states[-1].memory, book.cooks.text(cook, programme.PHASES)) if states else []


def looked(book: Logbook, cook: int, now: int) -> tuple[dict[int, food_safety.Looked], list[Said], int]:
    """By piece what food safety says of it, the rules that the pieces call for, and as of when. now: of the wall."""
    minutes, trend = Minutes(), book.reading.trend(cook)
    minutes.add(trend)
    events, shown = from_rows.events(book.events.of(cook)), from_rows.pieces(book.pieces.of(cook), None)
    row, place = book.cooks.get(cook), kitchen.read(book, cook)
    at = row.ended or (trend.at[-1] if row.simulated and trend.at else now)
    seen = Shown().looked(row, shown, minutes, events, at, place)  # as the screen: a part has the past of its whole
    found = {piece.id: seen[piece.id] for piece in shown}
    rules: list[safety.Rule] = [rule for one in found.values() for rule in one.rules]
    return found, food_safety.listed(rules), at


def load(book: Logbook, number: int, now: int) -> Night:
    """A cook of the logbook. LogbookError if there is none, or it cannot be read."""
    row = book.cooks.get(number)
    trend = from_rows.trend(book.reading.trend(number), whole=True)
    seen, rules, at = looked(book, number, now)
    score = Score(row.started, row.meat_on)
    score.add(trend.at, trend.pit, trend.low, trend.high)
    events = from_rows.events(book.events.of(number))
    pieces = from_rows.pieces(book.pieces.of(number), None)
    cook = model.Cook(
        id=row.id, name=row.name, started=row.started, ended=row.ended, meat_on=row.meat_on, simulated=row.simulated
    )  # fmt: skip
    return Night(
        cook=row,
        end=row.ended or at,
        in_band=score.share,
        serve=int(book.cooks.text(number, SERVE) or 0),
        trend=trend,
        pieces=pieces,
        events=events[::-1],
        alarms=sorted(book.alarms.of(number), key=lambda alarm: alarm.raised),
        forecasts=book.forecasts.of(number),
        phases=phases(book, number),
        looked=seen,
        rules=rules,
        learnt=summary.learnt(cook, pieces, events),
    )
