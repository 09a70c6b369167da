"""Times on the screen are those of UTC, whatever the machine's zone is."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True)
def in_utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("COLORFGBG", raising=False)
    if hasattr(time, "tzset"):
        time.tzset()
    yield
    monkeypatch.undo()
    if hasattr(time, "tzset"):
        time.tzset()
    os.environ.pop("NO_COLOR", None)
