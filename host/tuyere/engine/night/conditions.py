"""What needs a person now: the conditions, judged from plain facts. `alarms.py` keeps the logbook's alarms in step."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from tuyere.cook import care as cares
from tuyere.cook import faults as guards
from tuyere.cook.care import Care
from tuyere.cook.faults import URGENT, WARNING
from tuyere.cook.snapshot import Cycle
from tuyere.text import Count, Duration, Listed, Said, Span, sentences, text

SILENT = 10.0  # s without a record until the link counts as lost
BEAT = 35.0  # s without an answer to a heartbeat, three of them
COLD_FOR = 20 * 60_000  # ms on the cook's clock; at 15 min cold meat that goes on woke somebody once in 149 nights
HOT_FOR = 10 * 60_000
FADING_FOR = 5 * 60_000  # while the pit is in its band; gusts made good fires look so for up to half an hour
SLOW_FOR = 60 * 60_000  # after the meat went on, a pit that has never been in its band counts as too cool, too
NO_FIRE = ("off", "burnout")  # states in which no fire is wanted
COLD_BY, HOT_BY = 10.0, 5.0  # C outside the band; common practice, no source


class Facts(Struct):
    """Everything the conditions depend on, gathered by the engine."""

    now: int  # the cook's clock
    cooking: bool = False  # a cook is open
    simulated: bool = False
    cycle: Cycle | None = None
    fault_bits: int = 0
    arrived: bool = False  # the pit has been in the band
    silent: float | None = None  # s since the last record; None before the first
    beat: float | None = None  # s since the last hello
    restarted: bool = False  # the board has come back from a power-up during this cook
    forgot: bool = False  # when it came back it could not read what it had stored of the cook
    opened_for: int = 0  # ms that the lid has stood open
    lost_piece: str = ""  # the piece whose probe `cycle.lost` is
    meat_on: int = 0  # when the meat went on, the cook's clock
    care: Care = field(default_factory=Care)  # what the meat asks of the fire
    missing: int = 0  # records of this cook known to be lost
    gone: str = ""  # why the logbook is not at its place
    aside: str = ""  # the name of a damaged logbook that was set aside during this cook
    trouble: str = ""  # why the logbook cannot be written
    unstored: str = ""  # what the logbook refuses
    refused: str = ""  # why the board does not fit this program
    untold: Said = ""  # why a restarted board did not take again what it had acknowledged
    notice: str = ""  # the newest message of the board about its own program
    twin_ended: bool = False


FADING, FADES_EARLY, COOL, HOT, FED_HOT = "fading", "fading_early", "too_cool", "too_hot", "too_hot_fed"  # codes
FADES = "The fire begins to fade; the pit is still in its band"
OF_THE_FIRE = (FADING, FADES_EARLY, COOL, HOT, FED_HOT)  # these end with the fire, acknowledged or not


class Condition(Struct):
    """Something that stands now. `code` names its cause and is stored; two conditions of one code are one alarm."""

    level: str
    code: str
    what: Said
    why: Said = ""
    checks: Sequence[Said] = ()
    after: int = 0  # ms on the cook's clock that it must have stood; time in which it did not stand is taken off


def conditions(facts: Facts) -> list[Condition]:
    """Everything that stands, from the facts."""
    found = _records(facts)
    if facts.refused:
        found.append(Condition(
            URGENT, "board_refused", "This board does not fit this program", facts.refused,
            [
                "See how the pit stands: nothing of this board is recorded, and nobody is called for it",
                "Load the board with this program's firmware, with `tuyere board load`; its fan is off meanwhile",
            ],
        ))  # fmt: skip
    if facts.notice:
        found.append(Condition(
            URGENT, "board_failed", "The board's program has failed",
            f"It said: {facts.notice}",
            [
                "See how the pit stands: the board starts again by itself, with the fan off until it knows the pit",
                "If it does not come back, close the vents to hold the fire by hand",
                "Send in the cook's log if it happens again",
            ],
        ))  # fmt: skip
    if facts.untold:
        found.append(Condition(
            URGENT, "board_not_told", "The board has lost its state and did not take it again",
            text("It restarted. It did not take what it had acknowledged before: {what}", what=facts.untold),
            ["See that the band is the one you want; set it again if it is not", "The engine tries again by itself"],
        ))  # fmt: skip
    found += _link(facts)
    if facts.cycle is not None:
        found += _pit(facts, facts.cycle)
    return found


def _records(facts: Facts) -> list[Condition]:
    found = []
    if facts.gone:
        found.append(Condition(
            URGENT, "logbook_gone", "The logbook is not at its place", facts.gone,
            [
                "Put the folder back, or a backup of it: recording then goes on by itself",
                "Meanwhile the board holds the pit and keeps its records, for over a day",
                "If the logbook is gone for good, run `tuyere watch`: it begins a new one and fetches what the board "
                "still holds",
            ],
        ))  # fmt: skip
    elif facts.trouble:
        found.append(Condition(
            URGENT, "logbook_unwritable", "The logbook cannot be written", facts.trouble,
            [
                "Free some space on the disk",
                "The board keeps its newest records meanwhile",
                "Recording goes on by itself when the disk takes it again",
            ],
        ))  # fmt: skip
    if facts.aside:
        found.append(Condition(
            WARNING, "logbook_set_aside", "The logbook was damaged and set aside",
            "This cook goes on in a new logbook, with what could be read. "
            f"Beside it is the damaged one, {facts.aside}.",
            [
                "Nothing to do for the fire: the board holds the pit",
                "Afterwards run `tuyere log salvage` on the damaged file, and look at the disk",
            ],
        ))  # fmt: skip
    if facts.unstored:
        found.append(Condition(
            WARNING, "record_refused", "The logbook refused a record of the board", facts.unstored,
            [
                "Nothing to do for the fire: the pit is held, and the other records are stored",
                "Its bytes are kept in refused.jsonl beside the logbook: send that in with the engine's log",
                "Restart the board after this cook",
            ],
        ))  # fmt: skip
    if facts.missing:
        found.append(Condition(
            WARNING, "records_lost", "Some records are lost",
            text("The board dropped {lost} before this computer had them.", lost=Count(facts.missing, "record")),
            ["Nothing to do for the fire: the board held the pit meanwhile"],
        ))  # fmt: skip
    return found


def _link(facts: Facts) -> list[Condition]:
    if not facts.cooking or facts.twin_ended:
        return []
    if facts.silent is None or facts.silent >= SILENT:
        return [Condition(
            WARNING if facts.simulated else URGENT,
            "link_lost", "The link to the board is lost",
            "Nothing has come for 10 s. A board with power holds the pit; without power the fan is off.",
            [
                "If the board has no power the fan is off: close the vents to hold the fire by hand",
                "See that the board has power and its cable is in at both ends",
                "Read the pit with a hand thermometer",
            ],
        )]  # fmt: skip
    if facts.beat is not None and facts.beat >= BEAT:
        return [Condition(
            WARNING, "link_deaf", "The board sends but does not answer",
            "Its records come in, but its heartbeat is missing, so orders may not reach it.",
            ["Look at the cable", "Unplug it and plug it in again; the pit is held meanwhile"],
        )]  # fmt: skip
    return []


def _of(guard: guards.Guard, why: Said = "", level: str = "") -> Condition:
    return Condition(level or guard.level, guard.code, guard.what, why or guard.why, guard.checks, guard.after)


def _pit(facts: Facts, cycle: Cycle) -> list[Condition]:
    care = facts.care
    found = _meat(care, cycle)
    if cycle.trip:
        guard = guards.trip(cycle.trip, facts.fault_bits, cycle.fan_fault)
        found.append(_of(guards.without_meat(guard) if care.empty else _minded(guard, care)))
    if cycle.trip or not facts.cooking:
        return found + (_band(facts, cycle) if facts.cooking else [])
    found += [_of(guard) for bit, guard in guards.BOARD.items() if cycle.board & bit]
    if cycle.reason == "reading_bad":
        cause = guards.faults(facts.fault_bits)
        found.append(_of(guards.REASONS[cycle.reason], f"{cause[:1].upper()}{cause[1:]}." if cause else ""))
    elif cycle.reason == "still_open":
        why = text(
            "The lid has stood open for {time}, or the probe is off the grate.",
            time=Duration(max(60, facts.opened_for // 1000)),
        )
        guard = guards.REASONS[cycle.reason]
        found.append(_of(guard, sentences([why, guard.why])))
    elif cycle.reason == "probe_doubted" and cycle.witness == "pit_low":
        why = text(
            "Probe {probe} beside it reads {apart} more. The pit is held by that probe until somebody has looked, or "
            "both agree.",
            probe=cycle.beside, apart=Span(abs(cycle.differs)),
        )  # fmt: skip
        found.append(_of(guards.REASONS[cycle.reason]._replace(what=guards.BESIDE_SAYS), why))
    elif cycle.reason in guards.REASONS and not (care.empty and cycle.state == "fading"):
        guard = guards.REASONS[cycle.reason]
        found.append(_of(guards.without_meat(guard) if care.empty else guard))
    if cycle.resume == "resumed":
        found.append(_of(guards.RESUMED))
    if cycle.lost and not care.probe_out:
        whose = f" ({facts.lost_piece})" if facts.lost_piece else ""
        guard = guards.PROBE_LOST if care.changes else guards.PROBE_SILENT
        found.append(_of(guard, sentences([f"It is probe {cycle.lost}{whose}.", guard.why])))
    if cycle.state == "fading" and cycle.reason not in guards.REASONS and not care.empty:
        because = sentences([
            "It needs clearly more air than usual, or more air no longer brings the pit back.", cares.why(care)
        ])  # fmt: skip
        checks = [*guards.FADING_CHECKS, *cares.choices(care.needs, "")] if care.needs else guards.FADING_CHECKS
        if cycle.pit is not None and cycle.pit >= cycle.low:  # early notice; below the band it is urgent, and at once
            found.append(Condition(WARNING, FADES_EARLY, FADES, because, checks, FADING_FOR))
        else:
            found.append(Condition(URGENT, FADING, "The fire is fading", because, checks))
    if cycle.state == "off" and facts.restarted and cycle.reason != "not_resumed" and cycle.resume != "waiting":
        lost = "It lost power or was reset during the cook; the fan is off."
        todo = ["See that its supply and plug sit firmly", "Look at the fire", "Start again"]
        if facts.forgot:
            lost += " What it had stored of the cook is damaged, so it does not know what it held."
            todo.append("See that the band is the one you want; if it happens again, use another board")
        found.append(Condition(URGENT, "restarted_off", "The board has restarted and holds nothing", lost, todo))
    return found + _band(facts, cycle)


def _meat(care: Care, cycle: Cycle) -> list[Condition]:
    """Meat that no fire keeps warm. A trip and a fading fire have alarms of their own that name the meat. When the time
    of the meat runs out, that is a new alarm. A new fire does not end it."""
    spoilt = _spoilt(care)
    if not care.needs:
        return spoilt
    tripped = bool(cycle.trip)
    again = cares.AFTER_TRIP if tripped else cares.LIGHT if cares.at_rest(cycle) else ""
    why, checks = cares.why(care), cares.choices(care.needs, again)
    found = []
    if any(need.past for need in care.needs):
        found.append(Condition(URGENT, cares.PAST, cares.LOST_TIME, why, checks))
    if cares.at_rest(cycle) and not tripped:
        found.append(Condition(URGENT, cares.UNKEPT, cares.WHAT, why, checks))
    return [*found, *spoilt]


def _spoilt(care: Care) -> list[Condition]:
    """Meat out of the pit that must not be eaten. A note that it is gone ends it."""
    if not care.spoilt:
        return []
    why = text("Throw away: {names}. Heating it again does not make it safe.", names=Listed(tuple(care.spoilt)))
    checks = ["Throw it away, then note that", "Local rules go first"]
    return [Condition(URGENT, cares.SPOILT, cares.SPOILT_WHAT, why, checks)]


def _minded(guard: guards.Guard, care: Care) -> guards.Guard:
    """A guard of a board at rest; the choices for this meat replace its general sentence."""
    if not care.needs:
        return guard
    own = [check for check in guard.checks if check != guards.MIND_THE_MEAT]
    checks = (*own, *cares.choices(care.needs, cares.AFTER_TRIP))
    return guard._replace(why=sentences([guard.why, cares.why(care)]), checks=checks)


# these question the pit's reading, or say already how hot or cool the pit is
DOUBTS = ("probe_doubted", "still_open")  # reasons
COOL_SAID, HOT_SAID = ("fire", "fell"), ("hot", "flare", "runaway")  # trips


def _band(facts: Facts, cycle: Cycle) -> list[Condition]:
    """Too cool and too hot, in every state of the board."""
    if cycle.pit is None:
        return []
    found, care = [], facts.care
    arrived = facts.arrived or bool(facts.meat_on and facts.now - facts.meat_on >= SLOW_FOR)
    wanted = bool(care.needs) if cares.at_rest(cycle) else arrived and not care.empty and cycle.resume != "waiting"
    wanted = wanted and cycle.reason not in DOUBTS and cycle.trip not in COOL_SAID
    if wanted and cycle.pit < cycle.low - COLD_BY:
        why = sentences(["It stands far below the band.", cares.why(care)])
        cool = cares.choices(care.needs) if cares.at_rest(cycle) else guards.FADING_CHECKS
        found.append(Condition(URGENT, COOL, "The pit has been too cool for a long time", why, cool, COLD_FOR))
    hot = facts.arrived and cycle.pit > cycle.high + HOT_BY and cycle.trip not in HOT_SAID
    leaking = cycle.reason == "leaking"  # the board has waited before it says so
    if leaking or (hot and cycle.fan == 0.0):
        why = "The fire gets air past the fan."
        after = 0 if leaking else HOT_FOR
        found.append(Condition(URGENT, HOT, "The pit runs hot with the fan off", why, guards.AIR_CHECKS, after))
    elif hot:
        why = "It stands far above the band, and the fan still blows."
        checks = guards.HAND_CHECKS if cycle.state == "manual" else guards.AIR_CHECKS
        found.append(Condition(URGENT, FED_HOT, "The pit has been too hot for a long time", why, checks, HOT_FOR))
    return found
