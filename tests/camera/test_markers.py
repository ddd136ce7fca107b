"""Corners of the markers on drawn pictures whose corners are known exactly."""

import cv2
import numpy as np
import pytest

from studio.camera import markers, mat
from tests.camera import scenes

WORST_BIAS_PX = 0.02  # half a pixel between conventions would show as 0.5


def found_in(picture):
    light = markers.linear_light(picture) @ np.float32([0.2126, 0.7152, 0.0722])
    return markers.find_markers(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), light)


@pytest.mark.parametrize(
    ("elevation_deg", "distance_mm", "k1", "rms_px"),
    [(9, 520, 0.0, 0.1), (25, 420, -0.04, 0.05), (80, 430, 0.0, 0.05)],
)
def test_corners_lie_where_the_camera_puts_them(elevation_deg, distance_mm, k1, rms_px):
    camera = scenes.camera(elevation_deg, distance_mm, roll_deg=2.0, k1=k1, aim=(4, 6, 20))
    found = found_in(scenes.draw(camera))
    assert len(found) >= 10
    error = np.array([m.corners - camera.project(mat.marker_corners(m.id)) for m in found])
    assert np.sqrt((error**2).mean()) < rms_px
    assert np.abs(error.mean((0, 1))).max() < WORST_BIAS_PX


def test_stated_corner_uncertainty_covers_the_error():
    camera = scenes.camera(30, 420)
    found = found_in(scenes.draw(camera, noise=0.02))
    error = np.array([m.corners - camera.project(mat.marker_corners(m.id)) for m in found])
    stated = np.sqrt([np.diag(m.covariance).mean() for m in found])
    assert 0.3 < np.sqrt((error**2).mean()) / stated.mean() < 1.8


def test_a_window_about_the_corner_would_be_pulled_by_its_neighbour():
    """Why the pattern is fitted: a corner search of usual size errs five times as much when low."""
    camera = scenes.camera(9, 520)
    picture = scenes.draw(camera)
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    found = found_in(picture)
    truth = np.array([camera.project(mat.marker_corners(m.id)) for m in found])
    start = np.array([m.corners for m in found]).reshape(-1, 1, 2).astype(np.float32)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.001)
    window = cv2.cornerSubPix(grey, start, (5, 5), (-1, -1), stop).reshape(truth.shape)
    ours = np.sqrt(((np.array([m.corners for m in found]) - truth) ** 2).mean())
    assert np.sqrt(((window - truth) ** 2).mean()) > 5 * ours


def test_a_covered_marker_is_left_out():
    def lid(x, y, out):
        return np.where(np.hypot(x - 12, y + 70) < 12, 0.3, out)  # half over marker 2

    found = found_in(scenes.draw(scenes.camera(40, 420), extra=lid, grid=2))
    assert 2 not in [m.id for m in found]
    assert len(found) == 11


def test_the_other_markers_of_the_dictionary_are_not_the_mats():
    picture = np.full((600, 600, 3), 255, np.uint8)
    picture[200:400, 200:400] = mat.dictionary().generateImageMarker(30, 200)[..., None]
    assert found_in(picture) == []


def test_linear_light_follows_the_srgb_standard():
    # IEC 61966-2-1: code value 188 is about half the light (0.502886 by its formula, R).
    light = markers.linear_light(np.array([0, 188, 255], np.uint8))
    assert light == pytest.approx([0.0, 0.502886, 1.0], abs=1e-5)
