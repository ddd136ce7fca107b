"""Saving one cell of the measuring sheet: saved, questioned, refused or in conflict."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass

from studio.measuring import readings
from studio.measuring.entries import EntryError, read_entry, read_quantity, taken_from
from studio.measuring.neighbours import beside
from studio.measuring.readings import CHUNK, ConflictError, save_reading, take_back
from studio.measuring.sheet import Cell, SheetRow, cell_text, cell_texts
from studio.measuring.shorthand import pointed, pointed_beyond, sum_of, summed
from studio.models import Instrument, Piece, Reading
from studio.ware.stations import Column, StationSet, column_of, side_azimuth, split_side
from studio.web.row_ids import row_id

SAVED, TAKEN_BACK, NOTHING = "saved", "taken back", "nothing"
PROBLEM, CONFLICT = "problem", "conflict"

_STATUS = {PROBLEM: 422, CONFLICT: 409}


@dataclass(slots=True)
class Answer:
    """What the page is told about one cell.

    ``taken`` is what the hand wrote where the site took it for another number: ``64`` for 6.4.
    """

    state: str
    shown: str = ""
    where: str = ""
    reading_id: int | None = None
    question: str = ""
    suggestion: str = ""
    sentence: str = ""
    field: str = ""
    taken: str = ""

    @property
    def status(self) -> int:
        return _STATUS.get(self.state, 200)

    def as_json(self) -> dict:
        return asdict(self) | {"doubt": bool(self.question)}


@dataclass(slots=True)
class SheetSaved:
    """What saving a whole sheet did."""

    saved: int = 0
    taken_back: int = 0
    left_open: int = 0

    @property
    def sentence(self) -> str:
        done = f"{_count(self.saved, 'reading')} saved"
        if self.taken_back:
            done += f", {self.taken_back} taken back"
        if self.left_open:
            return f"{done}. {_count(self.left_open, 'cell')} still open; what you typed stays."
        return f"{done}." if self.saved or self.taken_back else "Nothing had changed."


def save_cell(
    piece: Piece,
    sent: Mapping,
    *,
    by,
    unit: str,
    instrument: Instrument | None = None,
    source: str = Reading.Source.HAND,
) -> Answer:
    """Save what one cell sent. A likely slip is saved and asked about, a point left out is put in.

    ``sent`` holds column, set, stage, value, where and base, the id of the reading that the page
    showed there or None.
    """
    try:
        column = column_of(sent["set"], sent["column"])
    except KeyError:
        sentence = "This column is not on the sheet any more; load the page again."
        return Answer(PROBLEM, shown=sent["value"], sentence=sentence)
    value, where, base = sent["value"].strip(), sent["where"].strip(), sent["base"]
    if column.by_side and not where:
        value, where = split_side(value)
    if not value:
        return _emptied(piece, sent["stage"], column, where, base, by=by, unit=unit, source=source)
    kind = read_quantity(column.quantity)
    is_hand = source == Reading.Source.HAND
    try:
        size = sum_of(piece, sent | {"value": value}, column, unit=unit) if is_hand else value
        entry = _read(piece, sent["stage"], column, size, where, unit=unit, is_hand=is_hand)
    except EntryError as error:
        sentence = str(error)
        if error.field == column.where and not where:
            sentence = f"Write the place too ({column.where_label}): without it nothing is known."
        return Answer(PROBLEM, value, where, base, sentence=sentence, field=error.field)
    around = beside(piece, entry, unit=unit)
    if size != value:
        entry = summed(entry, value)
    elif is_hand and not taken_from(entry.typed):
        # A student's page goes on to the next station: there the mark would be out of sight.
        entry = pointed(piece, entry, value, around)
    was_pointed = size == value and taken_from(entry.typed)
    slip = None if was_pointed else around.ask(piece.pk, entry)
    fitting = instrument if instrument and instrument.unit == kind.unit else None
    try:
        saved = save_reading(
            piece,
            entry,
            by=by,
            instrument=fitting,
            doubt=slip.question if slip else "",
            looked_at=base,
            source=source,
        )
    except ConflictError as conflict:
        return _conflict(conflict.current, value, where, column, unit)
    return _shown(saved.reading, column, unit, slip.suggestion if slip else "")


def _read(piece: Piece, stage: str, column: Column, value, where, *, unit: str, is_hand: bool):
    """The entry of one cell; a hand's whole number that cannot be may lack its point."""
    parts = {
        "stage": stage,
        "quantity": column.quantity,
        "name": column.name,
        "value": value,
        "default_unit": unit,
        **_place(column, where),
    }
    try:
        return read_entry(**parts)
    except EntryError as error:
        entry = pointed_beyond(piece, parts, unit=unit) if error.field == "value" else None
        if entry is None or not is_hand:
            raise
        return entry


def let_stand(piece: Piece, sent: Mapping, *, source: str = "") -> Answer:
    """Take a reading's question off: it stands as written."""
    if sent["base"] and readings.let_stand(piece, sent["base"], source=source):
        return Answer(SAVED, sent["value"], sent["where"], sent["base"])
    return Answer(NOTHING, sent["value"], sent["where"], sent["base"])


