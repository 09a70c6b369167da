"""A page in front of a scripted cook, asked over ASGI without a socket; the clocks are the test's."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import msgspec
from fake_source import FakeSource
from tuyere.cook.snapshot import Snapshot
from tuyere.web.devices import Devices
from tuyere.web.hub import Hub
from tuyere.web.site import COOKIE, Site

HOST = "127.0.0.1:8424"
ORIGIN = f"http://{HOST}"


class Clock:
    """Wall (ms) and steady (s) time, moved by hand."""

    def __init__(self) -> None:
        self.ms = 1_790_000_000_000

    def wall(self) -> int:
        return self.ms

    def steady(self) -> float:
        return self.ms / 1000

    def on(self, seconds: float) -> None:
        self.ms += round(seconds * 1000)


class Engine(FakeSource):
    """Answers as an engine does: a snapshot is plain data."""

    async def call(self, method: str, **params: Any) -> Any:
        found = await super().call(method, **params)
        return msgspec.to_builtins(found) if isinstance(found, Snapshot) and params.get("plain", True) else found


class Answer:
    """What came back."""

    def __init__(self) -> None:
        self.status = 0
        self.headers: dict[str, str] = {}
        self.body = b""
        self.chunks: list[bytes] = []

    @property
    def json(self) -> Any:
        return json.loads(self.body)

    @property
    def words(self) -> str:
        """The sentence of a refusal or an answer."""
        return str(self.json["words"]) if self.headers["content-type"] == "application/json" else self.body.decode()

    @property
    def news(self) -> list[dict[str, Any]]:
        """Of a stream, what each message held."""
        text = b"".join(self.chunks).decode()
        return [json.loads(part[6:]) for part in text.split("\n\n") if part.startswith("data: ")]


class Page:
    """A site, its devices, its engine. `token` is that of a paired device."""

    def __init__(
        self, home: Path, shot: Snapshot | None = None, *, scheme: str = "http", look: bool = False,
        clock: Clock | None = None,
    ) -> None:  # fmt: skip
        self.clock = clock or Clock()
        self.engine = Engine(shot=shot)
        self.devices = Devices(home, self.clock.wall)
        self.hub = Hub(self._connect, self.clock.steady)
        self.reports: list[tuple[int, str, str]] = []
        self.site = Site(
            self.hub, self.devices, self._report, home=home, hosts={HOST, "localhost:8424"}, scheme=scheme,
            monotonic=self.clock.steady,
        )  # fmt: skip
        paired = self.devices.pair(self.devices.offer(look), "a phone")
        assert paired is not None
        self.token, self.device = paired
        self.hub.follower.source = self.engine
        self.hub.found()
        self.hub.take_snapshot(self.engine.shot)
        self.hub.take_trend(self.engine.columns)

    async def _connect(self) -> Engine:
        return self.engine

    async def _report(self, cook: int, units: str, zone: str) -> bytes:
        self.reports.append((cook, units, zone))
        return b"<!doctype html>"

    def get(self, where: str, **given: Any) -> Answer:
        return asyncio.run(self.ask("GET", where, **given))

    def post(self, where: str, body: Any, **given: Any) -> Answer:
        return asyncio.run(self.ask("POST", where, body=body, **given))

    def do(self, **wanted: Any) -> Answer:
        return self.post("/do", wanted)

    async def ask(
        self, method: str, where: str, *, body: Any = None, host: str | None = HOST, origin: str | None = ORIGIN,
        token: str | None = "", kind: str = "application/json", chunks: int = 10**9,
        headers: tuple[tuple[bytes, bytes], ...] = (),
    ) -> Answer:  # fmt: skip
        """One request. `chunks`: hang up after so many parts of the answer. token "" is the paired device's."""
        path, _, query = where.partition("?")
        sent = list(headers)
        if host is not None:
            sent.append((b"host", host.encode()))
        if origin is not None and method == "POST":
            sent.append((b"origin", origin.encode()))
        if token is not None:
            sent.append((b"cookie", f"{COOKIE}={token or self.token}".encode()))
        data = body if isinstance(body, bytes) else json.dumps(body).encode() if body is not None else b""
        if method == "POST":
            sent.append((b"content-type", kind.encode()))
        answer, gone = Answer(), asyncio.Event()
        parts = [data[i : i + 1000] for i in range(0, len(data), 1000)] or [b""]

        async def receive() -> dict[str, Any]:
            if parts:
                part = parts.pop(0)
                return {"type": "http.request", "body": part, "more_body": bool(parts)}
            await gone.wait()
            return {"type": "http.disconnect"}

        async def send(message: Any) -> None:
            if message["type"] == "http.response.start":
                answer.status = message["status"]
                answer.headers = {name.decode(): value.decode() for name, value in message["headers"]}
            elif message.get("body"):
                answer.body += message["body"]
                answer.chunks.append(message["body"])
                if len(answer.chunks) >= chunks:
                    gone.set()

        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
            "path": path, "raw_path": path.encode(), "query_string": query.encode(), "headers": sent,
            "client": ("127.0.0.1", 5000), "server": ("127.0.0.1", 8424), "root_path": "",
        }  # fmt: skip
        await self.site.app(scope, receive, send)
        return answer
