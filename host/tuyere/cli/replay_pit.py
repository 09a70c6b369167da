"""`tuyere replay COOK --pit`: the night through the pit of its cooker, with other settings or another band."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuyere.cli.book import cook_number, local_time, logbook, print_json, units
from tuyere.cli.columns import columns, filled
from tuyere.cli.doing import doing
from tuyere.measures import count, percent
from tuyere.text import Mass, Reader, Said, Span, band, render, text

if TYPE_CHECKING:
    from hearth.core import Settings

    from tuyere.logbook import Logbook
    from tuyere.replay.played import Would
    from tuyere.tune.night import Night

WIDEST = 120  # columns of the chart
SHOWN = 8  # lids, and settings, that are named


def played(
    cook: str,
    change: tuple[str, ...],
    file: Path | None,
    band_asked: str | None,
    with_today: bool,
    plot: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Do it, and say or draw what came of it."""
    from tuyere.sim import compiled
    from tuyere.text import BadValue, said_of

    if not compiled.available():
        raise click.ClickException("playing a night through a pit needs numba, which is not installed here")
    if plot and plot.suffix.lower() != ".png":
        raise click.UsageError(f"--plot draws a PNG: give {plot} a name that ends in .png.")
    reader = Reader(units(unit))
    wanted = _band(band_asked, reader)
    try:
        with logbook() as book:
            number = cook_number(book, cook)
            begun, name, night, would, own = _play(book, number, change, file, wanted, with_today, reader)
    except BadValue as wrong:
        raise click.ClickException(render(said_of(wrong), reader)) from None
    if plot:
        from tuyere.replay import drawing

        try:
            drawing.save(night, would, f"{name}: recorded, and what would have been", plot)
        except RuntimeError as missing:
            raise click.ClickException(str(missing)) from None
        except OSError as wrong_place:
            raise click.ClickException(f"Cannot write {plot}: {wrong_place.strerror}; choose another file.") from None
        click.echo(f"Drawn into {plot}.", err=True)
    if as_json:
        print_json(data(night, would))
        return
    for line in lines(f"cook {number}: {name}", night, would, own, begun, reader):
        click.echo(line)
    if sys.stdout.isatty():
        from tuyere.cli.both_nights import chart
        from tuyere.cli.watch import utf8

        click.echo()
        for line in chart(night, would, begun, columns(most=WIDEST), reader.units, utf8()):
            click.echo(line)


def _play(
    book: Logbook,
    number: int,
    change: tuple[str, ...],
    file: Path | None,
    wanted: tuple[float, float] | None,
    with_today: bool,
    reader: Reader,
) -> tuple[int, str, Night, Would, Settings]:
    from hearth.core import Settings

    from tuyere.replay import asked, cores
    from tuyere.replay.played import through_pit
    from tuyere.tune.night import of_cook

    others = sorted({state.core[: cores.NAMED] for state in book.reading.states(number)} - {cores.today().name})
    if others and not with_today:
        raise click.ClickException(
            f"this night was decided by core {', '.join(others)} and today's is {cores.today().name}: add --with-today "
            "to play it with today's law"
        )
    night = of_cook(book, number)
    own = night.settings or Settings()
    settings = _settings(own, change, file, reader)
    with doing("knowing the cooker by its night") as move:
        would = through_pit(
            night, settings, asked=asked.of_cook(book, number, night), band_c=wanted, before=own,
            progress=lambda share, what: move(share),
        )  # fmt: skip
    began = book.reading.trend(number).at[0]
    return began, book.cooks.get(number).name, night, would, own


def _settings(own: Settings, change: tuple[str, ...], file: Path | None, reader: Reader) -> Settings:
    """Those of the night with what --settings and --set ask for, the latter over the former."""
    from tuyere.board import settings_file, values
    from tuyere.board.trouble import Trouble

    try:
        numbers = settings_file.read(file, reader.units) if file else {}
        numbers = {**numbers, **values.edits(change, reader.units)}
        return settings_file.made({**{name: getattr(own, name) for name, _ in own.NAMES}, **numbers})
    except Trouble as wrong:
        raise click.ClickException(render(wrong.said, reader)) from None


