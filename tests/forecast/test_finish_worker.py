"""The worker as the engine runs it: a process, a line in, a line out."""

from __future__ import annotations

import subprocess
import sys

import finish_kit as kit
import msgspec
import pytest
from rendered import words
from tuyere.forecast import exchange
from tuyere.sim import compiled


@pytest.mark.skipif(not compiled.available(), reason="takes a minute without numba")
def test_it_answers_line_after_line_a_damaged_one_and_a_piece_that_cannot_be_included() -> None:
    read = kit.probes()
    good = kit.known(240, read)
    bad = kit.known(240, read)
    bad.pieces = [msgspec.structs.replace(kit.ada(), id=7, flat=0.20), *bad.pieces]
    lines = [msgspec.json.encode(good), b'{"now": 1, "pieces": [{"id"', msgspec.json.encode(bad), b""]
    ran = subprocess.run(
        [sys.executable, "-m", "tuyere.forecast"], input=b"\n".join(lines) + b"\n", capture_output=True, timeout=300,
        check=True,
    )  # fmt: skip
    first, damaged, second = (msgspec.json.decode(line, type=exchange.Ahead) for line in ran.stdout.splitlines())
    assert first.now == good.now and first.members > 0 and first.seconds > 0.0
    assert first.pieces[0].finish is not None
    assert damaged.now == 0 and not damaged.pieces
    assert b"could not be answered" in ran.stderr and b"Traceback" not in ran.stderr
    assert second.pieces[0].id == 7 and "20 cm thick" in words(second.pieces[0].words[0])
    assert second.pieces[1].finish is not None
