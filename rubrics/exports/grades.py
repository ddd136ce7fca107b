"""Grades for a spreadsheet: plain CSV, and XLSX. No cell of either can run as a formula."""

import csv
import io
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import TYPE_STRING
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from rubrics.exports.results import Results
from studio.measuring.readings_csv import guard

WIDTH_NAME, WIDTH_OTHER = 28, 16
"""Column widths [signs of the usual letter]."""
# A sheet's name has at most 31 signs, and none of these.
SHEET_NAME_LENGTH, NOT_IN_SHEET_NAME = 31, "[]:*?/\\'"


def table(results: Results) -> list[list[str | Decimal | None]]:
    """The heading and a row a student: name, number, then per cent, grade and state a project."""
    head = ["Name", "School number"]
    for project in results.projects:
        head += [f"{project.title} %", f"{project.title} grade", f"{project.title} state"]
    rows: list[list[str | Decimal | None]] = [list(head)]
    for student, row in results.rows:
        cells: list[str | Decimal | None] = [student.name, student.school_id]
        for result in row:
            cells += [result.percent, result.grade, str(result.state)]
        rows.append(cells)
    return rows


def as_csv(results: Results) -> bytes:
    """UTF-8 with a BOM, without which spreadsheets spoil the accents."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    for row in table(results):
        writer.writerow([_text(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def _text(cell: str | Decimal | None) -> str:
    if cell is None:
        return ""
    return f"{cell:f}" if isinstance(cell, Decimal) else guard(cell)


def as_xlsx(results: Results) -> bytes:
    """Figures as figures, all else as text, whatever it begins with."""
    book = Workbook()
    sheet = book.active
    name = "".join(s for s in results.section.name if s not in NOT_IN_SHEET_NAME)
    sheet.title = name[:SHEET_NAME_LENGTH].strip() or "Grades"
    rows = table(results)
    for line, row in enumerate(rows, 1):
        for at, value in enumerate(row, 1):
            _put(sheet.cell(line, at), value)
    for at in range(1, len(rows[0]) + 1):
        sheet.cell(1, at).font = Font(bold=True)
        sheet.column_dimensions[get_column_letter(at)].width = (
            WIDTH_NAME if at == 1 else WIDTH_OTHER
        )
    sheet.freeze_panes = "B2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(cell, value: str | Decimal | None) -> None:
    if value is None or value == "":
        return
    if isinstance(value, Decimal):
        cell.value = value
        return
    # Signs that XML cannot hold would stop the writing; they carry nothing in a name.
    cell.value = "".join(sign for sign in value if sign.isprintable())
    # A text that begins with = would become a formula otherwise.
    cell.data_type = TYPE_STRING
