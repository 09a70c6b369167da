"""Codes of the board in words that a tired cook understands at three in the morning.

Every temperature in these words is absolute and written "126 C" or "121-135 C", so that
`in_units` can turn a finished sentence into F; differences are not given in degrees.
"""

from __future__ import annotations

import re

from hearth.core import orders

from tuyere.cook import faults as guards
from tuyere.cook.snapshot import Cycle, Link
from tuyere.measures import OWN_F, percent

# Keys of hearth.link.messages.WHY and OWN_WHY, and the session's own, after "Not done: ".
REFUSALS = {
    "band_order": "the top of the band must stand at least 2 degrees C above its bottom",
    "out_of_range": "a number is out of the range the board allows",
    "stands_tripped": "the board has tripped; check it, then acknowledge the trip first",
    "no_such_phase": "the programme has no such phase",
    "not_running": "the board is not holding the band just now",
    "fault_stands": "the cause of the trip is still there or still grows; put it right first",
    "opened_enough": "the lid was said to be open for half an hour lately; shut it and wait for the pit to come back",
    "unknown_order": "the board does not know this order; load the firmware that came with this program",
    "bad_arguments": "the order lacks a number, or has one that is not whole",
    "busy": "the board is busy with other orders; try again",
    "too_soon": "the board was given many changes in a row and spares its flash; try again in a minute",
    "over_limit": "the band stands too near the pit's limit, at which the board trips",
    "no_answer": "the board did not answer within 10 s; look at the link, then try again",
    "restarted": "the board restarted before it answered; look how the pit stands, then try again",
    "link_lost": "the link was lost before the board answered; plug it in, then try again",
}

HEADROOM = orders.HEADROOM / 100  # C


# differences of temperature: "by 5 C", "2.4 C an hour", "5 C hotter", "5 C below its target"
DIFFERENCE = re.compile(
    r"(?:(?<=\bby )|(?<![\w.-])(?=[\d.]+ C (?:an hour|hotter|cooler|higher|lower|below its)\b))(\d+(?:\.\d+)?) C\b"
)


def in_units(text: str, units: str) -> str:
    """A sentence of the engine or the forecast with its temperatures in "C" (as they are) or "F"."""
    if units != "F":
        return text

    def degrees(found: re.Match[str]) -> str:
        parts = [part for part in found.groups() if part is not None]
        between = " to " if " to " in found[0] else "-"
        return between.join(f"{float(part) * 1.8 + 32:.0f}" for part in parts) + " F"

    text = OWN_F.sub(lambda own: own[1], text)
    text = DIFFERENCE.sub(lambda found: f"{float(found[1]) * 1.8:.{1 if float(found[1]) < 5 else 0}f} F", text)
    return re.sub(r"(?<![\w.:])(-?\d+(?:\.\d+)?)(?:(?:-| to )(\d+(?:\.\d+)?))? C\b", degrees, text)


def band(low: float, high: float) -> str:
    """'121-135 C'."""
    return f"{low:.0f}-{high:.0f} C"


def count(number: int, what: str) -> str:
    """'1 piece', '2 pieces'."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def refusal(why: str, numbers: dict[str, int] | None = None) -> str:
    """Why an order was not done, as one sentence. numbers: of the board's answer, in its units."""
    return f"Not done: {why_not(why, numbers)}."


def why_not(why: str, numbers: dict[str, int] | None = None) -> str:
    """The same as the end of a sentence."""
    if why == "over_limit" and numbers and {"high", "pit_limit"} <= set(numbers):
        top, limit = f"{numbers['high'] / 100:.0f} C", f"{numbers['pit_limit'] / 100:.0f} C"
        if "rest_above" in numbers:
            rests = f"{(numbers['high'] + numbers['rest_above']) / 100:.0f} C"
            return f"above a band up to {top} the fan would rest from {rests} on, and the board trips at {limit}"
        return f"the band goes up to {top}, and the board trips at {limit}; they must differ by {HEADROOM:.0f} C"
    return REFUSALS.get(why, f"the board says {why!r}")


