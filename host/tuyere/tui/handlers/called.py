"""Calls: a person who is awake says so, and the test before bed."""

from __future__ import annotations

from tuyere.text import as_said
from tuyere.tui.face import Face
from tuyere.tui.screens.ask import Ask
from tuyere.tui.screens.form import Field, Form, Values

LOCK = (
    "In two minutes you are called as by a real urgent alarm. Lock the phone in its night mode before that, and lay it "
    "where it lies at night. The call brings four digits; type them here, and say whether it sounded."
)
ANSWERS = [("yes", "yes"), ("no", "no")]


async def awake(app: Face) -> None:
    await _say(app, "awake")


async def wake(app: Face) -> None:
    """Ask for a test, or take the digits of the one that is out."""
    shot = app.view.shot
    if shot is None:
        return
    waking = shot.waking
    if waking.test_waits:
        await _digits(app, waking.test_failed)
    elif waking.test_in:
        app.say(f"The test call goes out in {waking.test_in} s: lock the phone in its night mode.")
    elif not waking.routes:
        app.say("There is no route to a phone yet: add one in another terminal with `tuyere wake add`.", "warning")
    elif await app.ask(Ask("Test that a call wakes you?", LOCK, "call me in two minutes")):
        await _say(app, "wake_test")


async def _digits(app: Face, failed: list[str]) -> None:
    async def give(values: Values) -> str:
        digits = values["digits"].strip()
        if not digits:
            return await _say(app, "wake_test")
        return await _say(app, "wake_answer", digits=digits, sounded=values["sounded"] == "yes")

    about = "Type the digits that the call brought; leave them empty to be called once more."
    if failed:
        about += f" Not accepted: {'; '.join(failed)}."
    fields = [Field("digits", "digits"), Field("sounded", "it sounded", "choice", "yes", choices=ANSWERS)]
    await app.ask(Form("The test call", about, fields, give=give))


async def _say(app: Face, method: str, **given: str | bool) -> str:
    """Ask the engine and say its answer; why it was not done, for a form that stays open."""
    answer, trouble = await app.attempt(method, **given)
    if not trouble:
        app.say(app.view.said(as_said(answer.get("words") or "Done.")))
    elif not given:
        app.tell(trouble)
    return trouble
