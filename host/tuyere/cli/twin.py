"""`tuyere twin`: the board's own firmware in front of a simulated pit, reachable like a board."""

from __future__ import annotations

import json
import os
import select
import signal
import sys
import time
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from tuyere import paths
from tuyere.cli.options import Within, simulated, speed, trouble
from tuyere.cook import planned
from tuyere.engine.device.board_clock import wall_clock

if TYPE_CHECKING:
    from tuyere.meat.piece import PieceOfMeat
    from tuyere.sim.bath import Bath
    from tuyere.sim.script import Script

GONE_S = 5.0  # s after which a twin ends whose folder is gone
ALONE_S = 900  # s after which a twin ends that nobody is connected to


@click.command()
@simulated
@speed(60.0)
@click.option("--home", type=click.Path(path_type=Path), help="Folder to announce itself in; default: the data folder.")
@click.option("--tcp", is_flag=True, help="Also listen on a loopback TCP port (open it as socket://...).")
@click.option(
    "--alone",
    type=Within(1, 1e9, "seconds"),
    default=ALONE_S,
    show_default=True,
    help="End after this number of seconds with nobody connected.",
)
@trouble
@click.option("--bare", is_flag=True, help="Start at MicroPython's prompt, without firmware, for `tuyere board load`.")
@click.option(
    "--bath", is_flag=True, help="No pit: you type where the probes lie (ice, boiling ...), for `board check`."
)
def twin(
    cooker: str,
    seed: int,
    hours: float,
    speed: float,
    home: Path | None,
    tcp: bool,
    alone: float,
    trouble: str | None,
    bare: bool,
    bath: bool,
) -> None:
    """Run the board's firmware in front of a simulated pit.

    Prints the port to open. The firmware is the staged copy that a board is loaded with, run by MicroPython. A plan
    that is kept for a supper to come is cooked from its lighting on: its cooker, its pieces, each at its own time.
    """
    context = click.get_current_context()
    told = context.get_parameter_source
    if bath:
        given = ("cooker", "hours", "trouble")
        pit = [name for name in given if told(name) is ParameterSource.COMMANDLINE]
        if pit:
            raise click.UsageError(f"--bath has no pit: leave out {' and '.join('--' + name for name in pit)}")
    if sys.platform == "win32":
        raise click.ClickException("the twin needs a pseudo-terminal: run it on Linux, macOS or WSL")
    home = home or paths.home()
    chosen = cooker if told("cooker") is not ParameterSource.DEFAULT else ""
    plan = None if bare or bath else planned.to_come(home, wall_clock())
    run(
        chosen or (plan.kitchen.cooker if plan else "") or cooker,
        seed,
        hours,
        speed,
        home,
        tcp,
        alone,
        bare,
        bath,
        trouble or "",
        plan,
    )


def run(
    cooker: str,
    seed: int,
    hours: float,
    speed: float,
    home: Path,
    tcp: bool,
    alone: float,
    bare: bool = False,
    bath: bool = False,
    trouble: str = "",
    plan: planned.Planned | None = None,
) -> None:
    """Run one twin for this home, until somebody ends it or no engine needs it any more. plan: that it cooks."""
    import fcntl

    from tuyere.sim.bath import WORDS, Bath
    from tuyere.sim.mishaps import Troubled
    from tuyere.sim.outside import Outside
    from tuyere.sim.prompt import BareTwin
    from tuyere.sim.pseudo_terminal import Line
    from tuyere.sim.script import Script
    from tuyere.sim.twin import Ended, Twin, World

    script = Script.draw(seed, hours) if plan is None else _script(plan, home, cooker, seed)
    paths.ensure(home)
    mark = os.open(paths.twin_file(home), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(mark, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise click.ClickException(
            f"a twin already runs for {home}; attach to it with `tuyere watch`, or set TUYERE_HOME to another folder"
        ) from None
    ended = False

    def end(number: int, frame: FrameType | None) -> None:
        nonlocal ended
        ended = True

    signal.signal(signal.SIGTERM, end)
    signal.signal(signal.SIGINT, end)
    line = Line(tcp=tcp)
    hands = Bath(seed) if bath else None
    troubled = Troubled(trouble, cooker, seed, script) if trouble and not bath else None
    world: World = hands or troubled or Outside(cooker, seed, script)
    name = f"twin-bath-{seed}" if bath else f"twin-{cooker}-{seed}"
    try:
        done = () if bath else script.hands()
        meats = () if bath else [_weighed(piece) for piece in script.pieces]
        made = (BareTwin if bare else Twin)(
            world, line, speed=speed, name=name, hands=done, meats=meats, trouble=trouble,
            away=troubled.away if troubled else lambda ms: False,
            plan=planned.mark(plan) if plan else "", begins=plan.light if plan else None,
        )  # fmt: skip
    except Ended as problem:
        raise click.ClickException(str(problem)) from None
    said = {
        "pid": os.getpid(),
        "port": line.path,
        "tcp": line.tcp,
        "cooker": cooker,
        "seed": seed,
        "speed": speed,
        "trouble": trouble,
        "runs_on": made.interpreter,
    }
    os.ftruncate(mark, 0)
    os.pwrite(mark, json.dumps(said).encode(), 0)
    click.echo(f"twin on {line.path}{' and ' + line.tcp if tcp else ''}, firmware on {made.interpreter}", err=True)
    if hands:
        click.echo(f"the probes lie in air; type what your hands do: {WORDS}", err=True)

    at_home = time.monotonic()

    def stop() -> bool:
        nonlocal hands, at_home
        if hands and select.select([0], [], [], 0.0)[0]:
            said = os.read(0, 1024)
            hands = _do(hands, said.decode(errors="replace")) if said else None
        now = time.monotonic()
        if now - at_home > GONE_S / 5 and paths.identity(mark) == paths.identity(paths.twin_file(home)):
            at_home = now
        return ended or now - made.heard > alone or now - at_home > GONE_S

    try:
        if troubled is not None:
            troubled.play(made, stop)
        made.run(stop=stop)
    except Ended as problem:
        raise click.ClickException(str(problem)) from None
    finally:
        os.ftruncate(mark, 0)
        made.close()


def _script(plan: planned.Planned, home: Path, cooker: str, seed: int) -> Script:
    from tuyere.plan import loads

    try:
        return loads.of_plan(plan, cooker, seed)
    except ValueError as wrong:
        file = planned.path(home)
        raise click.ClickException(
            f"the plan in {file} does not work: {wrong} Plan again with `tuyere plan --save`."
        ) from None


def _weighed(piece: PieceOfMeat) -> tuple[str, float, float | None, float | None, float]:
    """As weighed and measured in a kitchen: cut, kg, thickness of its parts in m, and the C at which it comes out."""
    flat, point = (None if thick is None else round(thick, 3) for thick in (piece.flat_m, piece.point_m))
    return piece.cut, round(piece.mass_kg, 1), flat, point, round(piece.done_c, 1)


def _do(hands: Bath, lines: str) -> Bath:
    for said in lines.splitlines():
        click.echo(hands.do(said), err=True)
    return hands
