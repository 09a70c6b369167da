"""Times as a cook says them, and the cook's sleep. UTC in whole ms inside; a zone of None is the computer's own.

Local times go through the zone's own rules, so that a night in which the clocks change has as many hours as it has.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from functools import lru_cache

from tuyere.measures import percent
from tuyere.text import BadValue

MINUTE = 60_000
HOUR = 60 * MINUTE
DAY = 24 * HOUR
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MOST = 0.97  # odds above it are only said to be above it
SLEEP_MOST = 14 * 60  # minutes
FORMS = 'give it as "Sat 18:00", "tomorrow 18:00", "18:00" or "2026-11-28 18:00"'
_CLOCK = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?\s*(am|pm)?", re.IGNORECASE | re.ASCII)


class BadPlan(BadValue):
    """No plan is possible for this; one sentence that says what, where, and what to do."""


def share(odds: float) -> str:
    """Odds in words: a model that may be wrong itself says no more than 97 %, and no less than 3 %."""
    return f"> {percent(MOST)}" if odds > MOST else f"< {percent(1.0 - MOST)}" if odds < 1.0 - MOST else percent(odds)


def local(at: int, zone: tzinfo | None = None) -> datetime:
    """The local time of a UTC ms, without a zone in it."""
    return datetime.fromtimestamp(at / 1000, zone).replace(tzinfo=None)


def clock(at: int, zone: tzinfo | None = None) -> str:
    """'Sat 06:15'."""
    return f"{local(at, zone):%a %H:%M}"


def beside(at: int, other: int, zone: tzinfo | None = None) -> str:
    """'06:15', or 'Sat 06:15' beside a time of another day."""
    then = local(at, zone)
    return f"{then:%H:%M}" if then.date() == local(other, zone).date() else f"{then:%a %H:%M}"


def utc(when: datetime, zone: tzinfo | None = None) -> int:
    """UTC ms of a local time; the earlier one where the clocks went back. BadPlan in the hour that they skip."""
    try:
        at = round(when.replace(tzinfo=zone, fold=0).timestamp() * 1000)
        back = local(at, zone)
    except (OverflowError, OSError, ValueError):
        raise BadPlan(f"{when:%Y-%m-%d} is too far away: give a nearer date.") from None
    if back.replace(microsecond=0) != when.replace(microsecond=0, fold=0):
        raise BadPlan(f"There is no {when:%a %d %b %H:%M}: the clocks skip it that night; give another time.")
    return at


def clock_minutes(text: str) -> int:
    """'18:00', '6 pm', '7' -> minutes since midnight. BadPlan else."""
    match = _CLOCK.fullmatch(text.strip())
    if match:
        hour, minute, half = int(match[1]), int(match[2] or 0), (match[3] or "").lower()
        if minute < 60 and (1 <= hour <= 12 if half else hour < 24):
            if half:
                hour = hour % 12 + (12 if half == "pm" else 0)
            return hour * 60 + minute
    raise BadPlan(f'"{text.strip()}" is no time of day; give one such as 18:00 or 6 pm.')


def moment(text: str, now: int, zone: tzinfo | None = None, what: str = "The serving time") -> int:
    """A time to come, as a person gives it -> UTC ms. A weekday is the next one, a bare time the next such time.

    BadPlan when it cannot be read, does not exist, or has passed.
    """
    words = text.strip()
    today = local(now, zone)
    day, _, rest = words.partition(" ")
    name = day.lower().rstrip(",.")
    try:
        if len(name) >= 3 and (number := next((i for i, d in enumerate(DAYS) if d.startswith(name)), None)) is not None:
            ahead = (number - today.weekday()) % 7
            at = _on(today, ahead, rest, zone)
            return at if at > now else _on(today, ahead + 7, rest, zone)
        if name in ("today", "tonight", "tomorrow"):
            at = _on(today, int(name == "tomorrow"), rest, zone)
        elif _CLOCK.fullmatch(words):
            at = _on(today, 0, words, zone)
            return at if at > now else _on(today, 1, words, zone)
        else:
            at = _dated(words, zone)
    except BadPlan as error:
        raise BadPlan(f"{what}: {error}") from None
    if at <= now:
        raise BadPlan(
            f"{what}, {local(at, zone):%a %d %b %Y %H:%M}, has passed: it is {today:%a %d %b %H:%M}; give a later one."
        )
    return at


def _on(today: datetime, ahead: int, clock: str, zone: tzinfo | None) -> int:
    minutes = clock_minutes(clock)
    day = today.date() + timedelta(days=ahead)
    return utc(datetime(day.year, day.month, day.day, minutes // 60, minutes % 60), zone)


def _dated(words: str, zone: tzinfo | None) -> int:
    try:
        when = datetime.fromisoformat(words)
    except ValueError:
        raise BadPlan(f'"{words}" cannot be read; {FORMS}.') from None
    if len(words) <= 10:
        raise BadPlan(f'"{words}" has no time of day; {FORMS}.')
    return round(when.timestamp() * 1000) if when.tzinfo else utc(when, zone)


def _minute_of_day(at: int, zone: tzinfo | None) -> int:
    when = local(at, zone)
    return when.hour * 60 + when.minute


@lru_cache(maxsize=1 << 15)  # a plan looks at the same minutes for every start
def _minute(at: int, zone: tzinfo) -> int:
    """The minute of the day, by UTC minutes."""
    return _minute_of_day(at * MINUTE, zone)


@dataclass(frozen=True)
class Sleep:
    """The cook's sleep by the clock, minutes since midnight; the same twice is none."""

    begin: int = 23 * 60
    end: int = 6 * 60
    zone: tzinfo | None = None

    @classmethod
    def read(cls, text: str, zone: tzinfo | None = None) -> Sleep:
        """'23:00-06:00' or 'none'. BadPlan on anything else, and on more than 14 hours."""
        words = text.strip().lower()
        if words in ("none", "no", ""):
            return cls(0, 0, zone)
        begin, dash, end = words.partition("-")
        if not dash:
            raise BadPlan(f'The sleep "{text}" has no end: give two times such as 23:00-06:00, or none.')
        try:
            found = cls(clock_minutes(begin), clock_minutes(end), zone)
        except BadPlan as error:
            raise BadPlan(f"The sleep: {error} It may not pass 24:00: two times such as 23:00-06:00.") from None
        minutes = (found.end - found.begin) % 1440 or 1440
        if minutes > SLEEP_MOST:
            raise BadPlan(
                f"A sleep from {text.strip()} takes {minutes / 60:g} h; a plan needs hands for at least "
                f"{24 - SLEEP_MOST // 60} h of a day: give a shorter one, or none."
            )
        return found

    def asleep(self, at: int) -> bool:
        """Whether the cook sleeps then."""
        minute = _minute(at // MINUTE, self.zone) if self.zone is not None else _minute_of_day(at, None)
        return (minute - self.begin) % 1440 < (self.end - self.begin) % 1440

    def free(self, begin: int, end: int) -> bool:
        """Whether the cook is awake from begin to end, looked at every 5 minutes."""
        return not any(self.asleep(at) for at in (*range(begin, end, 5 * MINUTE), end))

    def wakes(self, at: int) -> int:
        """When the cook is awake next, from `at` on."""
        while self.asleep(at):
            at = at - at % MINUTE + MINUTE
        return at

    def lost(self, begin: int, end: int) -> int:
        """The sleep that something from begin to end costs, ms: to bed after it, or up before it, whichever is less."""
        marks = [at for at in (*range(begin, end, 5 * MINUTE), end) if self.asleep(at)]
        if not marks:
            return 0
        wakes = self.wakes(marks[-1])
        slept = wakes - (self.end - self.begin) % 1440 * MINUTE  # an hour off in a night in which the clocks change
        return max(0, min(end - slept, wakes - begin))

    def before(self, at: int, length: int) -> int:
        """The latest begin of `length` ms awake that end by `at`; a day earlier at most."""
        begin = at - length
        for back in range(0, DAY, 5 * MINUTE):
            if self.free(begin - back, begin - back + length):
                return begin - back
        return begin

    def words(self) -> str:
        """'23:00-06:00', 'none'."""
        if self.begin == self.end:
            return "none"
        return "-".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in (self.begin, self.end))
