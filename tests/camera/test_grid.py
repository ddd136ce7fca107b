"""What a solid of rings covers in a picture, beside scikit-image's own filled polygons."""

import numpy as np
import pytest
from skimage.draw import polygon2mask

from studio.camera.grid import covered

SIZE = (300, 400)


def rings(tilt, count=30, radius=60.0):
    """A cylinder of rings whose ellipses are flatter the smaller the tilt."""
    turn = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    across, down = radius * np.cos(turn), tilt * radius * np.sin(turn)
    return np.array(
        [np.column_stack([150 + across, y + down]) for y in np.linspace(350, 60, count)]
    )


@pytest.mark.parametrize("tilt", [0.0, 0.02, 0.1, 0.5])
def test_rings_seen_from_the_side_leave_no_gap_between_them(tilt):
    solid = rings(tilt)
    low, high = solid[0], solid[-1]
    corners = np.concatenate([low[low[:, 1] >= 350 - 1e-9], high[high[:, 1] <= 60 + 1e-9]])
    middle = corners.mean(0)
    order = np.argsort(np.arctan2(*(corners - middle).T[::-1]))
    expected = polygon2mask(SIZE[::-1], corners[order][:, ::-1])
    found = covered(solid, SIZE) > 0
    assert (found ^ expected).sum() < 0.01 * expected.sum() + 300  # a pixel along the outline


def test_a_waist_stays_narrow():
    solid = rings(0.1)
    solid[10:20, :, 0] = 150 + 0.5 * (solid[10:20, :, 0] - 150)
    assert covered(solid, SIZE)[205, 150 + 45] == 0
    assert covered(solid, SIZE)[205, 150 + 25] == 1
