"""The page's addresses (Starlette). Everything but the bare page and its pairing wants a paired device."""

from __future__ import annotations

import asyncio
import base64
import contextlib
import hashlib
import time
from collections.abc import AsyncIterator, Callable
from datetime import tzinfo
from functools import lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec
from msgspec import Struct
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from tuyere import unexpected
from tuyere.chart import svg
from tuyere.chart.colours import DARK, LIGHT
from tuyere.client.client import EngineError
from tuyere.printable import printable
from tuyere.text import Said
from tuyere.web import afar, page_words
from tuyere.web.devices import Device, Devices, TooMany
from tuyere.web.gate import Gate, Receive, Scope, Send, Tries
from tuyere.web.hub import WINDOWS, Hub, Who
from tuyere.web.report_of import Report

STATIC = Path(__file__).with_name("static")
COOKIE = "tuyere_device"
LINK = b'<link rel="stylesheet" href="/look.css">'
YEAR = 365 * 86_400  # s
BEAT = 5.0  # s between messages while nothing changes
STREAMS, STREAMS_EACH = 64, 6  # in all, and of one device
PAIRINGS, DEEDS = (10, 60.0), (40, 60.0)  # tries within s: of all strangers together; of one device
WIDTHS = (240, 1600)  # pixels of a picture
HEIGHTS = (140, 900)
KINDS = {".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml",
         ".webmanifest": "application/manifest+json"}  # fmt: skip


class Pairing(Struct, forbid_unknown_fields=True):
    """What a new device sends."""

    code: str
    name: str = ""


class Events(StreamingResponse):
    """A stream of one page; `ended()` is called when it is over, also if it never began."""

    def __init__(self, stream: AsyncIterator[bytes], ended: Callable[[], object]) -> None:
        headers = {"cache-control": "no-store", "x-accel-buffering": "no"}  # a proxy passes it on at once
        super().__init__(stream, media_type="text/event-stream", headers=headers)
        self._ended = ended

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._ended()


