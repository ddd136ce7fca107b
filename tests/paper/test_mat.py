"""The printed mat: its own vectors and a picture of it, against the mat's description.

The places are written here once more, from the description of the mat and not from the code that
prints it. The markers are recognised by OpenCV's detector (predefined dictionary DICT_4X4_50).
"""

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from studio.paper.mat import mat_pdf
from studio.paper.sheets import PAPERS
from tests.paper import drawn

ROWS = {-78: range(5), 78: range(5, 10)}
CENTRES_MM = {
    **{
        i: (x, y)
        for y, ids in ROWS.items()
        for i, x in zip(ids, (-115, -57.5, 0, 57.5, 115), strict=True)
    },
    10: (-115, 0),
    11: (115, 0),
}
SIDE_MM = 28
WHITE_MM = 5
SIZES_MM = {"letter": (279.4, 215.9), "a4": (297, 210)}  # ANSI/ASME Y14.1 size A; ISO 216
PRINTER_MARGIN_MM = 4.2  # common practice, no source: what an office printer leaves unprinted
DPI = 300
PX_MM = 25.4 / DPI

papers = pytest.mark.parametrize("key", ["letter", "a4"])


@pytest.fixture
def page(key, tmp_path):
    return drawn.read(mat_pdf(PAPERS[key]), tmp_path, centred=True)


@papers
def test_the_page_has_the_size_of_the_paper_in_landscape(key, page):
    assert (page.width_mm, page.height_mm) == pytest.approx(SIZES_MM[key], abs=0.01)


@papers
def test_twelve_black_squares_stand_where_the_description_says(key, page):
    squares = [
        r for r in page.rectangles if r[2:] == pytest.approx((SIDE_MM, SIDE_MM, 0), abs=1e-3)
    ]
    centres = sorted((x + w / 2, y + h / 2) for x, y, w, h, _ in squares)
    assert np.array(centres) == pytest.approx(
        np.array(sorted(CENTRES_MM.values()), float), abs=1e-3
    )


@papers
def test_the_check_bar_is_100_mm_long_and_clear_of_the_printers_margin(key, page):
    (bar,) = (r for r in page.rectangles if r[2] == pytest.approx(100, abs=1e-3))
    x, y, width, height, grey = bar
    assert (x + width / 2, y + height / 2) == pytest.approx((0, -99.5), abs=1e-3)
    assert (width, height, grey) == pytest.approx((100, 2, 0), abs=1e-3)
    assert y + page.height_mm / 2 > PRINTER_MARGIN_MM


@papers
def test_rings_and_cross_place_the_foot(key, page):
    assert sorted(r for _, _, r in page.circles) == pytest.approx([20, 30, 40, 50], abs=1e-3)
    assert np.array([c[:2] for c in page.circles]) == pytest.approx(0, abs=1e-3)
    cross = [line for line in page.lines if np.hypot(*line[:2]) < 10]
    assert np.array(cross).reshape(-1, 2).sum(axis=0) == pytest.approx(0, abs=1e-3)
    assert len(cross) == 2


@papers
def test_ticks_stand_every_ten_degrees_from_58_to_62_but_not_before_a_marker(key, page):
    ticks = [line for line in page.lines if np.hypot(*line[:2]) > 10]
    ends = np.array(ticks).reshape(-1, 2, 2)
    assert np.hypot(*ends[:, 0].T) == pytest.approx(58, abs=1e-3)
    assert np.hypot(*ends[:, 1].T) == pytest.approx(62, abs=1e-3)
    azimuths = np.degrees(np.arctan2(ends[:, 1, 1], ends[:, 1, 0])) % 360
    # By hand: at 80, 90 and 100 degrees the tick reaches y = 59, the middle marker's white.
    left_out = {80, 90, 100, 260, 270, 280}
    assert {round(a) for a in azimuths} == set(range(0, 360, 10)) - left_out


@papers
def test_the_camera_library_finds_every_marker_in_its_place(key, tmp_path):
    grey = drawn.picture(mat_pdf(PAPERS[key]), tmp_path, dpi=DPI)
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    corners, ids, _ = detector.detectMarkers(grey)
    assert sorted(ids.ravel()) == list(range(12))
    middle = (np.array(grey.shape[::-1]) - 1) / 2
    for marker_id, found in zip(ids.ravel(), corners, strict=True):
        place = (found[0] - middle) * [PX_MM, -PX_MM]
        cx, cy = CENTRES_MM[int(marker_id)]
        # Top left first: the marker is upright. Within a pixel and a half of the detector.
        wanted = np.array([(-14, 14), (14, 14), (14, -14), (-14, -14)]) + np.array([cx, cy])
        assert place == pytest.approx(wanted, abs=1.5 * PX_MM)


@papers
def test_five_millimetres_around_every_marker_stay_white(key, tmp_path):
    grey = drawn.picture(mat_pdf(PAPERS[key]), tmp_path, dpi=DPI)
    height, width = grey.shape
    for cx, cy in CENTRES_MM.values():
        around = np.full(grey.shape, False)
        for reach, inside in ((SIDE_MM / 2 + WHITE_MM - 0.1, True), (SIDE_MM / 2 + 0.2, False)):
            columns = (np.array([cx - reach, cx + reach]) / PX_MM + width / 2).astype(int)
            rows = (np.array([-cy - reach, -cy + reach]) / PX_MM + height / 2).astype(int)
            around[max(rows[0], 0) : rows[1], max(columns[0], 0) : columns[1]] = inside
        assert grey[around].min() == 255


@papers
def test_the_sheet_says_how_to_print_and_leaves_a_line_for_the_measured_length(key, tmp_path):
    path = tmp_path / "mat.pdf"
    path.write_bytes(mat_pdf(PAPERS[key]))
    reader = PdfReader(path)
    words = reader.pages[0].extract_text()
    assert "Print at 100 %" in words
    assert "Measured: ______ mm" in words
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    fonts = reader.pages[0]["/Resources"]["/Font"].values()
    embedded = [
        f.get_object()["/FontDescriptor"]["/FontFile2"]
        for f in fonts
        if "/FontDescriptor" in f.get_object()
    ]
    assert len(embedded) >= 1
