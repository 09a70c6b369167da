"""The page: first paint, how fast a cycle reaches a browser, what twenty browsers cost, a day without growth.

    python tests/bench/page.py [--browsers 20] [--seconds 60] [--smoke]

An engine with a twin, and `tuyere web`, each a process as a user starts it. Twenty browsers are twenty connections that
take the stream and the picture as the page's script does; the first paint and the growth are of a real Chromium, if
Playwright and Chromium are here. Processor time is of the processes' own counts (Linux).
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

from tuyere import paths
from tuyere.client.client import Client

PORT = 8498
HOST = f"127.0.0.1:{PORT}"
EACH = 5  # browsers a device; the page lets six in
TICKS = os.sysconf("SC_CLK_TCK")


LEFT: list[float] = []  # wall s, when the newest record left the board
RECORD = 100  # characters of a line; what is shorter is a heartbeat or an answer


def wire(port: int) -> int:
    """A relay to the twin's port; its own port."""
    ear = socket.create_server(("127.0.0.1", 0))

    def carry(source: socket.socket, target: socket.socket, note: bool) -> None:
        rest = b""
        with contextlib.suppress(OSError):
            while data := source.recv(4096):
                *lines, rest = (rest + data).split(b"\n")
                if note and any(len(line) > RECORD for line in lines):
                    LEFT[:] = [time.time()]
                target.sendall(data)

    def serve() -> None:
        while True:
            near, _ = ear.accept()
            far = socket.create_connection(("127.0.0.1", port))
            for ends in ((near, far, False), (far, near, True)):
                threading.Thread(target=carry, args=ends, daemon=True).start()

    threading.Thread(target=serve, daemon=True).start()
    return int(ear.getsockname()[1])


