"""What each guard of the board tells a cook: what is wrong, why, and what to check, in order, in plain words.

One entry a guard, keyed by the names in `tuyere.codes` or the bits and codes of `hearth.core.fields`. The checks are
common practice, no source. Only the hours between 4 C and 60 C (40-140 F) have one: USDA, advice to consumers.
`code` is the cause's stable name: it is stored, and other programs may rely on it. The words may change.
"""

from __future__ import annotations

from typing import NamedTuple

from hearth.core import fields

from tuyere.text import Key, Length, Said, Temperature, text

URGENT, WARNING = "urgent", "warning"
MINUTE = 60_000
URGENT_SHELF = 30  # min that an urgent alarm may be shelved


class Guard(NamedTuple):
    """What an alarm of this cause says. `after`: ms that the cause must have stood."""

    code: str
    what: str
    why: Said
    checks: tuple[Said, ...]
    level: str = URGENT
    after: int = 0


EMPTY = "The pit is empty and the fire is no longer needed: close every vent; there is nothing else to do for it"
THEN_START = "Then acknowledge and start again"
LOOKED = Key("looked", "F3")
THEN_LOOKED = text(
    "Then say that you looked at the probe ({key}), acknowledge and start again; without that the doubt stays",
    key=LOOKED,
)
DOUBTS = ("trip_fire", "trip_fell", "probe_doubted", "still_open")  # codes: the pit probe may read cool
MIND_THE_MEAT = text(
    "Mind the meat: between {cold} and {hot} for more than two hours it is not safe; follow your local rules",
    cold=Temperature(40.0 / 9.0), hot=Temperature(60.0),
)  # fmt: skip

APART = Length(0.05)  # of the pit probe from the meat; common practice, no source

PROBE_CHECKS = (
    text("See that the pit probe sits at grate height, {apart} from the meat and not over the pan", apart=APART),
    "Push its connector home at the board",
    "Look along the wire for a kink, a burn or a bare spot",
    "Try another probe, or read the pit with a hand thermometer",
    "Then acknowledge and start again; until then the fan stays off",
)
FELL_CHECKS = (
    "See whether the lid and doors are shut",
    text("See that the pit probe is clipped at grate height, {apart} from the meat and not over the pan", apart=APART),
    "The pit may be hotter than the reading said: open it slowly, from the side",
    THEN_LOOKED,
)
FADING_CHECKS = (
    "See that the pit probe is at grate height, clear of pan and meat: one that reads cool hides a far hotter pit",
    "Look at the fuel: is there charcoal left, and does it touch the fire",
    "Knock the ash off the grate",
    "See that the fan turns and its way in is free",
    "See that the top vent is open",
    "Add lit charcoal, a little at a time",
)
DOUBT_CHECKS = (
    text(
        "Look at the pit probe before you feed the fire: at grate height, {apart} from the meat, clear of the pan",
        apart=APART,
    ),
    "Open slowly, from the side: the pit may be far hotter than the reading says",
    "Read the pit with another thermometer if you have one",
    "Only if it is as cool as it reads: knock the ash off, look at fuel, fan and vents, add lit charcoal",
    "If cold meat went on and is not noted, note it: the board then weighs the reading again",
    text("When it lies right: say that you looked at the probe ({key}), or hold the board's button", key=LOOKED),
)
BESIDE_SAYS = "The second probe at the grate reads far more than the pit's"
AIR_CHECKS = (
    "Close the vents a little, the lower ones first",
    "See that the lid and doors are shut tight",
    "Look for burning grease. If there is any, close every vent, do not open, use no water",
)

HAND_CHECKS = (
    text("Give the fan back to the board ({key})", key=Key("back", "g")),
    "Close the vents a little, the lower ones first",
    "Look for burning grease. If there is any, close every vent, do not open, use no water",
)

