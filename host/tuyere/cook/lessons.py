"""What the board learned of its fire, in a sentence: what was seen, and what changed, from what to what."""

from __future__ import annotations

from tuyere.text import Said, Share, Text, text

SEEN = {
    "swung": "the pit swung up and down again and again, so the board answers less",
    "sluggish": "the pit came back late, so the board answers more",
    "carried": "the board begins between its set gain and what it learned in the last cook",
    "strong": "the fan is strong for this pit, so the board begins gently",
    "unlearned": "what was learned is forgotten, and the set gain holds",
}
BECAUSE = {
    "swung": "because the pit swung",
    "sluggish": "because the pit came back late",
    "carried": "from what it learned in the last cook",
    "strong": "because the fan is strong for this pit",
}


def changed(lesson: str, before: float, after: float) -> Text:
    """What was seen, and from which share of the set gain to which."""
    seen = SEEN.get(lesson, "the board answers otherwise")
    template = "{seen}: from {before} to {after} of the set gain"
    return text(template, seen=seen, before=Share(before), after=Share(after))


def stands(lesson: str, share: float) -> Said:
    """With which share of the set gain the board answers now, and why; "" while it works with the whole of it."""
    if share == 1.0 or lesson not in BECAUSE:
        return ""
    how = "gently" if share < 1.0 else "firmly"
    return text(
        "The board moves the fan more {how}, with {share} of its set gain, {why}.",
        how=how,
        share=Share(share),
        why=BECAUSE[lesson],
    )
