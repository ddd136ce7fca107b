"""What students read of their own cups beside what their teacher read at the same places."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

from rubrics.evidence.collect import HAND, STUDENT
from rubrics.stats.agreement import Limits, limits_of_agreement
from rubrics.stats.errors import CannotTellError
from rubrics.stats.estimates import FEWEST_PIECES
from studio import access
from studio.models import Reading
from studio.ware.quantities import QUANTITIES
from studio.ware.units import format_number


@dataclass(frozen=True, slots=True)
class ReadByBoth:
    """One quantity over the pieces that student and teacher both read; ``told`` is None where
    these are too few."""

    quantity: str
    pieces: int
    told: Limits | None

    @property
    def label(self) -> str:
        return QUANTITIES[self.quantity].label

    @property
    def said(self) -> str:
        """How far the students' readings lie off, and how far one reading does, in words."""
        if self.told is None:
            return f"Read by both: {self.pieces} of the {FEWEST_PIECES} pieces that it takes."
        unit = QUANTITIES[self.quantity].unit
        mean = self.told.mean

        def number(value: float) -> str:
            return format_number(value, unit, places=1)

        if mean.low <= 0 <= mean.high:
            lean = "students read neither more nor less than you"
        else:
            more = "less" if mean.value < 0 else "more"
            lean = f"students read {number(abs(mean.value))} {unit} {more} than you on the average"
        # Two readings of one place differ by the root of two times what one of them is off.
        one = number(self.told.sd / math.sqrt(2))
        return (
            f"Over {self.pieces} pieces {lean} (95 % interval {number(mean.low)} to "
            f"{number(mean.high)} {unit}). One reading is off by {one} {unit} (1 SD), if yours and "
            "theirs are equally sure."
        )


def read_by_both(user) -> list[ReadByBoth]:
    """Own and repeated readings over the sections that a user teaches. One query.

    A piece counts once for each quantity, by the first place that both read: places of one cup
    share what is wrong with the way it was held.
    """
    own = Reading.objects.current().filter(source=STUDENT).values("piece")
    rows = (
        Reading.objects.current()
        .filter(piece__in=access.taught_pieces(user).values("pk"), source__in=(HAND, STUDENT))
        .filter(piece__in=own)
        .order_by("pk")
        .values_list("piece", "quantity", "stage", "station", "name", "source", "value")
    )
    places: dict[tuple, dict[str, float]] = defaultdict(dict)
    for *place, source, value in rows:
        places[tuple(place)][source] = value
    pairs: dict[str, dict[int, tuple[float, float]]] = defaultdict(dict)
    for (piece, quantity, *_), values in places.items():
        if len(values) == 2:
            pairs[quantity].setdefault(piece, (values[HAND], values[STUDENT]))
    return [
        ReadByBoth(quantity, len(pairs[quantity]), _limits(pairs[quantity].values()))
        for quantity in QUANTITIES
        if quantity in pairs
    ]


def _limits(pairs) -> Limits | None:
    try:
        return limits_of_agreement(*zip(*pairs, strict=True))
    except CannotTellError:
        return None
