"""Writes `tests/firmware/failing.txt`: what the board's stores do when one thing that they ask of the flash fails.

Run it with `python tests/firmware/failing.py` after a change of a store. A scene on a real folder counts what it asks
of the flash. It is played once whole, and once more for each of these with that one failing. The page holds what came
out; of a failure only what came out otherwise, below the failures of which that is so. The diff says what the change
does; look at each line.
"""

from __future__ import annotations

import builtins
import errno
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1] / "core"))

from hearth.core import Memory, Settings
from hearth.store import flash, kept, segments
from hearth.store.flash import Flash
from hearth.store.spool import Spool
from spool_kit import CORE, Boot

PAGE = Path(__file__).with_name("failing.txt")
BLOCKS = 2  # in a segment, that few records make several
LIMIT = 4 * 4096
Told = dict[str, Any]


class Failing:
    """The operating system under the stores: counts what is asked of it, and fails one."""

    def __init__(self, fails: int = 0, error: int = errno.EIO) -> None:
        """fails: the number of the one that fails, from 1; 0: none. error: with which; 0: a write that is cut short."""
        self._fails, self._error = fails, error
        self.asked: list[str] = []

    def _ask(self, what: str) -> bool:
        """Raises if it is this one's turn to fail; True if it is to be cut short."""
        self.asked.append(what)
        if len(self.asked) != self._fails:
            return False
        if self._error:
            raise OSError(self._error, os.strerror(self._error))
        return True

    def open(self, path: str, mode: str) -> Any:
        self._ask(f"open {Path(path).name} {mode}")
        return File(self, builtins.open(path, mode, buffering=0))

    def fsync(self, number: int) -> None:
        self._ask("fsync")

    def replace(self, old: str, new: str) -> None:
        self._ask(f"replace {Path(new).name}")
        os.replace(old, new)

    def __getattr__(self, name: str) -> Callable[[str], Any]:
        def called(path: str) -> Any:
            self._ask(f"{name} {Path(path).name}")
            found = getattr(os, name)(path)
            return sorted(found) if name == "listdir" else found

        return called


