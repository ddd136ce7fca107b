"""What a measuring sheet shows: rows of pieces, cells of stations, in a fixed count of queries."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import mean, median

from django.db.models import Q

from studio.measuring.entries import Entry, split_typed, taken_from
from studio.measuring.neighbours import Neighbours, planned
from studio.models import Piece, Project, Reading
from studio.ware.quantities import QUANTITIES
from studio.ware.stages import LEATHER_HARD, STAGE_PLACE
from studio.ware.stations import Column, StationSet, side_letters, station_set
from studio.ware.units import format_number

USUAL_STAGE = LEATHER_HARD
"""The stage of the first inspection, when a class has nothing in hand."""


@dataclass(slots=True)
class Cell:
    """One field of the sheet, or two where the place is typed as well."""

    piece: Piece
    column: Column
    text: str = ""
    where_text: str = ""
    base: int | str = ""
    question: str = ""
    suggestion: str = ""
    problem: str = ""
    seen: str = ""
    taken: str = ""
    is_given: bool = False

    @property
    def key(self) -> str:
        return self.column.key

    @property
    def field(self) -> str:
        """The field's name: whose, where, and which reading the page shows there."""
        return f"v.{self.piece.pk}.{self.column.key}.{self.base}"

    @property
    def label(self) -> str:
        return f"{self.piece.code}, {self.column.said}"

    @property
    def where_label(self) -> str:
        return self.column.where_label

    @property
    def is_used(self) -> bool:
        """Whether anything stands in the cell."""
        return bool(self.text or self.where_text or self.base or self.seen)

    @property
    def is_told(self) -> bool:
        return bool(self.question or self.problem)


@dataclass(slots=True)
class SheetRow:
    """One piece of the sheet."""

    piece: Piece
    cells: list[Cell] = field(default_factory=list)

    @property
    def is_gone(self) -> bool:
        return self.piece.state in (Piece.State.LOST, Piece.State.BROKEN)

    @property
    def told(self) -> list[Cell]:
        return [cell for cell in self.cells if cell.is_told]


def usual_stage(stages: Iterable[str]) -> str:
    """The stage most pieces are at; the later one of two."""
    counted = Counter(stages)
    if not counted:
        return USUAL_STAGE
    return max(counted, key=lambda stage: (counted[stage], STAGE_PLACE[stage]))


def choose_set(
    project: Project,
    key: str,
    stage: str,
    *,
    first: Iterable[float] = (),
    more_sizes: Iterable[str] = (),
) -> StationSet:
    """The set of a key, with the plan's sizes and the heights read so far. Two queries.

    ``first`` are heights that a page showed before and now sends back [mm]; ``more_sizes`` names
    sizes that are wanted though the plan has none.
    """
    sizes = {}
    if plan := getattr(project, "plan", None):
        sizes = {(size.name, size.height_mm): size.fired_mm for size in plan.sizes.all()}
    if sizes:
        sizes |= {(name, None): None for name in more_sizes if (name, None) not in sizes}
    heights: list[float] = []
    if key.startswith("wall"):
        read = Counter(
            Reading.objects.current()
            .filter(
                piece__project=project,
                stage=stage,
                quantity="wall_thickness",
                height_mm__isnull=False,
            )
            .values_list("height_mm", flat=True)
        )
        heights = _most_used_first(read)
    return station_set(key, planned=sizes, heights_read=[*first, *heights])


def _most_used_first(read: Counter) -> list[float]:
    """Heights in order of how often a wall was read there; of equals the middle one first."""
    if not read:
        return []
    middle = median(read)
    return sorted(read, key=lambda height: (-read[height], abs(height - middle)))


def build(
    project: Project, chosen: StationSet, stage: str, *, unit: str, is_size_given: bool = False
) -> list[SheetRow]:
    """The rows of a sheet. Two queries, three for sizes, and three more when a question is open.

    A size that a confirmed photo gave is shown as given. With ``is_size_given`` so is one that
    follows from other readings; who leans on the shrinkage wants the size itself.
    """
    pieces = list(project.pieces.for_list())
    by_hand = Q(source=Reading.Source.HAND)
    counts = by_hand | Q(photo__isnull=True) | Q(photo__confirmed_at__isnull=False)
    everything = Reading.objects.current().filter(
        counts, piece__project=project, stage=stage, quantity__in=chosen.quantities
    )
    readings, photographed = [], []
    for one in everything:
        (readings if one.source == Reading.Source.HAND else photographed).append(one)
    find, find_photographed = finder(readings), finder(photographed)
    neighbours = None
    given = _given_sizes(project, stage) if is_size_given and chosen.key == "sizes" else {}
    lines = []
    for piece in pieces:
        # One project for all, so that its plan is looked up once.
        piece.project = project
        line = SheetRow(piece)
        for column in chosen.columns:
            reading = find(piece.pk, column)
            cell = Cell(piece, column)
            if reading is not None:
                cell.text, cell.where_text = cell_texts(reading, column, unit=unit)
                cell.base, cell.taken = reading.pk, taken_from(reading.typed)
                if reading.doubt:
                    neighbours = neighbours or _neighbours(project, readings, stage, unit)
                    slip = neighbours.ask(piece.pk, _entry_of(reading))
                    cell.question = reading.doubt
                    cell.suggestion = (
                        cell_text(slip.suggestion, unit) if slip and slip.suggestion else ""
                    )
            elif photographed and (seen := find_photographed(piece.pk, column)):
                # The student's figure is not told: who measures again should not know it.
                by_student = seen.source == Reading.Source.STUDENT
                cell.seen = "by student" if by_student else f"photo {_rounded(seen, unit)}"
                cell.is_given = not by_student
            elif size := given.get((piece.pk, column.key)):
                cell.seen = f"{size.by} {_length(size.mm, unit)}"
                cell.is_given = True
            line.cells.append(cell)
        lines.append(line)
    return lines


