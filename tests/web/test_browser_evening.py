"""The whole evening of the demo cook at speed, through the real engine, twin and page, in a real browser.

Engine and page are processes as a user starts them. The engine is killed on the way, and comes back.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_kit import SIZES, browser
from tuyere import paths

SPEED = "3000"  # simulated seconds a second, if this machine is as fast
LONG = 240_000  # ms


@pytest.fixture
def chromium() -> Iterator[Any]:
    with browser() as found:
        yield found


class Home:
    """A data folder with an engine and a page."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.env = {**os.environ, "TUYERE_HOME": str(folder), "TZ": "UTC", "PYTHONUNBUFFERED": "1"}
        self.started: list[subprocess.Popen[str]] = []

    def run(self, *given: str) -> subprocess.Popen[str]:
        log = open(self.folder / f"{given[0]}.out", "a")  # noqa: SIM115
        made = subprocess.Popen(
            [sys.executable, "-m", "tuyere", *given], env=self.env, text=True, stdout=subprocess.PIPE, stderr=log,
            stdin=subprocess.DEVNULL,
        )  # fmt: skip
        self.started.append(made)
        return made

    def engine(self) -> None:
        self.run("keep", "--twin", "--speed", SPEED, "--seed", "3")

    def kill_engine(self) -> None:
        os.kill(json.loads(paths.engine_file(self.folder).read_text())["pid"], signal.SIGKILL)

    def end(self) -> None:
        subprocess.run(
            [sys.executable, "-m", "tuyere", "keep", "--end"], env=self.env, capture_output=True, check=False
        )
        for one in self.started:
            one.terminate()
        for one in self.started:
            one.wait(60)


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Home]:
    found = Home(tmp_path)
    try:
        yield found
    finally:
        found.end()


def test_the_whole_evening(chromium: Any, home: Home) -> None:
    home.engine()
    page_process = home.run("web", "--port", "8497")
    assert page_process.stdout is not None
    shown = "".join(page_process.stdout.readline() for _ in range(2))
    link = re.search(r"http://\S+#\w+", shown)
    assert link is not None, shown
    wide, tall = SIZES["phone"]
    with chromium.new_context(viewport={"width": wide, "height": tall}, timezone_id="UTC") as context:
        page = context.new_page()
        page.set_default_timeout(LONG)
        page.goto(link[0])
        page.locator("#yes").click()
        page.locator("#cook", has_text="Village hall supper").wait_for()
        page.locator("#stands", has_text="in the band").wait_for()
        page.locator("#noted", has_text="meat on").wait_for()

        home.kill_engine()
        page.locator("#stands", has_text="The engine is gone since").wait_for()
        assert page.locator("#stop").is_disabled()
        home.engine()
        page.locator("#stop:not([disabled])").wait_for()
        page.locator("#fresh", has_text=re.compile("^(live|late),")).wait_for()

        page.locator("#note").click()
        page.get_by_role("button", name="Water pan filled").click()
        page.locator("#yes").click()
        page.locator("#said", has_text="Noted: water pan filled.").wait_for()
        page.locator(
            "#pieces .state", has_text=re.compile("out|box")
        ).first.wait_for()  # the twin takes them out itself
        with page.expect_download() as saved:
            page.locator("#report").click()
        report = Path(saved.value.path()).read_text()
        assert "Village hall supper" in report and "water pan filled" in report and str(home.folder) not in report

        printed = context.new_page()
        printed.set_content(report)
        pdf = printed.pdf(prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 2  # two A4 pages
