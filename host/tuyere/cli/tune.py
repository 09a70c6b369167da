"""`tuyere tune`: a cooker known from recorded cooks, settings searched for it, shown, and written when asked to."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuyere import paths
from tuyere.cli import book
from tuyere.cli.columns import filled
from tuyere.cli.doing import doing
from tuyere.cli.options import Within, unit

if TYPE_CHECKING:
    from tuyere.text import Reader
    from tuyere.tune import Cooker, Found

ROWS = (
    ("in band", "in_band"), ("  one night in ten below", "in_band_low"), ("  worst of the pits", "worst"),
    ("first arrival", "arrival_min"), ("  above the band at most", "over_c"), ("back in band", "back_min"),
    ("fan reversals", "turns"), ("trips", "trips"), ("sensitivity Ms, worst", "ms"), ("delay margin, worst", "delay_s"),
)  # fmt: skip


@click.command()
@click.argument("cooks", nargs=-1, metavar="[COOK]...")
@click.option(
    "--nights", type=Within(200, 100000, "a number of nights", whole=True), default=2000, show_default=True,
    help="How many nights to rehearse, on all cores.",
)  # fmt: skip
@click.option("--seed", type=Within(1, 1000000, "a whole number", whole=True), default=1, help="Of all that is drawn.")
@click.option("--know", is_flag=True, help="Only say what is known of the cooker; search nothing.")
@click.option("--to", type=click.Path(dir_okay=False, path_type=Path), help="Write to this file, not to the board.")
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option("--undo", is_flag=True, help="Take back what tuning last wrote to the board.")
@click.option(
    "--experiment", is_flag=True, help="A short experiment on the cook that runs; its record then tells more."
)
@click.option(
    "--step", type=Within(0.01, 0.15, "a share of the fan"), default=0.06, show_default=True, help="Of the experiment.",
)  # fmt: skip
@click.option("--port", default="", help="The board's port. Default: the engine's, or by USB id.")
@click.option("--plot", type=click.Path(dir_okay=False, path_type=Path), help="Draw both settings into this PNG file.")
@unit("Degrees of what you read. Default: as the screen shows them. JSON is in C.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON; writes only with --yes.")
def tune(
    cooks: tuple[str, ...],
    nights: int,
    seed: int,
    know: bool,
    to: Path | None,
    yes: bool,
    undo: bool,
    experiment: bool,
    step: float,
    port: str,
    plot: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Know a cooker from recorded COOKs, and find settings that suit it.

    COOK is a number from `tuyere log list`, or "last"; several of the same cooker tell more. The default is the newest
    cook of your own: one from elsewhere counts only where you name it.
    First pits that explain these nights are found, then settings are searched on them in rehearsed nights. Both are
    shown side by side; nothing is written without a question, and nothing at all without evidence. Ctrl-C ends the
    search with the best so far.
    """
    from tuyere.text import Reader

    if plot and plot.suffix.lower() != ".png":
        raise click.UsageError(f"--plot draws a PNG: give {plot} a name that ends in .png.")
    reader = Reader(book.units(unit))
    if undo:
        _undo(port, reader)
        return
    if experiment:
        _experiment(step, yes, reader)
        return
    from tuyere import tune as room

    with book.logbook() as stored, _worded(reader):
        numbers = [book.cook_number(stored, which) for which in cooks] or [book.newest_own(stored)]
        listed = [room.of_cook(stored, number) for number in numbers]
    with _worded(reader), _bar("knowing the cooker") as move:
        cooker = room.identify(listed, seed=seed, progress=move)
    if not as_json:
        click.echo("\n".join(_known(cooker, reader)))
    if know:
        if as_json:
            book.print_json({"cooker": _data(cooker)})
        return
    with _worded(reader), _bar("rehearsing nights") as move, _stopped() as stop:
        found = room.search(cooker, nights, seed, listed[-1].settings, progress=move, stop=stop.is_set)
    if plot:
        _draw(plot, cooker, found)
    if as_json:
        book.print_json({"cooker": _data(cooker), **found.as_dict()})
    else:
        click.echo("\n".join(_page(found, reader)))
    if found.better:
        _write(found, [night.name for night in listed], to, yes or (not as_json and _asked(to)), port, reader)
    elif not as_json:
        click.echo("Nothing is written.", err=True)


