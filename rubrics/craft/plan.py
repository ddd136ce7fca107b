"""What a piece was meant to be: planned sizes, clay, handle, limits and instruments.

How a plan is written as JSON stands in :mod:`rubrics.checks.plan_json`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from studio.ware.hands import USUAL_HAND
from studio.ware.instruments import STARTER_INSTRUMENTS, Instrument
from studio.ware.quantities import QUANTITIES
from studio.ware.shrinkage import length_ratio
from studio.ware.stages import GLAZED, WET
from studio.ware.uncertainty import reading_uncertainty, standard_uncertainty

from .levels import Limit


def size_key(name: str, height_mm: float | None = None) -> str:
    """Name under which a size is planned: "height", or "diameter@45" for one at a height."""
    return name if height_mm is None else f"{name}@{height_mm:g}"


# The limits are our proposal, from memory of the trade, to be edited by the teacher: no published
# standard for students' cups was found. Level 4, 3, 2 up to the first, second, third.
STARTER_LIMITS = {
    limit.figure: limit
    for limit in (
        # 1, 2 and 3 mm between the thickest and the thinnest of four places, on the scale of
        # twelve (d2(12) / d2(4) = 1.58), rounded.
        Limit("wall_evenness.scaled_spread_mm", 1.5, 3, 4.5),
        Limit("wall_evenness.too_thin_mm", 0.5, 1, 1.5),
        Limit("wall_evenness.too_thick_mm", 0.5, 1.5, 2.5),
        Limit("wall_evenness.plan_match_mm", 1, 2, 3),
        # 2, 4 and 6 mm across a rim of 80 mm: an angle is fair to small and large ware.
        Limit("rim_level.rise_deg", 1.4, 2.9, 4.3),
        Limit("rim_level.out_of_round_mm", 3, 6, 9),
        Limit("seam_join.open_fraction", 0.0, 0.05, 0.12),
        Limit("seam_join.longest_open_mm", 0, 5, 12),
        Limit("seam_join.largest_step_mm", 0.5, 1.5, 3),
        Limit("handle_alignment.lean_deg", 3, 7, 12),
        Limit("handle_alignment.twist_deg", 3, 7, 12),
        Limit("handle_alignment.placement_deg", 5, 10, 20),
        Limit("handle_alignment.opening_short_mm", 1, 3, 6),
        Limit("shrinkage.difference", 0.01, 0.015, 0.025),
        Limit("squared_foot.side_spread_mm", 2, 4, 6),
        Limit("squared_foot.diagonal_difference_mm", 2, 4, 6),
        Limit("squared_foot.rock_mm", 0.3, 1, 2),
        Limit("squared_foot.largest_gap_mm", 0.3, 1, 2),
        Limit("capacity.difference_fraction", 0.1, 0.15, 0.25),
    )
}

WALL_FLOOR_MM, WALL_CEILING_MM = 4.0, 10.0
"""A glazed wall under the first is too thin to trust; one over the second at any stage is heavy,
and before the bisque firing dries slowly and may blow out. Common practice, no source. [mm]"""

WALL_FLOOR_SHARE, WALL_CEILING_SHARE = 0.7, 1.5
"""The same as shares of the planned wall, for a cup planned thinner or stouter (our proposal)."""

STARTER_SIZES_MM = {"height": 95.0, "rim_diameter": 85.0, "foot_side": 58.0, "base_thickness": 6.0}

# A mid-fire stoneware: common practice, no source; the spread is our proposal. Ask the supplier.
STARTER_SHRINKAGE = {"leather-hard": 0.025, "bone dry": 0.06, "bisque": 0.065, "glazed": 0.12}
STARTER_SHRINKAGE_SPREAD = dict.fromkeys(STARTER_SHRINKAGE, 0.005)


HIDDEN, SHOWN = "hidden", "shown"
SEAM_INTENTS = ("", SHOWN, HIDDEN)
"""What a student may mean the seam to be; nothing said is nothing meant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan of a piece.

    ``sizes_mm`` and ``join_lengths_mm`` are fired sizes, under the names that
    :func:`size_key` gives; ``slab_mm`` is wet. ``shrinkage`` is linear, on the wet length, as a
    fraction, by stage; ``shrinkage_spread`` its standard deviation from piece to piece.
    ``shoulder_mm`` is the fired height over the table where darts shorter than the wall end, so
    that the wall is straight above; None where it leans from foot to rim.
    ``handle_from_seam_deg`` is counted counter-clockwise from the seam.
    ``handle_intent_deg`` is where the student means it to be, which comes before the plan's, and
    ``handle_either_way`` says that the student left the side open. ``seam_intent`` is "shown",
    "hidden" or "" where the student did not say. ``finger_breadth_mm`` is that of the hand the
    piece is for (:mod:`studio.ware.hands`). ``azimuth_u_deg`` is the standard uncertainty of an
    azimuth read by eye on a degree mat.
    """

    name: str = "Lidless slab cup with a squared foot"
    sizes_mm: Mapping[str, float] = field(default_factory=lambda: dict(STARTER_SIZES_MM))
    foot_corner_radius_mm: float = 8.0
    shoulder_mm: float | None = None
    slab_mm: float = 6.35
    shrinkage: Mapping[str, float] = field(default_factory=lambda: dict(STARTER_SHRINKAGE))
    shrinkage_spread: Mapping[str, float] = field(
        default_factory=lambda: dict(STARTER_SHRINKAGE_SPREAD)
    )
    handle_from_seam_deg: float = 180.0
    handle_intent_deg: float | None = None
    handle_either_way: bool = False
    seam_intent: str = ""
    fingers: int = 2
    finger_breadth_mm: float = USUAL_HAND.finger_breadth_mm
    azimuth_u_deg: float = standard_uncertainty(1.0, 1.0)
    capacity_ml: float | None = 280.0
    join_lengths_mm: Mapping[str, float] = field(default_factory=lambda: {"seam": 95.0})
    limits: Mapping[str, Limit] = field(default_factory=lambda: dict(STARTER_LIMITS))
    instruments: Mapping[str, Instrument] = field(default_factory=lambda: dict(STARTER_INSTRUMENTS))
    _grown: dict[tuple[str, str], tuple[float, float] | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def shoulder_at(self, stage: str, height_mm: float) -> float | None:
        """The shoulder at a stage; None where there is none below the height. [mm]"""
        if self.shoulder_mm is None:
            return None
        growth = self.growth(GLAZED, stage) or (1.0, 0.0)
        level = self.shoulder_mm * growth[0]
        return level if level < height_mm else None

    @property
    def handle_wanted_deg(self) -> float:
        """Where the handle is meant to sit, counter-clockwise from the seam. [°]"""
        intent = self.handle_intent_deg
        return self.handle_from_seam_deg if intent is None else intent

    def shrinkage_to(self, stage: str) -> float | None:
        """Planned linear shrinkage from wet to a stage; None where the plan does not say."""
        return 0.0 if stage == WET else self.shrinkage.get(stage)

    def spread_to(self, stage: str) -> float:
        """Standard deviation of that shrinkage from piece to piece."""
        return 0.0 if stage == WET else self.shrinkage_spread.get(stage, 0.0)

    def growth(self, from_stage: str, to_stage: str) -> tuple[float, float] | None:
        """Ratio of a length at one stage to the same at another, and its standard uncertainty.

        None where the plan lacks the shrinkage to either stage. The spreads to two later stages
        are taken as independent, which is careful: a clay wetter than usual is so in both.
        """
        if from_stage == to_stage:
            return 1.0, 0.0
        # A class is checked by one plan, and nothing here depends on the piece.
        known = self._grown
        at = from_stage, to_stage
        if at not in known:
            known[at] = self._growth(from_stage, to_stage)
        return known[at]

    def _growth(self, from_stage: str, to_stage: str) -> tuple[float, float] | None:
        before, after = self.shrinkage_to(from_stage), self.shrinkage_to(to_stage)
        if before is None or after is None:
            return None
        ratio = length_ratio(before, after)
        share = math.hypot(
            self.spread_to(from_stage) / (1 - before), self.spread_to(to_stage) / (1 - after)
        )
        return ratio, ratio * share

    def planned_mm(self, key: str, stage: str) -> float | None:
        """Planned size at a stage: the wet size is fired / (1 − S). [mm]"""
        fired = self.sizes_mm.get(key)
        ratio = self.growth(GLAZED, stage)
        return None if fired is None or ratio is None else fired * ratio[0]

    def planned_wall_mm(self, stage: str) -> float | None:
        """Planned wall thickness at a stage: the wet slab, shrunk. [mm]"""
        shrinkage = self.shrinkage_to(stage)
        return None if shrinkage is None else self.slab_mm * (1 - shrinkage)

    def wall_bounds_mm(self, stage: str) -> tuple[float, float]:
        """Thinnest wall to trust and thickest to carry, at a stage. [mm]

        Both follow the plan, so that a cup planned thin or stout is held to its own size, up to
        what no plan should pass. A plan without shrinkage leaves the floor at its glazed size.
        """
        planned = self.planned_wall_mm(stage)
        growth = self.growth(GLAZED, stage) or (1.0, 0.0)
        floor = WALL_FLOOR_MM * growth[0]
        if planned is None:
            return floor, WALL_CEILING_MM
        return (
            min(floor, WALL_FLOOR_SHARE * planned),
            min(WALL_CEILING_MM, WALL_CEILING_SHARE * planned),
        )

    def uncertainty_of(self, quantity: str, stage: str, instrument: str = "") -> float:
        """Standard uncertainty of a reading by its instrument, else by the usual one for it."""
        usual = QUANTITIES[quantity].instrument
        tool = self.instruments.get(instrument) or self.instruments.get(usual)
        return reading_uncertainty(quantity, stage, instrument=tool)
