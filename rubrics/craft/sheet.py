"""The readings of one piece, sorted by stage and quantity, and the sizes they give."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from studio.ware.stages import NEAREST_STAGES
from studio.ware.turned_foot import is_corner_on
from studio.ware.uncertainty import COVERAGE_FACTOR

from .fits import weighted_mean
from .inputs import LARGEST_VALUE, SMALLEST_SIZE, positive_numbers
from .plan import Plan, size_key
from .readings import Reading

READ, SCALED, PLANNED = "read", "scaled", "plan"

WALL, RIM = "wall", "rim"
"""Keys of sizes that are means of readings, not dimensions by that name."""

FOOT = "foot_side"

RIM_DIAMETERS = ("rim_diameter", "rim_diameter_2")

WAIST_DIAMETERS = frozenset({"diameter", "max_diameter"})

LEAST_APART_MM = 1.0
"""Two levels closer than this tell no slope: a height on a curved wall is not placed finer. [mm]"""

PLANNED_SIZE_U = 0.03
"""Share of a planned size by which a hand-built piece misses it: a standard uncertainty.

Our proposal, from memory; it stands in only where nothing was read.
"""

_NONE: tuple[Reading, ...] = ()
_NOWHERE: frozenset[str] = frozenset()


@dataclass(slots=True)
class Size:
    """A size at a stage, its standard uncertainty [mm], and whether it was read there."""

    value_mm: float
    u_mm: float
    source: str


class Sheet:
    """The readings of one piece."""

    __slots__ = ("_by_place", "_found", "_plan", "_sides", "_sizes", "_stages")

    def __init__(self, readings: Iterable[Reading]) -> None:
        by_place: defaultdict[tuple[str, str], list[Reading]] = defaultdict(list)
        for reading in readings:
            by_place[reading.quantity, reading.stage].append(reading)
        self._by_place = dict(by_place)
        stages: defaultdict[str, set[str]] = defaultdict(set)
        for quantity, stage in self._by_place:
            stages[quantity].add(stage)
        self._stages = dict(stages)
        self._sizes: dict[str, dict[str, Size]] = {}
        self._sides: dict[str, Size | None] = {}
        self._found: dict[tuple[str, str], Size | None] = {}
        self._plan: Plan | None = None

    def at(self, stage: str, quantity: str) -> Sequence[Reading]:
        """Readings of a quantity at a stage, in the order given."""
        return self._by_place.get((quantity, stage), _NONE)

    def stages(self, quantities: Iterable[str]) -> set[str]:
        """Stages at which any of some quantities was read."""
        found: set[str] = set()
        for quantity in quantities:
            found |= self._stages.get(quantity, _NOWHERE)
        return found

    def read_sizes(self, stage: str) -> dict[str, Size]:
        """Sizes read at a stage, by :func:`rubrics.craft.plan.size_key`.

        A size read more than once counts with the mean of its readings. The mean of the wall
        readings stands in for a wall that was not read as such, and the foot's sides for a foot
        (:func:`foot_of_sides`).
        """
        sizes = self._sizes.get(stage)
        if sizes is None:
            sizes = self._sizes[stage] = self._read_sizes(stage)
        return sizes

    def _read_sizes(self, stage: str) -> dict[str, Size]:
        sizes: dict[str, Size] = {}
        read = self.at(stage, "dimension")
        for reading in read:
            key = _key(reading)
            if key in sizes:
                sizes[key] = _mean_size([r for r in read if _key(r) == key])
            else:
                sizes[key] = _size_of(reading)
        sides = self._mean_side(stage)
        if sides is not None:
            sizes[FOOT] = foot_of_sides(sides, sizes.get(FOOT))
        self._add_mean(sizes, WALL, self.at(stage, "wall_thickness"))
        self._add_mean(sizes, RIM, [r for r in read if r.name in RIM_DIAMETERS])
        return sizes

    def _mean_side(self, stage: str) -> Size | None:
        """The mean of the foot's sides at a stage; None where none was read."""
        if stage not in self._sides:
            sides = self.at(stage, "foot_side")
            self._sides[stage] = _mean_size(sides) if sides else None
        return self._sides[stage]

    @staticmethod
    def _add_mean(sizes: dict[str, Size], key: str, readings: Sequence[Reading]) -> None:
        if readings and key not in sizes:
            sizes[key] = _mean_size(readings)

    def size(self, key: str, stage: str, plan: Plan) -> Size | None:
        """A size at a stage: read there, else scaled from the nearest stage, else the plan's.

        The rim's diameter is the mean of the two that were read across an oval one.
        """
        if plan is not self._plan:  # what was found is by the plan that was asked for last
            self._found, self._plan = {}, plan
        at = key, stage
        if at not in self._found:
            self._found[at] = self._find_size(key, stage, plan)
        return self._found[at]

    def _find_size(self, key: str, stage: str, plan: Plan) -> Size | None:
        among = RIM if key == RIM_DIAMETERS[0] else key
        read = self.read_sizes(stage).get(among)
        if read is not None and not (key == FOOT and self._seen_corner_on(read, stage, plan)):
            return read
        for other in NEAREST_STAGES[stage]:
            found = None if other == stage else self.read_sizes(other).get(among)
            if found is None:
                continue
            growth = plan.growth(other, stage)
            if growth is None:
                continue
            ratio, u_ratio = growth
            u = math.hypot(found.u_mm * ratio, found.value_mm * u_ratio)
            return Size(found.value_mm * ratio, u, SCALED)
        planned = plan.planned_wall_mm(stage) if key == WALL else plan.planned_mm(key, stage)
        return None if planned is None else Size(planned, planned * PLANNED_SIZE_U, PLANNED)

    def _seen_corner_on(self, width: Size, stage: str, plan: Plan) -> bool:
        """Whether a foot's width is more than its sides, read at another stage, allow."""
        for other in NEAREST_STAGES[stage]:
            side = self._mean_side(other)
            growth = plan.growth(other, stage) if side else None
            if growth is not None:
                ratio = growth[0]
                u = math.hypot(width.u_mm, side.u_mm * ratio, side.value_mm * growth[1])
                return is_corner_on(width.value_mm / (side.value_mm * ratio), u / width.value_mm)
        return False

    def pair(self, keys: tuple[str, str], stage: str, plan: Plan) -> tuple[Size, Size] | None:
        """Two sizes that were read together: at a stage, else scaled from the nearest other."""
        for other in NEAREST_STAGES[stage]:
            read = self.read_sizes(other)
            if keys[1] in read and keys[0] in read:
                growth = plan.growth(other, stage)
                if growth is not None:
                    # One ratio scales both, so that their difference has none of its doubt.
                    return tuple(
                        Size(read[k].value_mm * growth[0], read[k].u_mm * growth[0], read[k].source)
                        for k in keys
                    )
        return None

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
            if r.height_mm is not None and r.name in WAIST_DIAMETERS
        ]
        for r in sorted(at_a_height, key=lambda r: r.height_mm):
            if below + LEAST_APART_MM <= r.height_mm <= top_mm - LEAST_APART_MM:
                found.append((r.height_mm, _size_of(r)))
                below = r.height_mm
        return found


