"""Sub-pixel edges on pictures whose edges are known."""

import cv2
import numpy as np
import pytest

from studio.camera import edges, markers


def half_plane(at, blur=0.6, dark=0.1, bright=0.6, root=0.0):
    """An upright edge at x = at: dark or limb-shaded left of it, bright right of it."""
    fine = 20
    x = (np.arange(80 * fine) + 0.5) / fine - 0.5
    left = dark + root * np.sqrt(np.maximum(at - x, 0))
    row = np.where(x < at, np.minimum(left, 0.9), bright)
    row = row.reshape(80, fine).mean(1)
    picture = np.repeat(np.tile(row, (60, 1))[..., None], 3, 2).astype(np.float32)
    return cv2.GaussianBlur(picture, (0, 0), blur, borderType=cv2.BORDER_REPLICATE)


def offsets(picture, start, blur=None):
    pixels = np.column_stack([np.full(20, start), np.linspace(15, 45, 20)])
    normals = np.tile([1.0, 0.0], (20, 1))
    return edges.find(
        picture, pixels, normals, half_px=5.0, noise=0.002, prefer_px=3.0, blur_px=blur
    ).offset_px


@pytest.mark.parametrize("at", [39.3, 40.0, 40.77])
def test_a_plain_edge_is_found_to_a_fraction_of_a_pixel(at):
    assert offsets(half_plane(at), 39.0) + 39.0 == pytest.approx(at, abs=0.07)
    assert offsets(half_plane(at), 39.0, blur=0.7) + 39.0 == pytest.approx(at, abs=0.12)


def test_in_coded_light_the_bright_side_would_spread():
    """Why edges are sought in linear light: gamma-coded, the edge moves over the dark side."""
    light = half_plane(40.0, blur=1.0, dark=0.02, bright=0.9)
    coded = np.float32(np.clip(light, 0, 1) ** (1 / 2.2))
    assert offsets(light, 39.0) + 39.0 == pytest.approx(40.0, abs=0.05)
    assert (offsets(coded, 39.0) + 39.0 < 39.8).all()


def test_a_shaded_limb_is_found_where_it_ends():
    """A wall that brightens inward as the square root: the steepest place is not its limb."""
    picture = half_plane(40.3, dark=0.05, bright=0.02, root=0.12)
    steepest = offsets(picture, 39.0) + 39.0
    fitted = offsets(picture, 39.0, blur=0.7) + 39.0
    assert np.abs(steepest - 40.3).mean() > 0.25
    assert np.abs(fitted - 40.3).mean() < 0.15


def test_no_edge_no_answer():
    flat = np.full((60, 80, 3), 0.4, np.float32)
    assert np.isnan(offsets(flat, 39.0)).all()


def test_noise_of_a_pixel_is_told():
    rng = np.random.default_rng(2)
    picture = (0.4 + rng.normal(0, 0.01, (200, 200, 3))).astype(np.float32)
    assert edges.pixel_noise(picture) == pytest.approx(0.01, rel=0.1)
    assert markers.linear_light(np.zeros((2, 2, 3), np.uint8)).sum() == 0