TRIPS: dict[str, Guard] = {
    "probe": Guard(
        "trip_probe",
        "Tripped: the pit cannot be read",
        "There was no good reading for a minute; the fan is off and stays off.",
        PROBE_CHECKS,
    ),
    "hot": Guard(
        "trip_hot",
        "Tripped: the pit was far too hot",
        "It passed the limit; the fan is off and stays off.",
        (
            "Fan off. Close every vent, top vent last",
            "Keep the lid shut: opening it feeds the fire",
            "Look for grease burning; never throw water on it",
            "When the pit is back in the band: acknowledge, open the vents as before, start again",
        ),
    ),
    "settings": Guard(
        "trip_settings",
        "Tripped: the board's settings are wrong",
        "Its stored settings are damaged. It has its defaults, and the fan is off and stays off.",
        (
            "Send the settings again",
            "See that the band is the one you want",
            "If it happens again, load the firmware again after this cook",
            THEN_START,
        ),
    ),
    "fire": Guard(
        "trip_fire",
        "Tripped: no answer from the fire",
        "A high fan has not lifted the pit for a long time. It is off, so that it blows no cold air over the meat.",
        (
            "Look at the pit probe first: one that slipped reads cool over a hot fire; open slowly, from the side",
            "Look at the fuel: is anything still lit",
            "Knock the ash off and settle bridges in the coal",
            "If water got on the coals, shovel out the wet ones and light fresh charcoal",
            "See that the fan turns and its way in is free",
            MIND_THE_MEAT,
            THEN_LOOKED,
        ),
    ),
    "fell": Guard(
        "trip_fell",
        "Tripped: the pit fell and never rose",
        "The lid stands open, or the probe has come off the grate and reads cool; the fan is off and stays off.",
        FELL_CHECKS,
    ),
    "flare": Guard(
        "trip_flare",
        "Tripped: grease is burning",
        "The pit rose faster than any charcoal lifts it; the fan is off and stays off.",
        (
            "Fan off. Close every vent. Do not open. No water",
            "Keep people away: a lid lifted now feeds a ball of flame",
            "If flames come out of the pit or reach anything else, call the fire brigade",
            "Wait until the pit has fallen below its band, then open it a crack, from the side",
            "Clear the grease away; then acknowledge and start again",
        ),
    ),
    "runaway": Guard(
        "trip_runaway",
        "Tripped: the fire runs away without the fan",
        "Far above the band the pit went on rising with the fan off: the fire gets its air elsewhere.",
        (
            "Close every vent, the lower ones first",
            "See that lid, doors and the ash door are shut tight; a gap can be stuffed with foil",
            "Keep the lid shut until the pit falls; if grease burns, no water",
            "When the pit is back in the band: open the vents less than before, acknowledge and start again",
        ),
    ),
    "fan": Guard(
        "trip_fan",
        "Tripped: something is wrong with the fan",
        "Its wires have reported a fault for 20 s; it is off and stays off.",
        (
            "Look at the fan: does it turn, and can it turn freely",
            "Push its plug home",
            "Hold the fire by hand with the lower vent meanwhile",
            THEN_START,
        ),
    ),
    "supply": Guard(
        "trip_supply",
        "Tripped: the supply breaks down under the fan",
        "Its voltage falls below the limit each time the fan runs, so the fire got no air; the fan stays off.",
        (
            "Charge or change the battery; with a mains supply see that it gives the fan's current",
            "Push its plug home and feel it: a warm plug is loose",
            "Hold the fire by hand with the lower vent meanwhile",
            MIND_THE_MEAT,
            THEN_START,
        ),
    ),
    "restarts": Guard(
        "trip_restarts",
        "Tripped: the board restarted too often",
        "It has started several times in a short while; the fan is off and stays off.",
        (
            "See that its supply and plug sit firmly",
            "Try another 12 V supply: a weak one breaks down when the fan starts",
            "Keep the board dry and out of the heat of the pit",
            "Hold the fire by hand with the lower vent meanwhile",
            THEN_START,
        ),
    ),
}

