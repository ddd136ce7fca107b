"""A class list from a file: which column holds what, and the rows as lines of a class list.

Plain text only. The guess looks at the headings, in any order, case and with or without accents;
the teacher changes it on the page.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

from studio.people.roster import MOST_LINES, RosterError, RosterLine, checked_line
from studio.people.tables import Table, TableRow


class RosterColumn(StrEnum):
    """What a column of the file holds."""

    NONE = ""
    NAME = "name"
    GIVEN = "given"
    FAMILY = "family"
    NUMBER = "number"


LABELS = {
    RosterColumn.NONE: "not used",
    RosterColumn.NAME: "whole name",
    RosterColumn.GIVEN: "given name",
    RosterColumn.FAMILY: "family name",
    RosterColumn.NUMBER: "school number",
}

# Headings as class lists write them (common practice, no source), without accents and signs.
# English, Spanish, German, French, Polish, Portuguese, Italian, Turkish.
HEADINGS = {
    RosterColumn.GIVEN: (
        "given name|first name|first|given|forename|preferred name|nombre|nombres|nombre de pila|"
        "vorname|rufname|prenom|imie|primeiro nome|nome proprio|ad|adi"
    ),
    RosterColumn.FAMILY: (
        "family name|last name|last|surname|family|apellido|apellidos|primer apellido|nachname|"
        "familienname|nom de famille|nazwisko|sobrenome|apelido|cognome|soyad|soyadi"
    ),
    RosterColumn.NAME: (
        "name|full name|student name|student|pupil|learner|display name|legal name|"
        "nombre completo|nombre y apellidos|alumno|alumna|alumno a|estudiante|schuler|schulerin|"
        "nom|nom complet|eleve|etudiant|uczen|imie i nazwisko|nome|nome completo|aluno|alunno|"
        "ogrenci|ad soyad"
    ),
    RosterColumn.NUMBER: (
        "school number|student number|student id|id|student no|number|no|pupil number|local id|"
        "id number|identifier|admission number|numero|matricula|numero de alumno|id de alumno|"
        "codigo|schulernummer|nummer|numero d eleve|numer|numer ucznia|numero de aluno|ogrenci no"
    ),
}
_MEANING = {word: column for column, words in HEADINGS.items() for word in words.split("|")}


@dataclass(frozen=True, slots=True)
class Layout:
    """What each column holds, and whether the first row names them."""

    columns: tuple[RosterColumn, ...]
    has_head: bool


@dataclass(frozen=True, slots=True)
class RosterProblem:
    """What is wrong with one line; 0 is the file as a whole."""

    line: int
    sentence: str


def guess(table: Table) -> Layout:
    """Guess the layout from the first row; without headings, from what the columns look like."""
    first = _padded(table.rows[0], table.width)
    meant = [_MEANING.get(_word(cell), RosterColumn.NONE) for cell in first]
    if any(meant):
        return Layout(tuple(_once_each(meant)), has_head=True)
    columns = [_looks_like(table, at) for at in range(table.width)]
    if columns.count(RosterColumn.NAME) > 1:
        # Two columns of words: how registers sort is family name first.
        words = iter([RosterColumn.FAMILY, RosterColumn.GIVEN])
        columns = [next(words, RosterColumn.NONE) if c == RosterColumn.NAME else c for c in columns]
    return Layout(tuple(_once_each(columns)), has_head=False)


def _word(cell: str) -> str:
    """A heading without case, accents and signs: “Apellido(s)” and "APELLIDO_S" alike."""
    apart = unicodedata.normalize("NFKD", cell.casefold())
    plain = "".join(sign if sign.isalnum() else " " for sign in apart if not _is_accent(sign))
    word = re.sub(r"\bs\b", "", plain)
    return " ".join(word.split())


def _is_accent(sign: str) -> bool:
    return unicodedata.category(sign) == "Mn"


def _once_each(columns: list[RosterColumn]) -> list[RosterColumn]:
    """Each meaning once, the first time it stands; given and family name push out a whole one."""
    seen: set[RosterColumn] = set()
    kept = []
    has_parts = {RosterColumn.GIVEN, RosterColumn.FAMILY} <= set(columns)
    for column in columns:
        is_spare = column in seen or (has_parts and column == RosterColumn.NAME)
        kept.append(RosterColumn.NONE if is_spare else column)
        seen.add(column)
    # A family name alone beside “name” is a given name under a loose heading: “Nombre, Apellido”.
    if RosterColumn.FAMILY in kept and RosterColumn.GIVEN not in kept and RosterColumn.NAME in kept:
        kept[kept.index(RosterColumn.NAME)] = RosterColumn.GIVEN
    if (
        RosterColumn.GIVEN in kept
        and RosterColumn.FAMILY not in kept
        and RosterColumn.NAME not in kept
    ):
        kept[kept.index(RosterColumn.GIVEN)] = RosterColumn.NAME
    return kept


def _looks_like(table: Table, at: int) -> RosterColumn:
    cells = [row.cells[at] for row in table.rows if at < len(row.cells) and row.cells[at]]
    with_figures = sum(any(sign.isdigit() for sign in cell) for cell in cells)
    if cells and with_figures == len(cells):
        return RosterColumn.NUMBER
    return RosterColumn.NAME if cells and not with_figures else RosterColumn.NONE


def _padded(row: TableRow, width: int) -> list[str]:
    return [*row.cells, *[""] * (width - len(row.cells))]


def lines(table: Table, layout: Layout) -> tuple[list[RosterLine], list[RosterProblem]]:
    """The rows as lines of a class list, and a sentence for each that cannot be one."""
    rows = table.rows[1:] if layout.has_head else table.rows
    refused = _refuse_layout(layout, len(rows))
    if refused:
        return [], [RosterProblem(0, refused)]
    read: list[RosterLine] = []
    problems: list[RosterProblem] = []
    for row in rows:
        cells = _padded(row, table.width)
        held = dict(zip(layout.columns, cells, strict=True))
        name = _name(held)
        if not name:
            problems.append(
                RosterProblem(row.line, "The line has no name. Write it, or take the line out.")
            )
            continue
        try:
            read.append(checked_line(row.line, name, held.get(RosterColumn.NUMBER, "")))
        except RosterError as error:
            problems.append(RosterProblem(row.line, str(error)))
    return read, problems


def _refuse_layout(layout: Layout, count: int) -> str:
    if not {RosterColumn.NAME, RosterColumn.FAMILY, RosterColumn.GIVEN} & set(layout.columns):
        return "No column holds the name. Say below which one does."
    used = [column for column in layout.columns if column]
    twice = [column for column in dict.fromkeys(used) if used.count(column) > 1]
    if twice:
        return f"Two columns are said to hold the {LABELS[twice[0]]}. Choose one of them."
    if not count:
        return "There is only the row of headings. Choose the file that holds the class list."
    if count > MOST_LINES:
        return f"These are {count} names; up to {MOST_LINES} are taken at once. Keep one class."
    return ""


def _name(held: dict[RosterColumn, str]) -> str:
    whole = held.get(RosterColumn.NAME, "")
    if whole:
        family, comma, given = whole.partition(",")
        turned = f"{given.strip()} {family.strip()}" if comma else whole
        return unicodedata.normalize("NFC", turned.strip())
    parts = (held.get(RosterColumn.GIVEN, ""), held.get(RosterColumn.FAMILY, ""))
    return unicodedata.normalize("NFC", " ".join(part for part in parts if part))
