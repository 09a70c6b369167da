"""A piece as the cook knows it: what cannot be is said in a sentence; what is laid out weighs what it should."""

import random

import pytest
from meat_kit import cooked, steady
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import CUTS
from tuyere.meat.outcome import mass_kg, outcome, raw_kg
from tuyere.meat.parameters import SPREAD, Parameters
from tuyere.meat.piece import PieceOfMeat, lay, slabs


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"mass_kg": -5.0}, "Alder weighs -5.0 kg"),
        ({"mass_kg": 0.0}, "more than 0"),
        ({"mass_kg": float("nan")}, "weighs nan kg"),
        ({"mass_kg": 40.0}, "taken from 2.5 kg to 10.0 kg"),
        ({"flat_m": 0.20}, "The flat of Alder is 20 cm thick"),
        ({"point_m": 0.01}, "The point of Alder is 1 cm thick"),
        ({"cut": "flat", "mass_kg": 3.0, "point_m": 0.08}, "a flat is one part"),
        ({"cut": "wing"}, "Unknown cut 'wing'"),
        ({"start_c": -18.0}, "thawed and raw"),
        ({"fat": 0.9}, "fat share of 0.9"),
        ({"probe_in": "ribs"}, "a packer has flat and point"),
        ({"probe_off_m": 0.04}, "4 cm off the middle"),
        ({"done_c": 203.0}, "done at 203.0 C"),
        ({"done_feel": 1.0}, "a feel of 0 to 1"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(given, words):
    with pytest.raises(ValueError) as raised:
        PieceOfMeat(**{"name": "Alder", **given})
    said = str(raised.value)
    assert words in said
    assert said.endswith(".") and "\n" not in said and len(said) < 160


@pytest.mark.parametrize("cut", list(CUTS))
def test_every_cut_cooks(cut):
    least, usual, most = CUTS[cut].kg
    for mass in (least, usual, most):
        m, q = PieceOfMeat(cut=cut, mass_kg=mass).lay()
        assert (len(m), len(q)) == (at.SIZE, at.QSIZE)
        assert raw_kg(q) == pytest.approx(mass)
        assert mass_kg(m, q) == pytest.approx(mass)
        assert len(slabs(q)) == len(CUTS[cut].parts)
    m, q, _ = cooked(PieceOfMeat(cut=cut, mass_kg=usual), steady(128.0, 119.0, 0.1, 24.0))
    found = outcome(m, q)
    assert found.done_h is not None and 3.0 < found.done_h < 20.0
    assert 0.45 < found.yield_ < 0.75
    assert found.lethal > 100.0


def test_thickness_grows_with_the_mass_and_surface_with_the_edges():
    assert PieceOfMeat(mass_kg=8.0).thick_m(0) == pytest.approx(
        PieceOfMeat(mass_kg=1.0 * 8.0 / 2.0).thick_m(0) * 2.0 ** (1 / 3)
    )
    assert PieceOfMeat(flat_m=0.06).thick_m(0) == 0.06
    # a brick of 3 kg, 5 cm thick, 1.7 times as long as wide: by hand
    _, q = PieceOfMeat(cut="flat", mass_kg=3.0, flat_m=0.05).lay()
    face = 3.0 / (q[at.Q_SLAB + at.FULL] * (1 + 1 / q[at.Q_SLAB + at.RAW]) * q[at.Q_SLAB + at.AREA])
    assert face == pytest.approx(1.0)
    density = 1042.0
    plan = 3.0 / density / 0.05
    width = (plan / 1.7) ** 0.5
    assert q[at.Q_SLAB + at.AREA] == pytest.approx(2 * plan + 2 * 0.05 * 2.7 * width, rel=0.01)


def test_the_probe_reads_where_its_tip_is():
    pit = steady(121.1, 113.0, 0.1, 1.0)
    middle = cooked(PieceOfMeat(cut="flat", mass_kg=3.0), pit)[0]
    off = cooked(PieceOfMeat(cut="flat", mass_kg=3.0, probe_off_m=0.01), pit)[0]
    skin = cooked(PieceOfMeat(cut="flat", mass_kg=3.0, flat_m=0.05, probe_off_m=0.025), pit)[0]
    point = cooked(PieceOfMeat(mass_kg=5.5, probe_in="point"), pit)[0]
    assert middle[at.PROBE] == middle[at.SLAB + at.T0 + at.N - 1]
    assert middle[at.PROBE] + 1.0 < off[at.PROBE] < skin[at.PROBE]
    assert skin[at.PROBE] == skin[at.SLAB + at.T0]
    assert point[at.PROBE] == point[at.SLAB + at.SLAB_SIZE + at.T0 + at.N - 1]


def test_fat_is_lighter_in_water_and_quicker():
    pit = steady(121.1, 113.0, 0.1, 20.0)
    lean, fat = (outcome(*cooked(PieceOfMeat(fat=share), pit)[:2]) for share in (0.05, 0.30))
    assert lean.done_h is not None and fat.done_h is not None
    assert fat.done_h < lean.done_h
    assert fat.yield_ > lean.yield_


def test_pieces_lie_behind_each_other_each_with_its_own_parameters():
    thick = Parameters(crust=999.0)
    m, q = lay([PieceOfMeat(), PieceOfMeat(cut="flat", mass_kg=3.0)], [Parameters(), thick], places=3)
    assert (len(m), len(q)) == (3 * at.SIZE, 3 * at.QSIZE)
    assert q[at.Q_SLAB + at.CRUST_R] == Parameters().crust
    assert q[at.QSIZE + at.Q_SLAB + at.CRUST_R] == 999.0
    assert slabs(q, 2) == []
    assert outcome(m, q, 1).yield_ == pytest.approx(1.0)


def test_parameters_are_drawn_around_the_usual():
    r = random.Random(1)
    drawn = [Parameters().drawn(r) for _ in range(400)]
    for name, spread in SPREAD.items():
        usual = getattr(Parameters(), name)
        values = sorted(getattr(one, name) for one in drawn)
        assert values[200] == pytest.approx(usual, rel=0.25 * spread + 0.01)
        assert values[20] < usual < values[380]
    assert drawn[0] == Parameters().drawn(random.Random(1))
    assert Parameters().drawn(random.Random(1), 0.0) == Parameters()


@pytest.mark.parametrize("given", [{"crust": 0.0}, {"emissivity": 1.2}, {"soak": 1.1}, {"convection": float("nan")}])
def test_parameters_that_cannot_be_are_refused(given):
    with pytest.raises(ValueError, match="The meat's"):
        Parameters(**given)
