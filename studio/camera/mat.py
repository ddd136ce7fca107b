"""The photo mat as data: what is printed where, in millimetres.

Origin at the centre of the sheet, x right, y to the rear, z up from the paper. Whatever prints
the mat and whatever reads it take the places from here.
"""

import cv2
import numpy as np

DICTIONARY_NAME = "DICT_4X4_50"
MARKER_SIDE_MM = 28.0
MARKER_WHITE_MM = 5.0  # at least this much white around every marker
CELLS = 6  # four bits and the black border on both sides
ROW_X_MM = (-115.0, -57.5, 0.0, 57.5, 115.0)
ROW_Y_MM = 78.0
CENTRES_MM = {
    **{i: (x, -ROW_Y_MM) for i, x in enumerate(ROW_X_MM)},
    **{i + 5: (x, ROW_Y_MM) for i, x in enumerate(ROW_X_MM)},
    10: (-115.0, 0.0),
    11: (115.0, 0.0),
}
RING_RADII_MM = (20.0, 30.0, 40.0, 50.0)
TICK_RADII_MM = (58.0, 62.0)
CHECK_BAR_MM = 100.0
SCALE_WORTH_SAYING = 0.003  # 0.3 mm on a mug: as much as a careful reading of a ruler
UNMEASURED_SCALE_SD = 0.015  # "fit to page" takes 1 to 4 per cent (common practice, no source)
CHECK_BAR_CENTRE_MM = (0.0, -99.5)
# The part of the sheet that US Letter and A4 landscape share.
SHEET_HALF_MM = (139.7, 105.0)


def dictionary():
    """The marker dictionary of the mat."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def marker_corners(marker_id: int, scale: float = 1.0) -> np.ndarray:
    """Corners of one marker on the paper.

    Parameters
    ----------
    marker_id : int
        0 to 11.
    scale : float
        Printed size over designed size, 1 for a true print.

    Returns
    -------
    ndarray, shape (4, 3)
        Top left, top right, bottom right, bottom left as seen from above [mm], z = 0.
    """
    x, y = CENTRES_MM[marker_id]
    h = MARKER_SIDE_MM / 2
    corners = [(x - h, y + h), (x + h, y + h), (x + h, y - h), (x - h, y - h)]
    return np.array([(a * scale, b * scale, 0.0) for a, b in corners])


def marker_cells(marker_id: int) -> np.ndarray:
    """Cells of a marker, 1 white and 0 black, row 0 at its top; shape (6, 6)."""
    return (dictionary().generateImageMarker(marker_id, CELLS, borderBits=1) > 0).astype(float)


def print_scale(check_bar_mm: float) -> float:
    """Printed over designed size, from the check bar as a ruler reads it [mm]."""
    return check_bar_mm / CHECK_BAR_MM
