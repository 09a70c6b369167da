"""Codes of the board in words that a tired cook understands at three in the morning.

Every temperature in these words is absolute and written "126 C" or "121-135 C", so that
`in_units` can turn a finished sentence into F; differences are not given in degrees.
"""

from __future__ import annotations

import re

from .model import Cycle, Link

# Bits of now.faults (hearth.core.fields), as a person would say them.
FAULTS = (
    (1, "the probe is open: a broken wire, or the plug is out"),
    (2, "the probe's wires touch something"),
    (4, "the reading is outside what the probe can measure"),
    (8, "the probe's chip does not answer"),
    (16, "the probe's chip is too hot or too cold"),
)

# Keys of hearth.link.messages.WHY, and the link's own, after "Not done: ".
REFUSALS = {
    "band_order": "the top of the band must stand at least 2 degrees C above its bottom",
    "out_of_range": "a number is out of the range the board allows",
    "stands_tripped": "the board has tripped; check it, then acknowledge the trip first",
    "no_such_phase": "the programme has no such phase",
    "not_running": "the board is not holding the band just now",
    "fault_stands": "the cause of the trip is still there; put it right first",
    "unknown_order": "the board does not know this order; load the firmware that came with this program",
    "bad_arguments": "the order lacks a number, or has one that is not whole",
    "busy": "the board is busy with other orders; try again",
    "no_answer": "the board did not answer within 10 s; look at the link, then try again",
    "restarted": "the board restarted before it answered; look how the pit stands, then try again",
    "link_lost": "the link was lost before the board answered; plug it in, then try again",
}

HOT_CHECKS = (
    "Fan off. Close every vent, top vent last",
    "Keep the lid shut: opening it feeds the fire",
    "Look for grease burning; never throw water on it",
    "When the pit is back in the band: acknowledge, open the vents as before, start again",
)
PROBE_CHECKS = (
    "See that the pit probe sits at grate height, 5 cm from the meat and not over the pan",
    "Push its connector home at the board",
    "Look along the wire for a kink, a burn or a bare spot",
    "Try another probe, or read the pit with a hand thermometer",
    "Then acknowledge and start again; until then the fan stays off",
)
FIRE_CHECKS = (
    "Look at the fuel: is anything still lit",
    "Knock the ash off and settle bridges in the coal",
    "Water on the coals: shovel it out, light fresh charcoal",
    "See that the fan turns and its way in is free",
    "Mind the meat: between 4 C and 60 C for more than two hours it is not safe; follow your local rules",
    "Then acknowledge and start again",
)
FELL_CHECKS = (
    "See whether the lid and doors are shut",
    "See that the pit probe is clipped at grate height, 5 cm from the meat and not over the pan",
    "The pit may be hotter than the reading said: open it slowly, from the side",
    "Then acknowledge and start again; until then the fan stays off",
)
SETTINGS_CHECKS = (
    "The board found its settings out of range and holds nothing",
    "Send the settings again, or restart the board",
    "Then acknowledge and start again",
)
FADING_CHECKS = (
    "Look at the fuel: is there charcoal left, and does it touch the fire",
    "Knock the ash off the grate",
    "See that the fan turns and its way in is free",
    "See that the top vent is open",
    "Add lit charcoal, a little at a time",
)


def in_units(text: str, units: str) -> str:
    """A sentence of this file with its temperatures in "C" (as they are) or "F"."""
    if units != "F":
        return text

    def degrees(found: re.Match[str]) -> str:
        parts = [part for part in found.groups() if part is not None]
        return "-".join(f"{float(part) * 1.8 + 32:.0f}" for part in parts) + " F"

    return re.sub(r"(?<![\w.])(-?\d+(?:\.\d+)?)(?:-(\d+(?:\.\d+)?))? C\b", degrees, text)


def band(low: float, high: float) -> str:
    """'121-135 C'."""
    return f"{low:.0f}-{high:.0f} C"


def percent(share: float) -> str:
    """0.42 -> '42 %'."""
    return f"{100 * share:.0f} %"


def refusal(why: str) -> str:
    """Why an order was not done, as one sentence."""
    return "Not done: " + REFUSALS.get(why, f"the board says {why!r}") + "."


def faults(bits: int) -> str:
    """What is wrong with the pit's reading."""
    return "; ".join(text for bit, text in FAULTS if bits & bit)


