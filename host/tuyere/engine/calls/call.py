"""One call: what is known of a cause for which somebody is called, and of the message that is on its way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct, field

from tuyere.cook.snapshot import Alarm
from tuyere.engine.calls.message import CALL, WARNING, Cause, Now
from tuyere.engine.calls.routes import Route, Routes

MINUTE = 60_000
UNHEARD = MINUTE  # no route has accepted a call for this long: the next routes, the bell, the board's buzzer
GONE = 5 * MINUTE  # a cause that is gone for this long is over; one that flaps is not
WARNED = 60 * MINUTE  # a warning of the same cause is not sent again within this
DROP = 10 * MINUTE  # a message that need not wake anybody is given up after this long
RETRY = (5_000, 10_000, 20_000, 30_000)  # after the first failures; later ones wait as long as the last
PATIENCE = {"link_lost": MINUTE}  # causes that come back by themselves: a cable that is moved, a restart


class Job(Struct, kw_only=True):
    """A message to be sent now, by one route."""

    attempt: str
    code: str
    route: Route
    title: str
    body: str
    urgent: bool


class Call(Struct, kw_only=True):
    """One cause."""

    code: str
    alarm: int
    urgent: bool
    cause: Cause
    due: int = 0  # when the next round is; 0: none
    every: int = 0  # ms from the last acceptance of a round to the next round
    kind: str = CALL  # of the present round
    count: int = 0  # rounds of calling so far
    round_at: int = 0
    raced_at: int = 0  # when the routes were last told for want of one that accepts
    accepted: bool = True  # by any route, in this round
    pending: list[str] = field(default_factory=list)  # routes that still have to accept this round
    ring: list[str] = field(default_factory=list)  # routes that are called
    since: dict[str, int] = field(default_factory=dict)  # when each of them was first called
    retry: dict[str, int] = field(default_factory=dict)
    fails: dict[str, int] = field(default_factory=dict)
    flight: dict[str, str] = field(default_factory=dict)  # route -> attempt
    told: list[str] = field(default_factory=list)  # routes that have accepted something of it
    told_at: int = 0
    gone: int = 0  # since when the cause does not stand; 0: it stands
    over: bool = False
    acked: int = 0
    silent: int = 0  # until
    unheard: bool = False

    def begin(self, now: int, last: int, book: Routes) -> None:
        """The alarm was raised. last: when somebody was last told of the same cause, 0 for never: no sooner than its
        repeat is there another message."""
        soonest = last + (round(book.repeat * MINUTE) if self.urgent else WARNED) if last else 0
        self.due = max(now + PATIENCE.get(self.code, 0), soonest)
        self.kind = CALL if self.urgent else WARNING

    def back(self, now: int, book: Routes) -> None:
        """It was over, and its cause is back while its alarm still stands."""
        self.over, self.kind = False, CALL
        self.due = max(now, self.told_at + round(book.repeat * MINUTE)) if self.urgent else 0

    def rest(self) -> None:
        """Nobody is called for it now."""
        self.due, self.pending, self.ring, self.unheard, self.accepted = 0, [], [], False, True
        self.since.clear()

    def answered(self, name: str, ok: bool, now: int) -> None:
        """A route's service has accepted the message, or not."""
        self.flight.pop(name, None)
        if ok:
            if self.due and name in self.pending:  # nobody is called twice within that
                self.due = max(self.due, now + self.every)
            self.accepted, self.unheard, self.told_at = True, False, now
            self.pending = [one for one in self.pending if one != name]
            self.told = [*(one for one in self.told if one != name), name]
            self.fails.pop(name, None)
        else:
            fails = self.fails[name] = self.fails.get(name, 0) + 1
            self.retry[name] = now + RETRY[min(fails, len(RETRY)) - 1]

    def hush(self, until: int) -> None:
        """A person is awake. It calls again then, if nothing has changed."""
        due = self.due
        self.rest()
        self.silent, self.due = until, max(due, until) if self.acked else until


class Given(Struct, kw_only=True):
    """All that a step of the calls depends on. `now` is in ms of their clock; `minute` is that of the day."""

    now: int
    minute: int
    clock: int  # the cook's
    cook: int | None
    standing: Sequence[Alarm]
    present: Iterable[str]  # codes whose causes stand at this moment
    routes: Routes
    seen: Now
    practice: bool = False
