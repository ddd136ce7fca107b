"""What a reading is compared with when a typing slip is looked for: the piece, batch and plan."""

from collections import defaultdict
from collections.abc import Iterable

from studio.measuring.entries import Entry
from studio.models import Piece, Plan, Project, Reading
from studio.ware.quantities import ENDS, QUANTITIES
from studio.ware.shrinkage import length_ratio
from studio.ware.stages import GLAZED
from studio.ware.typing_slips import (
    ENOUGH_OTHERS,
    ENOUGH_OWN,
    SAME_PIECE,
    Reference,
    TypingSlip,
    choose_reference,
    likely_slip,
)
from studio.ware.units import WATER_G_PER_ML

LARGE_BATCH = 30
"""From so many values on, a piece's own few no longer move the median: one serves them all."""


def alike_key(quantity: str, name: str, station: str) -> tuple[str, str]:
    """Key of the readings that should be alike: all walls, all foot sides, sizes by their name."""
    if quantity in SAME_PIECE:
        return quantity, ""
    return quantity, station if quantity == "dimension" else name


class Neighbours:
    """The readings of one project at one stage, ready to be compared with.

    Parameters
    ----------
    facts : iterable of (piece id, quantity, name, station, value)
        What is read so far; a later fact about a station replaces an earlier one.
    expected : dict
        What the plan expects, by ``alike_key``. [base unit]
    unit : str
        The length unit to ask in.
    """

    def __init__(self, facts: Iterable[tuple], expected: dict | None = None, unit: str = "mm"):
        self._by_kin: dict[tuple, dict[tuple, float]] = defaultdict(dict)
        self._by_piece: dict[tuple, dict[str, float]] = defaultdict(dict)
        for piece_id, quantity, name, station, value in facts:
            family = alike_key(quantity, name, station)
            self._by_kin[family][piece_id, station] = value
            self._by_piece[piece_id, quantity][station] = value
        self._expected, self._unit = expected or {}, unit
        self._of_batch: dict[tuple, Reference | None] = {}

    def ask(self, piece_id: int, entry: Entry) -> TypingSlip | None:
        """The question about one reading, or None."""
        base = QUANTITIES[entry.quantity].unit
        unit = self._unit if base == "mm" else base
        reference = self.reference(piece_id, entry)
        return likely_slip(entry.value, entry.typed, reference, base=base, unit=unit)

    def reference(self, piece_id: int, entry: Entry) -> Reference | None:
        """What a reading is compared with, itself left out."""
        family = alike_key(entry.quantity, entry.name, entry.station)
        own = [
            value
            for station, value in self._by_piece[piece_id, entry.quantity].items()
            if station != entry.station
        ]
        return self._reference(piece_id, entry.quantity, family, own)

    def _reference(self, piece_id, quantity, family, own) -> Reference | None:
        alike = quantity in SAME_PIECE
        if alike and len(own) >= ENOUGH_OWN:
            return choose_reference(quantity, own=own)
        values = self._by_kin[family]
        expected = self._expected.get(family)
        if len(values) < LARGE_BATCH:
            batch = [value for (other, _), value in values.items() if other != piece_id]
            return choose_reference(
                quantity, own=own if alike else (), batch=batch, planned=expected
            )
        if family not in self._of_batch:
            self._of_batch[family] = choose_reference(
                quantity, batch=list(values.values()), planned=expected
            )
        return self._of_batch[family]


def station_values(readings) -> Iterable[tuple]:
    """Facts for ``Neighbours`` from a queryset of readings, in one query."""
    return readings.values_list("piece_id", "quantity", "name", "station", "value")


def beside(piece: Piece, entry: Entry, *, unit: str) -> Neighbours:
    """What one reading is compared with as it is typed; one query where the piece can tell itself.

    The batch, and then the plan, are looked up only where the piece has too few stations.
    """
    alike = Reading.objects.current().filter(stage=entry.stage, quantity=entry.quantity)
    if entry.quantity in SAME_PIECE:
        own = list(station_values(alike.filter(piece=piece)))
        if sum(station != entry.station for *_, station, _ in own) >= ENOUGH_OWN:
            return Neighbours(own, unit=unit)
    batch = list(station_values(alike.filter(piece__project_id=piece.project_id)))
    others = {piece_id for piece_id, *_ in batch if piece_id != piece.pk}
    expected = {} if len(others) >= ENOUGH_OTHERS else planned(piece.project, entry.stage)
    return Neighbours(batch, expected, unit)


def planned(project: Project, stage: str) -> dict[tuple[str, str], float]:
    """What the project's plan expects at a stage, by ``alike_key`` [mm or g]; three queries."""
    try:
        plan = project.plan
    except Plan.DoesNotExist:
        return {}
    shrinkages = (
        {one.stage: float(one.percent) / 100 for one in plan.clay.shrinkages.all()}
        if plan.clay
        else {}
    )
    now, fired = shrinkages.get(stage, 0.0), shrinkages.get(GLAZED, 0.0)
    growth = length_ratio(fired, now)
    wall = plan.slab_mm * (1 - now)
    expected = {("wall_thickness", ""): wall}
    expected |= {("wall_end", end): wall for end in ENDS}
    for size in plan.sizes.all():
        at = "" if size.height_mm is None else f" z{size.height_mm:g}"
        expected["dimension", f"{size.name}{at}"] = size.fired_mm * growth
        if size.name == "height":
            expected["rim_height", ""] = size.fired_mm * growth
        elif size.name in ("foot_side", "foot_diagonal"):
            expected[size.name, ""] = size.fired_mm * growth
    for name, volume in (("brim", plan.capacity_ml), ("line", plan.line_ml)):
        if volume:
            expected["water_mass", name] = volume * float(WATER_G_PER_ML)
    return expected
