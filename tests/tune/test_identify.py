"""A cooker is known from its night: judged by running on freely past what was fitted."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import tune_kit
from tuyere.sim import course
from tuyere.sim.pit_slots import PROBE
from tuyere.tune import identify, known, smoother, worlds

SHARE = 2.0 / 3.0


@pytest.mark.first
@pytest.mark.parametrize(("cooker", "seed"), [("drum", 2), ("ceramic", 6)])
def test_the_last_third_is_run_freely_nearly_as_by_the_true_cooker(cooker: str, seed: int) -> None:
    night, _ = tune_kit.recorded(cooker, seed)
    found = identify(night, share=SHARE, members=12)
    truth = tune_kit.true_ahead(cooker, seed, night, SHARE)
    assert found.ahead_c is not None and found.ahead_c < truth + 3.0
    assert sum(one.weight for one in found.members) == pytest.approx(1.0)
    assert len(found.members) == 12
    low, _, high = found.strength.lift_c
    assert low < tune_kit.true_lift(cooker, seed) < high


def test_the_same_night_gives_the_same_cooker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(known, "DRAWS", 80)  # a quarter of them: what differs from run to run does so among these, too
    monkeypatch.setattr(known, "KEPT", 30)
    night, _ = tune_kit.recorded("drum", 4, 2.0)
    one, two = (identify(night, members=8) for _ in range(2))
    assert [member.weight for member in one.members] == [member.weight for member in two.members]
    assert all((a.row == b.row).all() for a, b in zip(one.members, two.members, strict=True))


def test_the_kernel_without_readings_is_the_free_run() -> None:
    """The observer changes nothing when it has nothing to follow, and less and less after what it had."""
    night, _ = tune_kit.recorded("drum", 4, 3.0)
    drawn = worlds.candidates.draw(1, 1, 1)
    follow, count = worlds.kernel().follow, night.cycles // smoother.EVERY
    none, found, lead = np.full(count, -999.0), np.zeros(count), np.zeros(count)
    fan = night.fan_cycles()
    made = worlds.world(night, drawn.s[0], drawn.p[0], drawn.rows[0])
    follow(
        *made,
        fan,
        none,
        np.zeros(count),
        smoother.PULL,
        smoother.RESET_S,
        smoother.LEAD_LEFT,
        smoother.EVERY,
        found,
        lead,
        np.zeros(2),
    )
    assert not lead.any() and found.max() > 40.0
    plain = worlds.world(night, drawn.s[0], drawn.p[0], drawn.rows[0])
    for i in range(30 * 40):
        plain[0][1] = fan[i]
        course.advance(*plain, 2.0)
    assert plain[0][PROBE] == pytest.approx(found[39], abs=1.0)
    fed = none.copy()
    fed[:60] = found[:60] + 5.0
    made = worlds.world(night, drawn.s[0], drawn.p[0], drawn.rows[0])
    follow(
        *made,
        fan,
        fed,
        np.zeros(count),
        smoother.PULL,
        smoother.RESET_S,
        smoother.LEAD_LEFT,
        smoother.EVERY,
        found,
        lead,
        np.zeros(2),
    )
    assert lead[30] > 0.02 and 0.0 < lead[100] < 0.5 * lead[61]


def test_whitening_makes_a_coloured_rest_white() -> None:
    random = np.random.RandomState(1)
    rest, now = np.zeros((1, 20000)), 0.0
    for i in range(20000):
        now = 0.9 * now + np.sqrt(1.0 - 0.81) * 2.0 * random.standard_normal()
        rest[0, i] = now
    white = smoother.whitened(rest, np.ones(20000, bool), 0.9, 2.0, 2.0 * np.sqrt(1.0 - 0.81))
    assert white.std() == pytest.approx(1.0, abs=0.03)
    assert np.corrcoef(white[0, 1:], white[0, :-1])[0, 1] == pytest.approx(0.0, abs=0.03)


def test_the_smoother_solves_a_straight_line_exactly() -> None:
    """On a linear problem with normal numbers all rounds together are Bayes' rule: mean and spread are known."""
    random = np.random.RandomState(2)
    count, sigma = 800, 0.5
    rows = random.standard_normal((count, 1))
    truth, minutes = 1.3, 4
    night = smoother.Data(np.full(minutes, truth), np.ones(minutes), minutes, 0)
    rest = smoother.Rest(sigma, sigma)  # white
    for _ in range(smoother.ROUNDS):
        paths = smoother.Paths(np.repeat(rows, minutes, axis=1), np.zeros((count, minutes)))
        rows = smoother.moved(rows, [paths], [night], rest, random)
    weight = minutes / (sigma**2 * smoother.TRUST)
    assert rows.mean() == pytest.approx(truth * weight / (1.0 + weight), abs=0.04)
    assert rows.std() == pytest.approx((1.0 + weight) ** -0.5, abs=0.04)


