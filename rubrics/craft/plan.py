"""What a piece was meant to be: planned sizes, clay, handle, limits and instruments.

How a plan is written as JSON stands in :mod:`rubrics.craft.plan_json`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

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
        Limit("wall_evenness.spread_mm", 1, 2, 3),
        Limit("rim_level.rise_mm", 2, 4, 6),
        Limit("seam_join.open_fraction", 0.0, 0.05, 0.12),
        Limit("seam_join.largest_step_mm", 0.5, 1.5, 3),
        Limit("handle_alignment.lean_deg", 3, 7, 12),
        Limit("handle_alignment.twist_deg", 3, 7, 12),
        Limit("handle_alignment.placement_deg", 5, 10, 20),
        Limit("shrinkage.difference", 0.01, 0.015, 0.025),
        Limit("squared_foot.side_spread_mm", 2, 4, 6),
        Limit("squared_foot.diagonal_difference_mm", 2, 4, 6),
        Limit("squared_foot.rock_mm", 0.3, 1, 2),
        Limit("capacity.difference_fraction", 0.1, 0.15, 0.25),
    )
}

STARTER_SIZES_MM = {"height": 95.0, "rim_diameter": 85.0, "foot_side": 58.0, "base_thickness": 6.0}

# A mid-fire stoneware: common practice, no source; the spread is our proposal. Ask the supplier.
STARTER_SHRINKAGE = {"leather-hard": 0.025, "bone dry": 0.06, "bisque": 0.065, "glazed": 0.12}
STARTER_SHRINKAGE_SPREAD = dict.fromkeys(STARTER_SHRINKAGE, 0.005)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan of a piece.

    ``sizes_mm`` and ``join_lengths_mm`` are fired sizes, under the names that
    :func:`size_key` gives; ``slab_mm`` is wet. ``shrinkage`` is linear, on the wet length, as a
    fraction, by stage; ``shrinkage_spread`` its standard deviation from piece to piece.
    ``handle_from_seam_deg`` is counted counter-clockwise from the seam.
    ``finger_breadth_mm`` defaults to the index finger of the 95th percentile of US men at its
    middle joint (FAA Human Factors Design Standard, appendix B, by a secondary digest): a handle
    that fits it fits nearly every hand. ``azimuth_u_deg`` is the standard uncertainty of an
    azimuth read by eye on a degree mat.
    """

    name: str = "Lidless slab cup with a squared foot"
    sizes_mm: Mapping[str, float] = field(default_factory=lambda: dict(STARTER_SIZES_MM))
    foot_corner_radius_mm: float = 8.0
    slab_mm: float = 6.35
    shrinkage: Mapping[str, float] = field(default_factory=lambda: dict(STARTER_SHRINKAGE))
    shrinkage_spread: Mapping[str, float] = field(
        default_factory=lambda: dict(STARTER_SHRINKAGE_SPREAD)
    )
    handle_from_seam_deg: float = 180.0
    fingers: int = 2
    finger_breadth_mm: float = 23.0
    azimuth_u_deg: float = standard_uncertainty(1.0, 1.0)
    capacity_ml: float | None = 280.0
    join_lengths_mm: Mapping[str, float] = field(default_factory=lambda: {"seam": 95.0})
    limits: Mapping[str, Limit] = field(default_factory=lambda: dict(STARTER_LIMITS))
    instruments: Mapping[str, Instrument] = field(default_factory=lambda: dict(STARTER_INSTRUMENTS))

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

    def uncertainty_of(self, quantity: str, stage: str, instrument: str = "") -> float:
        """Standard uncertainty of a reading by its instrument, else by the usual one for it."""
        usual = QUANTITIES[quantity].instrument
        tool = self.instruments.get(instrument) or self.instruments.get(usual)
        return reading_uncertainty(quantity, stage, instrument=tool)
