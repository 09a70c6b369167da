"""Codes of the board in words that a tired cook understands at three in the morning."""

from __future__ import annotations

from hearth.core import orders

from tuyere.cook import care as cares
from tuyere.cook import faults as guards
from tuyere.cook import lessons
from tuyere.cook.care import Care
from tuyere.cook.snapshot import Cycle, Link
from tuyere.text import Number, Said, Share, Span, Temperature, Text, band, text

# Keys of hearth.link.messages.WHY and OWN_WHY, and the session's own, after "Not done: ".
REFUSALS: dict[str, Said] = {
    "band_order": text("the top of the band must stand at least {span} above its bottom", span=Span(2.0)),
    "out_of_range": "a number is out of the range the board allows",
    "stands_tripped": "the board has tripped; check the cause, then acknowledge the trip first",
    "no_such_phase": "the programme has no such phase",
    "not_running": "the board is not holding the band just now",
    "fault_stands": "the cause of the trip is still there or still grows; put it right first",
    "no_reading": "that probe gives no reading; look at its plug",
    "opened_enough": "the lid was reported open for half an hour in all; shut it and wait for the pit to come back",
    "not_steady": "the pit must have been held undisturbed for a quarter of an hour, and be clear of the band's edges",
    "unknown_order": "the board does not know this order; load the firmware that came with this program",
    "bad_arguments": "the order lacks a number, or has one that is not whole",
    "busy": "the board is busy with other orders; try again",
    "too_soon": "the board was given many changes in a row and spares its flash; try again in a minute",
    "over_limit": "the band stands too near the pit's limit, at which the board trips",
    "no_answer": "the board did not answer within 10 s; look at the link, then try again",
    "restarted": "the board restarted before it answered; see how the pit stands, then try again",
    "link_lost": "the link was lost before the board answered; plug it in, then try again",
}


def refusal(why: str, numbers: dict[str, int] | None = None) -> Said:
    """Why an order was not done, as one sentence. numbers: of the board's answer, in its units."""
    return text("Not done: {why}.", why=why_not(why, numbers))


def why_not(why: str, numbers: dict[str, int] | None = None) -> Said:
    """The same as the end of a sentence."""
    if why == "over_limit" and numbers and {"high", "pit_limit"} <= set(numbers):
        top, limit = Temperature(numbers["high"] / 100), Temperature(numbers["pit_limit"] / 100)
        if "rest_above" in numbers:
            rests = Temperature((numbers["high"] + numbers["rest_above"]) / 100)
            return text(
                "above a band up to {top} the fan would rest from {rests} on, and the board trips at {limit}",
                top=top, rests=rests, limit=limit,
            )  # fmt: skip
        return text(
            "the band goes up to {top}, and the board trips at {limit}; {room} must lie between",
            top=top, limit=limit, room=Span(orders.HEADROOM / 100),
        )  # fmt: skip
    return REFUSALS.get(why, f"the board says {why!r}")


def stands(cycle: Cycle, fault_bits: int = 0, care: Care | None = None) -> list[Said]:
    """How the pit stands: a headline, why the fan does what it does, and what to do, if anything.

    care: what the meat needs from the fire; None: not known.
    """
    care = care or Care()
    said = _stands(cycle, fault_bits)
    if care.needs and (cares.unkept(cycle) or care.needs[0].past):
        return _with_meat(cycle, care, said)
    if care.empty and cycle.state in ("fading", "off", "burnout"):  # nobody is to feed it
        said[2:] = ["The pit is empty and its fire is no longer needed: close every vent."]
        if cycle.state == "off":
            said[0] = text("{off}: the pit is empty, {pit}", off="Off", pit=_reading(cycle))
    if cycle.lost and not care.probe_out and len(said) < 3:
        end = ", so the phase will not end by itself" if care.changes else ""
        said.append(f"Probe {cycle.lost} gives no reading{end}: look at its plug.")
    if beside := _beside(cycle):
        said.insert(min(len(said), 2), beside)
    return said[:3]


def _beside(cycle: Cycle) -> Said:
    """What the second probe at the grate says of the pit's; "" without one, or where the pit is doubted by it."""
    apart = Span(abs(cycle.differs))
    if cycle.witness == "waits":
        return f"Probe {cycle.beside} hangs beside the pit probe; the two are compared once the pit has warmed up."
    if cycle.witness == "agrees":
        return text("Probe {probe} agrees with the pit probe within {apart}.", probe=cycle.beside, apart=apart)
    if cycle.witness == "low":
        return text(
            "Probe {probe} reads {apart} less: it hangs out of the pit's air, or the pit probe lies over the fire.",
            probe=cycle.beside, apart=apart,
        )  # fmt: skip
    return ""


