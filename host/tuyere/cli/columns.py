"""How wide a page of text may be."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap

import click

PIPED = 80  # columns, where no terminal says it


def columns(least: int = 40, most: int = 100) -> int:
    """The columns of the terminal within bounds; COLUMNS goes first, PIPED where the output is no terminal."""
    told = os.environ.get("COLUMNS", "").isdecimal() or sys.stdout.isatty()
    return min(max(shutil.get_terminal_size().columns if told else PIPED, least), most)


def filled(words: str, first: str = "", rest: str = "") -> str:
    """Lines as wide as the page, no word cut; first and rest: what the first line and the others begin with."""
    return textwrap.fill(
        words, columns(), initial_indent=first, subsequent_indent=rest, break_on_hyphens=False, break_long_words=False
    )


def narrate(words: str) -> None:
    """A sentence on standard error, no word cut."""
    click.echo(filled(words), err=True)
