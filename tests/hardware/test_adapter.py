"""The adapter's meshes: watertight, of the right size, with a flap that shuts, opens and stays clear of its walls."""

import math
import re

import numpy as np
import pytest
import section
import trimesh
from adapter import INCH, METAL, METAL_PIPE, Adapter, main, stl
from manifold3d import Manifold

SIZES = [
    Adapter(),
    Adapter(outlet_wide=51.0, outlet_high=25.0, pipe=52.0),
    Adapter(outlet_wide=20.0, outlet_high=15.0, pipe=20.9, wall=1.6),
    Adapter(lean=15.0, flap=1.0, lip=4.0),
    Adapter.inches(outlet_wide=1.0, outlet_high=0.75, pipe=1.05),
]


def loaded(solid):
    return trimesh.load(trimesh.util.wrap_as_stream(stl(solid)), file_type="stl")


@pytest.mark.parametrize("adapter", SIZES, ids=range(len(SIZES)))
def test_the_files_hold_one_watertight_body_each(adapter):
    for solid in adapter.parts().values():
        assert len(solid.decompose()) == 1
        mesh = loaded(solid)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.nondegenerate_faces(height=1e-6).all()
        assert mesh.volume == pytest.approx(solid.volume(), rel=1e-3)
        assert mesh.volume > 0.0


def test_the_file_is_binary_stl():
    data = stl(Adapter().parts()["flap"])
    count = int.from_bytes(data[80:84], "little")
    assert len(data) == 84 + 50 * count
    rows = np.frombuffer(data[84:], dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("s", "<u2")])
    assert np.linalg.norm(rows["n"], axis=1) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("adapter", SIZES, ids=range(len(SIZES)))
def test_the_flap_moves_free_and_covers_its_seat(adapter):
    parts = adapter.parts()
    assert (parts["inlet"] ^ parts["chamber"]).volume() == pytest.approx(0.0, abs=1e-6)
    for angle in (0.0, 1.0, 5.0, 20.0, 40.0, 60.0, 75.0):
        flap = adapter.flap_at(angle)
        assert (flap ^ parts["inlet"]).volume() == pytest.approx(0.0, abs=1e-6)
        assert (flap ^ parts["chamber"]).volume() == pytest.approx(0.0, abs=1e-6)
    # Pushed shut by its play, it bites into the seat all round: nothing of the bore stays open.
    pressed = adapter.flap_at(0.0).translate((0.0, -0.5 * math.sin(math.radians(adapter.lean)), -0.5))
    mark = pressed ^ parts["inlet"]
    low = -adapter.bore / 2 - adapter.lip + 1.0
    assert mark.bounding_box()[1] < low
    assert mark.bounding_box()[4] > adapter.bore / 2 + 1.0
    assert mark.bounding_box()[0] < -adapter.bore / 2 - adapter.lip + 1.0


def test_the_volume_of_a_flap_is_that_of_a_calculation_by_hand():
    a = Adapter()
    wide = 2 * (a.half_wide - 1)
    inside = a.pin / 2 + 0.15
    ring = math.pi * (a.knuckle**2 - inside**2) * wide
    plate = wide * a.drop * a.flap
    found = a.parts()["flap"].volume()
    assert ring < found - plate + wide * a.flap * a.knuckle  # they share the corner at the pin
    assert found < plate + ring


