"""Lengths of drawn lines, against lines of known length on a known wall."""

import numpy as np
import pytest

from studio.camera import along
from studio.camera.along import LineError, Wall
from tests.camera.test_by_hand import SIDES, camera_of

WALL = Wall(foot_radius=32, rim_radius=41, height=92, x=3, y=-4)


def on_wall(camera, heights, azimuth_deg):
    """Points of the wall as pixels; by construction their distances are known."""
    heights = np.asarray(heights, float)
    radius = WALL.foot_radius + (WALL.rim_radius - WALL.foot_radius) * heights / WALL.height
    a = np.radians(azimuth_deg)
    x, y = WALL.x + radius * np.cos(a), WALL.y + radius * np.sin(a)
    return camera.project(np.stack([x, y, heights], 1))


# Along the cone a rise of dz is dz * sqrt(1 + slope^2) long.
SLANT = np.sqrt(1 + ((41 - 32) / 92) ** 2)


@pytest.mark.parametrize("record", SIDES, ids=lambda r: r["file"])
def test_a_seam_up_the_wall_has_its_length(record):
    camera = camera_of(record)
    length, parts = along.lengths(camera, on_wall(camera, [5, 85], 275), [], WALL)
    assert parts == []
    assert length.value == pytest.approx(80 * SLANT, abs=0.2)


def test_parts_are_told_from_the_first_point_up():
    camera = camera_of(SIDES[0])
    heights = np.linspace(5, 85, 21)
    line = on_wall(camera, heights, 270)
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    walked = np.concatenate([[0], np.cumsum(steps)]) / steps.sum()
    # The part from z = 25 to z = 45: 20 mm up the seam it begins, and is 20 mm long.
    _, (part,) = along.lengths(camera, line, [(walked[5], walked[10])], WALL)
    assert part.start.value == pytest.approx(20 * SLANT, abs=0.1)
    assert part.length.value == pytest.approx(20 * SLANT, abs=0.1)
    assert 0.2 < part.length.u < 1.5


def test_an_unknown_wall_says_so_in_its_uncertainty():
    camera = camera_of(SIDES[0])
    line = on_wall(camera, [5, 85], 270)
    known, _ = along.lengths(camera, line, [], WALL)
    unknown, _ = along.lengths(camera, line, [])
    assert unknown.u > 2 * known.u
    assert abs(unknown.value - known.value) < 2 * unknown.u


def test_marks_are_ordered_turned_round_and_merged():
    line = [(0, 0), (100, 0)]
    marks = [(0.6, 0.4), (0.1, 0.2), (0.5, 0.7), (0.9, 1.4), (0.3, 0.3)]
    # By hand: .6-.4 is .4-.6, which .5-.7 lengthens; 1.4 ends with the line; .3-.3 is nothing.
    assert along.shares(line, marks) == [
        pytest.approx((0.1, 0.2)), pytest.approx((0.4, 0.7)), pytest.approx((0.9, 1.0)),
    ]  # fmt: skip


@pytest.mark.parametrize("line", [[], [(5, 5)], [(5, 5), (5, 5.5)], [(5, float("nan")), (9, 9)]])
def test_a_line_without_length_is_refused_with_a_sentence(line):
    with pytest.raises(LineError, match="Draw"):
        along.shares(line, [])


def test_a_line_in_the_sky_is_refused_with_a_sentence():
    camera = camera_of(SIDES[0])
    behind = Wall(32, 41, 92, y=-5000)
    with pytest.raises(LineError, match="does not lie on the piece"):
        along.lengths(camera, [(700, 100), (800, 100)], [], behind)
