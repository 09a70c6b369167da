"""Load a board: fetch its records, bring it to its prompt, upload, check, restart, see that the new firmware runs."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hearth.core import fields

from tuyere import codes, staging
from tuyere.board import bytecode, console
from tuyere.board.bench import Bench
from tuyere.board.trouble import Trouble
from tuyere.board.upload import Uploader, prompt_at
from tuyere.cook import wording
from tuyere.link.find import Finder
from tuyere.text import text

BACK_WITHIN = 30.0  # s until a restarted board must show itself again
LOOK_EVERY = 0.2  # s
STILL = 60.0  # s without a record until the fetching is given up
Say = Callable[[str], None]


def load(home: Path, port: str, say: Say, force: bool = False) -> dict[str, Any]:
    """Put the firmware of this program on the board; what was done, for `--json`. Trouble says what to do.

    force: also while the board holds a pit, or when its records cannot be fetched; those made by another firmware
    are then lost.
    """
    if "://" in port:
        raise Trouble(
            f"{port} is a network port, and files go to a board over its own: run this where it is plugged in"
        )
    finder = Finder(port)
    begin = _where(finder)
    found = console.who(begin)
    if found.kind == console.CLOSED:
        raise Trouble(f"{begin} {found.words}")
    say(f"{begin}: {found.words}")
    files, loaded = bytecode.build()
    say(sizes(files))
    ours = found.kind == console.FIRMWARE
    forgets = forgotten(found.hello, staging.core_hash()) if ours else ""
    if forgets:
        say(forgets)
    if ours:
        _release(home, begin, found.hello, say, force)
        say("the board restarts to its prompt")
    board = _at_prompt(finder, released=ours, say=say)
    try:
        written = board.put(files, say)
        say(
            f"{written} files written, all {len(files)} checked by SHA-256"
            if written
            else "all files are there already"
        )
        board.restart()
    finally:
        board.close()
    say("restarting")
    hello = _hello(finder)
    runs = str(hello.get("firmware"))
    if runs != loaded:
        raise Trouble(
            f"the board runs firmware {runs[:12]} and was loaded with {loaded[:12]}: run `tuyere board load` again; if "
            "it stays so, hold BOOTSEL, copy MicroPython onto it and load once more"
        )
    heap = hello.get("heap")
    say(f"board {hello['board']} runs firmware {loaded[:12]}, {heap} bytes of RAM free")
    if forgets:
        say("it has its settings; an open cook gives it back its band and its programme, and it learns its fire again")
    return {
        "port": _where(finder),
        "board": hello["board"],
        "firmware": loaded,
        "written": written,
        "files": {name: len(data) for name, data in sorted(files.items())},
        "bytes": sum(map(len, files.values())),
        "heap": heap,
    }


def forgotten(hello: dict[str, Any], core: str) -> str:
    """What a board that said this hello gives up when it is loaded with another law, in a sentence; "" with the same.

    A board reads back the memory of its own core alone (`hearth.store.kept: take_checkpoint`).
    """
    if hello.get("core") == core:
        return ""
    share = hello.get("learned")
    learned = ""
    if isinstance(share, int) and share != fields.WHOLE:
        learned = f", and what it learned ({share / 10:g} % of its gain)"
    return (
        f"the new firmware has another law: the board forgets the band and the programme of its last cook{learned}; "
        "its settings stay"
    )


def sizes(files: dict[str, bytes]) -> str:
    """How much flash each file and all of them take."""
    rows = [f"{len(data):7}  {name}" for name, data in sorted(files.items())]
    return "\n".join([*rows, f"{sum(map(len, files.values())):7}  bytes of flash in {len(files)} files"])


def release(home: Path, port: str, say: Say, force: bool = False) -> str:
    """Fetch what a board holds and restart it to its prompt; a sentence."""
    found = where(port)
    who = console.who(found)
    if who.kind == console.PROMPT:
        return f"{found}: the board stands at MicroPython's prompt already."
    if who.kind != console.FIRMWARE:
        raise Trouble(f"{found} {who.words}")
    _release(home, found, who.hello, say, force)
    return f"{found}: the board restarts to MicroPython's prompt, without its watchdog. A power cycle runs it again."


def where(port: str) -> str:
    """The port asked for, or the only board's."""
    return _where(Finder(port))


def _where(finder: Finder) -> str:
    found = finder.where()
    if found is None:
        raise Trouble(finder.words)
    return found


def _idle(state: int) -> None:
    if state not in (fields.OFF, fields.BURNOUT, fields.TRIPPED):
        word = codes.STATES[state]
        raise Trouble(f"the board is {word}: its fan would stop. Stop it first in `tuyere watch`, or use --force")


def _release(home: Path, port: str, hello: dict[str, Any], say: Say, force: bool) -> None:
    """Fetch what the board holds, then let it restart to its prompt."""

    async def work() -> None:
        async with Bench(home, port) as bench:
            await _fetch(bench, say)
            cycle = await bench.cycle()
            if not force:
                _idle(cycle["out.state"])
            ok, why = await bench.order("release")
            if not ok:
                raise Trouble(text("the board refused to restart to its prompt: {why}", why=wording.why_not(why)))

    try:
        asyncio.run(work())
    except Trouble:
        if not force:
            raise
        say(f"going on without the {console.held(hello)} records that the board holds")
        with console.Line(port) as talk:
            talk.order("release")


async def _fetch(bench: Bench, say: Say) -> None:
    """Wait until the logbook has all that the board held."""
    left, since = bench.behind, time.monotonic()
    if left > 1:
        say(f"fetching {left} records into the logbook")
    while left > 1:
        await asyncio.sleep(LOOK_EVERY)
        if bench.behind < left:
            left, since = bench.behind, time.monotonic()
        elif time.monotonic() - since > STILL:
            raise Trouble(f"{left} records of the board do not come: load with --force to go on without them")


def _at_prompt(finder: Finder, released: bool, say: Say) -> Uploader:
    """The board at its prompt, without a running watchdog. After a release that is certain."""
    board = _prompt(finder)
    try:
        found = board.who()
        bytecode.suits(found)
        say(f"MicroPython {'.'.join(map(str, found.version))} on {found.machine}")
        if not released and bytecode.MAIN in board.look():
            board.clear_main()  # what ran there may have armed the watchdog, which only a restart disarms
            board.restart()
            board.close()
            board = _prompt(finder)
    except Trouble:
        board.close()
        raise
    return board


def _prompt(finder: Finder) -> Uploader:
    until = time.monotonic() + BACK_WITHIN
    while True:
        try:
            return prompt_at(_where(finder))
        except Trouble:
            if time.monotonic() > until:
                raise
        time.sleep(LOOK_EVERY)


def _hello(finder: Finder) -> dict[str, Any]:
    until = time.monotonic() + BACK_WITHIN
    words_of_it = "nothing answers"
    while time.monotonic() < until:
        time.sleep(LOOK_EVERY)
        try:
            with console.Line(_where(finder)) as talk:
                hello = talk.hello()
                if hello is not None:
                    return hello
                if talk.prompts:
                    words_of_it = "its prompt answers: " + talk.text.decode(errors="replace").strip()[-300:]
        except Trouble as trouble:
            words_of_it = str(trouble)
    raise Trouble(f"the firmware is on the board and does not answer ({words_of_it}): unplug it and plug it in again")