@pytest.mark.parametrize("adapter", SIZES, ids=range(len(SIZES)))
def test_it_fits_blower_and_pipe(adapter):
    parts = adapter.parts()
    outlet = Manifold.cube((adapter.outlet_wide, adapter.outlet_high, adapter.socket), center=True)
    outlet = outlet.translate((0.0, 0.0, adapter.socket / 2 - 0.2))
    assert (outlet ^ parts["inlet"]).volume() == pytest.approx(0.0, abs=1e-6)  # it goes in
    assert (outlet.translate((0.0, 0.0, 1.0)) ^ parts["inlet"]).volume() > 10.0  # and finds a stop
    end = adapter.length
    ring = parts["chamber"].slice(end - 2.0).bounds()
    assert ring[2] - ring[0] == pytest.approx(adapter.pipe - 2 * adapter.gap, abs=0.05)
    assert parts["chamber"].bounding_box()[5] == pytest.approx(end, abs=1e-3)
    shoulder = parts["chamber"].slice(end - adapter.spigot - 1.0).bounds()
    assert shoulder[2] - shoulder[0] > adapter.pipe + 2.0  # the pipe finds one too


def test_the_flap_shuts_by_its_weight_and_opens_under_a_small_blower():
    a = Adapter()
    assert a.shuts_by > 1.0
    # a plate of 2 x 28 x 30 mm, 1.07 g/cm3: 1.7 g at 1.4 mm, against a disc of 21.6 mm at 16 mm from the pin
    by_hand = 27.6 * 29.8 * 2 * 1.07e-6 * 9.81 * 1.4056 / (math.pi * 0.0108**2 * 16.0)
    assert a.lifts_at() == pytest.approx(by_hand, rel=1e-3)
    assert a.lifts_at() < 20.0
    # draught of a cooker 1 m high: air of 20 C outside, of 120 C inside, ideal gas at 101325 Pa
    draught = 101325 / 287.05 * (1 / 293.15 - 1 / 393.15) * 9.81
    assert draught == pytest.approx(3.0, abs=0.05)
    assert draught < a.lifts_at()
    assert Adapter(lean=20.0).shuts_by > a.shuts_by


def test_inches_are_millimetres_times_25_4():
    inch = Adapter.inches(pipe=1.0, outlet_wide=1.25, outlet_high=1.0, lean=12.0)
    assert (inch.pipe, inch.outlet_wide, inch.lean) == (INCH, 31.75, 12.0)
    assert inch.wall == Adapter().wall


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ({"pipe": 15.0}, "take a wider pipe or a thinner wall"),
        ({"outlet_high": 6.0}, "measure its outside again"),
        ({"lean": 2.0}, "does not shut by weight"),
        ({"wall": 0.0}, "wall is 0 mm; it must be more than nothing"),
        ({"pipe": float("nan")}, "pipe is nan mm"),
    ],
)
def test_sizes_that_cannot_be_are_refused_in_one_sentence(sizes, words):
    with pytest.raises(ValueError, match=words):
        Adapter(**sizes)


def test_the_command_writes_three_files_and_says_what_is_metal(tmp_path, capsys):
    main(["--inch", "--pipe", "1.05", "--outlet", "1.0", "0.75", "--into", str(tmp_path)])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["chamber.stl", "flap.stl", "inlet.stl"]
    said = capsys.readouterr().out
    assert all(line in said for line in METAL)
    assert f"{METAL_PIPE:.0f} mm" in said
    with pytest.raises(SystemExit):
        main(["--pipe", "5"])
    assert "take a wider pipe" in capsys.readouterr().err


def test_the_picture_is_as_made_now():
    """Words to the letter; lines to a third of a pixel, since the mesher may begin a ring elsewhere."""
    stored, now = section.FILE.read_text(), section.draw(Adapter())
    words = re.compile(r">([^<>]+)</text>")
    assert words.findall(stored) == words.findall(now), "run `python hardware/section.py` to make it anew"
    paths = re.compile(r'(?:d|points)="([^"]+)"')
    for old, new in zip(paths.findall(stored), paths.findall(now), strict=True):
        a, b = (np.array(re.findall(r"-?[\d.]+", line), float).reshape(-1, 2) for line in (old, new))
        assert np.ptp(a, axis=0) == pytest.approx(np.ptp(b, axis=0), abs=0.34)
        assert a.mean(axis=0) == pytest.approx(b.mean(axis=0), abs=3.0)
