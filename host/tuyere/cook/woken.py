"""Whether somebody would be woken, in words: the header's warning, and what to do before bed."""

from __future__ import annotations

from tuyere.cook.snapshot import Prompt, Waking
from tuyere.text import Key, Said, text

HEADER = "nobody would be woken"
TEST = Key("wake", "F7")
AWAKE = Key("awake", "space")


def header(waking: Waking) -> str:
    """Short words for the top line; "" while somebody would be woken, or no cook needs it."""
    return HEADER if waking.asked and not waking.watched else ""


def why(waking: Waking) -> Said:
    """Why nobody would be woken, and what to do about it."""
    if not header(waking):
        return ""
    if waking.trouble:
        return f"Nobody would be woken: {waking.trouble}."
    if not waking.routes:
        return text(
            "Nobody would be woken: there is no route to a phone. Add one (`tuyere wake add`), then test it ({key}).",
            key=TEST,
        )
    if waking.test_in:
        return "A test call is on its way: lock the phone in its night mode, and lay it where it lies at night."
    if waking.test_waits:
        return text("The test call is out: type its four digits ({key}), and say whether it sounded.", key=TEST)
    return text("Nobody would be woken: no call has been tested since the fire was lit ({key} tests).", key=TEST)


def prompt(waking: Waking) -> Prompt | None:
    """What the hands must do about it before bed."""
    if not header(waking) or waking.ask_at < 0:
        return None
    if waking.test_waits:
        words: Said = text("Type the digits of the test call, and say whether it sounded ({key})", key=TEST)
        return Prompt("wake", words, 0)
    if waking.test_in:
        return None
    if not waking.routes:
        add = "Before bed: add a route to your phone with `tuyere wake add`; nobody would be woken"
        return Prompt("look", add, waking.ask_at)
    return Prompt("wake", text("Before bed: test that a call wakes you ({key})", key=TEST), waking.ask_at)
