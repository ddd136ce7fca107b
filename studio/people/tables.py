"""Reading tables: the bytes of a CSV or a spreadsheet's own file (XLSX) become rows of plain text.

A file from outside is not trusted: its size, its rows and what it unpacks to are looked at before
it is read. A formula counts as the value that the spreadsheet saved beside it.
"""

import csv
import datetime as dt
import io
import json
import warnings
import zipfile
from dataclasses import dataclass

import openpyxl

from studio.measuring.readings_csv import unguard
from studio.ware.sound import is_sound

MOST_BYTES = 2 * 1024 * 1024
"""Of the file. A class list of 200 has some 20 kB; a spreadsheet carries its styles along."""
MOST_UNPACKED = 24 * 1024 * 1024
"""Bytes that a spreadsheet may unpack to: above it, it is no class list but a trap."""
MOST_PARTS, MOST_ROWS, MOST_COLUMNS, LONGEST_CELL = 400, 1000, 40, 300

_ZIP_START, _OLD_SHEET_START = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_DOCTYPE = b"<!DOCTYPE"


class TableError(ValueError):
    """A file that cannot be read as a table; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row that is not empty; ``line`` is where it stands in the file, from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a file, and what was noticed on the way."""

    rows: tuple[TableRow, ...]
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        return max(len(row.cells) for row in self.rows)

    def as_text(self) -> str:
        """To be carried by a page between the look and the confirmation."""
        return json.dumps([[row.line, *row.cells] for row in self.rows], ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> "Table":
        """Take back what :meth:`as_text` gave; it came over the wire, so it is checked again."""
        try:
            rows = [
                TableRow(int(line), tuple(str(cell)[:LONGEST_CELL] for cell in cells))
                for line, *cells in sound_json(text)
            ]
        except (ValueError, TypeError):
            raise TableError("The list did not come back whole. Choose the file again.") from None
        return _whole(rows, ())


def read(data: bytes) -> Table:
    """Read a CSV or an XLSX; which of them it is, the bytes tell and not the name.

    Raises
    ------
    TableError
        Empty, too large, locked by a password, of an old kind, damaged, or no table.
    """
    if len(data) > MOST_BYTES:
        raise TableError(
            f"The file has more than {MOST_BYTES // 1024 // 1024} MB. "
            "Keep only the class list in it, without pictures."
        )
    if data.startswith(_ZIP_START):
        return _whole(*_read_workbook(data))
    if data.startswith(_OLD_SHEET_START):
        raise TableError(
            "This spreadsheet is locked by a password or of an old kind (.xls). "
            "Save it as .xlsx without a password, or as CSV."
        )
    return _whole(*_read_csv(data))


def sound_json(text: str):
    """Read back the JSON that a page carried.

    Raises
    ------
    ValueError
        It is none, it is nested without end, or it holds a sign that no text has.
    """
    try:
        said = json.loads(text)
    except RecursionError:
        raise ValueError("nested without end") from None
    if not is_sound(said):
        raise ValueError("a sign that no text has")
    return said


def decode(data: bytes) -> tuple[str, list[str]]:
    """Text of a file in UTF-8, UTF-16 or, failing these, Windows-1252; with a note in that case."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), []
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        note = "The file is not UTF-8; it was read as Windows-1252. Look at the accents."
        return data.decode("cp1252", errors="replace"), [note]


def _whole(rows: list[TableRow], notes) -> Table:
    rows = [row for row in rows if any(row.cells)]
    if not rows:
        raise TableError("The file has no rows. Choose the file that holds the class list.")
    if len(rows) > MOST_ROWS:
        raise TableError(f"The file has more than {MOST_ROWS} rows. Keep one class in it.")
    if max(len(row.cells) for row in rows) > MOST_COLUMNS:
        raise TableError(f"The file has more than {MOST_COLUMNS} columns. Keep names and numbers.")
    return Table(tuple(rows), tuple(notes))


def _read_csv(data: bytes) -> tuple[list[TableRow], list[str]]:
    text, notes = decode(data)
    if "\x00" in text:
        raise TableError("This is not a text file. Save the list as CSV (UTF-8) or as .xlsx.")
    head = next((line for line in text.splitlines() if line.strip()), "")
    if head.lower().startswith("sep=") and len(head.strip()) == len("sep=,"):
        delimiter, text = head.strip()[-1], text.split(head, 1)[1].lstrip("\r\n")
    else:
        delimiter = max((",", ";", "\t"), key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows: list[TableRow] = []
    before = 0
    try:
        for cells in reader:
            rows.append(TableRow(before + 1, tuple(_plain(unguard(cell)) for cell in cells)))
            before = reader.line_num
            if len(rows) > 2 * MOST_ROWS:
                break
    except csv.Error:
        raise TableError(
            f"From line {before + 1} on the file is not a table; a quotation mark is not closed."
        ) from None
    return rows, notes


def _plain(text: str) -> str:
    return " ".join(text.split())[:LONGEST_CELL]


def _read_workbook(data: bytes) -> tuple[list[TableRow], list[str]]:
    _refuse_trap(data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and print ranges, which nobody reads here
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            return _sheet(book)
    except TableError:
        raise
    except Exception:  # a damaged workbook may raise nearly anything inside the reader
        raise TableError(
            "The spreadsheet is damaged or of another kind. Open it, save it as .xlsx or CSV, "
            "and choose that file."
        ) from None


def _refuse_trap(data: bytes) -> None:
    """Refuse what unpacks to far more than it is, before any of it is read as XML."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parcel:
            parts = parcel.infolist()
            total = sum(part.file_size for part in parts)
            if len(parts) > MOST_PARTS or total > MOST_UNPACKED:
                raise TableError(
                    f"The spreadsheet unpacks to more than {MOST_UNPACKED // 1024 // 1024} MB. "
                    "Copy the class list alone into a new one."
                )
            for part in parts:
                # The sizes above are the file's own word; reading stops where they are passed.
                # Every part: which of them are read as XML the file itself says, by any name.
                with parcel.open(part) as stream:
                    # UTF-16 and UTF-32 write the same signs with NULs between them.
                    if _DOCTYPE in stream.read(part.file_size + 1).replace(b"\0", b""):
                        raise TableError(
                            "The spreadsheet holds a document type, which no spreadsheet "
                            "needs. It was not opened."
                        )
    except TableError:
        raise
    except Exception:  # a damaged archive may raise nearly anything, zlib's own error among it
        raise TableError(
            "The spreadsheet is damaged or was cut off on the way. Save it again."
        ) from None


def _sheet(book) -> tuple[list[TableRow], list[str]]:
    notes: list[str] = []
    sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    if not sheets:
        raise TableError("The spreadsheet has no sheet that can be seen.")
    if len(sheets) > 1:
        notes.append(f"The spreadsheet has {len(sheets)} sheets; the first one was read.")
    sheet = sheets[0]
    # What the file says of its own extent may be wrong, and then rows would be missing.
    sheet.reset_dimensions()
    rows = []
    for line, values in enumerate(sheet.iter_rows(values_only=True), 1):
        if line > 2 * MOST_ROWS:
            break
        cells = [_cell(value) for value in values[: MOST_COLUMNS + 1]]
        while cells and not cells[-1]:
            cells.pop()
        rows.append(TableRow(line, tuple(cells)))
    return rows, notes


def _cell(value) -> str:
    """A cell as it reads: a school number kept as 20418.0 is 20418."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return _plain(str(value))