def foot_of_sides(sides: Size, width: Size | None) -> Size:
    """The foot's side from its four sides and a width seen in one piece, from a photo say.

    The two are combined by their uncertainties where they agree. Where they do not, the sides
    count alone: the width is that of a foot seen corner-on, or of another place.
    """
    if width is None or not (sides.u_mm and width.u_mm):
        return sides
    apart = abs(sides.value_mm - width.value_mm)
    if apart > COVERAGE_FACTOR * math.hypot(sides.u_mm, width.u_mm):
        return sides
    mean, u, _ = weighted_mean((sides.value_mm, width.value_mm), (sides.u_mm, width.u_mm))
    return Size(mean, u, READ)


def _key(reading: Reading) -> str:
    height = reading.height_mm
    return reading.name if height is None else size_key(reading.name, height)


def _size_of(reading: Reading) -> Size:
    if SMALLEST_SIZE <= reading.value <= LARGEST_VALUE:
        return Size(reading.value, reading.u, READ)
    return _mean_size([reading])


def _mean_size(readings: Sequence[Reading]) -> Size:
    values = [r.value for r in readings]
    if not (min(values) >= SMALLEST_SIZE and sum(values) <= LARGEST_VALUE):
        what = readings[0].name.replace("_", " ") or "A thickness"
        positive_numbers(values, what.capitalize())
    n = len(values)
    return Size(math.fsum(values) / n, math.hypot(*[r.u for r in readings]) / n, READ)
