"""Open the user's logbook and find a cook in it: the same for all commands that read."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tuyere.logbook import Logbook


@contextmanager
def logbook() -> Iterator[Logbook]:
    """The user's logbook, for reading; its errors as one sentence."""
    from tuyere import paths
    from tuyere.logbook import Logbook, LogbookError

    try:
        with Logbook(paths.logbook_path(paths.home()), owner=False) as book:
            yield book
    except LogbookError as error:
        raise click.ClickException(str(error)) from error


def cook_number(book: Logbook, which: str) -> int:
    """The number of a cook given as a number or "last"."""
    if which == "last":
        cooks = book.cooks.all()
        if not cooks:
            raise click.ClickException("there is no cook in the logbook yet; `tuyere watch` begins one")
        return cooks[-1].id
    if not (which.isascii() and which.isdigit()):
        raise click.ClickException(f'"{which}" is not a cook: give a number from `tuyere log list`, or "last"')
    return book.cooks.get(int(which)).id


def newest_own(book: Logbook) -> int:
    """The number of the newest cook that is not from elsewhere."""
    for cook in reversed(book.cooks.all()):
        if cook.own:
            return cook.id
    raise click.ClickException("there is no cook of your own in the logbook; name one from `tuyere log list`")


class CookName(click.ParamType):
    """The argument COOK of a command. If it is missing, the error says what to give."""

    name = "cook"

    def get_missing_message(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        """What to give. In an empty logbook "last" says that there is no cook."""
        return 'Give the number of a cook, or "last" for the newest; `tuyere log list` lists them.'


def units(asked: str | None) -> str:
    """F or C: as asked for, else as the screen shows them."""
    from tuyere import paths
    from tuyere.tui import preferences

    return asked or preferences.load(paths.home())[0].units


def print_json(value: Any) -> None:
    """Data on standard output."""
    import json

    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def local_time(utc: int, form: str = "%Y-%m-%d %H:%M") -> str:
    """Local time of a UTC ms."""
    return datetime.fromtimestamp(utc / 1000).astimezone().strftime(form)