def _with_meat(cycle: Cycle, care: Care, said: list[Said]) -> list[Said]:
    """Meat that nobody keeps warm comes first, as in the list of alarms. A trip and a fading fire come before it until
    its time is over."""
    tripped, rests = bool(cycle.trip), cares.at_rest(cycle)
    first = care.needs[0]
    head = said[0]
    if first.past or (rests and not tripped):
        fan = text("fan {share}", share=Share(cycle.fan)) if cycle.fan > 0.0 else "fan off"
        head = text("{what}: {pit}, {fan}", what=cares.headline(care.needs), pit=_reading(cycle), fan=fan)
    act = cares.do(care.needs) if rests and not tripped else said[2] if len(said) > 2 else ""
    return [one for one in (head, cares.said(first, care), act) if one != ""]


def _reading(cycle: Cycle) -> Temperature | str:
    return Temperature(cycle.pit) if cycle.pit is not None else "no reading"


def first_clause(said: Said) -> Said:
    """A sentence up to its first semicolon: the headline has room for no more."""
    if isinstance(said, Text):
        template = said.template.split("; ")[0].rstrip(".") + "."
        return Text(template, {name: value for name, value in said.values.items() if f"{{{name}}}" in template})
    return said.split("; ")[0].rstrip(".") + "." if isinstance(said, str) else said


def sentence(words: Said) -> Said:
    """The end of a sentence as a sentence of its own: a capital letter, one full stop."""
    if not isinstance(words, str):
        return words
    bare = words.rstrip(".")
    return bare[:1].upper() + bare[1:] + "."


def _stands(cycle: Cycle, fault_bits: int) -> list[Said]:
    """A headline, why, and what to do, if anything. What stops the fan goes before what disturbs the pit, and that
    before how it is held."""
    return _fan_off(cycle, fault_bits) or _disturbed(cycle) or _on_its_way(cycle) or _held(cycle)


def _inside(cycle: Cycle) -> bool:
    return cycle.pit is not None and cycle.low <= cycle.pit <= cycle.high


def _fan_off(cycle: Cycle, fault_bits: int) -> list[Said]:
    """Why the fan is off, and not only for a moment; [] if it is not."""
    pit = _reading(cycle)
    if cycle.state == "tripped" or cycle.trip:
        guard = guards.trip(cycle.trip, fault_bits, cycle.fan_fault)
        check = text("{check}.", check=guard.checks[0])
        return [text("{what}; {pit}, fan off", what=guard.what, pit=pit), first_clause(guard.why), check]
    if cycle.reason == "reading_bad":
        what = guards.faults(fault_bits)
        none = f"The pit probe gives no good reading{': ' + what if what else ''}."
        return ["Fan off: the pit cannot be read", none, "Seat the probe and its plug; it trips after a minute."]
    if cycle.reason == "supply_low":
        gives: Said = "It gives too little"
        if cycle.supply is not None:
            gives = text("It gives {supply}", supply=Number(cycle.supply, 1, "V"))
        return [
            text("Fan off: the supply is too low, {pit}", pit=pit),
            text("{gives}; the fan goes on by itself when the supply is back.", gives=gives),
            "Look at the battery, the plug and the supply.",
        ]
    if cycle.resume == "waiting":
        return [
            text("The board has restarted: {pit}, fan off", pit=pit),
            "It goes on by itself if its first good reading is near the band.",
        ]
    if cycle.reason == "not_resumed":
        return [
            text("Off since the board restarted: {pit}, the fan is off", pit=pit),
            "The pit had fallen too far, or could not be read, so the board leaves the fire alone.",
            "Look at the fire; if it burns, start again.",
        ]
    if cycle.reason == "too_hot":
        return [
            text("Too hot: {pit}, fan off", pit=pit),
            text(
                "The pit is far above the band ({there}); the fan rests until it is back.",
                there=band(cycle.low, cycle.high),
            ),
            "Close the vents a little and keep the lid shut.",
        ]
    if cycle.state == "off":
        return [
            text("Off: {pit}, the fan is off", pit=pit),
            "The board reads the pit and leaves the fire alone.",
            "Start when the fire is lit.",
        ]
    if cycle.state == "burnout":
        return [
            text("The programme is over: {pit}, fan off", pit=pit),
            "The fire is meant to end.",
            "Close every vent to put it out and save the charcoal.",
        ]
    return []


