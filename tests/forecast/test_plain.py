"""Without a compiler the forecast is there, with fewer members, and each member is the same."""

from __future__ import annotations

import finish_kit as kit
import numpy as np
import pytest
from rendered import words
from tuyere.forecast import ensemble, exchange, prior
from tuyere.forecast.finish import Finish
from tuyere.meat import piece_slots as at
from tuyere.sim import compiled

STEPS = 90


def run(count: int = 2) -> tuple[prior.Array, prior.Members]:
    """The probes of so many members over 90 min in a pit of 128 C, and the members after it."""
    made = prior.members(exchange.KnownPiece(id=1, mass=3.0), prior.cloud(count, 1))
    pit = np.full((count, STEPS), 128.0)
    bare = np.full(count, float(at.BARE))
    return ensemble.go(made, pit, pit - 6.0, bare, np.full(count, ensemble.NEVER_S), True, False, 0.0), made


def test_fewer_members_without_a_compiler_and_as_many_as_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "available", lambda: True)
    assert (ensemble.size(), ensemble.size(7)) == (160, 7)
    monkeypatch.setattr(compiled, "available", lambda: False)
    assert (ensemble.size(), ensemble.size(7)) == (40, 7)


def test_the_plain_path_warms_each_member(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "available", lambda: False)
    probes, made = run()
    assert probes.shape == (2, STEPS)
    assert (probes[:, 0] < 12.0).all() and (probes[:, -1] > probes[:, 0] + 5.0).all() and (probes < 128.0).all()
    assert (made.m[:, at.COOKED_S] == STEPS * ensemble.STEP_S).all()  # the members themselves have moved on


def test_a_whole_forecast_comes_without_a_compiler_and_says_that_it_is_coarser(monkeypatch: pytest.MonkeyPatch) -> None:
    read = kit.probes()
    monkeypatch.setattr(compiled, "available", lambda: False)
    found = Finish(4).ahead(kit.known(300, read))[0]
    assert found.finish is not None and found.finish.early <= found.finish.likely <= found.finish.late
    assert abs(found.finish.likely - (kit.ON + kit.there(read) * kit.MINUTE)) < 180 * kit.MINUTE
    assert "The forecast is coarser without numba: it looks at 4 courses." in words(found.words)


def test_plain_and_compiled_members_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("numba")
    fast, moved = run()
    monkeypatch.setattr(compiled, "available", lambda: False)
    plain, also = run()
    np.testing.assert_allclose(plain, fast, rtol=1e-9)
    np.testing.assert_allclose(also.m, moved.m, rtol=1e-7, atol=1e-9)