@contextlib.contextmanager
def _worded(reader: Reader) -> Iterator[None]:
    """What is impossible, as one sentence in the reader's units."""
    from tuyere.board.trouble import Trouble
    from tuyere.text import BadValue, render

    try:
        yield
    except (BadValue, Trouble) as wrong:
        raise click.ClickException(render(wrong.said, reader)) from None


@contextlib.contextmanager
def _bar(label: str) -> Iterator[Callable[[float, str], None]]:
    """Say what is done and how far it is."""
    with doing(label) as move:
        yield lambda part, what: move(part)


@contextlib.contextmanager
def _stopped() -> Iterator[threading.Event]:
    """An event that the first Ctrl-C sets; a second one ends the program as usual."""
    stop = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield stop
        return
    before = signal.getsignal(signal.SIGINT)

    def heard(number: int, frame: Any) -> None:
        stop.set()
        signal.signal(signal.SIGINT, before)
        click.echo("\nending with the best so far", err=True)

    signal.signal(signal.SIGINT, heard)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


def _known(cooker: Cooker, reader: Reader) -> Iterator[str]:
    """What is known of the cooker, in words."""
    from tuyere.text import Share, Span, render, text

    yield "This cooker"
    for one in cooker.spreads:
        yield filled(render(one.words, reader), "  ", "    ")
    if not cooker.spreads:
        yield "  shows too little of itself in this"
    rest = text(
        "{pits} pits explain it, but for {misfit} (root mean square), with a fire {lead} stronger or weaker at times",
        pits=str(len(cooker.members)), misfit=Span(cooker.misfit_c), lead=Share(cooker.lead),
    )  # fmt: skip
    yield filled(render(rest, reader), "  ", "    ")
    for said in cooker.says_little:
        yield filled(render(said, reader), "  ", "    ")


def _page(found: Found, reader: Reader) -> Iterator[str]:
    """Now and proposed, side by side; what changes; what it rests on."""
    from tuyere.board.values import ROWS as SETTINGS
    from tuyere.text import Share, render, text

    yield ""
    yield f"{'':26}{'now':>12}{'proposed' if found.better else 'best found':>12}"
    for label, name in ROWS:
        yield f"{label:26}{_cell(name, found.before, reader):>12}{_cell(name, found.after, reader):>12}"
    yield ""
    for name, (before, after) in found.changes.items():
        row = SETTINGS[name]
        old, new = row.words(before, reader.units), row.words(after, reader.units)
        yield filled(row.help, f"{name:12} {old:>8} -> {new:>8} {row.in_unit(reader.units):5} ", " " * 13)
    gain = text(
        "{gain} more of the time in band, give or take {error}, on nights that chose nothing; {nights} in all",
        gain=Share(found.gain, 1), error=Share(2.0 * found.error, 1), nights=f"{found.nights:,}",
    )  # fmt: skip
    if found.gain or found.error:  # others were tried
        yield filled(render(gain, reader) + (", ended early" if found.stopped else ""))
    for why in found.why:
        yield filled(render(why, reader))


def _cell(name: str, score: Any, reader: Reader) -> str:
    """A number of a score as its reader has it."""
    from tuyere.text import Duration, Share, Span, render, text

    value = getattr(score, name)
    if value is None:
        return "never" if name == "arrival_min" else "-"
    if name in ("in_band", "in_band_low", "worst"):
        return render(text("{v}", v=Share(value, 1)), reader)
    if name in ("arrival_min", "delay_s"):
        seconds = value * 60.0 if name == "arrival_min" else value
        return "any" if seconds == float("inf") else render(text("{v}", v=Duration(seconds)), reader)
    if name == "over_c":
        return render(text("{v}", v=Span(value, 1)), reader)
    if name == "back_min":
        return f"{value:.1f} min"
    if name == "turns":
        return f"{value:.1f} an hour"
    if name == "ms":
        return "unsteady" if value == float("inf") else f"{value:.2f}"
    return str(value)


