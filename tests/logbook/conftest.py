"""Lets the tests here import their kit, and gives them logbooks."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from logbook_kit import BOARD, BOOT, hello
from tuyere.logbook import Logbook


@pytest.fixture
def path(tmp_path):
    return tmp_path / "logbook.sqlite"


@pytest.fixture
def book(path):
    """A logbook that knows one board, one boot and its layout."""
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), seen=1_000)
        yield book
