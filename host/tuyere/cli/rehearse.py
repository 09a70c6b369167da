"""`tuyere rehearse`: whole cooks on simulated pits, and a summary; one cook, many, or several controllers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from tuyere.cli.book import print_json, units
from tuyere.cli.columns import filled, narrate
from tuyere.cli.doing import doing
from tuyere.cli.options import Within, simulated, unit
from tuyere.codes import COOKERS
from tuyere.measures import percent
from tuyere.text import Duration, Mass, Number, Range, Reader, Said, Share, Span, Temperature, render, text

if TYPE_CHECKING:
    from hearth.core import Settings

    from tuyere.sim.fleet import Case
    from tuyere.sim.rehearse import Rehearsal

CONTROLLERS = ("board", "on-off", "untuned", "simc", "upper", "unwarned")


class Chosen(click.ParamType):
    """Names of controllers, comma between them, or all."""

    name = "names"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, ...]:
        """Text to names, each once, in the order given."""
        if value == "all":
            return CONTROLLERS
        names = tuple(dict.fromkeys(name.strip() for name in value.split(",")))
        for name in names:
            if name not in CONTROLLERS and not Path(name).is_file():
                self.fail(
                    f"{name!r} is no controller and no file of settings; choose from {', '.join(CONTROLLERS)}, or all, "
                    "or name a file",
                    param,
                    ctx,
                )
        return names


@click.command()
@simulated
@click.option(
    "--cooks",
    type=Within(1, 100000, "a number of cooks", whole=True),
    help="How many cooks, on all cores: seeds from --seed on, on all kinds of cooker in turn unless --cooker is given.",
)
@click.option(
    "--compare",
    type=Chosen(),
    help=f"Several controllers on the same cooks: some of {','.join(CONTROLLERS)}, or all, and files of settings. "
    "`upper` knows the future, `unwarned` all of it but the lid; both take some seconds a cook.",
)
@click.option(
    "--set",
    "change",
    multiple=True,
    metavar="NAME=NUMBER",
    help="A setting of the board, as `tuyere board settings` names it; may be given again.",
)
@click.option(
    "--settings",
    "file",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Settings of the board from a TOML file, as `tuyere tune --to` writes it.",
)
@click.option(
    "--plot",
    type=click.Path(dir_okay=False, writable=True, path_type=Path),
    help="Draw the cook into this PNG file; with --compare the first cook under each.",
)
@unit("Degrees of what you type and read. Default: as the screen shows them. JSON is in C.")
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
@click.pass_context
def rehearse(
    context: click.Context,
    cooker: str,
    hours: float,
    seed: int,
    cooks: int | None,
    compare: tuple[str, ...] | None,
    change: tuple[str, ...],
    file: Path | None,
    plot: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Run whole cooks on simulated pits at full speed, then say how they went.

    The decisions are the board's own; each pit is a seeded draw of its kind with openings, wind and ash.
    """
    if plot and plot.suffix.lower() != ".png":
        raise click.UsageError(f"--plot draws a PNG: give {plot} a name that ends in .png.")
    reader = Reader(units(unit))
    settings = _settings(change, file, reader)
    if cooks is None and compare is None:
        found = _one(cooker, hours, seed, plot, settings)
        if as_json:
            print_json(found.as_dict())
        else:
            click.echo("\n".join(filled(render(said, reader), f"{name:14} ", " " * 15) for name, said in _words(found)))
        return
    if plot and compare is None:
        raise click.UsageError("--plot draws one cook, or several controllers with --compare; leave out --cooks.")
    from tuyere.sim.fleet import Case

    named = cooks is None or context.get_parameter_source("cooker") is not ParameterSource.DEFAULT
    kinds = (cooker,) if named else COOKERS
    cases = []
    for name in compare or ("board",):
        ours = name in CONTROLLERS
        its = settings if ours else _settings((), Path(name), reader)
        called = ("as set" if settings and name == "board" else "") if ours else Path(name).stem
        cases += [
            Case(kinds[i % len(kinds)], seed + i // len(kinds), hours, name if ours else "board", "", its, called)
            for i in range(cooks or 1)
        ]
    _many(cases, as_json, reader)
    if plot:
        _compared(cases, plot)


def _settings(change: tuple[str, ...], file: Path | None, reader: Reader) -> Settings | None:
    """What --settings and --set ask for, the latter over the former; None where nothing is asked for."""
    if not change and not file:
        return None
    from tuyere.board import settings_file, values
    from tuyere.board.trouble import Trouble

    try:
        numbers = settings_file.read(file, reader.units) if file else {}
        return settings_file.made({**numbers, **values.edits(change, reader.units)})
    except Trouble as wrong:
        raise click.ClickException(render(wrong.said, reader)) from None


def _compared(cases: list[Case], file: Path) -> None:
    """The first cook under each controller or settings, drawn one above the other."""
    from tuyere.sim.fleet import traced
    from tuyere.sim.plot import compare
    from tuyere.sim.rehearse import BAND_C

    first = {case.called: case for case in reversed(cases)}
    listed = [first[name] for name in dict.fromkeys(case.called for case in cases)]
    with _progress(len(listed), "drawing") as move:
        traces = []
        for case in listed:
            traces.append(traced(case))
            move(len(traces))
    band = BAND_C
    if listed[0].settings:
        one: Any = listed[0].settings
        band = (one.band_low / 100.0, one.band_high / 100.0)
    title = f"Rehearsal: {listed[0].cooker}, seed {listed[0].seed}"
    with _drawn(file):
        compare(traces, [case.called for case in listed], *band, title, file)


@contextmanager
def _drawn(file: Path) -> Iterator[None]:
    """What keeps a picture from being drawn, as one sentence; else where it is."""
    try:
        yield
    except RuntimeError as missing:
        raise click.ClickException(str(missing)) from None
    except OSError as wrong:
        raise click.ClickException(f"Cannot write {file}: {wrong.strerror}; choose another file.") from None
    click.echo(f"Drawn into {file}.", err=True)


@contextmanager
def _progress(length: int, label: str) -> Iterator[Callable[[int], None]]:
    """Say what is done while somebody waits; yields what takes the position reached."""
    with doing(label, follow=False) as move:
        yield lambda position: move(position / length)


def _one(cooker: str, hours: float, seed: int, plot: Path | None, settings: Settings | None) -> Rehearsal:
    """One cook of the board, drawn where asked for."""
    from hearth.core import Settings as Defaults

    from tuyere.sim.rehearse import rehearse_with_trace

    with _progress(1000, f"{hours:g} h, {cooker} cooker") as move:
        found, trace = rehearse_with_trace(cooker, hours, seed, lambda share: move(int(share * 1000)), settings)
    if plot:
        from tuyere.sim.plot import save

        one: Any = settings or Defaults()
        with _drawn(plot):
            save(trace, one.band_low / 100.0, one.band_high / 100.0, f"Rehearsal: {cooker}, seed {seed}", plot)
    return found


def _words(found: Rehearsal) -> Iterator[tuple[str, Said]]:
    """The summary of one cook: a name and a sentence a line."""
    share: Said = "not counted: the pit never reached its band"
    extremes: Said = ""
    if found.in_band is not None:
        share = text("{share} of the time since the meat went on", share=Share(found.in_band, 1))
        pit = Range(Temperature(found.lowest_c, 1), Temperature(found.highest_c, 1))
        extremes = text("{range} since the count began", range=pit)
    arrival: Said = "never"
    over: Said = ""
    if found.arrival_min is not None:
        arrival = text("after {time}", time=Duration(60.0 * found.arrival_min))
        over = text("above the top of the band by {span} at most", span=Span(found.over_c, 1))
    rows: list[tuple[str, Said]] = [
        ("in band", share),
        ("first arrival", arrival),
        ("", over),
        ("openings", str(found.openings)),
        ("", "" if found.back_min is None else f"back in band after {found.back_min:.1f} min (median)"),
        ("pit", extremes),
        ("fan", text("{share} on average", share=Share(found.fan_mean))),
        ("charcoal", text("{mass} left", mass=Mass(found.fuel_left_kg))),
        *((one["name"] if i == 0 else "", words) for one in found.pieces for i, words in enumerate(_piece(one))),
        ("states", ", ".join(f"{state} {minutes:.0f} min" for state, minutes in found.states_min.items())),
        ("cycles", f"{found.cycles} in {found.seconds:.1f} s"),
    ]
    return ((name, said) for name, said in rows if said != "")


def _piece(one: dict[str, Any]) -> Iterator[Said]:
    """The results of a piece, a line each."""
    done = f"done after {one['done_h']:.1f} h" if one["done_h"] is not None else "not done"
    yield text(
        "{mass}, {done}, {probe} at the end after {hours} h in the heat",
        mass=Mass(one["kg"]), done=done, probe=Temperature(one["probe_c"]), hours=Number(one["cooked_h"], 1),
    )  # fmt: skip
    yield f"plateau of {one['plateau_h']:.1f} h, yield {percent(one['yield'])} of its raw mass"
    lethal = "more than 100 times" if one["lethal"] > 100.0 else f"{one['lethal']:.1f} times"
    yield f"its coldest middle had the heat that the FSIS table asks of beef (6.5 logs) {lethal} over"
    holds = one["holds_h"]
    if not holds:
        yield "too cool at its surface to be held hot"
        return
    worst = min(holds, key=holds.__getitem__)
    best = max(holds, key=holds.__getitem__)
    yield text(
        "above {limit} for {least} h at worst ({worst}), {most} h at best ({best})",
        limit=Temperature(60.0), least=Number(holds[worst], 1), worst=worst, most=Number(holds[best], 1), best=best,
    )  # fmt: skip


def _many(cases: list[Case], as_json: bool, reader: Reader) -> None:
    """A fleet, and a line for each controller or settings."""
    from tuyere.sim.fleet import cores, legend, summary, sweep, table

    with _progress(len(cases), f"{len(cases)} cooks on {cores()} cores") as move:
        try:
            found = sweep(cases, progress=lambda done, _: move(done))
        except RuntimeError as wrong:
            raise click.ClickException(str(wrong)) from None
    names = dict.fromkeys(case.called for case in cases)
    groups = {name: [one for case, one in zip(cases, found, strict=True) if case.called == name] for name in names}
    summaries = [summary(name, group) for name, group in groups.items()]
    if as_json:
        rows = {name: [one.as_dict() for one in group] for name, group in groups.items()}
        print_json({"fleet": [one.as_dict() for one in summaries], "cooks": rows})
        return
    fahrenheit = not reader.metric
    click.echo("\n".join(table(summaries, fahrenheit)))
    for one in summaries:
        kinds = ", ".join(f"{kind} {share:.3f}" for kind, share in (one.by_kind or {}).items())
        click.echo(filled(f"{one.controller}: {kinds}; worst {one.worst_cook}", "", "  "))
    for line in legend(fahrenheit):
        narrate(line)