def test_the_rest_is_measured_where_nothing_disturbs_and_at_the_members_that_leave_the_least() -> None:
    minutes = 200
    loose = np.where(np.arange(minutes) < 50, 4.0, 1.0)  # a lid
    pit = np.full(minutes, 128.0) + np.where(np.arange(minutes) % 2, 2.0, -2.0) + np.where(loose > 1.0, 60.0, 0.0)
    night = SimpleNamespace(
        pit=pit, there=np.ones(minutes, dtype=bool), loose=loose, rest=lambda path: (pit - path) / loose
    )
    near = np.full(minutes, 128.0)
    path = SimpleNamespace(pit=np.array([near, near + 30.0, near - 30.0, near + 50.0]))
    rest = smoother.measure([path], [night])  # type: ignore[list-item]
    assert rest.size == pytest.approx(1.4826 * 2.0) and rest.step == rest.size


def test_every_member_is_led_through_all_of_every_night(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = int(smoother.stepped.HELD_S / smoother.MINUTE_S)
    minutes, middle = wide + 40, wide + 10
    led: list[tuple[int, int]] = []

    def follow(fan: np.ndarray, fed: np.ndarray, *rest: object) -> None:
        found = rest[5]
        assert isinstance(found, np.ndarray)
        found[:] = np.arange(len(found)) + (0 if len(led) % 2 == 0 else middle)
        led.append((len(fan) // smoother.EVERY, len(fed)))

    monkeypatch.setattr(smoother.worlds, "kernel", lambda: SimpleNamespace(follow=follow))
    monkeypatch.setattr(smoother.worlds, "world", lambda *_: ())
    monkeypatch.setattr(smoother.stepped, "logs", lambda *_: [0.25, 4.0])
    night = SimpleNamespace(fan_cycles=lambda: np.zeros(minutes * smoother.EVERY), settings=None)
    fitted = smoother.Data(np.full(minutes, 128.0), np.ones(minutes), minutes, 0, middle)
    drawn = SimpleNamespace(s=[0, 1], p=[0, 1], rows=[0, 1])
    monkeypatch.setattr(smoother.worlds, "each", lambda work, jobs, *more: [work(job) for job in jobs])
    (paths,) = smoother.run(drawn, [night], [fitted])  # type: ignore[arg-type, list-item]
    assert led == [(middle, middle), (minutes - middle, minutes - middle)] * 2
    assert paths.answers.tolist() == [[0.25, 4.0]] * 2
    assert (paths.pit == np.arange(minutes)).all() and paths.pit.shape == (2, minutes)


def test_the_round_that_explains_the_nights_best_is_kept() -> None:
    rounds = [(9.0, "a", "p", "r"), (4.0, "b", "q", "s"), (4.0, "c", "t", "u"), (7.0, "d", "v", "w")]
    assert known.best(rounds) == ("c", "t", "u")  # type: ignore[arg-type]
    assert known.best(rounds[:1]) == ("a", "p", "r")  # type: ignore[arg-type]


def test_what_members_leave_is_summed_over_the_nights() -> None:
    night = smoother.Data(np.array([1.0, 2.0, np.nan, 4.0]), np.ones(4), 4, 0)
    paths = smoother.Paths(np.array([[1.0, 2.0, 9.0, 4.0], [2.0, 3.0, 9.0, 5.0]]), np.zeros((2, 4)))
    assert smoother.unexplained([paths, paths], [night, night]) == pytest.approx([0.0, 2.0])
