"""How the pit stands and how sure that is, in words."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.cook.onlooker import Onlooker
from tuyere.text import Clock, Key, Said, sentences, text

FRESH, LATE = 3.0, 6.0  # s; a board gives a record every 2 s
OLD = "What stands below is old."


def headline(view: Onlooker) -> list[str]:
    """How the pit stands and why. The first sentence is the headline; if nothing is live, it says that."""
    return [view.said(one) for one in standing(view)]


def standing(view: Onlooker) -> list[Said]:
    """`headline` before it is rendered."""
    shot = view.shot
    if view.where == "ended":
        return ended(view)
    if view.where == "looking" or shot is None:
        if view.where == "open":
            return ["Asking the engine how the pit stands."]
        return ["Looking for the engine.", view.trouble or "If none runs, one is started."]
    now = Clock(shot.now)
    if view.where == "lost":
        board, twin = "A board holds the pit without it.", "Its twin has ended, too, or waits for up to 15 min."
        gone = text("The engine is gone since {now}; looking for it again.", now=now)
        return [gone, f"{twin if shot.link.simulated else board} {OLD}", view.trouble]
    if view.quiet:
        return [text("No word from the engine since {now}.", now=now), OLD]
    said: list[Said] = [word for word in shot.words if word] or ["The engine has not said how the pit stands."]
    if shot.link.state != "open":
        link = view.said(shot.link.words)
        first = link[:1].upper() + link[1:]
        known = any(first.rstrip(".").casefold() in view.said(word).casefold() for word in said)
        last = [text("The last reading is of {at}, not live.", at=Clock(shot.cycle.at))] if shot.cycle else []
        return [said[0], *([] if known else [first]), *last, *said[1:]]
    if shot.stale and shot.cycle:
        return [text("No fresh reading since {at}.", at=Clock(shot.cycle.at)), *said]
    return said


def ended(view: Onlooker) -> list[Said]:
    """Somebody ended the engine: who, what that means for the fire, and how it is started again."""
    shot = view.shot
    when: Said = "The engine was ended on purpose."
    held, old = "", ""
    if shot is not None:
        when = text("The engine was ended on purpose; the last news is of {now}.", now=Clock(shot.now))
        board = "A board holds the pit without it; nobody watches."
        held, old = "Its twin has ended with it." if shot.link.simulated else board, OLD
    start = text("{key} starts it again.", key=Key("engine", "F5"))
    return [when, view.trouble, held, sentences([start, old])]


def sure(view: Onlooker) -> tuple[str, str, str]:
    """How fresh it is, by the age of the newest record: (words, the same in brief, role)."""
    if view.past is not None:
        return "recorded, not now", "past", "hand"
    age = view.age
    if age is None or view.where == "looking":
        return "", "", ""
    old = f"{say.span(round(age * 1000))} old"
    if not view.live:
        return f"not live, {old}", "not live", "hand"
    if age < FRESH:
        return f"live, under {FRESH:.0f} s old", f"live, <{FRESH:.0f} s", "muted"
    brief = f"{'live' if age <= LATE else 'late'}, {age:.0f} s"
    return f"{brief[:4]}, {old}", brief, "muted" if age <= LATE else "hand"
