"""`tuyere log`: the cooks in the logbook, one of them in words, or all of it for other programs."""

from __future__ import annotations

import io
import os
import sys
from dataclasses import replace
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuyere.cli.book import CookName, cook_number, local_time, logbook, print_json, units
from tuyere.cli.log_backup import backup, salvage
from tuyere.cli.log_check import check
from tuyere.cli.log_import import take
from tuyere.cli.log_report import report
from tuyere.cli.options import unit
from tuyere.cli.working import working
from tuyere.engine.device.board_clock import wall_clock
from tuyere.text import CELSIUS, Mass, Reader, render, rendered

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tuyere.logbook import Logbook


def _length(ms: int) -> str:
    hours, minutes = divmod(ms // 60_000, 60)
    return f"{hours} h {minutes:02d} min"


@click.group()
def log() -> None:
    """The cooks in the logbook."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")  # names of cooks, whatever the terminal thinks it can show


@log.command("list")
@click.option("--json", "as_json", is_flag=True, help="A JSON list instead of a table.")
def list_cooks(as_json: bool) -> None:
    """List all cooks, oldest first."""
    import msgspec

    with logbook() as book:
        counted = book.reading.all_counts()
        rows = [(cook, counted[cook.id]) for cook in book.cooks.all()]
    if as_json:
        print_json([{**msgspec.to_builtins(cook), **msgspec.to_builtins(counts)} for cook, counts in rows])
        return
    if not rows:
        click.echo("no cook in the logbook yet; `tuyere watch` begins one", err=True)
        return
    click.echo(f"{'cook':>4}  {'started':16}  {'length':>11}  {'cycles':>8}  {'missing':>7}  name")
    for cook, counts in rows:
        length = _length(cook.ended - cook.started) if cook.ended else "open"
        marks = ("simulated" if cook.simulated else "", "foreign" if cook.origin == "foreign" else "")
        name = cook.name + "".join(f" ({mark})" for mark in marks if mark)
        numbers = f"{counts.cycles:>8}  {counts.missing:>7}"
        click.echo(f"{cook.id:>4}  {local_time(cook.started)}  {length:>11}  {numbers}  {name}")


@log.command()
@click.argument("cook", type=CookName())
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of text; degrees C, UTC in ms.")
@unit("Degrees to print. Default: as the screen shows them.")
def show(cook: str, as_json: bool, unit: str | None) -> None:
    """Show what happened in COOK, a number from `log list` or "last"."""
    from tuyere.logbook.export import about

    with logbook() as book, working("reading the cook"):
        number = cook_number(book, cook)
        reader = Reader(CELSIUS if as_json else units(unit), UTC if as_json else None)
        found = {
            **about(book, number, reader),
            "programme": _programme(book, number, reader),
            "safety": _safety(book, number, reader),
        }
    if as_json:
        print_json(found)
    else:
        for line in _words(found, units(unit)):
            click.echo(line)


def _programme(book: Logbook, cook: int, reader: Reader) -> list[dict[str, Any]]:
    """The programme as the board last told it; its changes are events."""
    import msgspec

    from tuyere.report import gathered

    return [{**msgspec.to_builtins(one), "end": render(one.end, reader)} for one in gathered.phases(book, cook)]


def _safety(book: Logbook, cook: int, reader: Reader) -> dict[str, Any]:
    """By piece what food safety asks and what its probe has shown, and the rules that the pieces call for."""
    from tuyere.report import gathered

    found, rules, now = gathered.looked(book, cook, wall_clock())
    reader = replace(reader, now=now)
    pieces, verdicts = {}, {}
    for piece, looked in found.items():
        if said := [*looked.safe, *([looked.done] if looked.done else [])]:
            pieces[piece] = rendered(said, reader)
        if looked.decision.verdict:
            verdicts[piece] = looked.decision.verdict
    return {"pieces": pieces, "verdicts": verdicts, "rules": rendered(rules, reader)}


def _words(found: dict[str, Any], units: str) -> Iterator[str]:
    """Lines of text, temperatures in "F" or "C"; what a person wrote is left as it is."""
    from tuyere.measures import count

    cook, counts = found["cook"], found["counts"]
    simulated = " (simulated)" if cook["simulated"] else ""
    origin = {"import": " (imported)", "foreign": " (from another program)"}.get(cook["origin"], "")
    yield f"cook {cook['id']}: {cook['name']}{simulated}{origin}"
    end = (
        f"ended {local_time(cook['ended'])}, {_length(cook['ended'] - cook['started'])}"
        if cook["ended"]
        else "still open"
    )
    yield f"  started {local_time(cook['started'])}, {end}"
    yield f"  meat on {local_time(cook['meat_on'])}" if cook["meat_on"] else "  meat not on"
    recorded, missing = count(counts["cycles"], "cycle"), count(counts["missing"], "record")
    yield f"  board {cook['board']}; {recorded} recorded, {missing} missing"
    for gap in found["gaps"]:
        cause = f" ({gap['cause']})" if gap["cause"] else ""
        yield f"  missing: records {gap['first']} to {gap['last']} of boot {gap['boot']}{cause}"
    for cut in found["cuts"]:
        yield f"  {cut['words']}"
    for flaw in found["chain"]["flaws"]:
        yield f"  not as it was stored: {flaw['words']}"
    for note in found["chain"]["notes"]:
        yield f"  {note}"
    names = {piece["id"]: piece["name"] for piece in found["pieces"]}
    if names:
        yield "pieces"
    for piece in found["pieces"]:
        place = "not on yet" if piece["place"] == "pit" and not piece["on_at"] else f"now: {piece['place']}"
        mass = render(Mass(piece["mass"]), Reader(units)) if piece["mass"] else ""
        parts = [piece["cut"], mass, place]
        parts += [f"shade {piece['shade']}" if piece["shade"] is not None else "", piece["wrap"]]
        yield f"  {piece['id']:>3}  {piece['name']}: " + ", ".join(part for part in parts if part)
        for words in found["safety"]["pieces"].get(piece["id"], ()):
            yield f"       {words}"
    if found["programme"]:
        yield "programme"
    for i, phase in enumerate(found["programme"], 1):
        yield f"  {i:>3}  {_phase(phase, units)}"
    if found["safety"]["rules"]:
        yield "food safety"
    for words in found["safety"]["rules"]:
        yield f"  {words}"
    if found["events"]:
        yield "events"
    for event in found["events"]:
        yield f"  {local_time(event['at'])}  {_event(event, names, units)}"
    if found["alarms"]:
        yield "alarms"
    for alarm in found["alarms"]:
        past = [f"{name} {local_time(alarm[name])[11:]}" for name in ("acknowledged", "cleared") if alarm[name]]
        why = f". {alarm['why']}" if alarm["why"] else ""
        stands = [] if alarm["cleared"] or cook["ended"] else ["standing"]
        state = ", ".join([alarm["level"], *past, *stands])
        yield f"  {local_time(alarm['raised'])}  {alarm['what']}{why} ({state})"
    yield from _calls(found)


def _calls(found: dict[str, Any]) -> Iterator[str]:
    """The life of each call. A message that was on its way shows as what became of it."""
    from tuyere.logbook.kinds import CALL_STEPS

    steps = [one for one in found["calls"] if one["step"] != "sending"]
    if steps:
        yield "calls"
    whats = {alarm["code"]: alarm["what"] for alarm in found["alarms"]}
    for one in steps:
        about = whats.get(one["code"], one["code"])
        route = f" {one['route']}:" if one["route"] else ""
        words = f" ({one['words']})" if one["words"] else ""
        yield f"  {local_time(one['at'])} {route} {CALL_STEPS[one['step']]}{words}" + (f", {about}" if about else "")


def _phase(phase: dict[str, Any], units: str) -> str:
    """'low overnight: 225-250 F, ends at 06:00; smoke and bark, until the wrap'."""
    from tuyere.cook.programme import PURPOSES
    from tuyere.text import band

    said = f"{phase['name']}: {render(band(phase['low'], phase['high']), Reader(units))}, ends {phase['end']}"
    return f"{said}; {PURPOSES[phase['purpose']]}" if phase["purpose"] else said


def _event(event: dict[str, Any], names: dict[int, str], units: str) -> str:
    from tuyere.logbook import kinds
    from tuyere.logbook.kinds import KINDS, words

    said, known = words(event["kind"]), KINDS.get(event["kind"])
    if known is not None and event["value"] is not None:
        said += f" {render(kinds.measure(event['kind'], event['value']), Reader(units))}"
    piece = f"{names.get(event['piece'], '')}: " if event["piece"] else ""
    text = event["text"]
    text = f", {text}" if text else ""
    late = not event["source"] and event["noted"] - event["at"] >= 60_000
    noted = f" (noted {local_time(event['noted'])[11:]})" if late else ""
    gone = f" (withdrawn {local_time(event['withdrawn'])[11:]})" if event["withdrawn"] else ""
    return f"{piece}{said}{text}{noted}{gone}"


@log.command()
@click.argument("cook", type=CookName())
@click.option("--format", "form", type=click.Choice(["csv", "json"]), help="What to write; default: csv.")
@click.option("--csv", "as_csv", is_flag=True, help="The same as --format csv.")
@click.option("--json", "as_json", is_flag=True, help="The same as --format json.")
@click.option("--output", type=click.Path(path_type=Path), help="A file to write; default: standard output.")
@click.option("--force", is_flag=True, help="Overwrite the file if it exists.")
def export(cook: str, form: str | None, as_csv: bool, as_json: bool, output: Path | None, force: bool) -> None:
    """Write every cycle of COOK, a number from `log list` or "last"."""
    from tuyere.logbook.export import write_csv, write_json

    wanted = {form or "csv"} if form or not (as_csv or as_json) else set()
    wanted |= {"csv"} if as_csv else set()
    wanted |= {"json"} if as_json else set()
    if len(wanted) > 1:
        raise click.ClickException("a file is either csv or json: leave one of the two options out")
    write = write_csv
    if wanted == {"json"}:
        write = write_json
    if output and output.exists() and not force:
        raise click.ClickException(f"{output} is there already; give another name, or --force to write over it")
    with logbook() as book:
        number = cook_number(book, cook)
        if output is None:
            write(book, number, sys.stdout)
            _say_flaws(book, number)
            return
        part = output.with_name(output.name + ".part")  # a broken-off export never looks like a whole one
        try:
            with working("writing every cycle"), open(part, "w", encoding="utf-8", newline="") as file:
                count = write(book, number, file)
            os.replace(part, output)
            _say_flaws(book, number)
        except OSError as error:
            part.unlink(missing_ok=True)
            raise click.ClickException(
                f"cannot write {output} ({error.strerror}); give --output another place"
            ) from error
    click.echo(f"wrote {count:,} cycle{'' if count == 1 else 's'} of cook {number} to {output}", err=True)


def _say_flaws(book: Logbook, cook: int) -> None:
    """What is missing of a cook or not as it was stored, to standard error: a CSV has no place for it."""
    for gap in book.reading.gaps(cook):
        cause = f": {gap.cause}" if gap.cause else ""
        click.echo(f"missing: records {gap.first} to {gap.last} of boot {gap.boot}{cause}", err=True)
    for flaw in book.soundness.of(cook).flaws:
        click.echo(f"not as it was stored: {flaw.words}", err=True)


for command in (check, backup, salvage, take, report):
    log.add_command(command)
