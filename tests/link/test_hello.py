"""The hello, the longest line of a board: at its longest it still fits into what a host takes as one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hearth.core import fields
from hearth.link import lines, messages, talk
from hearth.store import flash, spool
from night_kit import Night

MOST = 0xFFFFFFFF  # of a boot, and of a sequence


@pytest.fixture
def longest(tmp_path: Path) -> bytes:
    """A board with a whole programme, that was cut off and without a host again and again."""
    loop = Night(tmp_path / "flash").loop
    loop.settings.set_values([row[4] for row in fields.SETTINGS])
    loop.memory.phases = fields.ROWS
    loop.memory.rows = [32000] * len(loop.memory.rows)
    store = loop.flash.spool
    assert store
    loop.flash.ran = [(MOST, MOST)] * flash.MOST_RAN
    store.lost = [(MOST, MOST, MOST, 3)] * spool.MOST_LOST
    hello = loop.hello()
    segments = flash.LIMIT // 65536 + 1  # a run is at least a segment file of a boot of its own
    hello["earlier"] = [[MOST, MOST, MOST]] * segments
    hello["ask"] = MOST
    return b"".join(lines.encode_portions(messages.HELLO, talk.portions(hello)))


@pytest.mark.parametrize("portion", [64, 250, 4096])
def test_the_longest_hello_arrives_in_any_portions(longest: bytes, portion: int) -> None:
    taken = lines.Lines()
    found = [message for at in range(0, len(longest), portion) for message in taken.feed(longest[at : at + portion])]
    assert taken.damaged == 0 and [kind for kind, _ in found] == [messages.HELLO], f"{len(longest)} bytes"
