"""Why the fan does what it does, for the detail view: a few words for each reason of the board."""

from __future__ import annotations

REASONS = {
    "not_started": "the pit is not being held",
    "by_hand": "set by hand",
    "below_band": "the pit is below its aim",
    "braking": "easing off: the rise will bring the rest",
    "in_band": "the pit is in the band",
    "above_band": "the pit is above the band",
    "opened_told": "the lid is open, as you said",
    "opened_felt": "the lid is open, felt from the fall",
    "recovering": "coming back after an opening",
    "fire_fading": "the fire needs more air than usual",
    "cook_over": "the cook is over, the fire may end",
    "reading_bad": "the pit cannot be read",
    "too_hot": "the pit is too hot",
    "tripped_probe": "tripped: the pit could not be read",
    "tripped_hot": "tripped: the pit was far too hot",
    "tripped_settings": "tripped: the settings are wrong",
    "leaking": "the fire gets air past the fan",
    "still_open": "a deep fall without a rise",
    "tripped_fire": "tripped: no answer from the fire",
    "tripped_fell": "tripped: the pit fell and never rose",
    "supply_low": "the 12 V supply is too low",
    "not_resumed": "not started again after a power cut",
    "tripped_flare": "tripped: a rise no charcoal makes",
    "tripped_runaway": "tripped: rising with the fan off",
    "tripped_fan": "tripped: the fan or its wires",
    "probe_doubted": "the pit reads lower than its air explains",
    "tripped_supply": "tripped: the supply fails under the fan",
    "experimenting": "an experiment: small steps up and down",
    "tripped_restarts": "tripped: the board restarts too often",
}


def reason(key: str) -> str:
    """The words for a reason; a newer board's own word is shown as it is."""
    return REASONS.get(key, key.replace("_", " "))
