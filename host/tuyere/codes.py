"""Names that several rooms use. Those of the board's codes are in the order of `hearth.core.fields`.

Sentences for people are in `cook.wording`, `cook.reasons` and `cook.faults`.
"""

STATES = ("off", "manual", "climbing", "holding", "opened", "fading", "burnout", "tripped")
REASONS = (
    "not_started", "by_hand", "below_band", "braking", "in_band", "above_band", "opened_told", "opened_felt",
    "recovering", "fire_fading", "cook_over", "reading_bad", "too_hot", "tripped_probe", "tripped_hot",
    "tripped_settings", "leaking", "still_open", "tripped_fire", "tripped_fell", "supply_low",
    "not_resumed", "tripped_flare", "tripped_runaway", "tripped_fan", "tripped_restarts", "probe_doubted",
    "tripped_supply", "experimenting",
)  # fmt: skip
WITNESSES = ("", "waits", "agrees", "pit_low", "low")
LESSONS = ("", "swung", "sluggish", "carried", "unlearned", "strong")
TRIPS = ("", "probe", "hot", "settings", "fire", "fell", "flare", "runaway", "fan", "restarts", "supply")
AT_REST = ("off", "burnout", "tripped")  # states in which the board leaves the fire alone
COOKERS = ("upright", "ceramic", "drum", "cabinet", "offset")  # kinds of `sim.cookers`
