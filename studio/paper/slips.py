"""Slips that name a piece in its photograph: the code as a QR code and in plain letters."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

import cv2
import numpy as np
import segno

from .sheets import LIGHT_GREY, Paper, PdfSheet, draw_cells

QR_SIDE_MM = 24.0
"""Between 20 and 30 mm: at 900 mm a module is still over a pixel in a small photograph."""
SLIP_WIDTH_MM = QR_SIDE_MM + 10.0
"""Four modules of white on both sides (ISO/IEC 18004, quiet zone), the largest module 24/21 mm."""
SLIP_HEIGHT_MM = 38.0
"""Fits between a side marker and the rear row of the mat, which leave 40 mm."""
QR_TOP_MM = 5.0
CODE_BASELINE_MM = 3.0
CODE_SIZE_PT = 13.0
MARGIN_MM = 10.0
CUT_MM = 0.15
CUT_OVERHANG_MM = 4.0
HIGHEST_VERSION = 2
"""Versions 1 and 2 hold every code that a piece can have at level M (ISO/IEC 18004, table 7)."""
QUIET_MODULES = 4
MASKS = 8
"""ISO/IEC 18004, data mask patterns."""
TRIED_MODULE_PX = (4, 8, 11)


def slips_pdf(codes: Iterable[str], paper: Paper, *, title: str = "Slips") -> bytes:
    """Sheets of slips with cut lines, in the order of the codes.

    Raises
    ------
    ValueError
        There is no code, or one is too long to be read off a photograph.
    """
    codes = list(codes)
    if not codes:
        raise ValueError("There is no piece to print a slip for.")
    columns = int((paper.short_mm - 2 * MARGIN_MM) // SLIP_WIDTH_MM)
    rows = int((paper.long_mm - 2 * MARGIN_MM) // SLIP_HEIGHT_MM)
    left = (paper.short_mm - columns * SLIP_WIDTH_MM) / 2
    top = paper.long_mm - (paper.long_mm - rows * SLIP_HEIGHT_MM) / 2
    sheet = PdfSheet(paper.short_mm, paper.long_mm, origin=(left, top), title=title)
    page = columns * rows
    for start in range(0, len(codes), page):
        if start:
            sheet.next_page()
        here = codes[start : start + page]
        _draw_cut_lines(sheet, min(columns, len(here)), -(-len(here) // columns))
        for number, code in enumerate(here):
            row, column = divmod(number, columns)
            _draw_slip(sheet, code, column * SLIP_WIDTH_MM, -(row + 1) * SLIP_HEIGHT_MM)
    return sheet.finish()


def qr_cells(code: str) -> np.ndarray:
    """Modules of the QR code of a piece's code, True for black, row 0 at the top.

    Error correction is level M, in the smallest version that holds the code. Of the eight masks
    that the standard allows, the one it prefers is taken, unless the decoder that will read the
    photograph stumbles over it even when drawn clean (it does for about one code in a hundred).

    Raises
    ------
    ValueError
        The code does not fit version 2.
    """
    preferred = _cells(code, mask=None)
    if len(preferred) > 17 + 4 * HIGHEST_VERSION:
        raise ValueError(f"{code} is too long for a slip that a photograph can show.")
    others = (_cells(code, mask=mask) for mask in range(MASKS))
    return next((c for c in chain([preferred], others) if _is_read(c, code)), preferred)


def _cells(code: str, *, mask: int | None) -> np.ndarray:
    qr = segno.make_qr(code, error="m", boost_error=False, mask=mask)
    return np.array([list(row) for row in qr.matrix]) > 0


def _is_read(cells: np.ndarray, code: str) -> bool:
    """Whether the camera's own decoder reads the clean drawing at every size tried."""
    white = np.pad(~cells, QUIET_MODULES, constant_values=True).astype(np.uint8) * 255
    detector = cv2.QRCodeDetector()
    return all(
        detector.detectAndDecode(
            cv2.resize(white, None, fx=size, fy=size, interpolation=cv2.INTER_NEAREST)
        )[0]
        == code
        for size in TRIED_MODULE_PX
    )


def _draw_slip(sheet: PdfSheet, code: str, x: float, y: float) -> None:
    middle = x + SLIP_WIDTH_MM / 2
    bottom = y + SLIP_HEIGHT_MM - QR_TOP_MM - QR_SIDE_MM
    draw_cells(sheet, qr_cells(code), middle - QR_SIDE_MM / 2, bottom, QR_SIDE_MM, ground=False)
    room = SLIP_WIDTH_MM - 2
    sheet.fitted(
        middle, y + CODE_BASELINE_MM, code, size=CODE_SIZE_PT, room=room, strong=True, at="middle"
    )


def _draw_cut_lines(sheet: PdfSheet, columns: int, rows: int) -> None:
    width, height = columns * SLIP_WIDTH_MM, rows * SLIP_HEIGHT_MM
    over = CUT_OVERHANG_MM
    for column in range(columns + 1):
        x = column * SLIP_WIDTH_MM
        sheet.line(x, over, x, -height - over, width=CUT_MM, grey=LIGHT_GREY)
    for row in range(rows + 1):
        y = -row * SLIP_HEIGHT_MM
        sheet.line(-over, y, width + over, y, width=CUT_MM, grey=LIGHT_GREY)