def _band(typed: str | None, reader: Reader) -> tuple[float, float] | None:
    """'250-275 F' -> C."""
    if typed is None:
        return None
    from tuyere.plan.request import read_band
    from tuyere.plan.times import BadPlan

    try:
        return read_band(typed)
    except BadPlan as wrong:
        raise click.ClickException(render(wrong.said, reader)) from None


def data(night: Night, would: Would) -> dict[str, Any]:
    """All of it as plain values: columns by period of 2 s, C and shares."""
    found: dict[str, Any] = dataclasses.asdict(would)
    found["recorded_pit_c"] = [None if value != value else value for value in night.pit_cycles().tolist()]  # noqa: PLR0124
    found["recorded_fan"] = night.fan_cycles().tolist()
    for name, value in found.items():
        if hasattr(value, "tolist"):
            found[name] = value.tolist()
    found["cannot_tell"] = render(would.cannot_tell, Reader("C"))
    return found


def lines(head: str, night: Night, would: Would, own: Settings, began: int, reader: Reader) -> Iterator[str]:
    """What would have been, in words."""

    def row(name: str, said: Said) -> str:
        return filled(render(said, reader), f"  {name:13} ", " " * 16)

    yield head + (" (simulated)" if night.simulated else "")
    yield row("asked for", _asked(would, own, reader))
    yield row(
        "known from",
        text(
            "this night: {members} pits explain it; under the recorded fan, with its disturbance, they read again "
            "within {rest}",
            members=str(would.members), rest=Span(would.read_again_c, 1),
        ),
    )  # fmt: skip
    if would.recorded is not None:
        yield row("in band", f"recorded {percent(would.recorded, 1)}, its own settings played {_range(would.same)}")
        yield row("", f"would have been {_range(would.in_band)}")
        low, middle, high = would.change
        answer = f": {would.answer}" if would.answer else ""
        yield row(
            "change",
            f"{middle * 100:+.1f} % of the time, against the record ({low * 100:+.1f} to {high * 100:+.1f}){answer}",
        )
    for i, ((start, length, _), (was, new)) in enumerate(zip(night.openings, would.back_min, strict=True)):
        if i == SHOWN:
            yield row("", f"and {count(len(night.openings) - SHOWN, 'more lid')}")
            break
        shut = local_time(began + round((start + length - float(night.seconds[0])) * 1000), "%H:%M")
        words = f"after the lid shut at {shut}: {_back(was)}, would be {_back(new)}"
        yield row("back in band" if i == 0 else "", words)
    more = would.fuel_kg[1] - would.fuel_same_kg
    said = text("{mass} {way}", mass=Mass(abs(more)), way="more" if more > 0 else "less")
    yield row("charcoal", said if abs(more) >= 0.05 else "as much")
    if would.cannot_tell:
        yield row("cannot tell", would.cannot_tell)


def _asked(would: Would, own: Settings, reader: Reader) -> Said:
    """'gain 2 -> 0.7, band 250-275 F all night', or the night's own."""
    from tuyere.board.values import ROWS

    found = [
        f"{name} {ROWS[name].words(getattr(own, name), reader.units)} -> {ROWS[name].words(value, reader.units)}"
        for name, value in would.settings.items()
        if getattr(own, name) != value
    ]
    if len(found) > SHOWN:
        found[SHOWN:] = [f"{len(found) - SHOWN} more"]
    if len(set(would.low.tolist())) == 1:
        edges = band(float(would.low[0]), float(would.high[0]))
        return text("{settings}, band {band} all night", settings=", ".join(found) or "its own settings", band=edges)
    return ", ".join(found) or "its own settings"


def _range(share: tuple[float, float, float]) -> str:
    low, middle, high = share
    return f"{percent(middle, 1)} ({low * 100:.1f} to {high * 100:.1f})"


def _back(minutes: float | None) -> str:
    return "not back before the next" if minutes is None else f"{minutes:.1f} min"
