"""What `tuyere doctor` finds of the routes: whether each works, and when it last did."""

from __future__ import annotations

from pathlib import Path

from tuyere.cli.wake import last_used, used_words
from tuyere.engine.calls import routes
from tuyere.engine.calls.bedtime import sounding


def wake(home: Path) -> tuple[dict[str, str] | str, list[str]]:
    """(what is known of each route, what needs attention). Nothing is sent: `tuyere wake test --now` does that."""
    try:
        book = routes.read(home)
    except routes.BadRoute as error:
        return "cannot be read", [str(error)]
    if not book.routes:
        return "no route: nobody would be woken; `tuyere wake add` adds one", []
    found, trouble = {}, []
    for one in book.routes:
        good, bad, why = last_used(home, one.name)
        found[one.name] = f"({one.kind}) {used_words(good, bad, why)}"
        if bad > good:
            trouble.append(f"the route {one.name} failed when it was last used ({why}): try `tuyere wake test --now`")
    trouble += [f"a route passes its calls on to {name!r}, which is not there: add it" for name in routes.missing(book)]
    if not sounding(book):
        trouble.append("no route can wake anybody at night: a mail or a heartbeat makes no phone sound")
    return found, trouble
