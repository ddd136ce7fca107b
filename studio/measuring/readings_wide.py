"""The wide form of a file of readings: a line a piece and stage, a column a station.

A heading names the quantity, then where it has them its name, height and azimuth, and the unit of
its plain numbers: ``wall_thickness 50 mm 270° [mm]``, ``dimension rim_diameter [in]``. Knows no
database.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from studio.measuring.readings_csv import (
    COLUMNS,
    NEEDED,
    FileError,
    Records,
    column_word,
    guard,
    unguard,
)
from studio.ware.quantities import QUANTITIES

FIRST = ("piece", "stage")
NOT_TOLD = "="
"""Instrument of a wide cell: the file has no place for it, so that of the reading stands."""

_NUMBER = r"-?[0-9]+(?:[.,][0-9]+)?"
_HEADING = re.compile(
    rf"(?P<quantity>[a-z_]+)(?: (?P<name>[a-z0-9_]+?))??(?: (?P<height>{_NUMBER}) mm)?"
    rf"(?: (?P<azimuth>{_NUMBER})°)?(?: \[(?P<unit>[a-z]+)\])?"
)
_AT = re.compile(rf"(?P<value>.*?) *@ *(?P<azimuth>{_NUMBER})°?")
"""A value whose azimuth is read off the piece, as of a handle: ``80 @ 7``."""


def heading(
    quantity: str, name: str = "", height_mm: str = "", azimuth_deg: str = "", *, unit: str
) -> str:
    """The head of a column, as :func:`narrowed` reads it."""
    height = f"{height_mm} mm" if height_mm else ""
    azimuth = f"{azimuth_deg}°" if azimuth_deg else ""
    return " ".join(part for part in (quantity, name, height, azimuth, f"[{unit}]") if part)


def is_wide(header: Sequence[str]) -> bool:
    """Whether a file's first row is one of this form."""
    words = [column_word(cell) for cell in header]
    return set(FIRST) <= set(words) and not set(NEEDED[2:]) & set(words)


def narrowed(records: Records) -> Records:
    """The same readings a line each, with their line numbers; empty cells are no readings.

    A file with a line a reading is given back as it is.

    Raises
    ------
    FileError
        A heading is no reading, or stands twice.
    """
    first_line, last_line, header = records[0]
    if not is_wide(header):
        return records
    words = [column_word(cell) for cell in header]
    at = {word: words.index(word) for word in FIRST}
    stations = _stations(header, set(at.values()))
    narrow = [(first_line, last_line, list(COLUMNS))]
    for line, last, cells in records[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        placed = {word: cells[k] if k < len(cells) else "" for word, k in at.items()}
        for k, told in stations.items():
            text = unguard(cells[k].strip()) if k < len(cells) else ""
            if text:
                row = placed | told | _value(text, told)
                narrow.append((line, last, [row[column] for column in COLUMNS]))
    return narrow


def _stations(header: Sequence[str], taken: set[int]) -> dict[int, dict[str, str]]:
    stations: dict[int, dict[str, str]] = {}
    for k, cell in enumerate(header):
        text = " ".join(unguard(cell.strip()).lower().split())
        if k in taken or not text:
            continue
        match = _HEADING.fullmatch(text)
        if match is None or match["quantity"] not in QUANTITIES:
            near = get_close_matches(text.split()[0], QUANTITIES, 1)
            hint = f"Did you mean {near[0]}?" if near else f"Known are {', '.join(QUANTITIES)}."
            raise FileError(
                f"The column “{cell.strip()}” names no reading. {hint} A column reads like "
                "“wall_thickness 50 mm 270° [mm]”."
            )
        told = {
            "quantity": match["quantity"],
            "name": match["name"] or "",
            "height_mm": match["height"] or "",
            "azimuth_deg": match["azimuth"] or "",
            "unit": match["unit"] or "",
            "instrument": NOT_TOLD,
        }
        if told in stations.values():
            raise FileError(f"The column “{cell.strip()}” stands twice in the first row. Keep one.")
        stations[k] = told
    if not stations:
        raise FileError("The first row names pieces and stages, and no column for a reading.")
    return stations


def _value(text: str, told: dict[str, str]) -> dict[str, str]:
    """Value, unit and azimuth of a cell; a unit written in the cell comes before the heading's."""
    found = {"value": text, "unit": told["unit"]}
    quantity = QUANTITIES[told["quantity"]]
    if quantity.azimuth_is_found and (match := _AT.fullmatch(text)):
        found |= {"value": match["value"], "azimuth_deg": match["azimuth"]}
    if not re.fullmatch(_NUMBER, found["value"]):
        found["unit"] = ""
    return found


def write(headings: Sequence[str], lines: Iterable[tuple[str, str, dict[str, str]]]) -> bytes:
    """Write the wide form.

    Parameters
    ----------
    headings : sequence of str
        From :func:`heading`, in order.
    lines : iterable of (piece, stage, cells by heading)
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*FIRST, *headings])
    for piece, stage, cells in lines:
        values = (cells.get(head, "") for head in headings)
        writer.writerow([guard(piece), stage, *(guard(value) for value in values)])
    return out.getvalue().encode("utf-8-sig")
