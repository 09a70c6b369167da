"""Many cycles from their recorded inputs in one loop; compiled by `tuyere.sim.compiled` with today's core."""

from hearth.core.decide import cycle


def again(settings, nows, memory, out, outs):  # type: ignore[no-untyped-def]
    """Decide every cycle of `nows` again; `memory` and `out` are carried on as on the board, `outs` is filled."""
    for i in range(len(nows)):
        cycle(settings, nows[i], memory, out)
        outs[i] = out
