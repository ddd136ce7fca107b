"""A class sheet of one-time codes, to be cut into slips: where, who, and the code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import segno

from .sheets import LIGHT_GREY, Paper, PdfSheet, draw_cells

COLUMNS, ROWS = 2, 5
"""Ten slips a page: large enough for a long name and for a thumb."""
MARGIN_MM, INSIDE_MM = 10.0, 6.0
QR_SIDE_MM = 22.0
QUIET_MODULES = 4
"""White round a QR code (ISO/IEC 18004, quiet zone)."""
NAME_PT, LABEL_PT, VALUE_PT = 13.0, 8.5, 13.0
CUT_MM, LABEL_GREY = 0.15, 0.35


@dataclass(frozen=True, slots=True)
class CodeSlip:
    """What stands on one slip."""

    name: str
    username: str
    code: str


def code_slips_pdf(
    slips: Sequence[CodeSlip], paper: Paper, *, address: str, until: str, title: str
) -> bytes:
    """Sheets of slips with cut lines.

    Parameters
    ----------
    address : str
        Of the page on which to sign in. The QR code holds it and nothing else.
    until : str
        The day on which the codes end, in words.

    Raises
    ------
    ValueError
        There is no slip to print.
    """
    if not slips:
        raise ValueError("There is nobody to print a slip for.")
    width = (paper.short_mm - 2 * MARGIN_MM) / COLUMNS
    height = (paper.long_mm - 2 * MARGIN_MM) / ROWS
    sheet = PdfSheet(
        paper.short_mm, paper.long_mm, origin=(MARGIN_MM, paper.long_mm - MARGIN_MM), title=title
    )
    cells = [list(row) for row in segno.make_qr(address, error="m").matrix]
    page = COLUMNS * ROWS
    for start in range(0, len(slips), page):
        if start:
            sheet.next_page()
        here = slips[start : start + page]
        _cut_lines(sheet, width, height, -(-len(here) // COLUMNS))
        for number, slip in enumerate(here):
            row, column = divmod(number, COLUMNS)
            place = (column * width, -row * height, width)
            _slip(sheet, slip, place, cells, says=(address, until))
    return sheet.finish()


def _slip(sheet: PdfSheet, slip: CodeSlip, place, cells, *, says: tuple[str, str]) -> None:
    left, top, width = place
    address, until = says
    x = left + INSIDE_MM
    room = width - 2 * INSIDE_MM
    beside = room - QR_SIDE_MM - QR_SIDE_MM * 2 * QUIET_MODULES / len(cells)
    sheet.fitted(x, top - 9, slip.name, size=NAME_PT, room=room, strong=True)
    draw_cells(
        sheet, cells, left + width - INSIDE_MM - QR_SIDE_MM, top - 37, QR_SIDE_MM, ground=False
    )
    for drop, label, value in ((16, "User name", slip.username), (27, "Code", slip.code)):
        sheet.words(x, top - drop, label, size=LABEL_PT, grey=LABEL_GREY)
        sheet.fitted(x, top - drop - 5.5, value, size=VALUE_PT, room=beside, strong=True)
    sheet.fitted(x, top - 42, address, size=LABEL_PT + 1, room=room)
    note = f"Works once, until {until}. You choose your own password then."
    sheet.fitted(x, top - 47, note, size=LABEL_PT, room=room, grey=LABEL_GREY)


def _cut_lines(sheet: PdfSheet, width: float, height: float, rows: int) -> None:
    for column in range(COLUMNS + 1):
        x = column * width
        sheet.line(x, 0, x, -rows * height, width=CUT_MM, grey=LIGHT_GREY)
    for row in range(rows + 1):
        sheet.line(0, -row * height, COLUMNS * width, -row * height, width=CUT_MM, grey=LIGHT_GREY)
