"""A student measures the own piece: the measuring sheet's one row, one station at a time."""

from collections.abc import Mapping
from dataclasses import dataclass

from studio.measuring.cell_saving import Answer, let_stand, save_cell
from studio.measuring.sheet import Cell, cell_text, cell_texts, choose_set, finder
from studio.models import Piece, Reading
from studio.ware.stations import Column, StationSet

STUDENT = Reading.Source.STUDENT

# Where a place lies, for somebody with a cup in hand and its handle towards them.
WHERE = {
    0.0: "on the side where the handle is planned",
    45.0: "just right of the handle, with the handle towards you",
    90.0: "on the right, with the handle towards you",
    135.0: "at the back right, with the handle towards you",
    180.0: "opposite the handle",
    225.0: "at the back left, with the handle towards you",
    270.0: "on the left, with the handle towards you",
    315.0: "just left of the handle, with the handle towards you",
}


@dataclass(frozen=True, slots=True)
class OwnRow:
    """The row of one piece: its cells hold the student's own readings and nobody else's."""

    piece: Piece
    chosen: StationSet
    stage: str
    cells: tuple[Cell, ...]

    @property
    def done(self) -> int:
        return sum(1 for cell in self.cells if cell.base)

    def first_open(self) -> int:
        """The first station that is not read; the first of all where every one is."""
        return next((n for n, cell in enumerate(self.cells) if not cell.base), 0)

    def next_after(self, place: int) -> int | None:
        """The next station to read after one; None where all are read."""
        order = [*range(place + 1, len(self.cells)), *range(place)]
        return next((n for n in order if not self.cells[n].base), None)


def own_row(piece: Piece, key: str, *, unit: str) -> OwnRow:
    """The row as it stands. Four queries at most."""
    chosen = choose_set(piece.project, key, piece.stage)
    find = finder(
        piece.readings.current().filter(
            stage=piece.stage, source=STUDENT, quantity__in=chosen.quantities
        )
    )
    cells = []
    for column in chosen.columns:
        cell = Cell(piece, column)
        reading = find(piece.pk, column)
        if reading is not None:
            cell.text, cell.where_text = cell_texts(reading, column, unit=unit)
            cell.base, cell.question = reading.pk, reading.doubt
        cells.append(cell)
    return OwnRow(piece, chosen, piece.stage, tuple(cells))


def save_own(row: OwnRow, column: Column, sent: Mapping, *, by, unit: str) -> Answer:
    """Save one station of the row, or let a questioned value stand."""
    wanted = {
        "set": row.chosen.key,
        "column": column.key,
        "stage": row.stage,
        "value": sent["value"],
        "where": sent["where"],
        "base": sent["base"],
    }
    if sent["stand"]:
        return let_stand(row.piece, wanted, source=STUDENT)
    answer = save_cell(row.piece, wanted, by=by, unit=unit, source=STUDENT)
    answer.suggestion = cell_text(answer.suggestion, unit) if answer.suggestion else ""
    return answer


def where_words(column: Column) -> str:
    """Where a station is, in words: “45 mm above the table, on the side across from …”."""
    parts = []
    if column.height_mm is not None:
        parts.append(f"{column.height_mm:g} mm above the table")
    if column.azimuth_deg is not None:
        parts.append(WHERE.get(column.azimuth_deg, f"at {column.azimuth_deg:g}°"))
    return ", ".join(parts)