class File:
    """An open file of it."""

    def __init__(self, system: Failing, file: Any) -> None:
        self._system, self._file = system, file

    def __enter__(self) -> File:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def fileno(self) -> int:
        return 0

    def write(self, data: bytes) -> int:
        short = self._system._ask("write")
        return int(self._file.write(data[: len(data) // 2] if short else data))

    def __getattr__(self, name: str) -> Callable[..., Any]:
        def called(*given: Any) -> Any:
            self._system._ask(name)
            return getattr(self._file, name)(*given)

        return called


@contextmanager
def under(system: Failing) -> Iterator[None]:
    """The stores ask this system."""
    with (
        mock.patch.object(segments, "os", system), mock.patch.object(kept, "os", system),
        mock.patch.object(flash, "os", system), mock.patch.object(kept, "_replace", system.replace),
        mock.patch.object(segments, "open", system.open, create=True),
        mock.patch.object(kept, "open", system.open, create=True), mock.patch.object(segments, "BLOCKS", BLOCKS),
    ):  # fmt: skip
        yield


def stands(spool: Spool, boots: list[Boot]) -> str:
    """What a spool says of itself, and which records it reads."""
    health = [word for word in ("broken", "full") if getattr(spool, word)]
    held = [*health, f"dropped {spool.dropped}", f"written {spool.bytes_written}", f"runs {runs(spool.runs())}"]
    came, lost = [], list(spool.lost)
    for boot in boots:
        of = {record: i for i, record in enumerate(boot.records)}
        read = [of[record] for record in spool.read(boot.number, 0) if record]  # KeyError: one that was never made
        came += [(boot.number, i, i + 1) for i in read]
    told = [*held, f"lost {runs(lost)}", f"reads {runs(came)}"]
    if spool.broken and "broken" not in health:
        told.append("then broken")
    if spool.lost != lost:
        told.append(f"then lost {runs(spool.lost)}")
    return ", ".join(told)


def runs(some: list[tuple[Any, ...]]) -> str:
    """'7: 0-4 full' is boot 7, records 0 to 4; those that go on from one to the next are one."""
    found: list[list[Any]] = []
    for boot, first, after, *cause in some:
        if found and found[-1][0] == boot and found[-1][2] == first and found[-1][3:] == cause:
            found[-1][2] = after
        else:
            found.append([boot, first, after, *cause])
    return " ".join(f"{boot}:{first}-{after - 1}{''.join(cause)}" for boot, first, after, *cause in found) or "-"


def written(boot: Boot, blocks: int) -> None:
    for _ in range(blocks):
        boot.cycle()
        boot.cycle()
        boot.spool.write()


def spooled(folder: Path) -> Told:
    """Two boots whose records go through the spool: written, read, kept, deleted, pushed out."""
    told: Told = {}
    folder.mkdir()
    one = Boot(Spool(str(folder / "spool"), LIMIT, CORE), 7)
    written(one, 3)
    one.cycle()
    told["three blocks"] = stands(one.spool, [one])
    one.spool.kept(7, 5)
    told["tidied"] = f"{one.spool.tidy()} {one.spool.tidy()}, {stands(one.spool, [one])}"
    spool = Spool(str(folder / "spool"), LIMIT, CORE)
    two = Boot(spool, 8)
    told["after a power-up"] = stands(spool, [one, two])
    written(two, 5)
    told["past the limit"] = stands(spool, [one, two])
    spool.kept(7, 99)
    spool.kept(8, 10)
    told["kept"] = [spool.tidy() for _ in range(4)]
    told["at the end"] = stands(spool, [one, two])
    told["files"] = files(folder / "spool")
    return told


def files(folder: Path) -> list[str]:
    return sorted(f"{file.name} {file.stat().st_size}" for file in folder.iterdir()) if folder.is_dir() else []


def kept_whole(folder: Path) -> Told:
    """Settings, memory, starts and last words, over two power-ups."""
    told: Told = {}
    folder.mkdir()
    for start in range(2):
        found = Flash(str(folder), CORE)
        settings, memory = Settings(), Memory()
        found.count_start()
        found.read_ran()
        found.keep_ran(start, 10 * start)
        told[f"{start}: read"] = [
            found.ran, found.read_settings(settings), settings.gain, found.read_memory(memory, -1, 9), memory.phase,
            found.take_words(), found.health,
        ]  # fmt: skip
        settings.gain, memory.phase = 400 + start, 1 + start
        found.keep_settings(settings, 3 + start)
        told[f"{start}: settings kept"] = found.health
        found.keep_memory(5, 60_000, memory)
        told[f"{start}: memory kept"] = found.health
        found.settled()
        told[f"{start}: settled"] = found.health
        found.keep_words("words")
        told[f"{start}: words kept"] = found.health
    told["files"] = [name for name in files(folder) if name[0] == "k"]
    return told


SCENES = {"spool": spooled, "kept whole": kept_whole}
ERRORS = {"": errno.EIO, ", no space": errno.ENOSPC, ", half of it": 0}


def played(scene: str, system: Failing) -> list[str]:
    """A line a step."""
    with tempfile.TemporaryDirectory() as folder, under(system):
        return [f"    {step}: {said}" for step, said in SCENES[scene](Path(folder) / "flash").items()]


def page(scene: str) -> list[str]:
    """What comes of the scene when nothing fails, and what comes otherwise when each thing does."""
    whole = Failing()
    usual = played(scene, whole)
    of: dict[tuple[str, ...], list[str]] = {}  # what came otherwise -> failures
    for i, asked in enumerate(whole.asked):
        for words, error in ERRORS.items():
            if not words or (asked == "write" and scene == "spool"):
                found = played(scene, Failing(i + 1, error))
                other = tuple(line for line in found if line not in usual)
                of.setdefault(other, []).append(f"{i + 1} {asked}{words}")
    lines = [f"{scene}, nothing fails", *usual]
    for other, failures in of.items():
        lines += ["", "; ".join(failures), *(other or ["    nothing else"])]
    return lines


def written_page() -> str:
    """All of it."""
    return "\n".join(line for scene in SCENES for line in [*page(scene), ""])


if __name__ == "__main__":
    PAGE.write_text(written_page(), encoding="utf-8")
