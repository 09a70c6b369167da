"""Meat and ambient probes: the thermistor's law, the multiplexer, the dividers."""

from __future__ import annotations

import math
import struct

import pytest
from hearth.core.fields import ABSENT
from hearth.drivers.mux import REFERENCE_OHMS, Mux
from hearth.drivers.ntc import Ntc
from hearth.drivers.supply import Supply, millivolts


def counts(ohms: float, series: float = 22000.0) -> float:
    return 65535 * ohms / (ohms + series)


# R(t), ohm, for R25 = 100000 and Beta = 3950 K (computed from the Beta law).
@pytest.mark.parametrize(
    ("celsius", "ohms"),
    [
        (0.0, 336206.04),
        (25.0, 100000.0),
        (60.0, 24861.65),
        (65.0, 20863.72),
        (95.0, 8053.67),
        (100.0, 6975.20),
        (120.0, 4070.89),
        (135.0, 2814.04),
        (150.0, 1996.82),
        (250.0, 335.28),
        (120.6886, 4000.0),
        (87.7197, 10000.0),
    ],
)
def test_beta(celsius: float, ohms: float) -> None:
    within = 2 if celsius <= 150 else 20
    assert Ntc(100000, 3950, 22000).celsius(round(counts(ohms))) == pytest.approx(celsius * 100, abs=within)


def test_twelve_bits_over_22_k_resolve_a_twentieth_of_a_degree_up_to_the_end_of_the_meat() -> None:
    """With 10 k, 12 bits are 31.0 and 29.5 counts/K at 65 and 95 C (computed); 22 k must not be coarser than 0.06 K."""
    probe = Ntc(100000, 3950, 22000)
    for ohms in (20863.72, 8053.67):  # 65 and 95 C
        raw = round(counts(ohms) / 16)
        steps = probe.celsius(raw * 16) - probe.celsius((raw + 1) * 16)
        assert 0 < steps <= 6


@pytest.mark.parametrize("read", [65535, 65200, 0, 1, 300])
def test_open_and_short_are_absent(read: int) -> None:
    assert Ntc(100000, 3950, 22000).celsius(read) == ABSENT


def test_a_winter_night_is_no_open_wire_and_a_hot_probe_no_short() -> None:
    """R(-30 C) = 2.0 Mohm and R(250 C) = 335 ohm by Beta 3950."""
    probe = Ntc(100000, 3950, 22000)
    assert probe.celsius(round(counts(2.003e6))) == pytest.approx(-3000, abs=8)
    assert probe.celsius(round(counts(335.28))) == pytest.approx(25000, abs=20)


@pytest.mark.parametrize("ohms", [1000, 100000, 1000000])
@pytest.mark.parametrize("beta", [1000, 3950, 6000])
@pytest.mark.parametrize("series", [1000, 22000, 200000])
def test_no_count_and_no_setting_makes_an_exception_or_a_number_out_of_range(ohms: int, beta: int, series: int) -> None:
    probe = Ntc(ohms, beta, series)
    for read in range(0, 65536, 113):
        found = probe.celsius(read)
        assert found == ABSENT or -5000 <= found <= 30000


def test_straight_lines_between_the_points_of_the_table_are_as_good_as_said() -> None:
    """Against the Beta law itself: 0.03 C from -20 to 150 C, 0.2 C up to 250 C."""
    probe = Ntc(100000, 3950, 22000)
    for low, high, within in ((-20, 150, 3), (150, 250, 20)):
        for tenths in range(low * 10, high * 10 + 1):
            ohms = 100000 * math.exp(3950 * (1 / (tenths / 10 + 273.15) - 1 / 298.15))
            read = round(counts(ohms))
            exact = 1 / (1 / 298.15 + math.log(22000 * read / (65535 - read) / 100000) / 3950) - 273.15
            assert abs(probe.celsius(read) - exact * 100) <= within, tenths


def single(value: float) -> float:
    return struct.unpack("f", struct.pack("f", value))[0]


