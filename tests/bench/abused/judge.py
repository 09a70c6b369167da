"""What must hold when a campaign has ended."""

from __future__ import annotations

from pathlib import Path

from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.salvage import salvage
from tuyere.replay.rerun import replay

from abused.campaign import OFF, Campaign


def judge(campaign: Campaign) -> list[str]:
    """What does not hold; empty when all does."""
    wrong: list[str] = []
    counts = campaign.counts
    files = sorted(campaign.home.glob("logbook*.sqlite"))
    stored: dict[tuple[int, int], bytes] = {}
    named: set[tuple[int, int]] = set()
    notes: set[str] = set()
    for file in files:
        whole = file
        if "damaged" in file.name:
            whole = campaign.folder / f"salvaged-{file.name}"
            try:
                salvage(file, whole)
            except LogbookError as error:
                counts["nothing to salvage"] += 1
                print(f"  {file.name}: {error}")
                continue
        wrong += _judge_file(campaign, whole, stored, named, notes)
    first = {boot: 0 for boot, _ in stored}
    last: dict[int, int] = {}
    for boot, sequence in stored:
        last[boot] = max(last.get(boot, 0), sequence)
    missing = {(boot, n) for boot in first for n in range(last[boot] + 1)} - stored.keys()
    counts["records"], counts["missing"] = len(stored), len(missing)
    if unnamed := missing - named:
        wrong.append(f"{len(unnamed)} missing records are named nowhere, the first {min(unnamed)}")
    for key, data in campaign.between.seen.items():
        if key in stored and stored[key] != data:
            wrong.append(f"record {key} is stored with other bytes than the board sent")
    if counts["newest cycle off the clock, s"] > OFF:
        wrong.append("the newest cycle is not dated by the clock as it was set last")
    lost = [note for note in campaign.notes if note not in notes]
    counts["notes"], counts["notes lost"] = len(campaign.notes), len(lost)
    if lost and not counts["pages damaged"]:
        wrong.append(f"{len(lost)} accepted notes are gone, the first {lost[0]!r}, and no page was damaged")
    return wrong


def _judge_file(
    campaign: Campaign, file: Path, stored: dict[tuple[int, int], bytes], named: set[tuple[int, int]], notes: set[str]
) -> list[str]:
    wrong = []
    counts = campaign.counts
    with Logbook(file, owner=False) as book:
        try:
            found = book.soundness.all()
            cooks = book.cooks.all()
        except LogbookError as error:  # damaged, and tonight's work never met the page
            whole = campaign.folder / f"salvaged-{file.name}"
            if whole.exists():
                return [f"the salvaged {file.name} cannot be read: {error}"]
            salvage(file, whole)
            return _judge_file(campaign, whole, stored, named, notes)
        counts["flaws found"] += len(found.flaws) + found.more
        if found.flaws and not counts["pages damaged"]:
            wrong.append(f"{file.name} is not sound: {found.flaws[0].words}")
        if any(flaw.kind == "sqlite" for flaw in found.flaws) and "salvaged" not in file.name:
            whole = campaign.folder / f"salvaged-{file.name}"
            salvage(file, whole)
            return wrong + _judge_file(campaign, whole, stored, named, notes)
        for boot, sequence, data in book._store.rows("SELECT boot, sequence, bytes FROM records"):
            if stored.setdefault((boot, sequence), data) != data:
                wrong.append(f"record {sequence} of boot {boot} is in two files with different bytes")
        for boot, low, high in book._store.rows("SELECT boot, first, last FROM gaps"):
            named |= {(boot, n) for n in range(low, high + 1)}
        for cook in cooks:
            for gap in book.reading.gaps(cook.id):
                named |= {(gap.boot, n) for n in range(gap.first, gap.last + 1)}
            notes |= {event.text for event in book.events.of(cook.id) if isinstance(event.text, str)}
            again = replay(book, cook.id)
            counts["cycles replayed"] += again.replayed
            if again.first is not None and not found.flaws:
                wrong.append(f"cook {cook.id} of {file.name} replays differently at record {again.first.sequence}")
    return wrong
