"""The heartbeat: an address of the user's is asked while all is well, so that silence is noticed elsewhere.

A host that sleeps, hangs or has lost its board cannot call. A service that expects this request every few minutes, and
calls when it stays away, notices. Nothing is sent with it.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Coroutine
from typing import Any

from tuyere.engine.calls.post import Outcome
from tuyere.engine.calls.routes import Route, Routes

WITHIN = 10.0  # s for the answer
AT_MOST = 30.0  # s for all of it: a name that is looked up and an answer that drips have no limit of their own
MINUTE = 60_000

Ask = Callable[[str], Outcome]


def ask(address: str) -> Outcome:
    """One request; any answer below 400 is good. The error never quotes the address."""
    try:
        request = urllib.request.Request(address, headers={"User-Agent": "tuyere"})
        with urllib.request.urlopen(request, timeout=WITHIN):
            return Outcome(True)
    except urllib.error.HTTPError as error:
        return Outcome(False, f"refused (HTTP {error.code})")
    except TimeoutError:
        return Outcome(False, "no answer")
    except Exception:  # its words may quote the address
        return Outcome(False, "could not be reached")


def _aside(ask: Ask, address: str) -> asyncio.Future[Outcome]:
    """Ask in a thread that does not keep the process alive: an engine ends whatever the address does."""
    loop = asyncio.get_running_loop()
    answer: asyncio.Future[Outcome] = loop.create_future()

    def take(outcome: Outcome) -> None:
        if not answer.done():
            answer.set_result(outcome)

    def run() -> None:
        outcome = ask(address)
        with contextlib.suppress(RuntimeError):  # the loop has ended
            loop.call_soon_threadsafe(take, outcome)

    threading.Thread(target=run, daemon=True).start()
    return answer


class Pulse:
    """Beats every few minutes. `said(route, outcome)` hears the first, each change, and one an hour."""

    def __init__(
        self,
        task: Callable[[Coroutine[Any, Any, Any]], None],
        said: Callable[[Route, Outcome], None],
        ask: Ask = ask,
    ) -> None:
        self._task, self._said, self._ask = task, said, ask
        self._next: dict[str, int] = {}
        self._asking: set[str] = set()
        self._last: dict[str, tuple[bool, int]] = {}  # route -> whether it went well, when that was said

    def step(self, now: int, book: Routes, well: bool) -> None:
        """Let time pass. well: the board's records come in, or no cook needs them."""
        for route in book.heartbeats if well else ():
            if route.name not in self._asking and now >= self._next.get(route.name, 0):
                self._next[route.name] = now + round(book.beat * MINUTE)
                self._asking.add(route.name)
                self._task(self._beat(route, now))

    async def _beat(self, route: Route, now: int) -> None:
        try:
            outcome = await asyncio.wait_for(_aside(self._ask, route.address), AT_MOST)
        except TimeoutError:
            outcome = Outcome(False, "no answer")
        finally:
            self._asking.discard(route.name)
        well, at = self._last.get(route.name, (not outcome.ok, 0))
        if well != outcome.ok or now - at >= 60 * MINUTE:
            self._last[route.name] = (outcome.ok, now)
            self._said(route, outcome)