def test_the_32_bit_floats_of_the_board_make_the_same_table_to_a_hundredth() -> None:
    """The steps of `Ntc.__init__` for points of the table, each rounded to single precision."""
    cold = single(single(1 / 298.15) - single(single(math.log(100000)) / 3950))
    series = single(math.log(22000))
    table = Ntc(100000, 3950, 22000)._table
    for i in range(8, 505):
        ln = single(single(math.log(single((i << 7) / (65535 - (i << 7))))) + series)
        kelvin = single(1 / single(cold + single(ln / 3950)))
        hundredths = int(single(single(single(kelvin - single(173.15)) * 100) + 0.5)) - 10000
        assert abs(hundredths - table[i]) <= 1


class Eight:
    """A 74HC4051 in front of an ADC: the common pin still carries the last channel when the first sample is taken."""

    def __init__(self) -> None:
        self.counts = [40000, 30000, 20000, 52000, 0, 0, 0, 65535 * REFERENCE_OHMS // (REFERENCE_OHMS + 22000)]
        self.lines = [0, 0, 0]
        self.stuck: dict[int, int] = {}
        self._held = 12345
        self.waits: list[int] = []

    def pins(self) -> list:
        return [lambda level, i=i: self.lines.__setitem__(i, level) for i in range(3)]

    def read_u16(self) -> int:
        held, self._held = self._held, self.channel()
        return held

    def channel(self) -> int:
        lines = [self.stuck.get(i, level) for i, level in enumerate(self.lines)]
        return self.counts[lines[0] | lines[1] << 1 | lines[2] << 2]


@pytest.fixture
def eight() -> Eight:
    return Eight()


def test_each_channel_is_selected_settled_and_its_first_sample_thrown_away(eight: Eight) -> None:
    mux = Mux(eight.pins(), eight, eight.waits.append, 22000)
    for channel in (0, 3, 1, 7, 2, 4):
        assert mux.read(channel) == eight.counts[channel]
    assert len(eight.waits) == 6 and min(eight.waits) >= 10


def test_all_well_is_sound(eight: Eight) -> None:
    mux = Mux(eight.pins(), eight, eight.waits.append, 22000)
    assert all(mux.sound() for _ in range(6))


@pytest.mark.parametrize(("line", "level"), [(line, level) for line in range(3) for level in (0, 1)])
@pytest.mark.parametrize("probes", [(40000, 30000, 20000, 52000), (65535, 65535, 65535, 65535), (0, 0, 0, 0)])
def test_a_stuck_select_line_is_found_within_four_cycles(
    eight: Eight, line: int, level: int, probes: tuple[int, ...]
) -> None:
    mux = Mux(eight.pins(), eight, eight.waits.append, 22000)
    eight.counts[:4] = probes
    assert all(mux.sound() for _ in range(8))
    eight.stuck[line] = level
    found = [mux.sound() for _ in range(8)]
    assert found[3:] == [False] * 5


def test_a_wrong_reference_is_unsound_and_comes_back(eight: Eight) -> None:
    mux = Mux(eight.pins(), eight, eight.waits.append, 22000)
    right = eight.counts[7]
    eight.counts[7] = round(right * 1.013)  # two resistors of 1 %, at their worst
    assert mux.sound()
    eight.counts[7] = right + 2000
    assert not all(mux.sound() for _ in range(4))
    eight.counts[7] = right
    assert [mux.sound() for _ in range(6)][-1]


@pytest.mark.parametrize(("volts", "found"), [(12.0, 12000), (10.5, 10500), (0.4, 0), (18.0, 18000)])
def test_supply_through_47_k_over_10_k(volts: float, found: int) -> None:
    class Adc:
        def read_u16(self) -> int:
            return round(volts * 8.2 / 55.2 / 3.3 * 65535)

    assert Supply(Adc()).read() == pytest.approx(found, abs=5)


def test_millivolts_stay_within_the_small_integers_of_the_board() -> None:
    assert 65535 * 22214 // 10 < 2**30
    assert millivolts(65535) == pytest.approx(22214, abs=3)
