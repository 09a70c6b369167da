"""The ledger of the forecasts: what was shown in the night, judged in the morning in the cook's summary."""

from __future__ import annotations

from rendered import words
from tuyere.cook.snapshot import Cook, Event, Piece
from tuyere.cook.summary import HOUR, summary
from tuyere.logbook.rows import Forecast

START = 1_800_000_000_000 // (24 * HOUR) * 24 * HOUR  # midnight, UTC
DONE = START + 12 * HOUR + 5 * 60_000


def shown(at: int, early: int, likely: int, late: int) -> Forecast:
    """A forecast of the piece's finish, all in minutes after midnight."""
    early, likely, late = (START + 60_000 * minute for minute in (early, likely, late))
    return Forecast(cook=1, piece=1, kind="finish", at=START + 60_000 * at, early=early, likely=likely, late=late)


def told(*forecasts: Forecast) -> str:
    cook = Cook(id=1, name="Saturday", started=START, ended=DONE + HOUR)
    piece = Piece(id=1, name="Ada", on_at=START, place="out")
    ends = [Event(id=1, at=DONE, noted=DONE, kind="tender", piece=1)]
    return words(summary(cook, [piece], ends, forecasts, DONE + HOUR))


def test_each_forecast_is_judged_as_it_was_shown() -> None:
    said = told(shown(245, 630, 700, 790), shown(480, 640, 660, 700), shown(485, 650, 670, 715))
    assert "At 04:05, 8 h ahead, the forecast said 11:40 (10:30 to 13:10); it was 12:05, 25 min later, inside" in said
    assert "At 08:05, 4 h ahead, the forecast said 11:10 (10:50 to 11:55); it was 12:05, 55 min later, outside" in said
    assert "Of all 3 forecasts shown, 33 % held it in their range" in said


def test_no_forecast_is_no_sentence() -> None:
    assert "forecast" not in told()
