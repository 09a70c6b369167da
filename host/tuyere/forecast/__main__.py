"""The forecast's worker: a line of JSON in (`model.Known`), a line out (`model.Ahead`), until its input ends.

A line that cannot be read is answered, too, so that nobody waits in vain: `now` 0, no pieces. Standard error says why.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from typing import BinaryIO

import msgspec

from tuyere.forecast import cooling, ensemble, exchange, fuel, shade
from tuyere.forecast.finish import Finish
from tuyere.sim import ready
from tuyere.text import said_of, text


def answer(finish: Finish, known: exchange.Known) -> exchange.Ahead:
    """All that is to come of the cook. What goes wrong with one piece or the fuel is said where it belongs."""
    began = time.process_time()
    windows = {one.id: shade.window(known, one) for one in known.pieces}
    found = exchange.Ahead(known.now, finish.ahead(known, {id: wrap for id, (wrap, _) in windows.items()}))
    for one, ahead in zip(known.pieces, found.pieces, strict=True):
        ahead.wrap, ahead.wrap_words = windows[one.id]
        try:
            ahead.hold_until = cooling.until(known, one)
            if one.place == "out" or (ahead.finish is not None and ahead.finish.likely < known.now + cooling.SOON):
                ahead.words.append(cooling.words(known, one))
        except Exception as wrong:  # one part that fails takes no other with it
            ahead.words.append(text("No forecast of the hold: {why}", why=said_of(wrong)))
    try:
        found.fuel_left, found.fuel, found.fuel_words = fuel.ahead(known)
    except Exception as wrong:
        found.fuel_words = text("No forecast of the fuel: {why}", why=said_of(wrong))
    found.members = ensemble.size(finish.members)
    found.seconds = round(time.process_time() - began, 3)
    return found


def serve(lines: BinaryIO, out: BinaryIO, prepare: Callable[[], None] = lambda: None) -> None:
    """Answer line after line. `prepare` is called after the first answer, when nobody waits."""
    finish = Finish()
    answered = False
    for line in lines:
        if not line.strip():
            continue
        try:
            found = answer(finish, msgspec.json.decode(line, type=exchange.Known))
        except Exception as wrong:  # whatever one question does, the next is answered
            print(
                f"forecast: a question could not be answered: {type(wrong).__name__}: {wrong}",
                file=sys.stderr,
                flush=True,
            )
            found = exchange.Ahead(0)
        out.write(msgspec.json.encode(found) + b"\n")
        out.flush()
        if not answered:
            answered = True
            prepare()


def prepare() -> None:
    """Have compiled what commands will need, in a process of its own that ends by itself, as low in priority as this
    one. It goes on when this one ends; two at once do no harm."""
    if ready.needed():
        quiet = subprocess.DEVNULL
        subprocess.Popen(
            [sys.executable, "-m", "tuyere.prepare"], stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True
        )


if __name__ == "__main__":
    serve(sys.stdin.buffer, sys.stdout.buffer, prepare)
