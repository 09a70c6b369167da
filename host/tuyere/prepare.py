"""Compiles what commands will need, before anybody waits for it: `python -m tuyere.prepare`.

The forecast's worker starts it, at a low priority, once a cook runs and the cache lacks something.
"""

from __future__ import annotations

from tuyere.sim import ready


def make() -> None:
    """Compile everything; the cache keeps it."""
    import numpy as np

    from tuyere.forecast import exchange, finish
    from tuyere.replay import fast
    from tuyere.sim import fleet
    from tuyere.sim.outside import Outside
    from tuyere.tune import worlds

    fleet.cook(fleet.Case("upright", 1, hours=0.6))
    fast.ready()
    out = Outside("upright", 1)
    parts = (out.state, out.constants, out.pieces, out.piece_constants, out.events, out.weather)
    one = np.zeros(1)
    worlds.kernel().follow(*[np.array(part, dtype=np.float64) for part in parts], one, one, 0.0, 1.0, 1.0, 1, one, one)
    finish.before(exchange.KnownPiece(id=1, name="one", cut="packer", mass=5.0), 128.0, members=2)
    file = ready.mark()
    file.parent.mkdir(parents=True, exist_ok=True)
    file.touch()


if __name__ == "__main__" and ready.needed():
    make()
