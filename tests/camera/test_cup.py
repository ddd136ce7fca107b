"""The model's outline against the geometry of a cylinder."""

import numpy as np
import pytest

from studio.camera import cup, side
from studio.camera.solution import place
from tests.camera import scenes


def cylinder(radius=40.0):
    shape = cup.prior_mean()
    for name, value in {"foot": radius, "rim": radius, "squareness": 2.0, "height": 90.0}.items():
        shape[cup.INDEX[name]] = value
    return cup.surface(shape)


def level_camera():
    # Eye 400 mm from the axis at half the height, looking level.
    return scenes.camera(0.0, 400.0, aim=(0, 0, 45.0))


def wall(camera):
    line = cup.contour(cylinder(), camera)
    return line, (line.ring > len(cup.FILLET_PSI)) & (line.ring < cup.FIRST_LIP)


def test_outline_of_a_cylinder_is_where_the_tangent_touches():
    # r 40 mm, eye 400 mm from the axis: tangent points r^2/D = 4.0 mm nearer, half angle
    # asin(r/D) = 5.739170 deg (recomputed).
    camera = level_camera()
    line, on_wall = wall(camera)
    points = line.points_mm[on_wall]
    assert points[:, 1] == pytest.approx(-4.0, abs=0.05)
    half_angle = np.degrees(np.arctan2(np.abs(points[:, 0]), 400 + points[:, 1]))
    assert half_angle == pytest.approx(5.739170, abs=0.005)


def test_seen_half_width_at_the_axis_plane():
    # r D / sqrt(D^2 - r^2) = 40.201513, 0.5 % more than the radius (recomputed).
    camera = level_camera()
    line, on_wall = wall(camera)
    edge = np.abs(line.pixels[on_wall, 0] - camera.centre_px[0])
    assert edge / camera.f_px * 400 == pytest.approx(40.201513, abs=0.02)


def test_visible_arc_of_a_cylinder():
    # 168.521659 deg (recomputed).
    line, on_wall = wall(level_camera())
    azimuth = np.degrees(np.arctan2(line.points_mm[on_wall, 1], line.points_mm[on_wall, 0])) % 360
    left = azimuth[line.pixels[on_wall, 0] < 799].mean()
    right = azimuth[line.pixels[on_wall, 0] > 800].mean()
    assert (right - left) % 360 == pytest.approx(168.521659, abs=0.15)


def test_the_top_line_stands_at_the_height_asked_for():
    shape = cup.prior_mean()
    shape[cup.INDEX["height"]] = 95.0
    assert cup.surface(shape)[..., 2].max() == pytest.approx(95.0, abs=0.05)


def test_a_squared_foot_has_its_flats_where_asked_and_its_side_across_them():
    shape = cup.prior_mean()
    shape[cup.INDEX["foot_turn"]] = np.radians(30)
    foot = cup.foot_outline(cup.surface(shape))[:, :2]
    aside = foot @ np.array([np.cos(np.radians(30)), np.sin(np.radians(30))])
    diagonal = foot @ np.array([np.cos(np.radians(75)), np.sin(np.radians(75))])
    assert np.ptp(aside) == pytest.approx(2 * shape[cup.INDEX["foot"]], abs=0.3)
    # Superellipse: diagonal over side is 2^(1/2 - 1/n).
    n = shape[cup.INDEX["squareness"]]
    assert np.ptp(diagonal) / np.ptp(aside) == pytest.approx(2 ** (0.5 - 1 / n), rel=0.01)


def test_hidden_outline_is_left_out_and_the_rim_kept():
    camera = scenes.camera(80, 420)
    grid = cylinder()
    line = cup.contour(grid, camera)
    shown = cup.visible(grid, camera, line)
    assert shown[line.ring >= cup.FIRST_LIP].mean() > 0.9


def test_a_piece_put_back_turned_is_the_same_piece():
    grid = cylinder()
    moved = place(grid, np.array([3.0, -2.0, np.pi / 2]))
    assert moved[5, 0] == pytest.approx([-grid[5, 0, 1] + 3, grid[5, 0, 0] - 2, grid[5, 0, 2]])


def test_a_cup_that_leans_is_no_wider_for_it():
    # A cylinder of 80 mm sheared by 7 mm has the same 80 mm at every level (plane geometry).
    shape = cup.prior_mean()
    for name, value in {"foot": 40.0, "rim": 40.0, "squareness": 2.0, "lean_x": 7.0}.items():
        shape[cup.INDEX[name]] = value
    sizes = side.body(shape, np.zeros(3), np.array([1.0, 0.0, 0.0]))
    assert sizes[side.NAMES.index("max_width_mm")] == pytest.approx(80.0, abs=0.3)
    assert sizes[side.NAMES.index("lean_deg")] == pytest.approx(4.3, abs=0.5)
