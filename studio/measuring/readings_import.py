"""Import a file of readings into a project: a preview first, then all or nothing.

Between the look and the confirmation nothing is kept on the server. The page carries the file's
text back in a hidden field, and it is read again from the start: any web process can answer, a
page left open over night still works, and no upload lies about. A seal over the current readings
that the preview showed tells whether another window wrote to them meanwhile.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from hashlib import sha256

from studio.measuring import readings_csv, readings_wide
from studio.measuring.entries import Entry, split_typed
from studio.measuring.neighbours import Neighbours, planned
from studio.measuring.readings import (
    CORRECTED,
    NEW,
    SAME,
    BatchSaved,
    NewReading,
    compare,
    current_by_station,
    save_batch,
)
from studio.measuring.readings_csv import LineProblem, Parsed, ReadingRow
from studio.models import Instrument, Project, Reading, Stage
from studio.ware.quantities import LENGTH, QUANTITIES
from studio.ware.stations import Column

FROM_PHOTO = "photo"
"""Instrument word of a reading that the camera took; it comes in with its photo, not by file."""


MOST_SHOWN = 200
"""Lines of a preview told one by one; the counts tell the rest."""


@dataclass(frozen=True, slots=True)
class ReadingChange:
    """One line of the preview."""

    line: int
    piece: str
    stage: str
    quantity: str
    station: str
    typed: str
    instrument: str
    before: str = ""
    question: str = ""


@dataclass(frozen=True, slots=True)
class Preview:
    """What taking the file would do."""

    problems: tuple[LineProblem, ...]
    notes: tuple[str, ...]
    new: tuple[ReadingChange, ...] = ()
    corrected: tuple[ReadingChange, ...] = ()
    same: int = 0
    seal: str = ""

    @property
    def questions(self) -> tuple[ReadingChange, ...]:
        return tuple(one for one in (*self.new, *self.corrected) if one.question)

    @property
    def shown_new(self) -> tuple[ReadingChange, ...]:
        """The first lines that are new, those in question before the others."""
        return self._first(self.new)

    @property
    def shown_corrected(self) -> tuple[ReadingChange, ...]:
        """The first lines that supersede another, those in question before the others."""
        return self._first(self.corrected)

    @staticmethod
    def _first(changes: tuple[ReadingChange, ...]) -> tuple[ReadingChange, ...]:
        return tuple(sorted(changes, key=lambda one: (not one.question, one.line))[:MOST_SHOWN])

    @property
    def changes_nothing(self) -> bool:
        return not (self.problems or self.new or self.corrected)


class NotTakenError(Exception):
    """The file was not taken; ``preview`` says why, or shows what changed meanwhile."""

    def __init__(self, preview: Preview):
        super().__init__("The file was not taken.")
        self.preview = preview


def preview(project: Project, data: bytes, instruments: Sequence[Instrument]) -> Preview:
    """Tell by line what taking a file would do. Some eight queries, whatever the size."""
    return _look(project, data, instruments)[0]


def take(
    project: Project, data: bytes, instruments: Sequence[Instrument], *, by, seal: str
) -> BatchSaved:
    """Take a file, all or nothing.

    Raises
    ------
    NotTakenError
        It has a problem, or readings changed since the preview with this ``seal`` was shown.
    ConflictError
        Another window wrote at the very moment.
    """
    look, incoming, current = _look(project, data, instruments)
    if look.problems or look.seal != seal:
        raise NotTakenError(look)
    return save_batch(incoming, current, by=by)


def _look(project, data, instruments):
    parsed = readings_csv.parse(
        data, default_unit=project.section.unit, other_form=readings_wide.narrowed
    )
    rows, notes = _without_photos(parsed)
    matched, problems = _match(project, rows, instruments)
    clashes, kept = _clashes(matched, notes)
    problems = sorted(
        [*parsed.problems, *problems, *clashes], key=lambda one: (one.line == 0, one.line)
    )
    if problems:
        return Preview(tuple(problems), tuple(notes)), [], {}
    stages = {row.entry.stage for row, _, _ in kept}
    readings = Reading.objects.current().filter(
        piece__project=project, stage__in=stages, source=Reading.Source.HAND
    )
    current = current_by_station(readings.select_related("instrument"))
    kept = [_with_instrument(*each, current) for each in kept]
    coming = [(p.pk, r.entry.stage, r.entry.quantity, r.entry.station) for r, p, _ in kept]
    codes = {piece.pk: piece.code for _, piece, _ in kept}
    if too_many := readings_csv.crowded(
        (codes[pk], stage) for pk, stage, *_ in {*current, *coming} if pk in codes
    ):
        return Preview(tuple(too_many), tuple(notes)), [], {}
    incoming = _with_doubts(project, kept, current, stages)
    return _sorted_out(kept, incoming, current, notes), incoming, current


def _without_photos(parsed: Parsed) -> tuple[list[ReadingRow], list[str]]:
    rows = [row for row in parsed.rows if row.instrument.lower() != FROM_PHOTO]
    notes = list(parsed.notes)
    if passed_over := len(parsed.rows) - len(rows):
        lines = "1 line" if passed_over == 1 else f"{passed_over} lines"
        notes.append(f"{lines} from photographs passed over: they come in with their photograph.")
    return rows, notes


def _match(project, rows, instruments):
    """Find each row's piece and instrument."""
    pieces = {piece.code: piece for piece in project.pieces.all()}
    find_piece = _finder(pieces)
    find_instrument = _finder({one.name: one for one in instruments})
    matched, problems = [], []
    for row in rows:
        piece, instrument = find_piece(row.piece), None
        if piece is None:
            near = get_close_matches(row.piece, pieces, 1)
            hint = f"Did you mean {near[0]}?" if near else "Look at the code on the foot."
            sentence = f"There is no piece “{row.piece}” in this project. {hint}"
            problems.append(LineProblem(row.line, "piece", sentence))
            continue
        if row.instrument and row.instrument != readings_wide.NOT_TOLD:
            instrument = find_instrument(row.instrument)
            sentence = _unfit(row, instrument, instruments)
            if sentence:
                problems.append(LineProblem(row.line, "instrument", sentence))
                continue
        matched.append((row, piece, instrument))
    return matched, problems