def _disturbed(cycle: Cycle) -> list[Said]:
    """What a hand, a lid, a probe or a fading fire does to the pit; [] if nothing."""
    pit = _reading(cycle)
    there, fan = band(cycle.low, cycle.high), Share(cycle.fan)
    if cycle.state == "manual":
        return [
            text("Fan by hand at {fan}: {pit}", fan=fan, pit=pit),
            "The board goes back to holding the band when the time set for the hand is over.",
        ]
    if cycle.reason == "still_open":
        return [
            text(
                "Still open, or the probe is off the grate: {pit}, fan {fan}",
                pit=pit,
                fan=fan if cycle.fan > 0.0 else "off",
            ),
            "The pit fell and has not risen since; the true pit may be much hotter than this reading.",
            "Look: shut the lid, or put the pit probe back at grate height. It trips if nothing changes.",
        ]
    if cycle.state == "opened":
        how = "as you said" if cycle.reason == "opened_told" else "felt from the fall of the pit"
        return [
            "Opened: the fan does not answer the fall",
            text("An open lid, {how}; the fan stays at {fan}, what the fire usually needs.", how=how, fan=fan)
            if cycle.fan > 0.0
            else f"An open lid, {how}; the fan is off.",
            "Shut the lid as soon as you can.",
        ]
    if cycle.reason == "probe_doubted" and cycle.witness == "pit_low":
        return [
            text("The pit probe reads too cool: {pit}, fan {fan}", pit=pit, fan=fan),
            text(
                "Probe {probe} beside it reads {apart} more; the pit is held by that one.",
                probe=cycle.beside, apart=Span(abs(cycle.differs)),
            ),
            "Put the pit probe right: at grate height, clear of the pan. Open slowly, from the side.",
        ]  # fmt: skip
    if cycle.reason == "probe_doubted":
        return [
            text("Suspect reading: {pit} with the fan at {fan}", pit=pit, fan=fan),
            "The fan works harder than this reading explains: a weak fire, or a probe that reads cool in a hot pit.",
            "Look at the pit probe before you feed the fire; open slowly, from the side.",
        ]
    if cycle.state == "fading":
        return [
            text("The fire is fading: {pit} with the fan at {fan}", pit=pit, fan=fan),
            "It needs clearly more air than usual, or more air no longer lifts it.",
            "Look at the fuel, knock the ash off, see that the vents are open; add lit charcoal.",
        ]
    if cycle.reason == "recovering":
        wanted = min(1.0, cycle.pull + cycle.owed + cycle.need - cycle.brake)  # what it would be without the opening
        if wanted > cycle.fan + 0.01:
            why: Said = text(
                "The fan is held at {fan}, less than the fall asks for, so that the fire does not run away.", fan=fan
            )
        else:
            why = text("The fan is at {fan}, what the pit asks for now; band {there}.", fan=fan, there=there)
        return [text("Coming back after an opening: {pit}", pit=pit), why]
    return []


def _on_its_way(cycle: Cycle) -> list[Said]:
    """An experiment, or the climb to the band; [] for neither."""
    pit, there, fan = _reading(cycle), band(cycle.low, cycle.high), Share(cycle.fan)
    if cycle.reason == "experimenting":
        return [
            text("Experiment: {pit}, in the band", pit=pit),
            text("The fan goes up and down in small steps, {fan} now, to see how this pit answers.", fan=fan),
            "It ends by itself in 40 min at most, and at once near an edge of the band or at an open lid.",
        ]
    if cycle.state == "climbing":
        if cycle.reason == "braking":
            way: Said = "in the band and still rising" if _inside(cycle) else text("climbing to {there}", there=there)
            return [
                text("Nearly there: {pit}, {way}", pit=pit, way=way),
                text("The fan eases off at {fan}; the heat on its way will do the rest.", fan=fan),
            ]
        way = (
            text("in the band ({there}) and still rising", there=there)
            if _inside(cycle)
            else text("on the way to {there}", there=there)
        )
        return [text("Climbing: {pit}, {way}", pit=pit, way=way), text("Fan at {fan}. Leave the lid shut.", fan=fan)]
    return []


def _held(cycle: Cycle) -> list[Said]:
    """How the pit stands to its band."""
    pit, there, fan = _reading(cycle), band(cycle.low, cycle.high), Share(cycle.fan)
    if cycle.reason == "leaking":
        return [
            text("Leaking: {pit} with the fan off", pit=pit),
            text(
                "The fire gets air past the fan and keeps the pit above the band ({there}); the fan rests.", there=there
            ),
            "Close the vents a little, the lower ones first; see that lid and doors shut tight.",
        ]
    if _inside(cycle) or cycle.reason == "in_band":
        learned = lessons.stands(cycle.lesson, cycle.share)
        holds = text("Band {there}, fan at {fan}.", there=there, fan=fan)
        return [text("Holding {pit}, in the band", pit=pit), holds, *([learned] if learned else [])]
    if cycle.reason == "above_band":
        return [
            text("A little hot: {pit}, above the band", pit=pit),
            text("Band {there}; the fan is at {fan} and the pit will come down by itself.", there=there, fan=fan),
        ]
    back = "the heat on its way will do the rest" if cycle.reason == "braking" else "the fan is bringing it back"
    return [
        text("A little cool: {pit}, below the band", pit=pit),
        text("Band {there}, fan at {fan}: {back}.", there=there, fan=fan, back=back),
    ]


def without_cycle(link: Link) -> list[Said]:
    """What to say before the first cycle of this boot has come."""
    heads = {
        "searching": "Looking for the board",
        "asking": "A port is open, the board has not answered yet",
        "lost": "The link is lost",
        "none": "No board",
        "open": "The board is there, its first cycle is on the way",
    }
    return [heads.get(link.state, "Looking for the board"), sentence(link.words)]