class Site:
    """One page. `hosts` and `scheme` as in `gate.Gate`."""

    def __init__(
        self,
        hub: Hub,
        devices: Devices,
        report: Report,
        *,
        home: Path,
        hosts: set[str],
        scheme: str = "http",
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self.hub, self.devices, self._report, self._home = hub, devices, report, home
        self._secure = scheme == "https"
        self._pairings, self._deeds = Tries(*PAIRINGS, monotonic), Tries(*DEEDS, monotonic)
        self._streams: dict[object, int] = {}  # open ones, oldest first -> their devices
        self._reporting = False
        self._closing = asyncio.Event()
        self._files, style = _files()
        routes = [
            *(Route(where, self._file) for where in self._files),
            Route("/pair", self._pair, methods=["POST"]),
            Route("/do", self._do, methods=["POST"]),
            Route("/events", self._events),
            Route("/trend.svg", self._trend),
            Route("/report", self._report_page),
            Route("/notes", self._notes),
        ]
        self.app = Gate(Starlette(routes=routes, exception_handlers={Exception: self._broken}), hosts, scheme, style)

    def close(self) -> None:
        """End all streams."""
        self._closing.set()
        self.hub.wake()

    # -- open to all ----------------------------------------------------------------------

    async def _file(self, request: Request) -> Response:
        kind, body = self._files[request.url.path]
        return Response(body, media_type=kind, headers={"cache-control": "no-cache"})

    async def _pair(self, request: Request) -> Response:
        if not self._pairings.more():
            return _refused("Too many tries: wait a minute, then ask for a new code with `tuyere web pair`.", 429)
        try:
            given = msgspec.json.decode(await request.body(), type=Pairing)
        except msgspec.MsgspecError:
            return _refused("A code is ten letters and digits.", 400)
        try:
            found = self.devices.pair(given.code, given.name)
        except TooMany as error:
            return _refused(str(error), 409)
        if found is None:
            return _refused("This code is wrong, old or used: ask for a new one with `tuyere web pair`.", 403)
        token, device = found
        if (before := self._device(request)) is not None:  # it is let in again: what it was before is over
            self.devices.withdraw(before.id)
        answer = JSONResponse({"name": device.name, "look": device.look})
        answer.set_cookie(
            COOKIE, token, max_age=YEAR, httponly=True, samesite="strict", secure=self._secure, path="/"
        )  # fmt: skip
        return answer

    # -- for paired devices -------------------------------------------------------------------

    def _device(self, request: Request) -> Device | None:
        return self.devices.known(request.cookies.get(COOKIE, ""))

    async def _do(self, request: Request) -> Response:
        device = self._device(request)
        if device is None:
            return _refused("This device is not paired.", 401)
        if not self._deeds.more(device.id):
            return _refused("Too many at once: wait a minute.", 429)
        who = _who(request, device)
        try:
            wanted = afar.read(await request.body())
            said = await afar.do(wanted, self.hub.call, look=device.look)
        except afar.NotFromAfar as error:
            return _refused(self._words(error.said, who), 403)
        except EngineError as error:
            return _refused(self._words(error.said, who), 409)
        return JSONResponse({"words": self._words(said, who)}, headers={"cache-control": "no-store"})

    def _words(self, said: Said, who: Who) -> str:
        return printable(self.hub.view(who).said(said))

    async def _notes(self, request: Request) -> Response:
        if self._device(request) is None:
            return _refused("This device is not paired.", 401)
        return JSONResponse(page_words.notes(_units(request)), headers={"cache-control": "no-store"})

    async def _trend(self, request: Request) -> Response:
        device = self._device(request)
        if device is None:
            return _refused("This device is not paired.", 401)
        window = request.query_params.get("window", "all")
        width, height = _within(request, "width", WIDTHS), _within(request, "height", HEIGHTS)
        body = self.hub.picture(_who(request, device), window if window in WINDOWS else "all", width, height)
        return Response(body, media_type="image/svg+xml", headers={"cache-control": "no-store"})

    async def _report_page(self, request: Request) -> Response:
        device = self._device(request)
        if device is None:
            return _refused("This device is not paired.", 401)
        shot = self.hub.shot
        if shot is None or shot.cook is None:
            return _refused("There is no cook to report on.", 404)
        if not self._deeds.more(device.id):
            return _refused("Too many at once: wait a minute.", 429)
        if self._reporting:  # each one costs a process some seconds
            return _refused("A report is being made just now: try again in a minute.", 429)
        zone = request.query_params.get("zone", "")
        self._reporting = True
        try:
            body = await self._report(shot.cook.id, _units(request), zone if zone_of(zone) else "")
        except (OSError, TimeoutError) as error:
            return _refused(f"No report: {printable(str(error)) or 'it took too long'}", 500)
        finally:
            self._reporting = False
        name = f'attachment; filename="cook-{shot.cook.id}.html"'
        headers = {"cache-control": "no-store", "content-disposition": name}
        return Response(body, media_type="text/html", headers=headers)

    async def _events(self, request: Request) -> Response:
        device = self._device(request)
        if device is None:
            return _refused("This device is not paired.", 401)
        its = [one for one, number in self._streams.items() if number == device.id]
        if len(its) >= STREAMS_EACH:  # the oldest may be one that a phone lost on its way: it makes room
            del self._streams[its[0]]
            self.hub.wake()
        elif len(self._streams) >= STREAMS:
            return _refused("Too many pages are open: close one.", 429)
        mine = object()
        self._streams[mine] = device.id
        stream = self._stream(request.cookies.get(COOKIE, ""), _who(request, device), mine)
        return Events(stream, lambda: self._streams.pop(mine, None))

    async def _stream(self, token: str, who: Who, mine: object) -> AsyncIterator[bytes]:
        """Server-sent events (https://html.spec.whatwg.org/multipage/server-sent-events.html): at first every part,
        then what has changed, with its age. A device that is withdrawn gets nothing more."""
        hub, sent, version, drawn = self.hub, dict[str, bytes](), -1, -1
        try:
            yield b"retry: 2000\n\n"
            while not self._closing.is_set():
                if self.devices.known(token) is None:
                    yield b"event: gone\ndata: {}\n\n"
                    return
                if mine not in self._streams:
                    yield b"event: crowded\ndata: {}\n\n"
                    return
                version, page = hub.version, hub.page(who)
                changed = {name: part for name, part in page.items() if sent.get(name) != part}
                sent = page
                fields = [b'"%s":%s' % (name.encode(), part) for name, part in changed.items()]
                fields.append(b'"fresh":' + msgspec.json.encode(page_words.fresh(hub.view(who))))
                if drawn != hub.drawn:
                    drawn = hub.drawn
                    fields.append(b'"drawn":%d' % drawn)
                yield b"data: {" + b",".join(fields) + b"}\n\n"
                await hub.newer(version, BEAT)
        except Exception as error:  # the browser asks again
            with contextlib.suppress(OSError):
                unexpected.keep(self._home, error, "the page's stream")

    async def _broken(self, request: Request, error: Exception) -> Response:
        """A fault in one request ends no other, and its details go to a file."""
        with contextlib.suppress(OSError):
            return _refused(unexpected.keep(self._home, error, f"the page {request.url.path}").split(";")[0], 500)
        return _refused("That failed.", 500)


def _refused(words: str, status: int) -> Response:
    return JSONResponse({"words": words}, status, headers={"cache-control": "no-store"})


def _units(request: Request) -> str:
    return "C" if request.query_params.get("units") == "C" else "F"


def _who(request: Request, device: Device) -> Who:
    return _units(request), zone_of(request.query_params.get("zone", "")), device.look


@lru_cache(64)
def zone_of(name: str) -> tzinfo | None:
    """A time zone by its name (IANA), None for one that is not known here."""
    if not 0 < len(name) <= 64 or name.startswith(("/", ".")) or ".." in name:
        return None
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        return None


def _within(request: Request, name: str, ends: tuple[int, int]) -> int:
    """A number of the query, held within ends and to tens, so that few pictures differ."""
    given = request.query_params.get(name, "")
    number = int(given) if given.isascii() and given.isdigit() and len(given) < 6 else ends[0]
    return min(ends[1], max(ends[0], number)) // 10 * 10


def _files() -> tuple[dict[str, tuple[str, bytes]], str]:
    """What anybody may load: address -> (kind, bytes); and the digest of the page's style, as a policy names it. The
    style stands in the page, so that the first paint waits for one answer only. The colours are those of the screen."""
    found: dict[str, tuple[str, bytes]] = {}
    for file in sorted(STATIC.iterdir()):
        if file.suffix in KINDS:
            found[f"/{file.name}"] = KINDS[file.suffix], file.read_bytes()
    dark, light = svg.variables(DARK), svg.variables(LIGHT)
    colours = f":root{{color-scheme:dark;{dark}}}:root[data-look=light]{{color-scheme:light;{light}}}{svg.rules()}"
    style = colours.encode() + found.pop("/look.css")[1]
    kind, body = found.pop("/page.html")
    body = body.replace(LINK, b"<style>" + style + b"</style>")
    found["/"] = found["/pair"] = kind, body  # a code comes after the #, which no server sees
    return found, f"'sha256-{base64.b64encode(hashlib.sha256(style).digest()).decode()}'"