@dataclass(frozen=True, slots=True)
class _Given:
    """A size that other readings give: a word for them, and their mean. [mm]"""

    by: str
    mm: float


# A size, by its column: the quantity that gives it, how many readings it takes, a word for them.
_GIVEN_BY = {"height": ("rim_height", 4, "rim"), "foot_side": ("foot_side", 4, "sides")}


def _given_sizes(project: Project, stage: str) -> dict[tuple[int, str], _Given]:
    """Sizes that follow from other readings by hand, by piece and column. One query."""
    read = Reading.objects.current().filter(
        piece__project=project,
        stage=stage,
        quantity__in=[quantity for quantity, _, _ in _GIVEN_BY.values()],
        source=Reading.Source.HAND,
    )
    values = defaultdict(list)
    for piece_id, quantity, value in read.values_list("piece_id", "quantity", "value"):
        values[piece_id, quantity].append(value)
    pieces = {piece_id for piece_id, _ in values}
    return {
        (piece_id, column): _Given(word, mean(values[piece_id, quantity]))
        for piece_id in pieces
        for column, (quantity, enough, word) in _GIVEN_BY.items()
        if len(values[piece_id, quantity]) >= enough
    }


def elsewhere(project: Project, chosen: StationSet, stage: str, lines: list[SheetRow]) -> int:
    """How many readings of the set's quantities stand at stations the sheet does not show."""
    shown = {cell.base for line in lines for cell in line.cells if cell.base}
    current = Reading.objects.current().filter(
        piece__project=project, stage=stage, quantity__in=chosen.quantities
    )
    return current.filter(source=Reading.Source.HAND).count() - len(shown)


def cell_texts(reading: Reading, column: Column, *, unit: str) -> tuple[str, str]:
    """A reading as its cell shows it, and its place where the column asks for one."""
    number, its_unit = split_typed(reading.quantity, reading.typed, reading.value)
    where = getattr(reading, column.where) if column.where else None
    text = cell_text(f"{number} {its_unit}", unit)
    if where is None:
        return text, ""
    return text, side_letters(where) if column.by_side else f"{where:g}"


def cell_text(typed: str, unit: str) -> str:
    """A typed text without the unit that a bare number in this section has anyway.

    Nothing is rounded or converted: what the cell shows is what was written, exactly. A fraction
    keeps its unit.
    """
    for bare in (unit, "deg", "g"):
        if typed.endswith(f" {bare}"):
            return typed.removesuffix(f" {bare}")
    return typed


def _rounded(seen: Reading, unit: str) -> str:
    """What the camera read, in no more figures than it can stand for."""
    base = QUANTITIES[seen.quantity].unit
    return _length(seen.value, unit) if base == "mm" else format_number(seen.value, base, places=1)


def _length(value_mm: float, unit: str) -> str:
    return format_number(value_mm, unit, places=2 if unit == "in" else 1)


def _neighbours(project, readings, stage, unit) -> Neighbours:
    facts = ((one.piece_id, one.quantity, one.name, one.station, one.value) for one in readings)
    return Neighbours(facts, planned(project, stage), unit)


def _entry_of(reading: Reading) -> Entry:
    return Entry(
        reading.stage,
        reading.quantity,
        reading.name,
        reading.height_mm,
        reading.azimuth_deg,
        reading.value,
        reading.typed,
    )


def finder(readings: Iterable[Reading]):
    """Find the reading of a piece that a column shows."""
    fixed: dict[tuple, Reading] = {}
    slots: dict[tuple, list[Reading]] = defaultdict(list)
    for one in readings:
        fixed[one.piece_id, one.quantity, one.station] = one
        slots[one.piece_id, one.quantity, one.name].append(one)
    for group in slots.values():
        group.sort(key=lambda one: (one.height_mm is not None, one.height_mm or 0, one.pk))

    def find(piece_id: int, column: Column) -> Reading | None:
        if column.slot is None:
            return fixed.get((piece_id, column.quantity, column.station))
        group = slots.get((piece_id, column.quantity, column.name), ())
        return group[column.slot] if column.slot < len(group) else None

    return find
