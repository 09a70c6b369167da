"""The plain converter takes a straight line for the couple's voltage; what the driver makes of that is ITS-90."""

from __future__ import annotations

import math

import pytest
from hearth.drivers import max31855

# E(t) of a type K couple against 0 C, mV (NIST SRD 60 coefficients, full digits from thermocouple-its90 1.0.2).
VOLTAGE = {
    0: 0.0, 10: 0.396862, 20: 0.798120, 50: 2.023078, 60: 2.436472, 80: 3.266642, 100: 4.096230, 110: 4.509060,
    120: 4.919882, 125: 5.124438, 130: 5.328395, 135: 5.531749, 150: 6.138344, 200: 8.138473, 250: 10.153369,
    300: 12.208566, 350: 14.293149, 400: 16.397142, 450: 18.515807, 500: 20.644286, 25: 1.000161,
}  # fmt: skip
# Indicated minus true, C, before the chip's rounding (computed from the same coefficients and 41.276 uV/C).
LINE_ERROR = {
    25: {50: -0.220, 75: -0.124, 100: 0.007, 120: -0.038, 125: -0.082, 150: -0.518, 200: -2.061, 300: -3.454},
    50: {50: 0.000, 75: 0.095, 100: 0.227, 120: 0.181, 125: 0.137, 150: -0.299, 200: -1.841, 300: -3.235},
    0: {50: -0.987, 75: -0.891, 100: -0.760, 120: -0.805, 125: -0.849, 150: -1.285, 200: -2.828, 300: -4.221},
}


def nist(t: float) -> float:
    """E(t), mV, -270..1372 C (NIST SRD 60, ITS-90 type K)."""
    if t < 0.0:
        c = (
            0.0, 0.394501280250e-01, 0.236223735980e-04, -0.328589067840e-06, -0.499048287770e-08, -0.675090591730e-10,
            -0.574103274280e-12, -0.310888728940e-14, -0.104516093650e-16, -0.198892668780e-19, -0.163226974860e-22,
        )  # fmt: skip
        return sum(k * t**i for i, k in enumerate(c))
    c = (
        -0.176004136860e-01, 0.389212049750e-01, 0.185587700320e-04, -0.994575928740e-07, 0.318409457190e-09,
        -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18, 0.971511471520e-22, -0.121047212750e-25,
    )  # fmt: skip
    bulge = 0.118597600000 * math.exp(-0.118343200000e-03 * (t - 126.9686) ** 2)
    return sum(k * t**i for i, k in enumerate(c)) + bulge


@pytest.mark.parametrize("cold", [0, 25, 50])
def test_the_correction_is_that_of_its_90_to_a_tenth_of_a_degree(cold: int) -> None:
    for true, volts in VOLTAGE.items():
        indicated = cold + (volts - VOLTAGE[cold]) / 0.041276
        found = max31855.correct(round(indicated * 16), cold * 16) / 100
        assert abs(found - true) <= 0.1, (true, cold)


@pytest.mark.parametrize("cold", [0, 25, 50])
def test_the_correction_undoes_the_error_of_the_straight_line(cold: int) -> None:
    for true, error in LINE_ERROR[cold].items():
        assert max31855.correct(round((true + error) * 16), cold * 16) / 100 == pytest.approx(true, abs=0.1)


def test_the_correction_between_the_points_of_the_table() -> None:
    """Every tenth of a degree from 0 to 500 C, against the polynomial itself; 1/16 C of input is 0.031 C at most."""
    worst = 0.0
    for tenths in range(5001):
        true = tenths / 10
        indicated = 25 + (nist(true) - nist(25)) / 0.041276
        worst = max(worst, abs(max31855.correct(round(indicated * 16), 400) / 100 - true))
    assert worst <= 0.07


def test_the_correction_stays_within_the_small_integers_of_the_board() -> None:
    most = ((540 + 40) * 16 * 10319, (max31855._TABLE[-1] - max31855._TABLE[-2]) * 200 * 16)
    assert max(most) < 2**30


def test_the_table_is_its_90_to_its_last_digit_and_straight_in_between() -> None:
    table, first = max31855._TABLE, max31855._FIRST
    assert list(table) == [round(10000 * nist(first + 10 * i)) for i in range(len(table))]
    for sixteenths in range(-40 * 16, 530 * 16):
        i, over = divmod(sixteenths - 16 * first, 160)
        straight = table[i] + (table[i + 1] - table[i]) * over / 160
        assert abs(max31855.voltage(sixteenths) - straight) <= 0.5
        back = 100 * first + 1000 * i + 1000 * (round(straight) - table[i]) / (table[i + 1] - table[i])
        assert abs(max31855.temperature(round(straight)) - back) <= 0.5
