"""`tuyere replay`: the cycles of a stored cook run again and compared, bit for bit."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tuyere.cli.book import CookName, cook_number, local_time, logbook, print_json
from tuyere.cli.doing import doing
from tuyere.cli.options import Within, unit

if TYPE_CHECKING:
    from tuyere.replay.found import Difference, Replay

MOST = 8  # lines of one kind before the rest is only counted


@click.command()
@click.argument("cook", type=CookName())
@click.option("--with-today", is_flag=True, help="A what-if: run with today's core, not that of the record.")
@click.option("--plain", is_flag=True, help="Run without the compiler; slower.")
@click.option("--watch", is_flag=True, help="Show the night on the screen as it was; nothing can be ordered.")
@click.option(
    "--speed",
    type=Within(0.1, 100000, "seconds of the night in a second"),
    default=60.0,
    show_default=True,
    help="Of --watch: seconds of the night in a second.",
)
@click.option("--pit", is_flag=True, help="Play it through the simulated pit of its cooker, with what follows.")
@click.option(
    "--set",
    "change",
    multiple=True,
    metavar="NAME=NUMBER",
    help="Of --pit: a setting of the board, as `tuyere board settings` names it; may be given again.",
)
@click.option(
    "--settings",
    "file",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Of --pit: settings from a TOML file, as `tuyere tune --to` writes it.",
)
@click.option("--band", help="Of --pit: another band for the whole night, as `tuyere plan --band` takes it.")
@click.option(
    "--plot", type=click.Path(dir_okay=False, path_type=Path), help="Of --pit: draw both nights into this PNG file."
)
@unit("Of --watch and --pit: degrees to show, and of what you type. Default: as last time.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of text.")
def replay(
    cook: str,
    with_today: bool,
    plain: bool,
    watch: bool,
    speed: float,
    pit: bool,
    change: tuple[str, ...],
    file: Path | None,
    band: str | None,
    plot: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Run every cycle of COOK again and compare it with the record; --watch shows the night, --pit asks what if.

    COOK is a number from `tuyere log list`, or "last". Each cycle is decided again from its recorded readings and
    orders, with the core that recorded it, starting at the state records. Every output, and the memory at each later
    state record, must be the same bit for bit. Exit code: 0 equal, 1 different or not to be run.
    """
    if not pit and (change or file or band or plot):
        raise click.UsageError("--set, --settings, --band and --plot belong to --pit: give it, too.")
    if pit:
        from tuyere.cli.replay_pit import played

        played(cook, change, file, band, with_today, plot, unit, as_json)
        return
    if watch:
        _watch(cook, speed, unit)
        return
    import msgspec

    from tuyere.replay.rerun import replay as run

    with logbook() as book, doing("deciding every cycle again"):
        found = run(book, cook_number(book, cook), with_today=with_today, fast=False if plain else None)
    if as_json:
        print_json(msgspec.to_builtins(found))
    else:
        for line in lines(found):
            click.echo(line)
    sys.exit(0 if found.equal else 1)


def _watch(cook: str, speed: float, unit: str | None) -> None:
    """The screen of a past night."""
    from tuyere import paths
    from tuyere.cli.watch import utf8
    from tuyere.replay.player import Player
    from tuyere.replay.recorded import load

    if not sys.stdout.isatty():
        raise click.ClickException("the screen needs a terminal; `tuyere log show` prints a cook in words")
    with logbook() as book, doing("reading the night"):
        night = load(book, cook_number(book, cook))
    if night is None:
        raise click.ClickException("no cycle of this cook is stored, so there is nothing to show")
    from tuyere.tui.past_screen import PastApp

    app = PastApp(Player(night, speed=speed), paths.home(), units=unit, utf8=utf8())
    app.run()
    if app.broken:
        raise click.ClickException(app.broken)


