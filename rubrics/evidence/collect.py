"""From rows to results: what the craft checks say of a batch, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from django.db.models import Q, QuerySet

from rubrics.checks.compute import check_pieces
from rubrics.checks.register import check_named, checks
from rubrics.craft.levels import Limit as CraftLimit
from rubrics.craft.plan import STARTER_LIMITS, Plan, size_key
from rubrics.craft.readings import Reading as CraftReading
from rubrics.craft.results import Result
from rubrics.evidence.kiln_effects import Touch, last_good, outcomes_of, touches_of
from rubrics.models import Limit
from studio.models import Outcome, Piece, Project, Reading
from studio.models import Plan as PlanRow
from studio.planning.wish import DART_SHARE, SLAB, SQUARE
from studio.ware.condition import condition
from studio.ware.instruments import Instrument
from studio.ware.uncertainty import reading_uncertainty

HAND, PHOTO, STUDENT = Reading.Source.HAND, Reading.Source.PHOTO, Reading.Source.STUDENT

# Of several readings at one station the first of these counts: the teacher's hand, the student's
# hand, the photo.
RANK = {HAND: 0, STUDENT: 1, PHOTO: 2}


@dataclass(frozen=True, slots=True)
class CountedReading:
    """One reading that counts, as the checks take it and as a page tells of it."""

    reading: CraftReading
    source: str
    doubt: str
    """The question asked of it that nobody has answered; "" when there is none."""
    outranks_photo: bool = False
    """Whether a photo gave a value at the same station, and the hand's counts."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What the readings of a batch say.

    ``results`` holds, by piece id and check name, a result of :mod:`rubrics.craft.results`, which
    may be ``Refused``; a check with nothing to go on is absent.
    """

    project: Project
    pieces: tuple[Piece, ...]
    plan: Plan
    rows: Mapping[int, tuple[CountedReading, ...]]
    results: Mapping[int, Mapping[str, Result]] = field(default_factory=dict)
    outcomes: Mapping[int, tuple[Outcome, ...]] = field(default_factory=dict)
    """What happened to a piece, by its id."""
    touches: Mapping[int, tuple[Touch, ...]] = field(default_factory=dict)
    """What the teacher holds the kiln to have done, by piece id."""
    fallen_back: Mapping[int, frozenset[str]] = field(default_factory=dict)
    """Checks told from the last good stage, because the kiln spoiled a later one."""

    def of(self, piece: Piece) -> Mapping[str, Result]:
        """The results of one piece, by check; empty where nothing was measured."""
        return self.results.get(piece.pk, {})

    def condition(self, piece: Piece) -> str:
        """What can be done to a piece now, by all that is known of it; see
        :func:`studio.ware.condition.condition`."""
        outcomes = self.outcomes.get(piece.pk, ())
        read_at = (row.reading.stage for row in self.rows.get(piece.pk, ()))
        return condition(
            piece.stage,
            piece.state,
            [*read_at, *(each.stage for each in outcomes)],
            is_lost=any(each.severity == Outcome.Severity.LOSS for each in outcomes),
        )

    def rim_meant(self, piece: Piece) -> str:
        """What the piece's rim is meant to be, by its maker, else by the plan; "" for a level one
        or one that nobody spoke of."""
        if piece.intent_rim:
            return piece.intent_rim if piece.intent_rim == Piece.RimIntent.DRAWN else ""
        plan = getattr(self.project, "plan", None)
        return Piece.RimIntent.DRAWN.value if plan is not None and plan.has_drawn_rim else ""

    def questions(self, piece: Piece, check: str) -> tuple[str, ...]:
        """Questions still open on the readings that a check used: its result is in question."""
        return tuple(row.doubt for row in self._rows_of(piece, check) if row.doubt)

    def origin(self, piece: Piece, check: str) -> str:
        """Say where the readings come from, when any came from a photo; "" when none did."""
        rows = self._rows_of(piece, check)
        from_photo = sum(row.source == PHOTO for row in rows)
        outranked = sum(row.outranks_photo for row in rows)
        parts = []
        if rows and from_photo == len(rows):
            parts.append("Read from the photo.")
        elif from_photo:
            parts.append(f"{from_photo} of {len(rows)} readings come from the photo.")
        if outranked:
            parts.append("Where both were read, the hand's reading counts.")
        own = sum(row.source == STUDENT for row in rows)
        if own:
            whose = "All" if own == len(rows) else f"{own} of {len(rows)}"
            parts.append(f"{whose} readings are the student's own.")
        return " ".join(parts)

    def _rows_of(self, piece: Piece, check: str) -> list[CountedReading]:
        result = self.of(piece).get(check)
        known = check_named(check)
        # A check with rungs looks across the stages; every other stands on the readings of one.
        stage = None if result is None or known.rung is not None else result.stage
        return [
            row
            for row in self.rows.get(piece.pk, ())
            if row.reading.quantity in known.reads and stage in (None, row.reading.stage)
        ]


def evidence(
    project: Project,
    *,
    pieces: Iterable[Piece] | None = None,
    stage: str | None = None,
    limits: Sequence[Limit] | None = None,
    last_read: bool = False,
) -> Evidence:
    """Work out the craft checks of a project's pieces.

    Parameters
    ----------
    project : Project
        With ``section``, ``plan`` and ``plan__clay`` fetched it costs no query for them.
    pieces : iterable of Piece, optional
        Only these, which must be the project's; all of them when left out.
    stage : str, optional
        Judge this stage; when left out each check takes the latest stage that carries it.
    limits : sequence of Limit rows, optional
        Those of the project's rubric, where the caller has them already.
    last_read : bool, optional
        Where teacher and student read one station, take who read it last: for what is to be done
        to the clay now. A mark stands on the teacher's reading.

    Notes
    -----
    The number of queries does not depend on the number of pieces: pieces, readings, planned
    sizes, shrinkages, limits and the kiln's doings are one each.
    """
    chosen = tuple(project.pieces.for_list() if pieces is None else pieces)
    if limits is None:
        limits = list(Limit.objects.filter(criterion__rubric__uses__project=project))
    plan = plan_of(project, limits)
    only = None if pieces is None else [piece.pk for piece in chosen]
    rows = rows_of(readings_of(project, only), last_read=last_read)
    outcomes = outcomes_of(chosen)
    touches = touches_of(each for happened in outcomes.values() for each in happened)
    fallen_back = {}
    if stage is None:
        # A stage that is asked for is shown as it was read.
        reads = {name: check.reads for name, check in checks().items()}
        for pk, done in touches.items():
            rows[pk], fallen_back[pk] = last_good(rows.get(pk, ()), done, reads)
    readings = {pk: [row.reading for row in rows.get(pk, ())] for pk in (p.pk for p in chosen)}
    plans = {piece.pk: plan_of_piece(plan, piece) for piece in chosen}
    results = check_pieces(readings, plans, stage=stage)
    return Evidence(
        project=project,
        pieces=chosen,
        plan=plan,
        rows=rows,
        results=results,
        outcomes=outcomes,
        touches=touches,
        fallen_back=fallen_back,
    )


_NOT_GRADED = {figure: replace(limit, graded=False) for figure, limit in STARTER_LIMITS.items()}
"""What the trade would say of a figure that the rubric has no limit for: told, and not graded."""


def plan_of(project: Project, limits: Iterable[Limit] = ()) -> Plan:
    """The project's plan as the checks take it, with the rubric's limits over the starter's.

    A project without a plan plans nothing: what was measured is told, and nothing is missed.
    """
    ours = {
        limit.figure: CraftLimit(limit.figure, float(limit.a), float(limit.b), float(limit.c))
        for limit in limits
    }
    all_limits = {**_NOT_GRADED, **ours}
    try:
        row = project.plan
    except PlanRow.DoesNotExist:
        return Plan(
            name=project.title,
            sizes_mm={},
            shrinkage={},
            shrinkage_spread={},
            capacity_ml=None,
            join_lengths_mm={},
            limits=all_limits,
        )
    sizes = {size_key(size.name, size.height_mm): size.fired_mm for size in row.sizes.all()}
    shrinkages = list(row.clay.shrinkages.all()) if row.clay else []
    return Plan(
        name=project.title,
        sizes_mm=sizes,
        shoulder_mm=shoulder_of(row, sizes.get("height"), sizes.get("base_thickness")),
        slab_mm=row.slab_mm,
        shrinkage={each.stage: float(each.percent) / 100 for each in shrinkages},
        shrinkage_spread={each.stage: float(each.spread_percent) / 100 for each in shrinkages},
        handle_from_seam_deg=row.handle_from_seam_deg,
        fingers=row.fingers,
        finger_breadth_mm=row.finger_breadth_mm,
        capacity_ml=row.capacity_ml,
        # The side seam of a slab cup runs from foot to rim: as long as the cup is high.
        join_lengths_mm={"seam": sizes["height"]} if "height" in sizes else {},
        limits=all_limits,
    )


def shoulder_of(row: PlanRow, height_mm: float | None, base_mm: float | None) -> float | None:
    """Fired height over the table where the planned darts end; None where they take the wall."""
    if row.building != SLAB or row.dart_count != SQUARE or height_mm is None:
        return None
    if row.dart_depth_mm is None and row.has_whole_wall_darts:
        return None
    return (base_mm or 0.0) + (row.dart_depth_mm or height_mm * DART_SHARE)


_HANDLE_INTENT_DEG = {
    Piece.HandleIntent.OPPOSITE: 180.0,
    Piece.HandleIntent.OVER: 0.0,
    Piece.HandleIntent.QUARTER: 90.0,
}


def plan_of_piece(plan: Plan, piece: Piece) -> Plan:
    """The project's plan with what the student means this piece to be.

    The project's own plan where the student said nothing, so that most pieces share one.
    """
    meant: dict[str, object] = {}
    if piece.intent_handle in _HANDLE_INTENT_DEG:
        meant["handle_intent_deg"] = _HANDLE_INTENT_DEG[piece.intent_handle]
        meant["handle_either_way"] = piece.intent_handle == Piece.HandleIntent.QUARTER
    if piece.intent_seam:
        meant["seam_intent"] = piece.intent_seam
    if piece.finger_breadth_mm is not None:
        meant["finger_breadth_mm"] = piece.finger_breadth_mm
    return replace(plan, **meant) if meant else plan


def readings_of(project: Project, piece_ids: Sequence[int] | None) -> QuerySet[Reading]:
    """The readings of some pieces of a project, or of all of them."""
    # A list of ids grows with the batch and past what a query carries; the project does not.
    if piece_ids is None:
        return Reading.objects.filter(piece__project=project)
    return Reading.objects.filter(piece__in=piece_ids)


def rows_of(
    readings: QuerySet[Reading], *, last_read: bool = False
) -> dict[int, tuple[CountedReading, ...]]:
    """Those of some readings that count, by piece id, in one query.

    A photo's reading counts once a person has confirmed the photo. Where one station was read more
    than once, the reading of the first rank counts (:data:`RANK`); with ``last_read`` the hand that
    read it last, be it the teacher's or the student's.
    """
    current = readings.current().filter(
        Q(source__in=(HAND, STUDENT)) | Q(photo__isnull=True) | Q(photo__confirmed_at__isnull=False)
    )
    outranks = _is_later_hand if last_read else _is_higher
    by_station: dict[int, dict[tuple, CountedReading]] = defaultdict(dict)
    for values in current.order_by("pk").values_list(
        "piece_id",
        "stage",
        "quantity",
        "station",
        "name",
        "height_mm",
        "azimuth_deg",
        "value",
        "own_u",
        "source",
        "doubt",
        "instrument__resolution",
        "instrument__repeatability",
    ):
        piece_id, stage, quantity, station, name, height, azimuth, value, *rest = values
        own_u, source, doubt, resolution, repeatability = rest
        tool = None if resolution is None else Instrument(resolution, repeatability)
        u = reading_uncertainty(quantity, stage, own_u=own_u, instrument=tool)
        reading = CraftReading(quantity, stage, value, u, name, height, azimuth)
        stations = by_station[piece_id]
        key = (stage, quantity, station)
        other = stations.get(key)
        row = CountedReading(reading, source, doubt)
        first = row if other is None or outranks(source, other.source) else other
        sources = {source} | ({other.source} if other else set())
        is_before_photo = first.source != PHOTO and (
            PHOTO in sources or bool(other and other.outranks_photo)
        )
        stations[key] = replace(first, outranks_photo=is_before_photo)
    return {piece_id: tuple(stations.values()) for piece_id, stations in by_station.items()}


def _is_higher(source: str, other: str) -> bool:
    return RANK[source] < RANK[other]


def _is_later_hand(source: str, other: str) -> bool:
    # Readings come in the order in which they were made.
    return source != PHOTO or other == PHOTO
