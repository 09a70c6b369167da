"""The test before bed, joined to the engine: asked for, sent, answered, and whether it still counts for this cook."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Any

import msgspec

from tuyere.cook.errors import Refusal
from tuyere.cook.faults import URGENT
from tuyere.engine.calls import bedtime, message
from tuyere.engine.calls.bedtime import Bedtime, Woken
from tuyere.engine.calls.call import Job
from tuyere.engine.calls.couriers import Couriers
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.routes import Routes
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.logbook import Logbook
from tuyere.text import Said

TEST = "test"  # code of a call that is no alarm
Note = Callable[..., None]  # (code, step, route, attempt=, words=): into the logbook


class Tested:
    """`note` writes a step, `now` is UTC ms, `active` whether the open cook calls anybody, `book` the routes."""

    def __init__(
        self, logbook: Logbook, board: Board, cooking: Cooking, calls: Calls, couriers: Couriers, note: Note,
        now: Callable[[], int], active: Callable[[], bool], book: Callable[[], Routes],
    ) -> None:  # fmt: skip
        self._logbook, self._board, self._cooking, self._calls, self._couriers = (
            logbook,
            board,
            cooking,
            calls,
            couriers,
        )
        self._note, self._now, self._active, self._book = note, now, active, book
        self._cook: int | None = None
        self._woken = Woken()
        self.bedtime = Bedtime()

    def follow(self, cook: int | None) -> None:
        """Another cook is open, or none."""
        self._cook = cook
        self._woken = Woken.read(self._logbook.cooks.text(cook, bedtime.NAME) if cook is not None else None)

    def step(self) -> None:
        """Send the test that is due."""
        for name, digits in self.bedtime.step(self._now(), self._book()):
            self._send(name, digits)

    def _send(self, name: str, digits: str) -> None:
        route = self._book().named(name)
        if route is not None:
            title, body = message.trial(digits, practice=self._board.practice)
            attempt = secrets.token_hex(8)
            self._note(TEST, "sending", name, attempt=attempt, words="test")
            self._calls.expect(attempt, TEST, name)
            self._couriers.send(Job(attempt=attempt, code=TEST, route=route, title=title, body=body, urgent=True))

    def _lit(self) -> int:
        """When the fire of the open cook was lit, the cook's clock; 0: it was not."""
        return min((event.at for event in self._cooking.events if event.kind == "started"), default=0)

    @property
    def watched(self) -> bool:
        """A test since the fire was lit has woken somebody, and by a route that there still is."""
        return self._woken.route in bedtime.sounding(self._book()) and self._woken.counts(self._now(), self._lit())

    async def wake_test(self) -> dict[str, Any]:
        """A real urgent call, two minutes from now."""
        if not self._book().calling(URGENT):
            raise Refusal("there is no route for urgent calls: add one with `tuyere wake add`")
        if not self._active():
            raise Refusal("no cook is open that calls anybody: a test counts once the fire is lit")
        if not self._lit():
            raise Refusal("the fire has not been started yet: a test counts once it burns")
        self.bedtime.ask(self._now())
        self._note(TEST, "asked")
        words = (
            "A test call goes out in 2 min. Lock the phone in its night mode now, and lay it where it lies at night. "
            "It brings four digits."
        )
        return {"ok": True, "words": words, "seconds": bedtime.AFTER // 1000}

    async def wake_answer(self, digits: str, sounded: bool) -> dict[str, Any]:
        """The digits that the test brought, and whether the phone sounded."""
        if not self.bedtime.waits(self._now()):
            raise Refusal("no test waits for its digits: ask for one first")
        name = self.bedtime.answer(str(digits), self._now())
        route = self._book().named(name) if name else None
        if route is None:
            raise Refusal("no route brought these digits: type the four of the newest test")
        said: Said = ""
        if sounded is not True:
            self.bedtime.end()
            said = (
                f"The night is not watched: {name} brought the call, and nothing sounded. Let its app through the "
                "phone's night mode and silent switch, then test again."
            )
        elif route.mail:
            said = f"The night is not watched: {name} is a mail, which wakes nobody. Type the digits of another route."
        if said:
            self._note(TEST, "denied", name)
            return {"ok": False, "words": said}
        self.bedtime.end()
        self._woken = Woken(name, self._now(), self._board.clock.now())
        if self._cook is not None:
            self._logbook.cooks.set_text(self._cook, bedtime.NAME, msgspec.json.encode(self._woken).decode())
        self._note(TEST, "confirmed", name)
        return {"ok": True, "words": f"The night is watched: {name} wakes you, for the next 18 h of this fire."}