FAN_FAULTS: dict[int, Guard] = {
    fields.FAN_NOT_TURNING: Guard(
        "trip_fan_not_turning",
        "Tripped: the fan does not turn",
        "It has power and does not turn. It is off and stays off.",
        (
            "Look for what holds its blades: ash, grease, a leaf",
            "Push its plug home",
            "Hold the fire by hand with the lower vent meanwhile",
            "Try another fan; then acknowledge and start again",
        ),
    ),
    fields.FAN_NOT_STOPPING: Guard(
        "trip_fan_not_stopping",
        "Tripped: the fan does not stop",
        "It turns although it is switched off, and feeds the fire.",
        (
            "Pull the fan's plug",
            "Shut its way in, and close the lower vents",
            "A strong wind may turn it: with the plug out, see whether it still does",
            "Have the fan's switch looked at before it is plugged in again; then acknowledge and start again",
        ),
    ),
    fields.FAN_SHORTED: Guard(
        "trip_fan_shorted",
        "Tripped: the fan's switch or its wires are shorted",
        "The blower's own switch conducts though it is off; its supply is taken away, so it stands still.",
        (
            "If the fan blows all the same, pull its plug",
            "Look along its wire for a bare or melted spot",
            "If it trips again with sound wires, the switch on the board has failed: Q1",
            "Hold the fire by hand with the lower vent meanwhile",
            THEN_START,
        ),
    ),
    fields.FAN_FED: Guard(
        "trip_fan_fed",
        "Tripped: the fan's supply does not switch off",
        "Only one of the fan's two switches still works, and holds it off. A second failure would feed the fire.",
        (
            "Pull the fan's plug",
            "Hold the fire by hand with the lower vent meanwhile",
            "The switch of the fan's supply has failed, Q3 on the board: replace it, then measure as at its build step",
            THEN_START,
        ),
    ),
    fields.FAN_OUT: Guard(
        "trip_fan_out",
        "Tripped: the fan's plug is out",
        "No blower is found on the board's wires; nothing is driven.",
        (
            "Push the fan's plug home",
            "Look along its wire for a break",
            "See that the jumper and the setting fan_wires name the fan that is plugged in",
            "Hold the fire by hand with the lower vent meanwhile",
            THEN_START,
        ),
    ),
}

REASONS: dict[str, Guard] = {
    "reading_bad": Guard(
        "reading_bad",
        "The pit cannot be read",
        "The fan is off until it can; it trips after a minute.",
        PROBE_CHECKS[:3],
        WARNING,
    ),
    "still_open": Guard(
        "still_open",
        "Still open, or the probe is off the grate",
        "The fan does no more than in the last while; after a deep fall it is off. The board trips if nothing changes.",
        FELL_CHECKS[:3],
    ),
    "probe_doubted": Guard(
        "probe_doubted",
        "The pit reads far lower than the air it gets explains",
        "Either the fire is weak, or the pit probe reads cool and the true pit is far hotter. The pit is held where it "
        "reads until somebody has looked.",
        DOUBT_CHECKS,
    ),
    "supply_low": Guard(
        "supply_low",
        "The supply is too low, the fan rests",
        "The fan's supply is below its limit, so the fan is off; it goes on by itself when the supply is back.",
        (
            "See whether its battery is empty or its plug is loose",
            "Try another 12 V supply",
            "Hold the fire by hand with the lower vent meanwhile",
        ),
        after=MINUTE,
    ),
    "not_resumed": Guard(
        "not_resumed",
        "The board restarted, and the fan stays off",
        "Its power was cut or it was reset. The pit had fallen too far below its band or could not be read since, "
        "so nobody knows what the fire looks like.",
        (
            "Look at the fire",
            "It burns: start again",
            "It is out or smokes white: light fresh charcoal, let it burn clean, then start again",
            MIND_THE_MEAT,
        ),
    ),
}

