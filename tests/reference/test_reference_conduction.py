"""The slab's conduction against the exact series, and how fast it gets there with finer nodes."""

import itertools
import math

import pytest
from meat_kit import bare_slab, conduct
from tuyere.meat import piece_slots as at
from tuyere.meat.food import LEAN_AND_FAT, properties
from tuyere.meat.piece import GRADED

HALF = 0.022
# Plane wall cooled by convection: theta at the middle | surface, 40 terms in mpmath with 30 digits; the first roots
# match Incropera, table 5.1.
SERIES = {
    0.1: ((0.1, 0.999223, 0.965294), (0.2, 0.993999, 0.951420), (0.5, 0.967981, 0.921779),
          (1.0, 0.922389, 0.878126), (2.0, 0.837326, 0.797144)),
    1.0: ((0.1, 0.993108, 0.723577), (0.2, 0.950642, 0.643391), (0.5, 0.772526, 0.504522),
          (1.0, 0.533859, 0.348177), (2.0, 0.254668, 0.166091)),
    10.0: ((0.1, 0.968424, 0.170574), (0.2, 0.829255, 0.122482), (0.5, 0.454641, 0.0643290),
           (1.0, 0.163818, 0.0231721), (2.0, 0.0212655, 0.00300801)),
}  # fmt: skip


def thetas(bi: float, n: int, graded: float, steps: int) -> list[tuple[float, float]]:
    """(middle, surface) at the Fourier numbers of the series; `steps` to Fo 0.1, extrapolated from steps and twice."""
    raw = properties(LEAN_AND_FAT, 45.0)
    alpha = raw.middle / (raw.density * raw.heat)
    found = []
    for count in (steps, 2 * steps):
        m, q = bare_slab(HALF, n, graded)
        dt = 0.1 * HALF * HALF / alpha / count
        rows, before = [], 0.0
        for fo, _, _ in SERIES[bi]:
            conduct(m, q, bi * raw.middle / HALF, dt, round((fo - before) / 0.1) * count)
            before = fo
            rows.append((m[at.SLAB + at.T0 + n - 1] / 100.0, m[at.SLAB + at.T0] / 100.0))
        found.append(rows)
    return [(2 * b[0] - a[0], 2 * b[1] - a[1]) for a, b in zip(*found, strict=True)]


@pytest.mark.parametrize("bi", list(SERIES))
def test_middle_and_surface_within_a_thousandth_of_the_series(bi):
    for (fo, middle, surface), (a, b) in zip(SERIES[bi], thetas(bi, 72, 1.03, 40), strict=True):
        assert a == pytest.approx(middle, rel=1e-3), fo
        assert b == pytest.approx(surface, rel=1e-3), fo


def test_second_order_in_space():
    # Halving the nodes' distance quarters the error; the grid is refined without changing its grading.
    errors = []
    for n in (7, 13, 25, 49):
        found = thetas(1.0, n, GRADED ** (6 / (n - 1)), 30)
        errors.append(abs(found[2][0] - SERIES[1.0][2][1]))
    orders = [math.log2(a / b) for a, b in itertools.pairwise(errors)]
    assert all(1.8 < order < 2.2 for order in orders), (errors, orders)


@pytest.mark.parametrize("bi", list(SERIES))
def test_the_nodes_that_cook_are_within_a_hundredth(bi):
    for (fo, middle, surface), (a, b) in zip(SERIES[bi], thetas(bi, at.N, GRADED, 10), strict=True):
        assert a == pytest.approx(middle, abs=0.01), fo
        assert b == pytest.approx(surface, abs=0.01), fo
