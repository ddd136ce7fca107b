"""The readings of one piece, sorted by stage and quantity, and the sizes they give."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from studio.ware.stages import NEAREST_STAGES, STAGES

from .inputs import LARGEST_VALUE, SMALLEST_SIZE, positive_numbers
from .plan import Plan, size_key
from .readings import Reading

READ, SCALED, PLANNED = "read", "scaled", "plan"

WALL, RIM = "wall", "rim"
"""Keys of sizes that are means of readings, not dimensions by that name."""

RIM_DIAMETERS = ("rim_diameter", "rim_diameter_2")

WAIST_DIAMETERS = frozenset({"diameter", "max_diameter"})

LEAST_APART_MM = 1.0
"""Two levels closer than this tell no slope: a height on a curved wall is not placed finer. [mm]"""

PLANNED_SIZE_U = 0.03
"""Share of a planned size by which a hand-built piece misses it: a standard uncertainty.

Our proposal, from memory; it stands in only where nothing was read.
"""

_NONE: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Size:
    """A size at a stage, its standard uncertainty [mm], and whether it was read there."""

    value_mm: float
    u_mm: float
    source: str


class Sheet:
    """The readings of one piece."""

    __slots__ = ("_by_place", "_sizes")

    def __init__(self, readings: Iterable[Reading]) -> None:
        by_place: defaultdict[tuple[str, str], list[Reading]] = defaultdict(list)
        for reading in readings:
            by_place[reading.quantity, reading.stage].append(reading)
        self._by_place = dict(by_place)
        self._sizes: dict[str, dict[str, Size]] = {}

    def at(self, stage: str, quantity: str) -> Sequence[Reading]:
        """Readings of a quantity at a stage, in the order given."""
        return self._by_place.get((quantity, stage), _NONE)

    def stages(self, quantities: Iterable[str]) -> set[str]:
        """Stages at which any of some quantities was read."""
        return {
            stage
            for quantity in quantities
            for stage in STAGES
            if (quantity, stage) in self._by_place
        }

    def read_sizes(self, stage: str) -> dict[str, Size]:
        """Sizes read at a stage, by :func:`rubrics.craft.plan.size_key`.

        A size read more than once counts with the mean of its readings. The mean of four foot
        sides and that of the wall readings stand in for sizes that were not read as such.
        """
        if stage not in self._sizes:
            sizes: dict[str, Size] = {}
            read = self.at(stage, "dimension")
            for reading in read:
                key = _key(reading)
                again = [r for r in read if _key(r) == key] if key in sizes else [reading]
                sizes[key] = _mean_size(again)
            self._add_mean(sizes, "foot_side", self.at(stage, "foot_side"))
            self._add_mean(sizes, WALL, self.at(stage, "wall_thickness"))
            self._add_mean(sizes, RIM, [r for r in read if r.name in RIM_DIAMETERS])
            self._sizes[stage] = sizes
        return self._sizes[stage]

    @staticmethod
    def _add_mean(sizes: dict[str, Size], key: str, readings: Sequence[Reading]) -> None:
        if readings and key not in sizes:
            sizes[key] = _mean_size(readings)

    def size(self, key: str, stage: str, plan: Plan) -> Size | None:
        """A size at a stage: read there, else scaled from the nearest stage, else the plan's.

        The rim's diameter is the mean of the two that were read across an oval one.
        """
        among = RIM if key == RIM_DIAMETERS[0] else key
        read = self.read_sizes(stage).get(among)
        if read is not None:
            return read
        for other in NEAREST_STAGES[stage]:
            found = self.read_sizes(other).get(among)
            growth = plan.growth(other, stage) if found else None
            if found is None or growth is None:
                continue
            ratio, u_ratio = growth
            u = math.hypot(found.u_mm * ratio, found.value_mm * u_ratio)
            return Size(found.value_mm * ratio, u, SCALED)
        planned = plan.planned_wall_mm(stage) if key == WALL else plan.planned_mm(key, stage)
        return None if planned is None else Size(planned, planned * PLANNED_SIZE_U, PLANNED)

    def diameters(self, stage: str, top_mm: float) -> list[tuple[float, Size]]:
        """Diameters read at a stage between foot and rim, from below: (height, size).

        One that lies within a millimetre of the foot, of the rim or of the one below adds
        nothing but a kink, and is passed over.
        """
        found: list[tuple[float, Size]] = []
        below = 0.0
        at_a_height = [
            r
            for r in self.at(stage, "dimension")
            if r.name in WAIST_DIAMETERS and r.height_mm is not None
        ]
        for r in sorted(at_a_height, key=lambda r: r.height_mm):
            if below + LEAST_APART_MM <= r.height_mm <= top_mm - LEAST_APART_MM:
                found.append((r.height_mm, _mean_size([r])))
                below = r.height_mm
        return found


def _key(reading: Reading) -> str:
    return size_key(reading.name, reading.height_mm)


def _mean_size(readings: Sequence[Reading]) -> Size:
    first = readings[0]
    if len(readings) == 1 and SMALLEST_SIZE <= first.value <= LARGEST_VALUE:
        return Size(first.value, first.u, READ)
    what = first.name.replace("_", " ") or "A thickness"
    values = positive_numbers([r.value for r in readings], what.capitalize())
    n = len(values)
    return Size(math.fsum(values) / n, math.hypot(*(r.u for r in readings)) / n, READ)
