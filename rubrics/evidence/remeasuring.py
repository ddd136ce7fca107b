"""A random sample of student readings for the teacher to repeat, and the comparison of both."""

from __future__ import annotations

import hashlib
import math
from collections import defaultdict
from dataclasses import dataclass

from rubrics.evidence.collect import HAND, STUDENT
from studio.models import Piece, Project, Reading
from studio.projects.piece_sheet import place_words
from studio.ware.quantities import QUANTITIES
from studio.ware.uncertainty import COVERAGE_FACTOR
from studio.ware.units import format_measure

SHARE, FEWEST = 0.1, 3
"""A tenth, and three at least: as the second look at a batch of marks (our choice)."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One station that both read, with the difference and how far it may be chance."""

    what: str
    students: str
    teachers: str
    difference: float
    allowed: float
    base: str

    @property
    def differs(self) -> bool:
        return abs(self.difference) > self.allowed

    @property
    def difference_text(self) -> str:
        return format_measure(abs(self.difference), self.base)

    @property
    def allowed_text(self) -> str:
        return format_measure(self.allowed, self.base)


@dataclass(frozen=True, slots=True)
class Sampled:
    """One piece that its student measured, and what both read of it."""

    piece: Piece
    own_readings: int
    pairs: tuple[Pair, ...]

    @property
    def differing(self) -> tuple[Pair, ...]:
        return tuple(pair for pair in self.pairs if pair.differs)


@dataclass(frozen=True, slots=True)
class Remeasuring:
    """The sample, and other pieces that both happen to have measured."""

    sample: tuple[Sampled, ...]
    others: tuple[Sampled, ...]
    measured_by_students: int

    @property
    def to_do(self) -> int:
        return sum(not each.pairs for each in self.sample)


def draw_sample(project_id: int, piece_ids) -> set[int]:
    """A sample that stays the same however often it is asked for: seeded by the project.

    Pieces stand in an order that nobody chose, by the hash of project and piece; a piece measured
    later takes its place in it.
    """

    def place(piece_id: int) -> str:
        return hashlib.sha256(f"{project_id}:{piece_id}".encode()).hexdigest()

    ids = sorted(piece_ids, key=place)
    return set(ids[: max(FEWEST, math.ceil(SHARE * len(ids)))])


def remeasuring(project: Project) -> Remeasuring:
    """Compare what students and teacher read in a project. Two queries."""
    theirs: dict[int, dict[tuple, Reading]] = defaultdict(dict)
    ours: dict[int, dict[tuple, Reading]] = defaultdict(dict)
    readings = (
        Reading.objects.current()
        .filter(piece__project=project, source__in=(HAND, STUDENT))
        .select_related("instrument")
        .order_by("pk")
    )
    for reading in readings:
        side = theirs if reading.source == STUDENT else ours
        side[reading.piece_id][reading.stage, reading.quantity, reading.station] = reading
    chosen = draw_sample(project.pk, theirs)
    sample, others = [], []
    for piece in project.pieces.for_list():
        if piece.pk not in theirs:
            continue
        own, again = theirs[piece.pk], ours[piece.pk]
        pairs = tuple(_pair(own[key], again[key]) for key in own if key in again)
        each = Sampled(piece, len(own), pairs)
        if piece.pk in chosen:
            sample.append(each)
        elif pairs:
            others.append(each)
    return Remeasuring(tuple(sample), tuple(others), len(theirs))


def _pair(own: Reading, again: Reading) -> Pair:
    quantity = QUANTITIES[own.quantity]
    where = place_words(own)
    label = f"{quantity.label}, {where}" if where else quantity.label
    return Pair(
        what=f"{label} ({own.stage})",
        students=format_measure(own.value, quantity.unit),
        teachers=format_measure(again.value, quantity.unit),
        difference=again.value - own.value,
        allowed=COVERAGE_FACTOR * math.hypot(own.u, again.u),
        base=quantity.unit,
    )
