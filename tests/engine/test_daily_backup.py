"""A copy a day while nothing runs: not at once, not twice, and a full disk is said once."""

import asyncio

from tuyere.engine.daily_backup import EVERY, DailyBackup
from tuyere.logbook import Logbook, backup

DAY = 86_400_000


def test_it_waits_and_copies_once_a_day(tmp_path, monkeypatch):
    path, said, made, wall = tmp_path / "logbook.sqlite", [], [], [20_000 * DAY]
    Logbook(path).close()
    daily = DailyBackup(path, lambda: wall[0], lambda work: made.append(asyncio.run(work)), said.append)
    for second in range(0, int(3 * EVERY), 100):
        daily.tick(float(second))
        assert len(made) == second // EVERY
    assert [file.name for file in backup.folder(path).iterdir()] == ["logbook-2024-10-04.sqlite"]
    assert len(said) == 1 and "backup of the logbook" in said[0]
    wall[0] += DAY
    with Logbook(path) as book:
        book.cooks.start("one", 1, "board", False)
    monkeypatch.setattr(backup, "SPARE", 1 << 62)
    for second in (10_000.0, 20_000.0):
        daily.tick(second)
    assert len(said) == 2 and "no backup" in said[1]
