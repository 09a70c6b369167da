"""The life of a call (ISA-18.2): raised, sent, accepted or failed, repeated, escalated, acknowledged, over.

One call a cause. It knows routes by name. Its caller hands in the time and what became of each sending; it
opens no connection. Every step is written down before what it announces is done, so that an engine that was killed goes
on where it was. All times are ms of a clock that goes on while the machine sleeps, unless they say "the cook's clock".
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence

from tuyere.cook.care import rank
from tuyere.cook.faults import URGENT
from tuyere.cook.snapshot import Alarm
from tuyere.engine.calls import message, taken_up
from tuyere.engine.calls.call import DROP, GONE, MINUTE, UNHEARD, Call, Given, Job
from tuyere.engine.calls.message import AGAIN, CALL, OVER, REPEAT, WARNING, Cause
from tuyere.engine.calls.routes import Routes
from tuyere.logbook.rows import CallStep

KEYS = "Answer on the screen: awake, acknowledge."


class Calls:
    """All calls of one cook. `write` stores steps; `name` makes the name of an attempt."""

    def __init__(
        self, write: Callable[[list[CallStep]], None], name: Callable[[], str] = lambda: secrets.token_hex(8)
    ) -> None:
        self._write, self._name = write, name
        self._calls: dict[str, Call] = {}
        self._flights: dict[str, tuple[str, str]] = {}  # attempt -> code, route
        self._steps: list[CallStep] = []
        self._given: Given | None = None
        self._warned: dict[str, int] = {}

    # -- what is known ----------------------------------------------------------------------

    @property
    def unheard(self) -> bool:
        """A call goes on that no route accepts: whatever can sound here must."""
        return any(call.unheard for call in self._calls.values())

    def calling(self, now: int) -> list[str]:
        """Codes of the causes for which somebody is called, the worst first."""
        active = [c for c in self._calls.values() if c.urgent and c.ring and not c.over and c.silent <= now]
        return [call.code for call in sorted(active, key=lambda c: rank(c.code))]

    def silent_until(self, now: int) -> int:
        """Until when "I'm awake" holds, 0 if it does not."""
        return max((c.silent for c in self._calls.values() if c.silent > now and not c.over), default=0)

    @property
    def flights(self) -> list[str]:
        """Attempts of which nobody knows yet what became."""
        return list(self._flights)

    # -- what happens -----------------------------------------------------------------------

    def step(self, given: Given) -> list[Job]:
        """Let time pass; the messages that are to be sent now."""
        self._given = given
        present, standing = set(given.present), {alarm.code: alarm for alarm in given.standing}
        for code, call in list(self._calls.items()):
            if code not in standing and not self._ended(call):
                del self._calls[code]
        for alarm in given.standing:
            self._look(alarm, alarm.code in present)
        for call in list(self._calls.values()):
            self._escalate(call)
        self._rounds()
        jobs = [job for call in list(self._calls.values()) for job in self._jobs(call)]
        self._flush()
        return jobs

    def expect(self, attempt: str, code: str, route: str) -> None:
        """Something that is no alarm's call is on its way, and its step is written."""
        self._flights[attempt] = (code, route)

    def outcome(self, attempt: str, ok: bool, why: str, now: int) -> tuple[str, str]:
        """What became of an attempt; (code, route) of it, empty if it is not known."""
        code, name = self._flights.pop(attempt, ("", ""))
        if not code:
            return "", ""
        call = self._calls.get(code)
        if call is not None:
            call.answered(name, ok, now)
        self._log(code, "accepted" if ok else "failed", call, name, attempt, why)
        self._flush()
        return code, name

    def awake(self, now: int, minutes: float) -> int:
        """A person says that they are awake: until when the present causes are silent; 0 if nobody is called."""
        until, found = now + round(minutes * MINUTE), 0
        for call in self._calls.values():
            if call.urgent and not call.over:
                call.hush(until)
                found = until
        if found:
            self._log("", "silenced", None, words=f"{minutes:g} min")
            self._flush()
        return found

    def take_up(self, steps: Sequence[CallStep], book: Routes) -> None:
        """Go on with the calls whose steps the logbook has."""
        self._calls, self._flights, self._warned = taken_up.read(steps, book)

    def move(self, by: int) -> None:
        """Their clock has stepped by `by` ms."""
        for call in self._calls.values():
            for name in ("due", "round_at", "raced_at", "told_at", "gone", "acked", "silent"):
                value = getattr(call, name)
                setattr(call, name, value + by if value else 0)
            call.since = {name: at + by for name, at in call.since.items()}
            call.retry = {name: at + by for name, at in call.retry.items()}
        self._warned = {code: at + by for code, at in self._warned.items()}

    # -- one alarm ----------------------------------------------------------------------------

    def _look(self, alarm: Alarm, present: bool) -> None:
        given = self._the
        now, urgent = given.now, alarm.level == URGENT
        cause = Cause(alarm.what, alarm.raised, alarm.checks[0] if alarm.checks else "")
        call = self._calls.get(alarm.code)
        if call is None or (call.alarm != alarm.id and call.alarm > 0):  # below 0: it was not in the logbook yet
            last = max(call.told_at if call is not None else 0, self._warned.get(alarm.code, 0))
            call = Call(code=alarm.code, alarm=alarm.id, urgent=urgent, cause=cause)
            self._calls[alarm.code] = call
            call.begin(now, last, given.routes)
            self._log(alarm.code, "raised", call, words=alarm.level)
        call.cause, call.alarm = cause, alarm.id
        if alarm.acknowledged and not call.acked:
            call.acked = now
            call.rest()
            call.kind = AGAIN
            call.due = now + round(given.routes.again * MINUTE) if urgent else 0
            self._log(call.code, "acknowledged", call)
        if alarm.shelved > given.clock and urgent:
            call.rest()
            call.due = call.silent = now + alarm.shelved - given.clock
        if present:
            call.gone = 0
            if call.over:  # it is back, and nobody has acknowledged it
                call.back(now, given.routes)
                self._log(call.code, "raised", call, words=alarm.level)
        elif not call.over:
            call.gone = call.gone or now
            if now - call.gone >= GONE:
                self._over(call)

    def _ended(self, call: Call) -> bool:
        """The alarm has been cleared; True while a message about that is still to be sent."""
        if not call.over:
            self._over(call)
        return bool(call.pending) and self._the.now - call.round_at < DROP

    def _over(self, call: Call) -> None:
        """The cause has gone. Who was called hears of it once, unless a person has acknowledged it."""
        told, acked = list(call.told), call.acked
        self._warned[call.code] = max(call.told_at, self._warned.get(call.code, 0))
        call.rest()
        call.over = True
        self._log(call.code, "over", call)
        if call.urgent and told and not acked:
            call.kind, call.pending, call.round_at = OVER, told, self._the.now

    # -- rounds ---------------------------------------------------------------------------------

    def _rounds(self) -> None:
        """Begin the rounds that are due. Repeats of several causes are one message, about the worst."""
        now, book = self._the.now, self._the.routes
        due = [c for c in self._calls.values() if c.due and c.due <= now and not c.over and not c.gone]
        repeats = sorted((c for c in due if c.urgent and c.count and not c.acked), key=lambda c: rank(c.code))
        for call in due:
            if call in repeats[1:]:
                call.due = now + round(book.repeat * MINUTE)
                continue
            self._round(call)

    def _round(self, call: Call) -> None:
        given = self._the
        now, book, level = given.now, given.routes, URGENT if call.urgent else WARNING
        known = {one.name: one for one in book.routes}
        ring = [name for name in call.ring if name in known] or [one.name for one in book.first(level)]
        ring = [name for name in ring if known[name].open(given.minute)]
        if not ring:
            return  # nobody may be called at this hour: it is looked at again
        call.ring, call.pending, call.round_at, call.raced_at = ring, list(ring), now, now
        call.accepted, call.count, call.silent = False, call.count + 1, 0
        call.retry.clear()
        call.fails.clear()
        for name in ring:
            call.since.setdefault(name, now)
        if not call.urgent:
            call.due, call.accepted = 0, True
            return
        call.every = round((book.again if call.acked else book.repeat) * MINUTE)
        call.due = now + call.every
        if call.acked:
            self._log(call.code, "again", call)
        elif call.count > 1:
            call.kind = REPEAT

    def _escalate(self, call: Call) -> None:
        """Nobody answers, or nothing accepts: the next routes."""
        given, now = self._the, self._the.now
        if call.kind in (WARNING, OVER) and call.pending and now - call.round_at >= DROP:
            call.pending = []
        if not call.urgent or call.over or not call.ring:
            return
        known = {one.name: one for one in given.routes.routes}
        late = [
            known[name] for name in call.ring
            if name in known and not call.acked and now - call.since.get(name, now) >= known[name].after * MINUTE
        ]  # fmt: skip
        if not call.accepted and now - call.raced_at >= UNHEARD:
            call.raced_at = now
            late = [known[name] for name in call.ring if name in known]
            if not call.unheard:
                call.unheard = True
                self._log(call.code, "unheard", call)
        for one in late:
            following = known.get(one.next)
            while following is not None and not following.open(given.minute):
                following = known.get(following.next)
            if following is not None and following.name not in call.ring:
                call.ring.append(following.name)
                call.pending.append(following.name)
                call.since[following.name] = now
                self._log(call.code, "escalated", call, following.name)

    def _jobs(self, call: Call) -> list[Job]:
        """What is to be sent of the present round."""
        given, jobs = self._the, []
        for name in call.pending:
            route = given.routes.named(name)
            if route is None or name in call.flight or call.retry.get(name, 0) > given.now:
                continue
            attempt = call.flight[name] = self._name()
            self._flights[attempt] = (call.code, name)
            kind = REPEAT if call.kind == CALL and call.count > 1 else call.kind
            others = sum(1 for c in self._calls.values() if c.urgent and not c.over and not c.acked and c is not call)
            title, body = message.compose(
                kind, call.cause, given.seen, units=route.units, count=call.count, practice=given.practice,
                more=others if call.urgent and kind != OVER else 0,
                keys=KEYS if call.urgent and kind != OVER else "",
            )  # fmt: skip
            self._log(call.code, "sending", call, name, attempt, f"{kind} {call.count}")
            waking = call.urgent and kind != OVER
            jobs.append(Job(attempt=attempt, code=call.code, route=route, title=title, body=body, urgent=waking))
        call.pending = [name for name in call.pending if given.routes.named(name) is not None]
        return jobs

    # -- what is written ---------------------------------------------------------------------------

    @property
    def _the(self) -> Given:
        assert self._given is not None
        return self._given

    def _log(
        self, code: str, step: str, call: Call | None, route: str = "", attempt: str = "", words: str = ""
    ) -> None:
        given = self._given
        if given is None:
            return
        self._steps.append(CallStep(
            cook=given.cook, code=code, alarm=call.alarm if call is not None else 0, step=step, at=given.clock,
            wall=given.now, route=route, attempt=attempt, words=words,
        ))  # fmt: skip

    def _flush(self) -> None:
        steps, self._steps = self._steps, []
        if steps:
            self._write(steps)
