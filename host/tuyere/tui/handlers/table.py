"""The serving time: set or moved, then what helps, and the cook summed up. One function an action, with its name."""

from __future__ import annotations

import asyncio
import os
from datetime import datetime

from rich.text import Text

from tuyere.client.launch import command
from tuyere.cook import say
from tuyere.measures import SPAN, TEMPERATURE
from tuyere.plan.times import BadPlan, moment
from tuyere.text import as_said
from tuyere.tui.face import Face
from tuyere.tui.screens.form import Field, Form, Values, measure
from tuyere.tui.screens.pager import Page, columns

PATIENCE = 300.0  # s for the choices; their models may have to be compiled first
WORKING = "Working out the choices and their odds. This takes up to a minute."


async def serving(app: Face) -> None:
    """Ask for the time; with meat in the heat, weigh what helps."""
    shot = app.view.shot
    if shot is None:
        return
    had = shot.serving.at
    shown = f"{datetime.fromtimestamp(had / 1000):%a %H:%M}" if had else ""
    fields = [Field("at", "serve at", value=shown, empty=True)]
    kitchen, units = shot.kitchen, app.view.units
    there = "yes" if kitchen.hold == "low oven" else "no"
    fields.append(Field("oven", "an oven", "choice", there, choices=[("no", "no"), ("yes", "there is one")]))
    kept = [
        measure("oven_lowest", "oven from", kitchen.oven_lowest, TEMPERATURE, units, "its lowest", low=40, high=115,
                empty=True),
        measure("oven_error", "oven's error", kitchen.oven_error, SPAN, units, "colder", low=0, high=30),
        measure("pit_error", "pit's error", kitchen.pit_error, SPAN, units, "colder", low=0, high=30),
    ]  # fmt: skip
    fields += kept
    made: dict[str, int] = {}

    def soon(values: Values) -> str:
        try:
            made["at"] = moment(values["at"], shot.now) if values["at"].strip() else 0
        except BadPlan as wrong:
            return app.view.said(wrong.said)
        return ""

    async def give(values: Values) -> str:
        told = {field.name: field.read(values[field.name]) for field in kept}
        if any(told[name] != getattr(kitchen, name) for name in told):
            _, trouble = await app.attempt("kitchen_change", **told)
            if trouble:
                return trouble
        return (await app.attempt("serve_change", at=made["at"]))[1]

    about = (
        "Such as 20:30, or Sat 20:30; empty for no time. All pieces are to be rested and carved by then. An error is "
        "how much colder meat may lie than the dial or the probe says."
    )
    values = await app.ask(Form("Serving time", about, fields, soon, give))
    hot = any(p.place in ("pit", "oven", "box", "out") and p.on_at for p in shot.pieces)
    if values is None or not made["at"] or not hot:
        return
    await _weigh(app, made["at"], values["oven"] == "yes")


async def _weigh(app: Face, at: int, oven: bool) -> None:
    """The choices of `tuyere plan move`, in a page that fills when they are there."""
    said = [WORKING]

    def made(width: int) -> Text:
        return Text("\n".join(part for one in said for part in say.wrap(one, width) or [""]))

    page = Page("What helps", made, "", app.keys["serving"])
    task = asyncio.create_task(_choices(app, at, oven, columns(app.screen.size.width)))

    def there(done: asyncio.Task[str]) -> None:
        if not done.cancelled():
            said[:] = done.result().splitlines()
            app.show()

    task.add_done_callback(there)
    try:
        await app.ask(page)
    finally:
        task.cancel()


async def _choices(app: Face, at: int, oven: bool, width: int) -> str:
    """What the command says, in the reader's units and at that width; it computes in a process of its own."""
    when = f"{datetime.fromtimestamp(at / 1000):%Y-%m-%d %H:%M}"
    process = await asyncio.create_subprocess_exec(
        *command(), "plan", "move", when, "--unit", app.view.units, "--oven" if oven else "--no-oven",
        stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
        env={**os.environ, "TUYERE_HOME": str(app.home), "COLUMNS": str(width)},
    )  # fmt: skip
    try:
        async with asyncio.timeout(PATIENCE):
            out, wrong = await process.communicate()
    except TimeoutError:
        return "The choices took too long: try `tuyere plan move` in another terminal."
    finally:
        if process.returncode is None:
            process.kill()
            await process.wait()
    if process.returncode:
        lines = wrong.decode(errors="replace").strip().splitlines()
        return lines[-1].removeprefix("Error: ") if lines else "The choices could not be worked out."
    return out.decode(errors="replace").strip()


REPORT = "`tuyere log report last night.html` writes this cook as one page, and the page for phones offers it"


async def summary(app: Face) -> None:
    """The cook, or the last one, summed up."""
    answer, trouble = await app.attempt("summary")
    if trouble:
        app.tell(trouble)
        return
    lines = [*(app.view.said(as_said(line)) for line in answer["lines"]), "To keep, to print, to show:", REPORT]

    def made(width: int) -> Text:
        text = Text()
        for line in lines:
            head = line.endswith(":")
            text.append("\n".join(say.hanging(line, width)) + "\n", "bold" if head else "")
        return text

    await app.ask(Page("The cook summed up", made, "", app.keys["summary"]))
