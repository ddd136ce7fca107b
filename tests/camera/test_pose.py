"""The camera from markers: published geometry, the way there and back, and refusals."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.camera import mat, pose
from studio.camera.markers import Marker
from tests.camera import scenes

CORNER_SD_PX = 0.03


def seen(camera, ids=range(12), noise=0.0, scale=1.0, seed=0):
    rng = np.random.default_rng(seed)
    return [
        Marker(
            i,
            camera.project(mat.marker_corners(i, scale)) + rng.normal(0, noise, (4, 2)),
            CORNER_SD_PX**2 * np.eye(8),
            0.6,
            0.8,
            0.03,
        )
        for i in ids
    ]


def test_pinhole():
    # f 3000 px, 100 mm at 400 mm: 750 px (similar triangles, recomputed).
    camera = pose.Camera((4032, 3024), 3000.0, 0.0, np.eye(3), np.zeros(3), np.eye(8))
    a, b = camera.project(np.array([[-50.0, 0, 400], [50, 0, 400]]))
    assert b[0] - a[0] == pytest.approx(750)


def test_projection_agrees_with_the_reference_library():
    # Square +-40 mm, f 3000, c (2016, 1512), rvec .4 -.2 .1, tvec 12 -8 450: recomputed, OpenCV.
    rotation = cv2.Rodrigues(np.array([0.4, -0.2, 0.1]))[0]
    shift = np.array([12.0, -8, 450])
    camera = pose.Camera((4033, 3025), 3000.0, 0.0, rotation, shift, np.eye(8))
    square = np.array([(-40, 40, 0), (40, 40, 0), (40, -40, 0), (-40, -40, 0.0)])
    expected = [
        (1802.760630, 1685.279008), (2304.771503, 1708.056887),
        (2397.893633, 1225.366400), (1864.158153, 1181.717522),
    ]  # fmt: skip
    assert camera.project(square) == pytest.approx(np.array(expected), abs=1e-6)


def test_focal_length_by_the_diagonal():
    # CIPA DCG-001 takes the diagonal: 26 mm on 4032 x 3024 is 3028.663 px (recomputed).
    assert pose.focal_px(26, (4032, 3024)) == pytest.approx(3028.663, abs=1e-3)


def test_exif_prior_is_wide_enough_for_the_other_conventions():
    """By width 2912.0 and by a shortcut 2995.2 px: 4 % apart; the mat must not be dragged along."""
    camera = scenes.camera(25, 420, f35_mm=26)
    wrong = 26 * 2912.0 / 3028.663
    solved = pose.solve(seen(camera, noise=CORNER_SD_PX), camera.size, wrong)
    assert solved.f_px == pytest.approx(camera.f_px, rel=1e-3)


@settings(max_examples=25)
@given(
    elevation=st.floats(9, 80),
    azimuth=st.floats(240, 300),
    roll=st.floats(-8, 8),
    f35=st.sampled_from([24.0, 26.0, 35.0, 52.0]),
    k1=st.floats(-0.05, 0.05),
    told=st.booleans(),
)
def test_the_way_there_and_back(*, elevation, azimuth, roll, f35, k1, told):
    camera = scenes.camera(
        elevation, 14 * f35, azimuth_deg=azimuth, roll_deg=roll, f35_mm=f35, k1=k1
    )
    solved = pose.solve(seen(camera), camera.size, f35 if told else None)
    assert solved.reprojection_px < 0.02
    assert solved.position_mm == pytest.approx(camera.position_mm, abs=0.05 * 14 * f35 / 100)
    assert solved.elevation_deg == pytest.approx(camera.elevation_deg, abs=0.05)


def test_a_view_that_the_planar_solver_cannot_answer_is_solved_all_the_same():
    # IPPE gives not-a-number here (found by the property test above).
    camera = scenes.camera(9.0, 14 * 24, azimuth_deg=270, roll_deg=1.0, f35_mm=24, k1=0.0)
    solved = pose.solve(seen(camera), camera.size, 24.0)
    assert solved.position_mm == pytest.approx(camera.position_mm, abs=0.01)


def test_stated_uncertainty_covers_the_error():
    camera = scenes.camera(20, 450)
    pulls = []
    for seed in range(40):
        solved = pose.solve(seen(camera, noise=CORNER_SD_PX, seed=seed), camera.size, 35)
        sd = np.sqrt(np.diag(solved.covariance))
        pulls.append((solved.shift_mm - camera.shift_mm) / sd[3:6])
    # Standard deviation of the pulls: 1 if the covariance is right, less where it is careful.
    assert 0.4 < np.std(pulls) < 1.3


def test_a_picture_cropped_to_one_side_is_told_from_a_whole_one():
    # Cropped by 3 % on one side: every corner moves as far.
    camera = scenes.camera(20, 450)
    whole = seen(camera, noise=CORNER_SD_PX)
    cropped = [replace(m, corners=m.corners + np.array([48.0, -48.0])) for m in whole]
    assert not pose.solve(whole, camera.size, 35).off_axis
    assert pose.solve(cropped, camera.size, 35).off_axis


@pytest.mark.parametrize(("f35_mm", "elevation_deg"), [(26, 10), (50, 14), (80, 14)])
@pytest.mark.parametrize("seed", range(6))
def test_a_whole_picture_is_never_called_cropped(f35_mm, elevation_deg, seed):
    # Far away, or low over the paper, a shift of the axis and a turn of the camera look alike:
    # then the corners say nothing about the axis, whatever their noise.
    camera = scenes.camera(elevation_deg, 12.5 * f35_mm, f35_mm=f35_mm, azimuth_deg=270 + seed)
    whole = seen(camera, ids=range(8), noise=CORNER_SD_PX, seed=seed)
    assert not pose.solve(whole, camera.size, f35_mm).off_axis


def test_misfit_widens_what_is_stated():
    # GUM 4.2: corners that scatter three times as much as they claim make everything less sure.
    camera = scenes.camera(20, 450)
    calm = pose.solve(seen(camera, noise=CORNER_SD_PX), camera.size, 35)
    rough = pose.solve(seen(camera, noise=3 * CORNER_SD_PX), camera.size, 35)
    ratio = np.sqrt(np.diag(rough.covariance) / np.diag(calm.covariance))[:6]
    assert (ratio > 2).all()


def test_a_camera_that_looks_along_the_paper_is_refused():
    camera = scenes.camera(3.0, 420)
    with pytest.raises(pose.PoseError, match="looks along the paper"):
        pose.solve(seen(camera), camera.size, 35)
    higher = scenes.camera(5.0, 420)
    assert pose.solve(seen(higher), higher.size, 35).elevation_deg == pytest.approx(5.0, abs=0.1)


def test_printed_scale_moves_everything_along():
    camera = scenes.camera(25, 420)
    small = seen(camera, scale=mat.print_scale(97.0))
    kept = pose.solve(small, camera.size, 35, mat.print_scale(97.0))
    ignored = pose.solve(small, camera.size, 35)
    assert kept.distance_mm == pytest.approx(camera.distance_mm, rel=1e-4)
    assert ignored.distance_mm == pytest.approx(camera.distance_mm / 0.97, rel=1e-3)


@pytest.mark.parametrize(
    ("count", "words"), [(0, "none is"), (1, "only one is"), (3, "only 3 are")]
)
def test_too_few_markers_are_refused_with_a_count(count, words):
    camera = scenes.camera(25, 420)
    with pytest.raises(pose.PoseError, match=words):
        pose.solve(seen(camera, ids=range(count)), camera.size, 35)


def test_a_marker_that_lies_elsewhere_is_left_out():
    camera = scenes.camera(25, 420)
    found = seen(camera, noise=CORNER_SD_PX)
    found[4] = replace(found[4], corners=found[4].corners + np.array([6.0, -3.0]))
    solved = pose.solve(found, camera.size, 35)
    assert 4 not in solved.marker_ids
    assert solved.position_mm == pytest.approx(camera.position_mm, abs=0.5)


def test_a_bent_sheet_is_refused():
    camera = scenes.camera(25, 420)
    rng = np.random.default_rng(3)
    found = [replace(m, corners=m.corners + rng.normal(0, 8, 2)) for m in seen(camera)]
    with pytest.raises(pose.PoseError, match="do not lie as on the printed mat"):
        pose.solve(found, camera.size, 35)


def test_rays_undo_the_projection_with_distortion():
    camera = scenes.camera(25, 420, k1=-0.05)
    points = np.array([[30.0, -20, 0], [-60, 50, 0], [110, 78, 0]])
    assert camera.on_plane(camera.project(points)) == pytest.approx(points, abs=1e-4)