def stands(cycle: Cycle, fault_bits: int = 0, empty: bool = False) -> list[str]:
    """How the pit stands: a headline, why the fan does what it does, and what to do if anything.

    empty: all the meat is out of the pit.
    """
    said = _stands(cycle, fault_bits)
    if empty and cycle.state == "fading":  # nobody is to feed it
        said[2:] = ["The pit is empty: end the cook and close every vent."]
    if cycle.lost and len(said) < 3:
        said.append(f"Probe {cycle.lost} gives no reading, so the phase will not end by itself: look at its plug.")
    return said


def _stands(cycle: Cycle, fault_bits: int) -> list[str]:
    pit = f"{cycle.pit:.0f} C" if cycle.pit is not None else "no reading"
    there = band(cycle.low, cycle.high)
    fan = percent(cycle.fan)
    inside = cycle.pit is not None and cycle.low <= cycle.pit <= cycle.high
    if cycle.state == "tripped" or cycle.trip:
        guard = guards.trip(cycle.trip, fault_bits, cycle.fan_fault)
        return [f"{guard.what}; {pit}, fan off", guard.why.split("; ")[0].rstrip(".") + ".", f"{guard.checks[0]}."]
    if cycle.reason == "reading_bad":
        what = guards.faults(fault_bits)
        why = f"The pit probe gives no good reading{': ' + what if what else ''}."
        return ["Fan off: the pit cannot be read", why, "Seat the probe and its plug; it trips after a minute."]
    if cycle.reason == "supply_low":
        gives = f"It gives {cycle.supply:.1f} V" if cycle.supply is not None else "It gives too little"
        return [
            f"Fan off: the supply is too low, {pit}",
            f"{gives}; the fan goes on by itself when the supply is back.",
            "Look at the battery, the plug and the supply.",
        ]
    if cycle.resume == "waiting":
        return [
            f"The board has restarted: {pit}, fan off",
            "It goes on by itself if its first good reading is near the band.",
        ]
    if cycle.reason == "not_resumed":
        return [
            f"Off since the board restarted: {pit}, the fan is off",
            "The pit had fallen too far, or could not be read, so the board leaves the fire alone.",
            "Look at the fire; if it burns, start again.",
        ]
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
            f"Still open, or the probe is off the grate: {pit}, fan {fan if cycle.fan > 0.0 else 'off'}",
            "The pit fell and has not risen since; the true pit may be much hotter than this reading.",
            "Look: shut the lid, or put the pit probe back at grate height. It trips if nothing changes.",
        ]
    if cycle.state == "opened":
        how = "as you said" if cycle.reason == "opened_told" else "felt from the fall of the pit"
        return [
            "Opened: the fan does not chase the fall",
            f"An open lid, {how}; the fan stays at {fan}, what the fire usually needs.",
            "Shut the lid as soon as you can.",
        ]
    if cycle.reason == "probe_doubted":
        return [
            f"Doubtful: {pit} with the fan at {fan}",
            "More air than this reading explains: the fire is weak, or the pit probe reads cool and the pit is hot.",
            "Look at the pit probe before you feed the fire; open slowly, from the side.",
        ]
    if cycle.state == "fading":
        return [
            f"The fire is fading: {pit} with the fan at {fan}",
            "It needs clearly more air than it usually has, or air no longer lifts it.",
            "Look at the fuel, knock the ash off, see that the vents are open; add lit charcoal.",
        ]
    if cycle.reason == "recovering":
        wanted = min(1.0, cycle.pull + cycle.owed + cycle.need - cycle.brake)  # what it would be without the opening
        if wanted > cycle.fan + 0.01:
            why = f"The fan is held at {fan}, less than the fall asks for, so that the fire does not run away."
        else:
            why = f"The fan is at {fan}, what the pit asks for now; band {there}."
        return [f"Coming back after an opening: {pit}", why]
    if cycle.state == "climbing":
        if cycle.reason == "braking":
            way = "in the band and still rising" if inside else f"climbing to {there}"
            return [f"Nearly there: {pit}, {way}", f"The fan eases off at {fan}; the heat on its way will do the rest."]
        way = f"in the band ({there}) and still rising" if inside else f"on the way to {there}"
        return [f"Climbing: {pit}, {way}", f"Fan at {fan}. Leave the lid shut."]
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
