"""Slips: read back by OpenCV's QR decoder, and of a size that a photograph can show."""

from itertools import pairwise

import cv2
import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from studio.models.pieces import CODE_LENGTH
from studio.paper.mat import mat_pdf
from studio.paper.sheets import PAPERS
from studio.paper.slips import SLIP_HEIGHT_MM, SLIP_WIDTH_MM, qr_cells, slips_pdf
from tests.paper import drawn

CODES = [f"K3-{number:02d}" for number in range(1, 25)]
DPI = 200


@pytest.mark.parametrize("key", ["letter", "a4"])
def test_every_code_of_a_sheet_is_read_from_its_picture(key, tmp_path):
    pdf = slips_pdf(CODES, PAPERS[key])
    grey = drawn.picture(pdf, tmp_path, dpi=DPI)
    lines = drawn.read(pdf, tmp_path).lines
    xs = sorted({round(x0, 2) for x0, _, x1, _ in lines if x0 == pytest.approx(x1)})
    ys = sorted({round(y0, 2) for _, y0, _, y1 in lines if y0 == pytest.approx(y1)}, reverse=True)
    read = []
    for top, bottom in pairwise(ys):
        for left, right in pairwise(xs):
            px = np.array([left, right, 0, 0]) / 25.4 * DPI
            rows = grey.shape[0] - np.array([top, bottom]) / 25.4 * DPI
            slip = grey[int(rows[0]) + 3 : int(rows[1]) - 3, int(px[0]) + 3 : int(px[1]) - 3]
            read.append(cv2.QRCodeDetector().detectAndDecode(slip)[0])
    assert [code for code in read if code] == CODES


@pytest.mark.parametrize("code", ["K3-01", "7", "A" * CODE_LENGTH, "b-" * (CODE_LENGTH // 2)])
def test_any_code_a_piece_can_have_is_drawn_in_version_1_or_2(code, tmp_path):
    cells = qr_cells(code)
    assert cells.shape[0] in (21, 25)  # ISO/IEC 18004: 17 + 4 x version modules
    drawn_large = np.kron(np.pad(~cells, 4, constant_values=True), np.ones((8, 8)))
    read, *_ = cv2.QRCodeDetector().detectAndDecode((drawn_large * 255).astype(np.uint8))
    assert read == code


def test_the_drawing_is_a_code_of_the_standard_in_one_of_its_eight_masks():
    # Outside: a second generator draws the same code in all eight masks of ISO/IEC 18004.
    drawings = []
    for mask in range(8):
        qr = QRCode(1, QRErrorCorrectLevel.M)
        qr.addData("K3-24")
        qr.makeImpl(False, mask)
        drawings.append(np.array(qr.modules, dtype=bool))
    # A version holds one drawing for each mask, so every module agrees with one of the eight.
    assert any((drawing == qr_cells("K3-24")).all() for drawing in drawings)


def test_codes_of_whole_classes_are_read_by_the_camera_from_a_clean_drawing():
    for code in (f"K{p}-{n:02d}" for p in range(1, 6) for n in range(1, 31)):
        white = np.pad(~qr_cells(code), 4, constant_values=True).astype(np.uint8) * 255
        large = cv2.resize(white, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
        assert cv2.QRCodeDetector().detectAndDecode(large)[0] == code


def test_a_code_too_long_for_a_photograph_is_refused_with_its_name():
    with pytest.raises(ValueError, match=r"x{40} is too long for a slip"):
        qr_cells("x" * 40)


def test_no_pieces_is_refused_with_a_sentence():
    with pytest.raises(ValueError, match="no piece to print a slip for"):
        slips_pdf([], PAPERS["a4"])


def test_the_qr_code_is_20_to_30_mm_wide_with_four_modules_of_white(tmp_path):
    pdf = slips_pdf(["K3-01"], PAPERS["letter"])
    page = drawn.read(pdf, tmp_path)
    boxes = np.array([(x, y, x + w, y + h) for x, y, w, h, _ in page.rectangles])
    left, bottom, right, top = *boxes[:, :2].min(axis=0), *boxes[:, 2:].max(axis=0)
    assert right - left == pytest.approx(top - bottom, abs=1e-3)
    assert 20 <= right - left <= 30
    white = 4 * (right - left) / 21  # ISO/IEC 18004: quiet zone of four modules
    xs = [x0 for x0, _, x1, _ in page.lines if x0 == pytest.approx(x1)]
    assert left - min(xs) >= white
    assert max(xs) - right >= white


def test_a_slip_fits_on_the_mat_between_the_rings_and_the_markers(tmp_path):
    page = drawn.read(mat_pdf(PAPERS["letter"]), tmp_path, centred=True)
    squares = [r for r in page.rectangles if r[2] == pytest.approx(28, abs=1e-3)]
    # The free ground right of the rings, above the side marker: x from 55, y from 19 to 59.
    left, bottom = 100.0, 20.0
    for x, y, w, h, _ in squares:
        apart = (
            x >= left + SLIP_WIDTH_MM
            or x + w <= left
            or y >= bottom + SLIP_HEIGHT_MM
            or y + h <= bottom
        )
        assert apart
    assert left + SLIP_WIDTH_MM <= page.width_mm / 2


def test_a_class_of_forty_takes_two_sheets_and_names_each_code_in_letters(tmp_path):
    codes = [f"K4-{number:02d}" for number in range(1, 41)]
    path = tmp_path / "slips.pdf"
    path.write_bytes(slips_pdf(codes, PAPERS["letter"]))
    pages = PdfReader(path).pages
    assert [len(page.extract_text().split()) for page in pages] == [30, 10]
    assert [word for page in pages for word in page.extract_text().split()] == codes
