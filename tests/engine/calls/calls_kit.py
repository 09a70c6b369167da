"""Calls in front of a clock that is handed in: alarms that come and go, services that take or refuse."""

from __future__ import annotations

from typing import Any

from tuyere.cook.snapshot import Alarm
from tuyere.engine.calls.call import Given, Job
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.message import Now
from tuyere.engine.calls.routes import Route, Routes
from tuyere.logbook.rows import CallStep
from tuyere.text import Temperature, text

MINUTE = 60_000
NIGHT = 1_900_000_000_000
SECRET = "tk_Zq81mmWx"


def route(name: str, **more: Any) -> Route:
    return Route(**{"name": name, "address": f"ntfy://{SECRET}", "kind": "ntfy", "units": "C", **more})


def alarm(code: str, number: int = 1, **more: Any) -> Alarm:
    return Alarm(**{
        "id": number, "raised": NIGHT, "level": "urgent", "code": code, "what": f"The cause {code}",
        "checks": [text("Look at the fire, it stands at {pit}", pit=Temperature(96.0))], **more,
    })  # fmt: skip


class Night:
    """One cook's calls. `standing` are the alarms, `present` the causes; services answer at once as `takes` says."""

    def __init__(self, *routes: Route, **times: float) -> None:
        self.book = Routes(routes=list(routes) or [route("phone")], **times)
        self.written: list[CallStep] = []
        self.count = 0
        self.calls = self.new()
        self.now = NIGHT
        self.standing: dict[str, Alarm] = {}
        self.present: set[str] = set()
        self.takes: dict[str, str] = {}  # route -> why not; "wait": no answer comes
        self.sent: list[tuple[float, Job]] = []  # minute, message
        self.minute = 180
        self.practice = False
        self.open: list[Job] = []

    def new(self) -> Calls:
        def name() -> str:
            self.count += 1
            return f"a{self.count}"

        return Calls(self.written.extend, name)

    def stand(self, code: str, **more: Any) -> None:
        self.standing[code] = alarm(code, len(self.standing) + 1, **more)
        self.present.add(code)

    def acknowledge(self, code: str) -> None:
        self.standing[code].acknowledged = self.now

    def go(self, minutes: float, each: int = 5000) -> list[str]:
        """Let minutes pass; 'route title' of what was sent meanwhile."""
        before, until = len(self.sent), self.now + round(minutes * MINUTE)
        while True:
            for job in self.calls.step(self.given()):
                self.sent.append(((self.now - NIGHT) / MINUTE, job))
                why = self.takes.get(job.route.name, "")
                if why == "wait":
                    self.open.append(job)
                else:
                    self.calls.outcome(job.attempt, not why, why, self.now)
            if self.now >= until:
                break
            self.now += each
        return [f"{job.route.name} {job.title}" for _, job in self.sent[before:]]

    def given(self) -> Given:
        return Given(
            now=self.now, minute=self.minute, clock=self.now, cook=1, standing=list(self.standing.values()),
            present=self.present, routes=self.book, practice=self.practice,
            seen=Now(self.now, 128.0, [("Alder", 71.0), ("Bramble", None)]),
        )  # fmt: skip

    def killed(self) -> None:
        """The engine was killed; another one starts with what is written."""
        self.calls = self.new()
        self.calls.take_up(self.written, self.book)

    def times(self, name: str = "phone") -> list[float]:
        return [at for at, job in self.sent if job.route.name == name]

    def steps(self, code: str = "") -> list[str]:
        return [one.step for one in self.written if not code or one.code == code]
