"""Who is answered at all: host, origin, size, headers. An ASGI layer before everything else.

A page of another site cannot reach in: its name is no host of ours (DNS rebinding), its origin is not ours, its
requests carry no cookie (SameSite=Strict), and a plain form cannot send JSON. See OWASP's cheat sheets on cross-site
request forgery and on content security policy (owasp.org).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
LONGEST = 4096  # bytes of a request's body
POLICY = (
    "default-src 'none'; script-src 'self'; style-src {style}; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types 'none'"
)
HEADERS = [
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
]


class Tries:
    """How often something may be tried: `most` times within `span` seconds."""

    def __init__(self, most: int, span: float, clock: Callable[[], float]) -> None:
        self._most, self._span, self._clock = most, span, clock
        self._at: dict[object, deque[float]] = {}

    def more(self, who: object = None) -> bool:
        """Count one more try; False if it is one too many."""
        now = self._clock()
        for key in [key for key, at in self._at.items() if at and now - at[-1] > self._span]:
            del self._at[key]
        its = self._at.setdefault(who, deque())
        while its and now - its[0] > self._span:
            its.popleft()
        if len(its) >= self._most:
            return False
        its.append(now)
        return True


class Gate:
    """`hosts` are the names by which the page is reached, with their ports; `scheme` is how a browser reaches it.
    style: the one style sheet that may stand in the page, by its digest."""

    def __init__(
        self, app: Callable[[Scope, Receive, Send], Awaitable[None]], hosts: set[str], scheme: str, style: str
    ) -> None:  # fmt: skip
        self._app, self._hosts = app, hosts
        self._headers = [*HEADERS, (b"content-security-policy", POLICY.format(style=style).encode())]
        self._origins = {f"{scheme}://{host}" for host in hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":  # nothing here speaks WebSocket
            await send({"type": "websocket.close", "code": 1008})
            return

        async def answer(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *self._headers]
            await send(message)

        trouble = self._refused(scope)
        if trouble:
            await refuse(answer, *trouble)
            return
        if scope["method"] == "POST":
            body = await _body(receive)
            if body is None:
                await refuse(answer, 413, f"A request may have {LONGEST} bytes.")
                return
            receive = _again(body)
        await self._app(scope, receive, answer)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        """(status, why), None for a request that may go on."""
        given: dict[bytes, list[bytes]] = {}
        for name, value in scope["headers"]:
            given.setdefault(name, []).append(value)
        hosts = [one.decode("latin-1").lower() for one in given.get(b"host", [])]
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return 421, "This name is none of the page's: open it by the address that `tuyere web` says."
        origins = [one.decode("latin-1").lower() for one in given.get(b"origin", [])]
        if any(one not in self._origins for one in origins):
            return 403, "Another site's page may not ask here."
        if scope["method"] == "POST":
            if not origins:
                return 403, "A request that changes something must say where it comes from."
            kind = b"".join(given.get(b"content-type", [])).split(b";")[0].strip().lower()
            if kind != b"application/json":
                return 415, "Send JSON."
        elif scope["method"] not in ("GET", "HEAD"):
            return 405, "Only GET and POST are known here."
        return None


async def _body(receive: Receive) -> bytes | None:
    """The whole body, None if it is too long."""
    body = b""
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return body
        body += message.get("body", b"")
        if len(body) > LONGEST:
            return None
        if not message.get("more_body", False):
            return body


def _again(body: bytes) -> Receive:
    """Hands a body out that was read already."""
    given = [False]

    async def receive() -> MutableMapping[str, Any]:
        if given[0]:
            return {"type": "http.disconnect"}
        given[0] = True
        return {"type": "http.request", "body": body, "more_body": False}

    return receive


async def refuse(send: Send, status: int, words: str) -> None:
    """A sentence instead of the page."""
    body = words.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode()),
               (b"cache-control", b"no-store")]  # fmt: skip
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
