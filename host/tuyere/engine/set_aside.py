"""A damaged logbook never stops tonight's cook: it is set aside, and the cook goes on in a new one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from tuyere.logbook import LogbookError, head, salvage
from tuyere.logbook.errors import LogbookDamaged, NotALogbook
from tuyere.printable import printable

E = TypeVar("E")


def carrying_on(path: Path, wall: Callable[[], int], make: Callable[[], E], log: Callable[[str], None]) -> E:
    """What `make` makes (an engine). If it finds the logbook at `path` damaged, once more with a new logbook.

    A file whose first page is damaged does not show that it is a logbook. The head beside it does.
    """
    try:
        return make()
    except LogbookDamaged as error:
        _say(log, str(error))
    except NotALogbook as error:
        if not path.is_file() or head.read(path) is None:
            raise
        _say(log, str(error))
    carry_on(path, wall, log)
    return make()


def carry_on(path: Path, wall: Callable[[], int], log: Callable[[str], None]) -> None:
    """Set the damaged logbook at `path` aside and begin a new one with the open cook; `wall` UTC ms."""
    try:
        carried = salvage.carry_on(path, wall())
    except (LogbookError, OSError) as error:  # the next engine begins with what there is
        _say(log, f"the damaged logbook could not be carried on: {error}")
        return
    if carried.cook is not None:
        what = (
            f"cook {carried.cook.name!r} goes on in a new logbook, with {carried.records:,} records that could be read"
        )
    else:
        what = "no cook was open; a new logbook begins"
    _say(
        log, f"the damaged logbook was set aside as {carried.aside}: {what}. `tuyere log salvage` reads the rest of it"
    )


def _say(log: Callable[[str], None], text: str) -> None:
    log(f"{datetime.now():%Y-%m-%d %H:%M:%S} {printable(text)}")