def stands(cycle: Cycle, fault_bits: int = 0) -> list[str]:
    """How the pit stands: a headline, why the fan does what it does, and what to do if anything."""
    pit = f"{cycle.pit:.0f} C" if cycle.pit is not None else "no reading"
    there = band(cycle.low, cycle.high)
    fan = percent(cycle.fan)
    inside = cycle.pit is not None and cycle.low <= cycle.pit <= cycle.high
    if cycle.state == "tripped" or cycle.trip:
        return _tripped(cycle.trip, pit)
    if cycle.reason == "reading_bad":
        what = faults(fault_bits)
        why = f"The pit probe gives no good reading{': ' + what if what else ''}."
        return ["Fan off: the pit cannot be read", why, "Seat the probe and its plug; it trips after a minute."]
    if cycle.reason == "too_hot":
        return [
            f"Too hot: {pit}, fan off",
            f"The pit is far above the band ({there}); the fan rests until it is back.",
            "Close the vents a little and keep the lid shut.",
        ]
    if cycle.state == "off":
        return [
            f"Off: {pit}, the fan is off",
            "The board reads the pit and leaves the fire alone.",
            "Start when the fire is lit.",
        ]
    if cycle.state == "burnout":
        return [
            f"The cook is over: {pit}, fan off",
            "The fire is meant to end.",
            "Close every vent to put it out and save the charcoal.",
        ]
    if cycle.state == "manual":
        return [
            f"Fan by hand at {fan}: {pit}",
            "The board goes back to holding the band when the time set for the hand is over.",
        ]
    if cycle.reason == "still_open":
        return [
            f"Still open, or the probe is off the grate: {pit}, fan off",
            "The pit fell far and has not risen since; the true pit may be much hotter than this reading.",
            "Look: shut the lid, or put the pit probe back at grate height. It trips if nothing changes.",
        ]
    if cycle.state == "opened":
        how = "as you said" if cycle.reason == "opened_told" else "felt from the fall of the pit"
        return [
            "Opened: the fan does not chase the fall",
            f"An open lid, {how}; the fan stays at {fan}, what the fire usually needs.",
            "Shut the lid as soon as you can.",
        ]
    if cycle.state == "fading":
        return [
            f"The fire is fading: {pit} with the fan at {fan}",
            "It needs clearly more air than it usually has, or air no longer lifts it.",
            "Look at the fuel, knock the ash off, see that the vents are open; add lit charcoal.",
        ]
    if cycle.reason == "recovering":
        return [f"Coming back after an opening: {pit}", f"The fan is held at {fan} so that the fire does not run away."]
    if cycle.state == "climbing":
        if cycle.reason == "braking":
            return [
                f"Nearly there: {pit}, climbing to {there}",
                f"The fan eases off at {fan}; the heat on its way will do the rest.",
            ]
        return [f"Climbing: {pit}, on the way to {there}", f"Fan at {fan}. Leave the lid shut."]
    if cycle.reason == "leaking":
        return [
            f"Leaking: {pit} with the fan off",
            f"The fire gets air past the fan and keeps the pit above the band ({there}); the fan rests.",
            "Close the vents a little, the lower ones first; see that lid and doors shut tight.",
        ]
    if inside or cycle.reason == "in_band":
        return [f"Holding {pit}, in the band", f"Band {there}, fan at {fan}."]
    if cycle.reason == "above_band":
        return [
            f"A little hot: {pit}, above the band",
            f"Band {there}; the fan is at {fan} and the pit will come down by itself.",
        ]
    why = "the heat on its way will do the rest" if cycle.reason == "braking" else "the fan is bringing it back"
    return [f"A little cool: {pit}, below the band", f"Band {there}, fan at {fan}: {why}."]


def _tripped(trip: str, pit: str) -> list[str]:
    if trip == "hot":
        return [
            f"Tripped, far too hot: {pit}, fan off",
            "The pit passed the limit.",
            HOT_CHECKS[0] + "; then acknowledge and start again.",
        ]
    if trip == "settings":
        return [
            "Tripped: the board's settings are out of range, fan off",
            SETTINGS_CHECKS[1] + ".",
            SETTINGS_CHECKS[2] + ".",
        ]
    if trip == "fire":
        return [
            f"Tripped: no answer from the fire, {pit}, fan off",
            "A high fan has not lifted the pit for long; blowing on would only cool the meat.",
            FIRE_CHECKS[0] + "; then acknowledge and start again.",
        ]
    if trip == "fell":
        return [
            f"Tripped: the pit fell and never rose, {pit}, fan off",
            "The lid stands open, or the probe has come off the grate and reads cool.",
            FELL_CHECKS[0] + "; then acknowledge and start again.",
        ]
    return [
        "Tripped: no pit reading for a minute, fan off",
        "The fire goes on alone, unwatched.",
        "Check the probe, its plug and its wire; then acknowledge and start again.",
    ]


def without_cycle(link: Link) -> list[str]:
    """What to say before the first cycle of this boot has come."""
    heads = {
        "searching": "Looking for the board",
        "asking": "A port is open, the board has not answered yet",
        "lost": "The link is lost",
        "none": "No board",
        "open": "The board is there, its first cycle is on the way",
    }
    said = link.words.rstrip(".")
    return [heads.get(link.state, "Looking for the board"), said[:1].upper() + said[1:] + "."]
