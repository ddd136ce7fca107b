"""The code slip on drawn sheets."""

import cv2
import numpy as np
import pytest
import segno

from studio.camera import slip
from tests.camera import scenes


def with_slip(code, x, y, turn_deg, side_mm=24.0):
    modules = np.array(list(segno.make(code, micro=False, error="m").matrix), bool)
    n = len(modules)
    a = np.radians(turn_deg)

    def paint(px, py, out):
        u = ((px - x) * np.cos(a) + (py - y) * np.sin(a)) / side_mm + 0.5
        v = 0.5 - (-(px - x) * np.sin(a) + (py - y) * np.cos(a)) / side_mm
        on = (u >= 0) & (v >= 0) & (u < 1) & (v < 1)
        out[on] = np.where(
            modules[(v[on] * n).astype(int), (u[on] * n).astype(int)], scenes.INK, scenes.PAPER
        )
        return out

    return paint


@pytest.mark.parametrize(("elevation_deg", "turn_deg"), [(14, -7.0), (30, 8.0), (86, 160.0)])
def test_a_slip_is_read_slanted_small_and_turned(elevation_deg, turn_deg):
    camera = scenes.camera(elevation_deg, 430)
    picture = scenes.draw(camera, extra=with_slip("K3-07", -73, -20, turn_deg), grid=3)
    assert slip.read_code(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), camera) == "K3-07"


def test_no_slip_no_code():
    camera = scenes.camera(30, 430)
    picture = scenes.draw(camera, grid=2)
    assert slip.read_code(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), camera) is None