RESUMED = Guard(
    "resumed",
    "The board restarted and went on by itself",
    "Its power was cut or it was reset; the pit was still near its band, so it is held as before.",
    ("See that its supply and plug sit firmly", "See in the cook's log when it was, and whether it was once only"),
    WARNING,
)
PROBE_LOST = Guard(
    "phase_probe_lost",
    "The probe that ends this phase gives no reading",
    "The phase will not end by itself.",
    (
        "Push the probe's plug home at the board",
        "Seat it again, mid-thickness in the flat",
        "Try another probe in the same socket",
        "Or take the temperature by hand, and go to the next phase when it is time",
    ),
    after=5 * MINUTE,  # a probe is pulled before anybody notes that its piece came out
)

PROBE_SILENT = Guard(
    "meat_probe_lost",
    "A meat probe gives no reading",
    "Nobody sees how warm its meat is; the band does not depend on it.",
    (*PROBE_LOST.checks[:3], "Or take the temperature by hand"),
    WARNING,
    5 * MINUTE,
)

BOARD: dict[int, Guard] = {
    fields.BOARD_SETTINGS: Guard(
        "board_settings",
        "The board has lost its settings",
        "What it had stored is damaged, so it works with its defaults.",
        ("Send the settings again", "See that the band is the one you want"),
        WARNING,
    ),
    fields.BOARD_FLASH: Guard(
        "board_flash",
        "The board cannot store anything",
        "Its flash takes nothing: without this computer it keeps about 12 min, and it forgets the cook in a power cut.",
        (
            "Leave this computer plugged in and awake until the cook is over",
            "After the cook load the firmware again; if the alarm comes back, use another board",
        ),
        WARNING,
    ),
    fields.BOARD_FULL: Guard(
        "board_full",
        "The board's store of records is full",
        "This computer was away so long that the board dropped its oldest records.",
        ("Nothing to do for the fire: the board held the pit meanwhile", "Leave this computer plugged in and awake"),
        WARNING,
    ),
    fields.BOARD_WATCHDOG: Guard(
        "board_watchdog",
        "The board hung and was restarted",
        "Its program stood still for 8 s, and its watchdog started it again.",
        ("See how the pit stands", "Send in the engine's log if it happens again"),
        WARNING,
    ),
}

# What is wrong with the pit's reading, by the bits of now.faults and out.bad.
PROBE_FAULTS = (
    (fields.PROBE_OPEN, "the probe is open: a broken wire, or the plug is out"),
    (fields.PROBE_SHORT, "the probe's wires touch something"),
    (fields.PROBE_RANGE, "the reading is outside what the probe can measure"),
    (fields.PROBE_SILENT, "the probe's chip does not answer"),
    (fields.COLD_JUNCTION, "the probe's chip is too hot or too cold"),
    (fields.PROBE_TO_SUPPLY, "the probe's wires touch the supply"),
    (fields.PROBE_FROZEN, "the reading has not moved at all for minutes"),
    (fields.PROBE_REVERSED, "the reading is colder than any air: the probe's two wires are swapped"),
)


WHY_EMPTY = {"trip_fire": "A high fan has not lifted the pit for a long time; the fan is off."}


def without_meat(guard: Guard) -> Guard:
    """The same guard when all the meat is out of the pit: no meat to watch, no fire to keep."""
    if MIND_THE_MEAT not in guard.checks:
        return guard
    return guard._replace(
        why=WHY_EMPTY.get(guard.code, guard.why),
        checks=(EMPTY, *(check for check in guard.checks if check != MIND_THE_MEAT)),
    )


def faults(bits: int) -> str:
    """What is wrong with the pit's reading, "" if nothing is."""
    return "; ".join(text for bit, text in PROBE_FAULTS if bits & bit)


def trip(name: str, fault_bits: int = 0, fan_fault: int = 0) -> Guard:
    """The guard of a trip, with what is known of its cause."""
    if name == "fan":
        return FAN_FAULTS.get(fan_fault, TRIPS["fan"])
    found = TRIPS.get(name, TRIPS["settings"])
    cause = faults(fault_bits) if name == "probe" else ""
    if not cause:
        return found
    why = "There was no good reading for a minute ({cause}); the fan is off and stays off."
    return found._replace(why=text(why, cause=cause))