def lines(found: Replay) -> Iterator[str]:
    """A replay in words."""
    yield f"cook {found.cook}: {found.name}" + (" (simulated)" if found.simulated else "")
    yield f"  {_count(found.cycles, 'cycle')} and {_count(found.states, 'state record')} stored" + (
        f", {found.lead:,} of the cycles from before the cook, to lead up to it" if found.lead else ""
    )
    if found.boots:
        restarts = f", so {_count(found.restarts, 'restart')}" if found.restarts else ", no restart"
        yield f"  {_count(len(found.boots), 'boot')}{restarts}"
        for boot in found.boots[:MOST]:
            guess = " (estimated)" if boot.estimated else ""
            run = "all run" if boot.replayed == boot.cycles else f"{boot.replayed:,} run"
            yield f"    boot {boot.boot} from {local_time(boot.started)}{guess}: {_count(boot.cycles, 'cycle')}, {run}"
        yield from _rest(len(found.boots), "boots")
    if not found.gaps:
        yield "  no record is missing, by the sequence" + (" and the chain" if not found.flaws else "")
    for gap in found.gaps[:MOST]:
        count = _count(gap.last - gap.first + 1, "record")
        yield f"  missing: {count}, {gap.first} to {gap.last} of boot {gap.boot}: {gap.cause or 'nobody noted why'}"
    yield from _rest(len(found.gaps), "gaps")
    for flaw in found.flaws[:MOST]:
        yield f"  not as it was stored: {flaw.words}"
    yield from _rest(len(found.flaws), "differences; `tuyere log check` lists them")
    for cut in found.cuts[:MOST]:
        yield f"  {cut}"
    for passed in found.passed[:MOST]:
        where = f"records {passed.first} to {passed.last} of boot {passed.boot}"
        yield f"  not run: {_count(passed.cycles, 'cycle')} ({where}): {passed.why}"
    yield from _rest(len(found.passed), "stretches not run")
    for ran in found.cores:
        whose = "today's" if ran.today else "kept in the logbook"
        other = f", not {ran.recorded}, which recorded them" if ran.core != ran.recorded else ""
        how = "compiled" if ran.compiled else "uncompiled"
        yield f"  {_count(ran.cycles, 'cycle')} run with core {ran.core} ({whose}, {how}){other}"
    if found.missing_cores and not found.with_today:
        yield (
            f"  core {', '.join(found.missing_cores)} cannot be run here; `tuyere replay {found.cook} --with-today` "
            "runs its cycles with today's core, as a what-if"
        )
    yield from _verdict(found)
    if found.replayed:
        yield (
            f"  {found.speed:,.0f} cycles/s ({found.seconds * 1000:,.1f} ms, and {found.reading * 1000:,.1f} ms to "
            "read them from the logbook)"
        )


def _verdict(found: Replay) -> Iterator[str]:
    what_if = "what-if: " if found.what_if else ""
    if found.foreign:
        yield "this log is from another program: no law of ours decided it, so there is nothing to run again"
        return
    if not found.replayed:
        yield "nothing could be run again" if found.cycles else "there is no cycle to run again"
        return
    if found.changes:
        made = "made by the core just so"
        if found.changes_followed < found.changes:
            made = f"{found.changes - found.changes_followed:,} of them taken as recorded"
        yield f"  {_count(found.changes, 'change')} of settings or programme between cycles, {made}"
    if found.first is None:
        over = f"every output of {_count(found.replayed, 'cycle')}"
        states = f" and the memory at {_count(found.compared, 'later state record')}" if found.compared else ""
        rest = f"; {found.cycles - found.replayed:,} cycles were not run" if found.replayed < found.cycles else ""
        yield f"{what_if}equal: {over}{states}, bit for bit{rest}"
        return
    yield (
        f"{what_if}different: {_of(found.different, found.replayed, 'cycle')}, "
        f"{_of(found.states_different, found.compared, 'state record')} compared"
    )
    yield f"  first {_difference(found.first)}"


def _difference(first: Difference) -> str:
    from tuyere.replay.sentences import text

    guess = ", estimated" if first.estimated else ""
    when = f"{local_time(first.utc, '%Y-%m-%d %H:%M:%S')}{guess}"
    what = {"out": "cycle", "number": "settings"}.get(first.part, f"state record, {first.part}")
    sides = f"recorded {text(first.recorded, first.unit)}, replayed {text(first.replayed, first.unit)}"
    also = f"; also {', '.join(first.also)}" if first.also else ""
    return (
        f"at record {first.sequence} of boot {first.boot} ({when}), {what}: {first.field} ({first.help}): {sides}{also}"
    )


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _of(number: int, total: int, what: str) -> str:
    return f"{number:,} of {_count(total, what)}"


def _rest(count: int, what: str) -> Iterator[str]:
    if count > MOST:
        yield f"    and {count - MOST:,} more {what}"
