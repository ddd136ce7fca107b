"""What was measured of pieces, told to fellow students: no verdict and no level."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from studio.models import Piece, Reading
from studio.ware.quantities import DIMENSIONS, QUANTITIES
from studio.ware.stages import STAGE_PLACE
from studio.ware.units import format_measure

MOST_FACTS = 8


def measured(pieces: Iterable[Piece]) -> dict[int, list[str]]:
    """Sentences by piece id, of each piece's latest stage that was read; one query.

    A reading that is still in question is left out.
    """
    rows = defaultdict(list)
    for reading in Reading.objects.current().filter(piece__in=pieces, doubt="").order_by("pk"):
        rows[reading.piece_id].append(reading)
    return {piece: _facts(readings) for piece, readings in rows.items()}


def _facts(readings: list[Reading]) -> list[str]:
    latest = max((each.stage for each in readings), key=lambda stage: STAGE_PLACE.get(stage, -1))
    groups: dict[tuple[str, str], list[float]] = defaultdict(list)
    for each in readings:
        if each.stage == latest:
            name = each.name if each.quantity == "dimension" else ""
            groups[each.quantity, name].append(each.value)
    told = [_fact(*key, values) for key, values in sorted(groups.items(), key=_place)]
    return told[:MOST_FACTS]


def _place(item) -> tuple:
    (quantity, name), _values = item
    return (list(QUANTITIES).index(quantity), name)


def _fact(quantity: str, name: str, values: list[float]) -> str:
    known = QUANTITIES[quantity]
    label = DIMENSIONS.get(name, name.replace("_", " ").capitalize()) if name else known.label
    low, high = (format_measure(edge, known.unit) for edge in (min(values), max(values)))
    if len(values) == 1:
        return f"{label}: {low}"
    if low == high:
        return f"{label}: {low} at all {len(values)} places"
    return f"{label}: {low.removesuffix(f' {known.unit}')} to {high} at {len(values)} places"
