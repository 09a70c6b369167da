"""How the pit stands and how sure that is, in words."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.tui.view import View

FRESH, LATE = 3.0, 6.0  # s; a board gives a record every 2 s


def headline(view: View) -> list[str]:
    """How the pit stands and why. The first sentence is the headline; if nothing is live, it says that."""
    shot = view.shot
    if view.where == "ended":
        return ended(view)
    if view.where == "looking" or shot is None:
        if view.where == "open":
            return ["Asking the engine how the pit stands."]
        return ["Looking for the engine.", view.trouble or "It is started if it does not run yet."]
    if view.where == "lost":
        board, twin = "A board holds the pit without it.", "Its twin has ended, too, or waits for up to 15 min."
        held = twin if shot.link.simulated else board
        gone = f"The engine is gone since {say.clock(shot.now)}; looking for it again."
        return [gone, f"{held} What stands below is old.", view.trouble]
    if view.quiet:
        return [f"No word from the engine since {say.clock(shot.now)}.", "What stands below is old."]
    words = [view.said(word) for word in shot.words if word] or ["The engine has not said how the pit stands."]
    if shot.link.state != "open":
        link = view.said(shot.link.words)
        first = link[:1].upper() + link[1:]
        since = f"The last reading is of {say.when(shot.cycle.at, shot.now)}, not live." if shot.cycle else ""
        said = any(first.rstrip(".").casefold() in word.casefold() for word in words)
        return [words[0], *([] if said else [first]), *([since] if since else []), *words[1:]]
    if shot.stale and shot.cycle:
        return [f"No fresh reading since {say.when(shot.cycle.at, shot.now)}.", *words]
    return words


def ended(view: View) -> list[str]:
    """Somebody ended the engine: who, what that means for the fire, and how it is started again."""
    shot, key = view.shot, view.key("engine")
    when = f" since {say.clock(shot.now)}" if shot else ""
    held, old = "", ""
    if shot is not None:
        board = "A board holds the pit without it; nobody watches."
        held, old = "Its twin has ended with it." if shot.link.simulated else board, "What stands below is old."
    return [f"The engine was ended on purpose{when}.", view.trouble, held, f"{key} starts it again. {old}".strip()]


def sure(view: View) -> tuple[str, str, str]:
    """How sure it is that this is now, by the age of the newest record: (words, the same in brief, role)."""
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
