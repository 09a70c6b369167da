"""`tuyere rehearse`: a whole cook on a simulated pit, and a summary."""

from __future__ import annotations

import json
import sys

import click

from tuyere.cli.options import simulated


@click.command()
@simulated
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
def rehearse(cooker: str, hours: float, seed: int, as_json: bool) -> None:
    """Run a whole cook on a simulated pit as fast as it goes, then say how it went.

    The decisions are the board's own; the pit is a seeded draw of its kind with openings, wind and ash.
    """
    from tuyere.sim.rehearse import rehearse as run

    shown = sys.stderr.isatty()
    label = f"{hours:g} h on a {cooker} cooker"
    with click.progressbar(length=1000, label=label, file=sys.stderr, hidden=not shown) as bar:
        found = run(cooker, hours, seed, lambda share: bar.update(int(share * 1000) - bar.pos))
    if as_json:
        click.echo(json.dumps(found.as_dict()))
        return
    share, extremes = "not counted: the pit never reached its band", ""
    if found.in_band is not None:
        share = f"{found.in_band:.1%} of the time since the meat went on"
        extremes = f"{found.lowest_c:.1f} to {found.highest_c:.1f} C since the count began"
    rows = [
        ("in band", share),
        ("first arrival", "never" if found.arrival_min is None else f"after {found.arrival_min:.0f} min"),
        ("", "" if found.arrival_min is None else f"{found.over_c:.1f} C above the top of the band at most"),
        ("openings", str(found.openings)),
        ("", "" if found.back_min is None else f"back in band after {found.back_min:.1f} min (median)"),
        ("pit", extremes),
        ("fan", f"{found.fan_mean:.0%} on average"),
        ("charcoal left", f"{found.fuel_left_kg:.1f} kg"),
        ("meat", ", ".join("no probe" if meat is None else f"{meat:.1f} C" for meat in found.meat_c)),
        ("states", ", ".join(f"{state} {minutes:.0f} min" for state, minutes in found.states_min.items())),
        ("cycles", f"{found.cycles} in {found.seconds:.1f} s"),
    ]
    for name, words in rows:
        if words:
            click.echo(f"{name:14} {words}")
