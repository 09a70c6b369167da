"""The box: watertight meshes, holes where the drilling plan says, room for the board and for its cables."""

import math

import box as boxes
import pytest
import trimesh
from adapter import stl
from box import Box
from circuit import read
from manifold3d import Manifold

BOX = Box()
BOARD = read("pcb/layout.toml")


@pytest.fixture(scope="module")
def parts():
    return BOX.parts()


def test_the_files_hold_one_watertight_body_each(parts):
    for solid in parts.values():
        assert len(solid.decompose()) == 1
        mesh = trimesh.load(trimesh.util.wrap_as_stream(stl(solid)), file_type="stl")
        assert mesh.is_watertight and mesh.volume == pytest.approx(solid.volume(), rel=1e-3)


def test_the_board_goes_in_and_sits_on_its_posts(parts):
    w = BOX.wall
    left = w + (BOX.wide - BOARD["wide"]) / 2
    board = Manifold.cube((BOARD["wide"], BOARD["high"], 25.0)).translate((left, w + BOX.board_low, w + BOX.post))
    assert (board ^ parts["box"]).volume() == pytest.approx(0.0, abs=1e-6)
    assert (board.translate((0.0, 0.0, -1.0)) ^ parts["box"]).volume() > 4 * 30.0  # four posts
    assert BOX.board_low >= 30.0  # a gland inside and the bend of a cable


def test_posts_stand_under_the_boards_holes():
    left = (BOX.wide - BOARD["wide"]) / 2
    for (x, y), (hx, hy) in zip(BOX.posts(), BOARD["holes"], strict=True):
        assert x == pytest.approx(left + hx)
        assert y == pytest.approx(BOX.board_low + BOARD["high"] - hy)  # the board hangs with its terminals down


def test_holes_of_the_floor_are_open_and_leave_room_for_their_nuts(parts):
    w = BOX.wall
    for hole in BOX.floor():
        rod = Manifold.cylinder(w + 2, hole.wide / 2 - 0.3, hole.wide / 2 - 0.3, 32).rotate((-90.0, 0.0, 0.0))
        assert (rod.translate((w + hole.x, -1.0, w + hole.y)) ^ parts["box"]).volume() == pytest.approx(0.0, abs=1e-6)
    holes = BOX.floor()
    for i, a in enumerate(holes):
        nut = a.wide / 2 + 4.0
        assert nut <= a.x <= BOX.wide - nut and nut <= a.y <= BOX.deep - nut
        for b in holes[i + 1 :]:
            assert math.hypot(a.x - b.x, a.y - b.y) >= (a.wide + b.wide) / 2 + 6.0, (a, b)


def test_every_cable_has_its_hole():
    said = {hole.what for hole in BOX.floor()}
    assert said == {
        *("12 V in", "fan", "buzzer", "USB", "servo", "pit (type K)", "meat 1", "meat 2", "meat 3", "ambient", "vent")
    }


def test_the_buttons_hole_is_in_the_lid_and_on_the_plan_clear_of_glands_board_and_rim(parts):
    (hole,) = BOX.lid()
    assert hole.wide == boxes.BUTTON
    x, y = (BOX.wide + BOX.wall) - hole.x, BOX.wall + hole.y  # the lid lies on its face
    rod = Manifold.cylinder(20.0, hole.wide / 2 - 0.3, hole.wide / 2 - 0.3, 48).translate((x, y, -5.0))
    assert (rod ^ parts["lid"]).volume() == pytest.approx(0.0, abs=1e-6)
    nut = Manifold.cylinder(5.0, 11.0, 11.0, 48).translate((x, y, BOX.wall))
    assert (nut ^ parts["lid"]).volume() == pytest.approx(0.0, abs=1e-6)
    assert hole.y - hole.wide / 2 >= 8.0  # above the nuts of the glands
    assert hole.y + hole.wide / 2 <= BOX.board_low - 5.0
    for gland in BOX.floor():
        assert abs(gland.x - hole.x) >= hole.wide / 2 + 6.0 or gland.y < BOX.deep - 35.0, gland  # room for a cable
    plan = boxes.draw(BOX)
    assert "button S1" in plan and f"{hole.x:.1f} | {hole.y:.0f}" in plan and plan.count("<circle") == 11 + 4 + 1


def test_the_drilling_plan_is_as_made_now():
    assert boxes.FILE.read_text() == boxes.draw(BOX), "run `python hardware/box.py --plan` to make it anew"


def test_the_command_writes_two_files(tmp_path):
    boxes.main(["--into", str(tmp_path)])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["box.stl", "lid.stl"]
