"""Killed with -9 at any moment: nothing committed is lost, nothing is doubled, no batch is half there."""

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from logbook_kit import BOARD, BOOT, night, table
from tuyere.logbook import Logbook

BATCH = 7
CHILD = """
import sys
from logbook_kit import BOARD, BOOT, night
from tuyere.logbook import Logbook
path, count, batch = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
records = night(count)
book = Logbook(path)
cook = book.cooks.open()
cook = cook.id if cook else book.cooks.start("one", 0, BOARD, True)
at = book.records.expected(BOARD, BOOT)
print("from", at, flush=True)
while at < len(records):
    part = records[at : at + batch]
    book.records.add(BOARD, BOOT, part, cook)
    at += len(part)
    print(at, flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL")
def test_killed_again_and_again(path):
    chance = random.Random(4)
    records = night(20_000)
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), *sys.path])}
    safe = 0  # what a child said is stored
    for _ in range(5):
        command = [sys.executable, "-c", CHILD, str(path), "20000", str(BATCH)]
        child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
        first = int(child.stdout.readline().split()[1])
        assert first >= safe  # the next one goes on where the last was killed
        for _ in range(chance.randrange(20, 120)):
            safe = int(child.stdout.readline())
        child.kill()  # somewhere in the next batches
        said = child.communicate()[0].split()
        assert child.returncode == -9
        safe = int(said[-1]) if said else safe
        with Logbook(path) as book:
            stored = table(book)
            assert len(stored) >= safe
            assert len(stored) % BATCH == 0  # whole batches only
            assert [row[2] for row in stored] == list(range(len(stored)))  # gapless, none twice
            assert [row[5] for row in stored] == records[: len(stored)]
            cook = book.cooks.open()
            assert len(book.cooks.all()) == 1
            assert book.reading.counts(cook.id).cycles == len(stored) - 1 and book.reading.gaps(cook.id) == []
            assert book.records.add(BOARD, BOOT, records[: len(stored)], cook.id) == 0  # sent again, as a board does
            assert book.check() == []
    assert 0 < safe < len(records)  # every child was killed at work
