"""`tuyere rehearse`: whole cooks on simulated pits, and a summary; one cook, many, or several controllers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from tuyere.cli.book import print_json, units
from tuyere.cli.doing import doing
from tuyere.cli.options import Within, simulated, unit
from tuyere.codes import COOKERS
from tuyere.measures import percent
from tuyere.text import Duration, Mass, Number, Range, Reader, Said, Share, Span, Temperature, render, text

if TYPE_CHECKING:
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
            if name not in CONTROLLERS:
                self.fail(f"{name!r} is no controller; choose from {', '.join(CONTROLLERS)}, or all", param, ctx)
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
    help=f"Several controllers on the same cooks: some of {','.join(CONTROLLERS)}, or all. `upper` knows the future, "
    "`unwarned` all of it but the lid; both take some seconds a cook.",
)
@click.option(
    "--plot",
    type=click.Path(dir_okay=False, writable=True, path_type=Path),
    help="Draw the cook into this PNG file (one cook only).",
)
@unit("Degrees of one cook's summary. Default: as the screen shows them. JSON is in C.")
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
@click.pass_context
def rehearse(
    context: click.Context,
    cooker: str,
    hours: float,
    seed: int,
    cooks: int | None,
    compare: tuple[str, ...] | None,
    plot: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Run whole cooks on simulated pits at full speed, then say how they went.

    The decisions are the board's own; each pit is a seeded draw of its kind with openings, wind and ash.
    """
    if plot and plot.suffix.lower() != ".png":
        raise click.UsageError(f"--plot draws a PNG: give {plot} a name that ends in .png.")
    if cooks is None and compare is None:
        found = _one(cooker, hours, seed, plot)
        if as_json:
            print_json(found.as_dict())
        else:
            reader = Reader(units(unit))
            click.echo("\n".join(f"{name:14} {render(said, reader)}" for name, said in _words(found)))
        return
    if plot:
        raise click.UsageError("--plot draws one cook of the board; leave out --cooks and --compare.")
    from tuyere.sim.fleet import Case

    named = cooks is None or context.get_parameter_source("cooker") is not ParameterSource.DEFAULT
    kinds = (cooker,) if named else COOKERS
    cases = [
        Case(kinds[i % len(kinds)], seed + i // len(kinds), hours, controller)
        for controller in compare or ("board",)
        for i in range(cooks or 1)
    ]
    _many(cases, as_json)


@contextmanager
def _progress(length: int, label: str) -> Iterator[Callable[[int], None]]:
    """Say what is done while somebody waits; yields what takes the position reached."""
    with doing(label, follow=False) as move:
        yield lambda position: move(position / length)


def _one(cooker: str, hours: float, seed: int, plot: Path | None) -> Rehearsal:
    """One cook of the board, drawn where asked for."""
    from tuyere.sim.rehearse import BAND_C, rehearse_with_trace

    with _progress(1000, f"{hours:g} h on a {cooker} cooker") as move:
        found, trace = rehearse_with_trace(cooker, hours, seed, lambda share: move(int(share * 1000)))
    if plot:
        from tuyere.sim.plot import save

        try:
            save(trace, *BAND_C, f"Rehearsal: {cooker}, seed {seed}", plot)
        except RuntimeError as missing:
            raise click.ClickException(str(missing)) from None
        except OSError as wrong:
            raise click.ClickException(f"Cannot write {plot}: {wrong.strerror}; choose another file.") from None
        click.echo(f"Drawn into {plot}.", err=True)
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


def _many(cases: list[Case], as_json: bool) -> None:
    """A fleet, and a line for each controller."""
    from tuyere.sim.fleet import cores, summary, sweep, table

    with _progress(len(cases), f"{len(cases)} cooks on {cores()} cores") as move:
        try:
            found = sweep(cases, progress=lambda done, _: move(done))
        except RuntimeError as wrong:
            raise click.ClickException(str(wrong)) from None
    names = dict.fromkeys(case.controller for case in cases)
    groups = {name: [one for case, one in zip(cases, found, strict=True) if case.controller == name] for name in names}
    summaries = [summary(name, group) for name, group in groups.items()]
    if as_json:
        rows = {name: [one.as_dict() for one in group] for name, group in groups.items()}
        print_json({"fleet": [one.as_dict() for one in summaries], "cooks": rows})
        return
    click.echo("\n".join(table(summaries)))
    for one in summaries:
        kinds = ", ".join(f"{kind} {share:.3f}" for kind, share in (one.by_kind or {}).items())
        click.echo(f"{one.controller}: {kinds}; worst {one.worst_cook}")
