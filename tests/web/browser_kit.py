"""A real browser in front of the page: Debian's Chromium, driven by Playwright (the extra `browser`).

Where either is missing, these tests skip and say so; with TUYERE_BROWSER=1, as in `.ci/run`, they fail instead.
TUYERE_PICTURES names a folder for pictures of the page.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from tuyere.web.serve import Serving, listen
from tuyere.web.site import Site
from web_kit import Clock, Page

SIZES = {"phone": (360, 740), "tablet": (768, 1024), "desk": (1440, 900)}
CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), "")
MUST = os.environ.get("TUYERE_BROWSER") == "1"
WITHIN = 30_000  # ms


def missing() -> str:
    """Why there is no browser, "" if there is one."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "Playwright is missing: pip install '.[browser]'"
    return "" if CHROMIUM else "Chromium is missing: apt-get install chromium"


@contextmanager
def browser() -> Iterator[Any]:
    """Chromium, without a window."""
    if why := missing():
        if MUST:
            pytest.fail(why)
        pytest.skip(why)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


class Lasting(Clock):
    """The wall and steady time of this computer: a browser's clock cannot be moved by ours."""

    def __init__(self) -> None:
        super().__init__()
        import time

        self.wall = lambda: time.time_ns() // 1_000_000  # type: ignore[method-assign]
        self.steady = time.monotonic  # type: ignore[method-assign]


class Served:
    """A page of the kit on a real socket, in a thread of its own; `tell` acts on it there."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.port = 0
        self._start()

    def _start(self) -> None:
        page, sock = self.page, listen("127.0.0.1", self.port)
        self.port = sock.getsockname()[1]
        page.site = Site(
            page.hub, page.devices, page._report, home=page.devices._home, hosts={f"127.0.0.1:{self.port}"}
        )  # fmt: skip
        self._serving = Serving(page.site, sock)
        up = threading.Event()

        async def run() -> None:
            self._loop = asyncio.get_running_loop()
            page.engine.queue = asyncio.Queue()
            up.set()
            await self._serving.run()

        self._thread = threading.Thread(target=asyncio.run, args=(run(),), daemon=True)
        self._thread.start()
        assert up.wait(30)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def tell(self, act: Any, *given: Any) -> None:
        """Call something where the page runs, and wait for it."""
        done = threading.Event()
        self._loop.call_soon_threadsafe(lambda: (act(*given), done.set()))
        assert done.wait(30)

    def stop(self) -> None:
        """The page's program goes."""
        self._loop.call_soon_threadsafe(self._serving.stop)
        self._thread.join(30)
        assert not self._thread.is_alive()

    def again(self) -> None:
        """It comes back at the same place."""
        self._start()


def paired(context: Any, served: Served, look: bool = False) -> Any:
    """A page of that browser, let in by a code; what goes wrong in it is in its `wrong`."""
    page = context.new_page()
    page.set_default_timeout(WITHIN)
    page.wrong = []
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda message: page.wrong.append(message.text) if message.type == "error" else None)
    page.goto(f"{served.url}/pair#{served.page.devices.offer(look).replace('-', '')}")
    page.locator("#yes").click()
    page.locator("#pieces b").first.wait_for()
    page.wrong.clear()  # the browser itself says that it was not paired yet
    return page


def picture(page: Any, name: str, folder: Path) -> None:
    """Keep the page as a small picture."""
    from PIL import Image

    raw = folder / f"{name}.raw.png"
    page.screenshot(path=str(raw))
    with Image.open(raw) as found:
        found.convert("RGB").quantize(24).save(folder / f"{name}.png", optimize=True)
    raw.unlink()
