"""The command `tuyere` and its list of commands."""

from __future__ import annotations

import contextlib
import errno
import importlib
import os
import sys
from pathlib import Path
from typing import Any

import click

import tuyere

# name -> one line; the module of the same name is imported only when the command runs
COMMANDS = {
    "watch": "Open the screen of a cook; with no board it opens the twin.",
    "keep": "Run the engine without a screen: it owns the board's port and the logbook.",
    "twin": "Run the board's firmware in front of a simulated pit.",
    "plan": "Plan a supper back from serving: what to buy, when to start, with what odds.",
    "rehearse": "Run a whole cook on a simulated pit at full speed.",
    "replay": "Run every cycle of a recorded cook again and compare it, bit for bit.",
    "tune": "Know a cooker from recorded cooks, and find settings that suit it.",
    "wake": "Say who is called when the night needs a person, and test it.",
    "web": "Serve a page for phones and other computers, and say who may see it.",
    "board": "Find, load, check and set the board.",
    "log": "List, show and export recorded cooks.",
    "doctor": "Show what is installed, where things are and what works.",
}


class Late(click.Group):
    """A group that imports a command's module when it is asked for."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """As click does; what the terminal's encoding does not have is written as its code."""
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(AttributeError, ValueError):  # closed, or none
                stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
        return super().main(*args, **kwargs)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command. Any error in it reaches the person as one sentence."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            raise _in_words(error, ctx.invoked_subcommand or "tuyere") from error

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of a cook."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command by its name."""
        if cmd_name not in COMMANDS:
            return None
        found: click.Command = getattr(importlib.import_module(f"tuyere.cli.{cmd_name}"), cmd_name)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, but an unknown name is answered with the names there are."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            ctx.fail(f"there is no command {args[0]!r}; the commands are {', '.join(COMMANDS)}")
        return super().resolve_command(ctx, args)


def _in_words(error: Exception, command: str) -> Exception:
    """An error that a command did not catch, as one that click shows in a sentence."""
    from tuyere import paths, unexpected
    from tuyere.logbook.errors import LogbookError

    if isinstance(error, OSError):
        # a pipe whose reader has gone is click's to end quietly
        return error if error.errno == errno.EPIPE else click.ClickException(unexpected.of_system(error))
    if isinstance(error, LogbookError):
        return click.ClickException(str(error))
    try:
        home = paths.home()
    except OSError:
        home = Path(os.devnull)  # then the details go among the temporary files
    return click.ClickException(unexpected.keep(home, error, f"`tuyere {command}`"))


@click.command(cls=Late, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(tuyere.__version__, prog_name="tuyere")
def main() -> None:
    """Hold a charcoal pit in its band through a long cook.

    Start with `tuyere watch`. Data is kept in one folder; set TUYERE_HOME to use another.
    """


if __name__ == "__main__":
    sys.exit(main())