def _data(cooker: Cooker) -> dict[str, Any]:
    """For JSON."""
    from tuyere.text import Reader, render

    metric = Reader("C")
    return {
        "misfit_c": cooker.misfit_c, "lead": cooker.lead, "fits": cooker.fits, "members": len(cooker.members),
        "nights": cooker.nights, "says_little": [render(said, metric) for said in cooker.says_little],
        "known": [
            {"name": one.name, "low": one.low, "middle": one.middle, "high": one.high, "told": one.told,
             "words": render(one.words, metric)}
            for one in cooker.spreads
        ],
    }  # fmt: skip


def _asked(to: Path | None) -> bool:
    """The question; no where nobody can answer."""
    if not sys.stdin.isatty():
        click.echo("nobody to ask: give --yes to write", err=True)
        return False
    return click.confirm(f"Write these settings to {to or 'the board'}?", default=False, err=True)


def _write(found: Found, names: list[str], to: Path | None, agreed: bool, port: str, reader: Reader) -> None:
    """To the board or a file, with where they came from; remembered for --undo."""
    from tuyere.board import settings_file
    from tuyere.tune import undo

    if not agreed:
        return
    before = {name: pair[0] for name, pair in found.changes.items()}
    after = {name: pair[1] for name, pair in found.changes.items()}
    now = int(time.time() * 1000)
    if to:
        when = book.local_time(now)
        why = f"tuned {when} from {', '.join(names)}: {found.gain:+.3f} of the time in band expected"
        try:
            settings_file.write(to, after, reader.units, [why])
        except OSError as wrong:
            raise click.ClickException(f"Cannot write {to}: {wrong.strerror}; choose another file.") from None
        click.echo(f"Written to {to}.", err=True)
    else:
        _order(after, port, reader)
        click.echo("The board has acknowledged. `tuyere tune --undo` goes back.", err=True)
    undo.remember(paths.home(), undo.Written(now, names, before, after, found.gain, file=str(to or "")))


def _order(numbers: dict[str, int], port: str, reader: Reader) -> None:
    from tuyere.board.change import change

    with _worded(reader):
        asyncio.run(change(paths.home(), port, numbers))


def _undo(port: str, reader: Reader) -> None:
    """Back to what stood before the last tuning."""
    from tuyere.board.values import ROWS as SETTINGS
    from tuyere.tune import undo

    last = undo.last(paths.home())
    if last is None:
        raise click.ClickException("Tuning has written nothing to a board that could be taken back.")
    _order(last.before, port, reader)
    undo.taken_back(paths.home())
    for name, raw in last.before.items():
        row = SETTINGS[name]
        click.echo(f"{name} is {row.words(raw, reader.units)} {row.in_unit(reader.units)} again")
    click.echo(f"Taken back: what was written {book.local_time(last.at)}.", err=True)


def _experiment(step: float, yes: bool, reader: Reader) -> None:
    """Walk through the experiment; exit code 1 where it did not begin."""
    from tuyere.cli.tune_experiment import walk
    from tuyere.client.client import EngineError
    from tuyere.text import render

    def agreed() -> bool:
        return yes or (sys.stdin.isatty() and click.confirm("Begin?", default=False, err=True))

    try:
        begun = asyncio.run(walk(paths.home(), step, lambda line: click.echo(line, err=True), agreed, reader))
    except EngineError as wrong:
        raise click.ClickException(render(wrong.said, reader)) from None
    except KeyboardInterrupt:
        sys.exit(130)
    if not begun:
        click.echo("Not begun; --yes begins without asking.", err=True)
        sys.exit(1)


def _draw(file: Path, cooker: Cooker, found: Found) -> None:
    from tuyere.tune.picture import save

    try:
        save(cooker, found, file)
    except RuntimeError as missing:
        raise click.ClickException(str(missing)) from None
    except OSError as wrong:
        raise click.ClickException(f"Cannot write {file}: {wrong.strerror}; choose another file.") from None
    click.echo(f"Drawn into {file}.", err=True)
