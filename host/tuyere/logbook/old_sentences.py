"""Finished sentences of versions before typed text, taken apart once, when a file is brought up to date.

A frozen copy of the regular expressions that those versions used to change units on the screen, and of the names of
their alarms. Nothing else may use it, and it is never edited: a file that was written then must read the same for ever.
"""

from __future__ import annotations

import re

from tuyere.text import Length, Mass, Range, Rate, Said, Span, Temperature, Unconverted, Value, text

# what an alarm said -> the code of its cause
CODES = {
    "Tripped: the pit cannot be read": "trip_probe",
    "Tripped: the pit was far too hot": "trip_hot",
    "Tripped: the board's settings are wrong": "trip_settings",
    "Tripped: no answer from the fire": "trip_fire",
    "Tripped: the pit fell and never rose": "trip_fell",
    "Tripped: grease is burning": "trip_flare",
    "Tripped: the fire runs away without the fan": "trip_runaway",
    "Tripped: something is wrong with the fan": "trip_fan",
    "Tripped: the board restarted too often": "trip_restarts",
    "Tripped: the fan does not turn": "trip_fan_not_turning",
    "Tripped: the fan does not stop": "trip_fan_not_stopping",
    "Tripped: the fan's wires are shorted, or its plug is out": "trip_fan_shorted",
    "The pit cannot be read": "reading_bad",
    "Still open, or the probe is off the grate": "still_open",
    "The fire takes far more air than the pit's reading explains": "probe_doubted",
    "The supply is too low, the fan rests": "supply_low",
    "The board restarted, and the fan stays off": "not_resumed",
    "The board restarted and went on by itself": "resumed",
    "The probe that ends this phase gives no reading": "phase_probe_lost",
    "The board has lost its settings": "board_settings",
    "The board cannot store anything": "board_flash",
    "The board's store of records is full": "board_full",
    "The board hung and was restarted": "board_watchdog",
    "The fire is fading": "fading",
    "The pit has been too cool for long": "too_cool",
    "The pit runs hot with the fan off": "too_hot",
    "This board cannot be worked with": "board_refused",
    "The board's program has failed": "board_failed",
    "The board was not told again what it lost": "board_not_told",
    "The logbook cannot be written": "logbook_unwritable",
    "The logbook refused a record of the board": "record_refused",
    "Some records are lost": "records_lost",
    "The link to the board is lost": "link_lost",
    "The board sends but does not answer": "link_deaf",
    "The board has restarted and holds nothing": "restarted_off",
}
OTHER = "other"  # the cause of an alarm that no version we know of has raised

_NUMBER = r"(?<![\w.:-])(?P<low>-?\d+(?:\.\d+)?)(?P<to>(?:-| to )(?P<high>\d+(?:\.\d+)?))? (?P<unit>C|kg|g|cm|mm|m)\b"
_OWN_F = re.compile(r"(-?\d+(?:\.\d+)?(?:-\d+(?:\.\d+)?)? C) \(-?\d+(?:-\d+)? F\)")  # "60 C (140 F)": it gives both
_BY = re.compile(r"\bby $")
_AFTER = re.compile(r" (?P<rate>an hour\b)?(?P<more>(?:hotter|cooler|higher|lower|below its)\b)?")
_METRES = {"cm": 0.01, "mm": 0.001, "m": 1.0}


def convert(words: str) -> Said:
    """The same sentence with typed values; words without a measure stay a plain str.

    Unconverted where what is left still reads like a measure, or has braces, which a template would take for names.
    """
    if "{" in words or "}" in words:
        return Unconverted(words)
    words = _OWN_F.sub(lambda both: both[1], words)
    parts: list[str] = []
    values: dict[str, Value] = {}
    at = 0
    for found in re.finditer(_NUMBER, words):
        if found.start() < at:
            continue
        before, after, end = words[: found.start()], words[found.end() :], found.end()
        low, high = float(found["low"]), float(found["high"]) if found["high"] else None
        unit = found["unit"]
        behind = _AFTER.match(after)
        if unit == "C" and behind and behind["rate"] and high is None:
            value: Value = Rate(low)
            end += len(" an hour")
        elif unit == "C" and (_BY.search(before) or (behind and behind["more"])):
            value = Span(low) if high is None else Range(Span(low), Span(high))
        elif unit == "C":
            places = len(found["low"].partition(".")[2])
            value = Temperature(low, places) if high is None else Range(Temperature(low), Temperature(high))
        elif unit in ("kg", "g"):
            share = 1.0 if unit == "kg" else 0.001
            value = Mass(low * share) if high is None else Range(Mass(low * share), Mass(high * share))
        else:
            share = _METRES[unit]
            value = Length(low * share) if high is None else Range(Length(low * share), Length(high * share))
        name = f"value_{len(values) + 1}"
        parts += [words[at : found.start()], "{", name, "}"]
        values[name] = value
        at = end
    rest = words[at:]
    if re.search(r"\d ?(?:C|F|kg|lb|cm|mm)\b", "".join(parts[::4]) + rest):
        return Unconverted(words)
    return text("".join([*parts, rest]), **values) if values else words
