"""State records written for a new programme or new settings: does the core make the very same change?"""

from __future__ import annotations

from collections.abc import Mapping

from tuyere.logbook.decode import Value
from tuyere.replay.cores import Core
from tuyere.replay.interpreted import filled, values_of

ROW = 4  # ints in a phase, when a core does not say
ROWS_ALONE = 3  # arguments of `programme.load` in a core that takes no row beside the rows


def inside_a_cycle(memory: Mapping[str, Value], stood: Mapping[str, Value]) -> bool:
    """Whether the board writes a state record after a cycle that left this memory: phase or band changed in it.

    stood: the memory of the last state record. Everything else that is written as a change came by an order to the
    loop, between two cycles.
    """
    return any(memory.get(name) != stood.get(name) for name in ("phase", "low", "high"))


def followed(
    core: Core,
    now: Mapping[str, Value],
    memory: Mapping[str, Value],
    settings: Mapping[str, Value],
    new_memory: Mapping[str, Value],
    new_settings: Mapping[str, Value],
) -> bool:
    """Whether the core, given what changed, comes from `memory` to `new_memory` as the board did."""
    try:
        law, programme = core.module("law"), core.module("programme")
        made = filled(core.Memory(), memory)
        old, new = filled(core.Settings(), settings), filled(core.Settings(), new_settings)
        if dict(settings) != dict(new_settings):
            law.rebase(old, new, filled(core.Now(), now), made)
        else:
            size = getattr(core.fields, "ROW", ROW)
            flat, count = new_memory["rows"], new_memory["phases"]
            assert isinstance(flat, list) and isinstance(count, int)
            rows = [flat[i * size : (i + 1) * size] for i in range(count)]
            if programme.load.__code__.co_argcount == ROWS_ALONE:
                programme.load(new, made, rows)
            else:  # whether its row was entered afresh shows in the time that it has run
                afresh = int(new_memory["phase_cycles"] == 0)
                programme.load(new, made, rows, new_memory["phase"], afresh)
    except (ImportError, AttributeError, TypeError, KeyError, AssertionError):
        return False  # a core that does this in another way
    return values_of(made) == dict(new_memory)
