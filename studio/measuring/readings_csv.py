"""Read and write readings as CSV; what is written reads back unchanged.

Knows no database: pieces and instruments are words here; ``studio.measuring.readings_import``
finds them.
"""

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from operator import attrgetter

from studio.measuring.entries import NEARLY, Entry, EntryError, read_entry

COLUMNS = (
    "piece",
    "stage",
    "quantity",
    "name",
    "height_mm",
    "azimuth_deg",
    "value",
    "unit",
    "instrument",
)
NEEDED = ("piece", "stage", "quantity", "value")
"""A file may leave out the other columns; they count as empty."""

MOST_BYTES = 4 * 1024 * 1024
MOST_ROWS = 20_000
"""A class of 150 with thirty readings a piece at four stages is 18 000 rows."""

MOST_OF_A_PIECE = 1000
"""Readings of one piece at one stage: a student's sheet has some thirty, and the checks' work grows
with the square."""

MOST_PROBLEMS = 200
"""So many are told one by one; more would bury the first."""

FORMULA_SIGNS = "=+-@\t\r\n＝＋－＠"
"""A cell that begins so is computed by a spreadsheet; the wide forms count in some of them."""

_GUARDED = (*FORMULA_SIGNS, "'")
_ESCAPED_INCH = re.compile(r'(?<=[0-9])\\"(?="?[ ]*(?:[,;\t\r\n]|$))')
_ZIP_START, _OLD_SHEET_START = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Why a line cannot be taken. ``line`` is as a spreadsheet numbers it; 0 is the whole file."""

    line: int
    field: str
    sentence: str

    def __str__(self):
        return f"Line {self.line}: {self.sentence}" if self.line else self.sentence


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One line that can stand: the piece and instrument as written, and the checked entry."""

    line: int
    piece: str
    entry: Entry
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Parsed:
    """What a file holds: rows, problems by line, and notes on what was understood quietly."""

    rows: tuple[ReadingRow, ...]
    problems: tuple[LineProblem, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Layout:
    """How the file's lines are laid out."""

    columns: dict[str, int]
    width: int
    default_unit: str
    decimal_comma: bool


class FileError(ValueError):
    """The file as a whole cannot be read."""


Records = list[tuple[int, int, list[str]]]
"""First line, last line and cells of every record."""


def parse(
    data: bytes,
    *,
    default_unit: str = "mm",
    other_form: Callable[[Records], Records] | None = None,
) -> Parsed:
    """Read a file of readings.

    Parameters
    ----------
    other_form : callable, optional
        Turns the records of a file laid out otherwise into these, and gives back what is laid
        out so already; raises FileError.
    data : bytes
        The file as it came: UTF-8 with or without BOM, UTF-16 or Windows-1252; commas,
        semicolons or tabs; decimal points or commas.
    default_unit : str
        What a length without a unit means: ``"mm"``, ``"cm"`` or ``"in"``.

    Returns
    -------
    Parsed
        All rows that can stand and all problems; a caller that finds a problem takes nothing.
    """
    notes: list[str] = []
    try:
        text = _decode(data, notes)
        records, delimiter = _records(text)
        records = other_form(records) if other_form else records
        columns = _columns(records)
    except FileError as error:
        return Parsed((), (LineProblem(0, "file", str(error)),), tuple(notes))
    layout = _Layout(columns, len(records[0][2]), default_unit, decimal_comma=delimiter == ";")
    rows: list[ReadingRow] = []
    problems: list[LineProblem] = []
    for line, last_line, cells in records[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            rows.append(_row(line, last_line, cells, layout))
        except EntryError as error:
            problems.append(LineProblem(line, error.field, str(error)))
    if not rows and not problems:
        problems.append(LineProblem(0, "file", "The file has a header but no reading under it."))
    problems += crowded((row.piece, row.entry.stage) for row in rows)
    kept, clashes, repeats = without_repeats(rows)
    notes.extend(repeats)
    problems = sorted([*problems, *clashes], key=lambda problem: problem.line)
    if len(problems) > MOST_PROBLEMS:
        rest = len(problems) - MOST_PROBLEMS
        more = LineProblem(0, "file", f"{rest} more lines have a problem; mend these first.")
        problems = [*problems[:MOST_PROBLEMS], more]
    return Parsed(tuple(kept), tuple(problems), tuple(notes))


def crowded(places: Iterable[tuple[str, str]]) -> list[LineProblem]:
    """A problem for each piece with more readings at a stage than any hand takes.

    ``places`` has the piece and the stage of every reading.
    """
    return [
        LineProblem(
            0,
            "file",
            f"There would be {count} readings of {piece} at the stage {stage}; up to "
            f"{MOST_OF_A_PIECE} are taken. Leave out those that lie closest together.",
        )
        for (piece, stage), count in Counter(places).items()
        if count > MOST_OF_A_PIECE
    ]


def write(rows: Iterable[dict]) -> bytes:
    """Write readings as a file that a spreadsheet opens and ``parse`` takes back.

    Each row is a dict with the keys of ``COLUMNS``. A cell that a spreadsheet would compute is
    guarded by an apostrophe, which ``parse`` takes off again. Starts with a BOM, without which
    some spreadsheets misread accents.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        cells = (row.get(column) for column in COLUMNS)
        writer.writerow(["" if cell is None else guard(str(cell)) for cell in cells])
    return out.getvalue().encode("utf-8-sig")


def guard(cell: str) -> str:
    """Put an apostrophe before a cell that a spreadsheet would take for a formula.

    A cell that begins with an apostrophe gets another, so that ``unguard`` gives back every text.
    """
    return f"'{cell}" if cell.startswith(_GUARDED) else cell


def unguard(cell: str) -> str:
    """Undo ``guard``; a text that was never guarded stays as it is."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_GUARDED) else cell


def decode(data: bytes) -> str:
    """A file that was looked at as text, to send back as it stands."""
    return _decode(data, [])


def _decode(data: bytes, notes: list[str]) -> str:
    if len(data) > MOST_BYTES:
        raise FileError(
            f"The file is larger than {MOST_BYTES // 1024 // 1024} MB. Split it by stage."
        )
    if data.startswith((_ZIP_START, _OLD_SHEET_START)):
        raise FileError(
            "This is a spreadsheet's own file, not a CSV. In the spreadsheet choose save as, CSV."
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", errors="replace")
        notes.append("The file was read as UTF-16.")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
            notes.append("The file is not UTF-8; it was read as Windows-1252. Look at the accents.")
    if "\x00" in text:
        raise FileError("This is not a text file. In the spreadsheet choose save as, CSV (UTF-8).")
    if not text.strip():
        raise FileError("The file is empty. " + _expected())
    return text


def _records(text: str) -> tuple[Records, str]:
    """All records as (first line, last line, cells), the header first, and the delimiter."""
    # CSV writes an inch mark inside quotes twice; other programs write it as \\".
    text = _ESCAPED_INCH.sub('""', text)
    first_line, stated = 1, None
    head = text.splitlines()[0].strip()
    if head.lower().startswith("sep=") and len(head) == len("sep=,"):
        stated = head[-1]
        text = text.split(head, 1)[1]
    delimiter = stated or _sniff(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    records: list[tuple[int, int, list[str]]] = []
    try:
        for cells in reader:
            if records or any(cell.strip() for cell in cells):
                records.append((first_line, reader.line_num, cells))
            first_line = reader.line_num + 1
            if len(records) > MOST_ROWS + 1:
                raise FileError(f"The file has more than {MOST_ROWS} rows. Split it by stage.")
    except csv.Error as error:
        raise FileError(
            f"From line {first_line} on the file is not a table; a quotation mark is not closed."
        ) from error
    if not records:
        raise FileError("The file has no rows. " + _expected())
    return records, delimiter


def _sniff(text: str) -> str:
    """The delimiter under which the header shows the most known columns."""
    head = next(line for line in text.splitlines() if line.strip())

    def known(delimiter: str) -> tuple[int, int]:
        cells = [column_word(cell.strip('"')) for cell in head.split(delimiter)]
        return sum(cell in COLUMNS for cell in cells), head.count(delimiter)

    return max((",", ";", "\t"), key=known)


def _columns(records) -> dict[str, int]:
    """Where each known column stands."""
    header = [column_word(cell) for cell in records[0][2]]
    found = {column: header.index(column) for column in COLUMNS if column in header}
    missing = [column for column in NEEDED if column not in found]
    if missing:
        word = "column" if len(missing) == 1 else "columns"
        raise FileError(
            f"The first row lacks the {word} {', '.join(missing)}.{_misspelt(header, missing)} "
            + _expected()
        )
    twice = sorted({cell for cell in header if cell in COLUMNS and header.count(cell) > 1})
    if twice:
        raise FileError(f"The column {', '.join(twice)} stands twice in the first row. Keep one.")
    # A column under a misspelt name would drop its values without a word.
    strays = [cell for cell in header if cell not in COLUMNS]
    for stray in strays:
        absent = [column for column in COLUMNS if column not in found]
        if stray and (near := get_close_matches(stray, absent, 1, NEARLY)):
            raise FileError(f"The column “{stray}” is not known. Did you mean {near[0]}?")
    return found


def _misspelt(header: list[str], missing: list[str]) -> str:
    pairs = (
        (cell, get_close_matches(cell, missing, 1, 0.7)) for cell in header if cell not in COLUMNS
    )
    return "".join(f" Is “{cell}” meant for {near[0]}?" for cell, near in pairs if near)


def _expected() -> str:
    return f"The first row names the columns: {', '.join(COLUMNS)}."


def column_word(cell: str) -> str:
    """A cell of the first row as the word of a column."""
    return "_".join(cell.strip().lower().replace("-", "_").split())


def _row(line: int, last_line: int, cells: list[str], layout: _Layout) -> ReadingRow:
    if last_line > line and any("\n" in cell or "\r" in cell for cell in cells):
        raise EntryError(
            "file",
            f"A quotation mark opens here and closes on line {last_line}. "
            'Inside quotes an inch mark is written twice: "1/4""".',
        )
    if any(cell.strip() for cell in cells[layout.width :]):
        raise EntryError(
            "file",
            "The line has more cells than the first row. A decimal comma needs quotes "
            '("6,4") or semicolons between the cells.',
        )
    cell = {
        column: unguard(cells[at].strip(" \u00a0")) if at < len(cells) else ""
        for column, at in layout.columns.items()
    }
    if not cell["piece"].strip():
        raise EntryError("piece", "The piece's code is missing.")
    if not cell["value"].strip():
        raise EntryError("value", "The value is missing. Write it, or take the line out.")
    entry = read_entry(
        stage=cell["stage"],
        quantity=cell["quantity"],
        name=cell.get("name", ""),
        height_mm=cell.get("height_mm", ""),
        azimuth_deg=cell.get("azimuth_deg", ""),
        value=cell["value"],
        unit=cell.get("unit", ""),
        default_unit=layout.default_unit,
        decimal_comma=layout.decimal_comma,
    )
    return ReadingRow(
        line, cell["piece"].strip(), entry, " ".join(cell.get("instrument", "").split())
    )


def without_repeats(
    rows: Iterable[ReadingRow], piece_of: Callable[[ReadingRow], Hashable] = attrgetter("piece")
) -> tuple[list[ReadingRow], list[LineProblem], list[str]]:
    """Drop lines that say the same again; tell of those that say something else.

    Returns
    -------
    kept, problems, notes
        ``piece_of`` says which piece a row is about.
    """
    first: dict[Hashable, ReadingRow] = {}
    kept, problems, notes = [], [], []
    for row in rows:
        before = first.setdefault((piece_of(row), row.entry.key), row)
        if before is row:
            kept.append(row)
        elif (before.entry.value, before.instrument) == (row.entry.value, row.instrument):
            notes.append(f"Line {row.line} says the same as line {before.line}; it counts once.")
        else:
            problems.append(LineProblem(row.line, "value", _clash(before, row)))
    return kept, problems, notes


def _clash(before: ReadingRow, row: ReadingRow) -> str:
    station = row.entry.station
    where = f"{row.entry.quantity}{f' ({station})' if station else ''} of {row.piece}"
    said = [
        f"{one.entry.typed}{f' with {one.instrument}' if one.instrument else ''}"
        for one in (before, row)
    ]
    return (
        f"{where} is read twice: line {before.line} says {said[0]}, line {row.line} says "
        f"{said[1]}. Keep one."
    )