def _with_instrument(row: ReadingRow, piece, instrument, current):
    """Of a reading whose file has no place for the instrument, the one that stands."""
    if row.instrument == readings_wide.NOT_TOLD:
        standing = current.get((piece.pk, row.entry.stage, row.entry.quantity, row.entry.station))
        instrument = standing.instrument if standing else None
    return row, piece, instrument


def _unfit(row: ReadingRow, instrument: Instrument | None, instruments) -> str:
    if instrument is None:
        near = get_close_matches(row.instrument, [one.name for one in instruments], 1)
        hint = f"Did you mean {near[0]}?" if near else "Add it under Instruments first."
        return f"There is no instrument “{row.instrument}”. {hint} Or leave the cell empty."
    unit = QUANTITIES[row.entry.quantity].unit
    if instrument.unit != unit:
        return f"{instrument.name} reads {instrument.unit}; {row.entry.quantity} is in {unit}."
    return ""


def _finder(by_word: dict):
    """Look a word up as it stands, then whatever its case where that is unambiguous."""
    folded: dict[str, list] = {}
    for word, thing in by_word.items():
        folded.setdefault(word.casefold(), []).append(thing)

    def find(word: str):
        same = folded.get(word.casefold(), [])
        return by_word.get(word) or (same[0] if len(same) == 1 else None)

    return find


def _clashes(matched, notes):
    """Two spellings of one code may say different things about one station."""
    piece_of = {row: piece.pk for row, piece, _ in matched}
    kept, problems, repeats = readings_csv.without_repeats(
        [row for row, _, _ in matched], piece_of.__getitem__
    )
    notes.extend(repeats)
    stays = set(kept)
    return problems, [one for one in matched if one[0] in stays]


def _with_doubts(project, kept, current, stages) -> list[NewReading]:
    """Ask of each reading that is new whether it is a slip."""
    asked = {}
    for stage in stages:
        facts = [
            (one.piece_id, one.quantity, one.name, one.station, one.value)
            for one in current.values()
            if one.stage == stage
        ]
        facts.extend(
            (piece.pk, row.entry.quantity, row.entry.name, row.entry.station, row.entry.value)
            for row, piece, _ in kept
            if row.entry.stage == stage
        )
        asked[stage] = Neighbours(facts, planned(project, stage), project.section.unit)
    incoming = []
    for row, piece, instrument in kept:
        slip = asked[row.entry.stage].ask(piece.pk, row.entry)
        incoming.append(NewReading(piece, row.entry, instrument, slip.question if slip else ""))
    return incoming


def _sorted_out(kept, incoming, current, notes) -> Preview:
    changes = {NEW: [], CORRECTED: []}
    same, seen = 0, []
    outcomes = compare(incoming, current)
    for (row, piece, instrument), (one, outcome, _, previous) in zip(kept, outcomes, strict=True):
        seen.append(f"{piece.pk} {row.entry.key} {previous.pk if previous else '-'}")
        if outcome == SAME:
            same += 1
            continue
        before = ""
        if previous:
            with_what = f", {previous.instrument.name}" if previous.instrument else ""
            text = " ".join(split_typed(previous.quantity, previous.typed, previous.value))
            before = f"{text}{with_what}"
        changes[outcome].append(
            ReadingChange(
                row.line,
                piece.code,
                row.entry.stage,
                QUANTITIES[row.entry.quantity].label,
                _place(row.entry),
                row.entry.typed,
                instrument.name if instrument else "",
                before,
                one.doubt,
            )
        )
    seal = sha256("\n".join(sorted(seen)).encode()).hexdigest()
    return Preview((), tuple(notes), tuple(changes[NEW]), tuple(changes[CORRECTED]), same, seal)


