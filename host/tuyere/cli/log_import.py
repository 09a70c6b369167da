"""`tuyere log import`: a cook from another logbook, or a night from another program."""

from __future__ import annotations

import csv
import json
from datetime import datetime
from pathlib import Path

import click

from tuyere import paths
from tuyere.cli.working import working

OURS = {"time": "time", "pit": "now_pit [C]", "fan": "out_fan [%]", "ambient": "now_ambient [C]"}
OUR_MEATS = tuple(f"now_meat_{i} [C]" for i in (1, 2, 3))


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option("--time", "time_column", help="CSV: the column of the times.")
@click.option("--pit", help="CSV: the column of the pit.")
@click.option("--meat", "meats", multiple=True, help="CSV: a column of a piece of meat; up to three times.")
@click.option("--ambient", default="", help="CSV: the column of the air outside.")
@click.option("--fan", default="", help="CSV: the column of the fan, in percent.")
@click.option("--unit", type=click.Choice(["F", "C"]), help="CSV: degrees of the columns. Needed unless it is our own.")
@click.option("--start", help='CSV: times are seconds since this moment, for instance "2026-05-09 18:30".')
@click.option("--name", help="CSV: what to call the cook; default: the name of the file.")
def take(
    file: Path, time_column: str | None, pit: str | None, meats: tuple[str, ...], ambient: str, fan: str,
    unit: str | None, start: str | None, name: str | None,
) -> None:  # fmt: skip
    """Store a cook from FILE as a new one.

    FILE is a JSON export of `tuyere log export --json`, which comes back exactly; or a CSV of a night from another
    program, with its columns named by the options. A CSV is marked as foreign: it can be looked at and tuned from, but
    not run again bit for bit. Times in a CSV are ISO 8601 or seconds since 1970. The engine must not run meanwhile.
    """
    from tuyere.logbook import Logbook, LogbookError, foreign, transfer

    try:
        if file.suffix.lower() == ".json":
            try:
                given = json.loads(file.read_text(encoding="utf-8"))
                rows, records = given["stored"], given["records"]
            except (ValueError, KeyError, TypeError) as error:
                raise click.ClickException(f"{file} is no JSON export of a cook: {error!r}") from error
            with Logbook(paths.logbook_path(paths.home())) as book, working("storing the readings"):
                cook = book.transfer.take(rows, transfer.decoded(records), file.name)
                count = book.reading.counts(cook).cycles
        else:
            with open(file, encoding="utf-8-sig", newline="") as lines:
                heads = lines.readline()
                own = time_column is None and pit is None and OURS["pit"] in heads
                if not own and not (time_column and pit and unit):
                    raise click.ClickException(
                        f"{file} is a CSV from elsewhere: name its columns with --time and --pit, and its degrees "
                        f"with --unit; it has {heads.strip()[:500]}"
                    )
                lines.seek(0)
                columns = foreign.Columns(
                    time=time_column or OURS["time"], pit=pit or OURS["pit"],
                    meats=[one for one in OUR_MEATS if one in heads] if own else list(meats),
                    ambient=OURS["ambient"] if own and OURS["ambient"] in heads else ambient,
                    fan=OURS["fan"] if own and OURS["fan"] in heads else fan,
                )  # fmt: skip
                night = foreign.read(lines, columns, fahrenheit=unit == "F", start=_moment(start))
            with Logbook(paths.logbook_path(paths.home())) as book:
                cook = foreign.take(book, night, name or file.stem, file.name)
                count = len(night.at)
    except LogbookError as error:
        raise click.ClickException(str(error)) from error
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise click.ClickException(f"{file} cannot be read: {error}") from error
    click.echo(f"stored {count:,} readings of {file} as cook {cook}; `tuyere log show {cook}` shows it", err=True)


def _moment(text: str | None) -> int:
    if text is None:
        return 0
    try:
        return round(datetime.fromisoformat(text).timestamp() * 1000)
    except (ValueError, OverflowError, OSError):
        raise click.ClickException(f'--start "{text}" is no moment; give it like "2026-05-09 18:30"') from None