def _place(column: Column, where: str) -> dict[str, str]:
    """A column's place as text: its fixed station, or what was typed beside the value."""
    place = {
        "height_mm": "" if column.height_mm is None else f"{column.height_mm:g}",
        "azimuth_deg": "" if column.azimuth_deg is None else f"{column.azimuth_deg:g}",
    }
    if column.where:
        side = side_azimuth(where) if column.by_side else None
        place[column.where] = where if side is None else str(side)
    return place


def _emptied(piece, stage, column, where, base, *, by, unit, source) -> Answer:
    """An empty cell takes its reading back."""
    if base is None:
        if where:
            sentence = f"The place is written, but not the {column.note or 'value'}."
            return Answer(PROBLEM, "", where, sentence=sentence, field="value")
        return Answer(NOTHING)
    try:
        taken = take_back(piece, stage, base, by=by, source=source)
    except ConflictError as conflict:
        return _conflict(conflict.current, "", where, column, unit)
    except Reading.DoesNotExist:
        return Answer(NOTHING)
    if taken is None:
        return Answer(NOTHING)
    shown, place = cell_texts(taken, column, unit=unit)
    return Answer(TAKEN_BACK, suggestion=shown, where=place, sentence=f"{shown} was taken back.")


def _shown(reading: Reading, column: Column, unit: str, suggestion: str) -> Answer:
    text, where = cell_texts(reading, column, unit=unit)
    suggested = cell_text(suggestion, unit) if suggestion else ""
    taken = taken_from(reading.typed)
    return Answer(SAVED, text, where, reading.pk, reading.doubt, suggested, taken=taken)


def _conflict(current: Reading | None, value, where, column: Column, unit: str) -> Answer:
    """Both values, nothing lost; sending again with the id told here puts one's own in."""
    mine = value or "nothing"
    if current is None:
        sentence = f"Another window took this reading back. Yours is {mine}."
        return Answer(CONFLICT, value, where, None, sentence=sentence)
    theirs, place = cell_texts(current, column, unit=unit)
    at = f" at {place}" if place else ""
    sentence = f"Another window wrote {theirs}{at} here. Yours is {mine}."
    return Answer(CONFLICT, theirs, place, current.pk, sentence=sentence)


def save_sheet(
    posted: Mapping[str, str],
    lines: list[SheetRow],
    chosen: StationSet,
    stage: str,
    *,
    by,
    unit: str,
    instrument: Instrument | None,
) -> SheetSaved:
    """Save the cells of a posted page that differ from what the page had shown.

    Fields are named ``v.piece.column.reading``, with the reading the page showed there. A cell
    that cannot be saved keeps its text and gets a problem; the others are saved. A cell that
    nobody touched is left alone, whatever another window wrote there meanwhile.
    """
    done = SheetSaved()
    sent = {}
    for name, text in posted.items():
        if name.startswith("v."):
            place, _, base = name.rpartition(".")
            sent[place] = text.strip(), row_id(base)
    was = _shown_before(sent, lines, stage)
    for line in lines:
        for cell, column in zip(line.cells, chosen.columns, strict=True):
            place = f"v.{line.piece.pk}.{cell.key}"
            if place not in sent:
                continue
            value, base = sent[place]
            where = posted.get(f"w.{line.piece.pk}.{cell.key}", "").strip()
            before = was.get(base)
            if (value, where) == (cell_texts(before, column, unit=unit) if before else ("", "")):
                if str(base) == posted.get("stand"):
                    readings.let_stand(line.piece, base)
                    cell.question = ""
                    done.saved += 1
                continue
            wanted = {
                "set": chosen.key,
                "column": column.key,
                "stage": stage,
                "value": value,
                "where": where,
                "base": base,
            }
            answer = save_cell(line.piece, wanted, by=by, unit=unit, instrument=instrument)
            _show(cell, answer, done, value, where)
    return done


def columns_in(posted: Iterable[str]) -> set[str]:
    """Keys of the columns whose cells a page posted."""
    return {".".join(name.split(".")[2:-1]) for name in posted if name.startswith("v.")}


def _shown_before(sent, lines: list[SheetRow], stage: str) -> dict[int, Reading]:
    """The readings that the posted page had shown, current or not, in one query."""
    bases = {base for _, base in sent.values() if base is not None}
    pieces = [line.piece.pk for line in lines]
    found: dict[int, Reading] = {}
    for start in range(0, len(pieces), CHUNK):
        # By piece rather than by id, so that no other class's reading can be named.
        there = Reading.objects.filter(piece__in=pieces[start : start + CHUNK], stage=stage)
        found.update({one.pk: one for one in there if one.pk in bases})
    return found


def _show(cell: Cell, answer: Answer, done: SheetSaved, value: str, where: str) -> None:
    """Put an answer into a cell of the page that is shown again."""
    if answer.state in (PROBLEM, CONFLICT):
        done.left_open += 1
        cell.text, cell.where_text = value, where
        cell.problem = answer.sentence
        if answer.state == CONFLICT:
            cell.base = answer.reading_id or ""
            cell.problem += " Save again to put yours in."
        return
    if answer.state == SAVED:
        done.saved += 1
        cell.base = answer.reading_id
    elif answer.state == TAKEN_BACK:
        done.taken_back += 1
        cell.base = ""
    cell.text, cell.where_text = answer.shown, answer.where
    cell.question, cell.suggestion, cell.taken = answer.question, answer.suggestion, answer.taken
    if answer.state == TAKEN_BACK:
        cell.where_text, cell.suggestion = "", ""


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