def _place(entry: Entry) -> str:
    """Where a reading was taken, in words."""
    parts = [entry.name.replace("_", " ")] if entry.name else []
    if entry.height_mm is not None:
        parts.append(f"{entry.height_mm:g} mm up")
    if entry.azimuth_deg is not None:
        parts.append(f"{entry.azimuth_deg:g}°")
    return ", ".join(parts)


def export(project: Project, *, stage: str = "") -> bytes:
    """All current readings of a project as a file, in the order of pieces and stations.

    Readings from photographs are in it, marked in the instrument column. One query.
    """
    readings = Reading.objects.current().filter(piece__project=project)
    if stage:
        readings = readings.filter(stage=stage)
    readings = readings.select_related("piece", "instrument").order_by(
        "piece__code", "stage", "quantity", "name", "height_mm", "azimuth_deg", "pk"
    )
    return readings_csv.write(_as_row(one) for one in readings.iterator(chunk_size=2000))


def export_wide(project: Project, *, stage: str = "") -> bytes:
    """The readings by hand, a line a piece and stage; :mod:`~.readings_wide` takes it back."""
    readings = Reading.objects.current().filter(piece__project=project, source=Reading.Source.HAND)
    if stage:
        readings = readings.filter(stage=stage)
    headings: dict[str, None] = {}
    lines: dict[tuple[str, str], dict[str, str]] = {}
    order = list(QUANTITIES)
    rows = readings.select_related("piece")
    for one in sorted(rows, key=lambda r: (order.index(r.quantity), r.name, r.station)):
        head = _heading(project, one.quantity, one.name, one.height_mm, one.azimuth_deg)
        headings[head] = None
        lines.setdefault((one.piece.code, one.stage), {})[head] = _wide_value(project, one)
    stages = list(Stage.values)
    in_order = sorted(lines, key=lambda at: (at[0], stages.index(at[1])))
    return readings_wide.write(list(headings), ((*at, lines[at]) for at in in_order))


def empty_form(project: Project, stage: str, columns: Iterable[Column]) -> bytes:
    """The wide form with every piece and no value, to be filled in a spreadsheet."""
    headings = [
        _heading(project, each.quantity, each.name, each.height_mm, each.azimuth_deg)
        for each in columns
        # A place that is typed beside the value has no column of its own here.
        if not each.where or QUANTITIES[each.quantity].azimuth_is_found
    ]
    codes = project.pieces.going_on().order_by("code").values_list("code", flat=True)
    return readings_wide.write(headings, ((code, stage, {}) for code in codes))


def _heading(project: Project, key: str, name: str, height, azimuth) -> str:
    quantity = QUANTITIES[key]
    unit = project.section.unit if quantity.unit == LENGTH else quantity.unit
    azimuth = None if quantity.azimuth_is_found else azimuth
    return readings_wide.heading(key, name, _plain(height) or "", _plain(azimuth) or "", unit=unit)


def _wide_value(project: Project, one: Reading) -> str:
    """A plain number where it is in the heading's unit, else with its own; an azimuth behind it."""
    quantity = QUANTITIES[one.quantity]
    value, unit = split_typed(one.quantity, one.typed, one.value)
    usual = project.section.unit if quantity.unit == LENGTH else quantity.unit
    text = value if unit == usual else f"{value} {unit}"
    if quantity.azimuth_is_found and one.azimuth_deg is not None:
        text = f"{text} @ {_plain(one.azimuth_deg)}"
    return text


def _as_row(one: Reading) -> dict:
    value, unit = split_typed(one.quantity, one.typed, one.value)
    return {
        "piece": one.piece.code,
        "stage": one.stage,
        "quantity": one.quantity,
        "name": one.name,
        "height_mm": _plain(one.height_mm),
        "azimuth_deg": _plain(one.azimuth_deg),
        "value": value,
        "unit": unit,
        "instrument": FROM_PHOTO
        if one.source == Reading.Source.PHOTO
        else (one.instrument.name if one.instrument else ""),
    }


def _plain(number: float | None) -> str | None:
    return None if number is None else f"{number:.2f}".rstrip("0").rstrip(".")