class Rig:
    """Engine, twin and page in a folder of their own. At speed 1 the twin is reached through a wire that notes when
    each record leaves the board."""

    def __init__(self, home: Path, speed: str) -> None:
        self.env = {**os.environ, "TUYERE_HOME": str(home), "PYTHONUNBUFFERED": "1"}
        self.home = home
        self.made: list[subprocess.Popen[str]] = []
        if speed == "1":
            self.made.append(self._run("twin", "--tcp", "--speed", "1", "--home", str(home / "twin")))
            self.made.append(self._run("keep", "--port", f"socket://127.0.0.1:{wire(self._twin())}"))
        else:
            self.made.append(self._run("keep", "--twin", "--speed", speed, "--seed", "3", "--hours", "40"))
        until = time.monotonic() + 60
        while not paths.engine_file(home).exists() and time.monotonic() < until:
            time.sleep(0.1)
        self.web = self._run("web", "--port", str(PORT))
        self.made.append(self.web)
        assert self.web.stdout is not None
        first = self.web.stdout.readline() + self.web.stdout.readline()
        code = re.search(r"#(\w+)", first)
        assert code, first
        self.cookie = self._pair(code[1])

    def device(self) -> str:
        """The cookie of one more device."""
        shown = subprocess.run(
            [sys.executable, "-m", "tuyere", "web", "pair"], env=self.env, text=True, capture_output=True, check=True
        )
        code = re.search(r"#(\w+)", shown.stdout)
        assert code, shown.stdout
        return self._pair(code[1])

    def _twin(self) -> int:
        """The twin's own TCP port."""
        until = time.monotonic() + 60
        while time.monotonic() < until:
            with contextlib.suppress(OSError, ValueError, KeyError):
                return int(json.loads(paths.twin_file(self.home / "twin").read_text())["tcp"].rpartition(":")[2])
            time.sleep(0.1)
        raise RuntimeError("the twin did not come up")

    async def cook(self) -> None:
        """Begin a cook with a piece."""
        client = await Client.open(self.home)
        while (await client.snapshot()).cycle is None:
            await asyncio.sleep(0.2)
        await client.call("cook_start", name="Bench")
        await client.call("piece_add", name="Flat", probe=1)
        await client.call("order", name="start")
        await client.close()

    def _run(self, *given: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", "tuyere", *given], env=self.env, text=True, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def _pair(self, code: str) -> str:
        talk = HTTPConnection("127.0.0.1", PORT)
        body = json.dumps({"code": code, "name": "bench"})
        talk.request("POST", "/pair", body, {"origin": f"http://{HOST}", "content-type": "application/json"})
        answer = talk.getresponse()
        assert answer.status == 200, answer.read()
        return (answer.getheader("set-cookie") or "").split(";")[0]

    def pid(self, name: str) -> int:
        if name == "page":
            return self.web.pid
        return int(json.loads(paths.engine_file(self.home).read_text())["pid"])

    def end(self) -> None:
        subprocess.run(
            [sys.executable, "-m", "tuyere", "keep", "--end"], env=self.env, capture_output=True, check=False
        )
        for one in self.made:
            one.terminate()
            one.wait(30)


def spent(pid: int) -> float:
    """Processor seconds of a process."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def resident(pid: int) -> float:
    """MB."""
    found = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) / 1024 if found else 0.0


async def follow(cookie: str, delays: list[float], sizes: list[int], until: float) -> None:
    """A browser: the stream, and a picture when the trend has grown, at most every 2 s. delays: ms from a record's
    leaving the board to its arrival here."""
    reader, writer = await asyncio.open_connection("127.0.0.1", PORT)
    writer.write(f"GET /events HTTP/1.1\r\nhost: {HOST}\r\ncookie: {cookie}\r\n\r\n".encode())
    last, drawn_at = 0, 0.0
    status = await reader.readline()
    assert b" 200 " in status, status
    try:
        while (left := until - time.monotonic()) > 0:
            line = await asyncio.wait_for(reader.readline(), left)
            if not line.startswith(b"data: "):
                continue
            news = json.loads(line[6:])
            sizes.append(len(line))
            at = news["fresh"]["at"]
            if at > last:
                if last and LEFT:
                    delays.append((time.time() - LEFT[0]) * 1000)
                last = at
            if "drawn" in news and time.monotonic() - drawn_at > 2:
                drawn_at = time.monotonic()
                sizes.append(await picture(cookie))
    except TimeoutError:
        pass
    finally:
        writer.close()


async def picture(cookie: str) -> int:
    """Bytes of one."""
    reader, writer = await asyncio.open_connection("127.0.0.1", PORT)
    writer.write(
        f"GET /trend.svg?width=328&height=230 HTTP/1.1\r\nhost: {HOST}\r\ncookie: {cookie}\r\n"
        "connection: close\r\n\r\n".encode()
    )  # fmt: skip
    body = await reader.read()
    writer.close()
    return len(body)


async def crowd(rig: Rig, browsers: int, seconds: float) -> None:
    """Print what so many browsers cost."""
    delays: list[float] = []
    sizes: list[int] = []
    cookies = [rig.cookie, *(rig.device() for _ in range((browsers - 1) // EACH))]
    before = {name: spent(rig.pid(name)) for name in ("engine", "page")}
    began = time.monotonic()
    await asyncio.gather(*(follow(cookies[n // EACH], delays, sizes, began + seconds) for n in range(browsers)))
    passed = time.monotonic() - began
    for name, cpu in before.items():
        pid = rig.pid(name)
        share = (spent(pid) - cpu) / passed
        print(f"{browsers:>3} browsers: {name:6} {share:6.1%} of a core, {resident(pid):6.1f} MB")
    print(f"    {sum(sizes) / passed / 1024:.1f} KB/s in all", end="")
    if delays:
        delays.sort()
        print(
            f"; a cycle arrives after {statistics.median(delays):.0f} ms (median), 95 % within "
            f"{delays[int(len(delays) * 0.95)]:.0f} ms, {len(delays)} arrivals"
        )
    else:
        print()


def chromium() -> tuple[Any, Any] | None:
    """(driver, browser), None where there is none."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        return None
    found = shutil.which("chromium")
    if not found:
        return None
    driver = sync_playwright().start()
    return driver, driver.chromium.launch(executable_path=found, args=["--no-sandbox"])


def opened(browser: Any, rig: Rig) -> Any:
    """A paired context."""
    name, _, value = rig.cookie.partition("=")
    context = browser.new_context(viewport={"width": 360, "height": 740})
    context.add_cookies([{"name": name, "value": value, "url": f"http://{HOST}"}])
    return context


def paint(browser: Any, rig: Rig, times: int) -> None:
    """Print the first paint, when the words are there, and what was loaded until then."""
    paints, told, loaded = [], [], []
    for _ in range(times):
        context = opened(browser, rig)
        page = context.new_page()
        page.add_init_script(
            "addEventListener('DOMContentLoaded', () => new MutationObserver((_, me) => {"
            "if (document.querySelector('#pieces b')) { window.told = performance.now(); me.disconnect(); }"
            "}).observe(document.body, {subtree: true, childList: true}))"
        )
        page.goto(f"http://{HOST}/")
        page.locator("#pieces b").first.wait_for()
        page.locator("#trend svg").wait_for()
        paints.append(page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime"))
        told.append(page.evaluate("window.told"))
        loaded.append(
            page.evaluate(
                "performance.getEntriesByType('navigation')[0].transferSize"
                " + performance.getEntriesByType('resource').reduce((sum, one) => sum + one.transferSize, 0)"
            )
        )
        context.close()
    print(
        f"Chromium, {times} times: first paint after {statistics.median(paints):.0f} ms (longest {max(paints):.0f}), "
        f"the pit in words after {statistics.median(told):.0f} ms (longest {max(told):.0f}), "
        f"{max(loaded) / 1024:.1f} KB with the trend"
    )


def growth(browser: Any, rig: Rig, seconds: float) -> None:
    """Print the memory of browser and page at the begin and at the end of a long run."""
    context = opened(browser, rig)
    page = context.new_page()
    page.goto(f"http://{HOST}/")
    page.locator("#pieces b").first.wait_for()
    tool = context.new_cdp_session(page)

    def look() -> tuple[float, int, float, str]:
        tool.send("HeapProfiler.collectGarbage")
        heap = tool.send("Runtime.getHeapUsage")["usedSize"] / 1024
        nodes = tool.send("Memory.getDOMCounters")["nodes"]
        return heap, nodes, resident(rig.pid("page")), page.locator("#cook").inner_text()

    began, rows = time.monotonic(), []
    while time.monotonic() - began < seconds:
        page.wait_for_timeout(seconds / 5 * 1000)
        rows.append(look())
    for heap, nodes, mb, cook in rows:
        print(f"    {cook}: {heap:.0f} KB of script's heap, {nodes} nodes, the page's process {mb:.1f} MB")
    context.close()


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--browsers", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--smoke", action="store_true", help="a short run, only to see that it works")
    given = parser.parse_args()
    browsers, seconds = (3, 3.0) if given.smoke else (given.browsers, given.seconds)
    with tempfile.TemporaryDirectory() as folder:
        rig = Rig(Path(folder), "1")
        try:
            asyncio.run(rig.cook())
            asyncio.run(crowd(rig, 1, seconds / 3))
            asyncio.run(crowd(rig, browsers, seconds))
            found = None if given.smoke else chromium()
            if found:
                paint(found[1], rig, 9)
        finally:
            rig.end()
    if not found:
        return
    with tempfile.TemporaryDirectory() as folder:
        rig = Rig(Path(folder), "3000")  # a day and more of cycles
        try:
            print("a long run:")
            growth(found[1], rig, seconds)
        finally:
            rig.end()
    found[1].close()
    found[0].stop()


if __name__ == "__main__":
    main()
