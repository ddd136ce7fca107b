"""What is wished of a cup. What is left empty follows from the rest."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from studio.ware.shrinkage import LARGEST_SHRINKAGE

FINGER_BREADTH_MM = 23.0
"""Index finger at its middle joint, 95th percentile of US men: a handle that fits it fits nearly
every hand. FAA Human Factors Design Standard, appendix B, by a secondary digest. [mm]"""

FINGER_SLACK_MM = 3.0
"""Room beside the fingers so that they slide in: common practice, no source. [mm]"""

OPENING_DEPTH_MM = 30.0
"""Gap between wall and handle. Cup makers give 25 to 35 mm (common practice, no source). [mm]"""

STRAP_MM, STRAP_WIDTH_MM = 7.0, 22.0
"""A pulled strap, wet: thickness and width (common practice, no source). [mm]"""

JOINT_MM = 8.0
"""Strap that goes into scoring at each end, wet (common practice, no source). [mm]"""

BASE_MM = 6.0
FOOT_CORNER_RADIUS_MM = 8.0
"""Outside radius of a patted foot's corners, fired; the checks take the same. [mm]"""

LOFT = ("height_mm", "rim_diameter_mm", "foot_side_mm", "capacity_ml")

NAMES = {
    "height_mm": "height",
    "rim_diameter_mm": "rim diameter",
    "foot_side_mm": "foot side",
    "capacity_ml": "capacity",
    "wall_mm": "wall",
    "slab_mm": "slab",
    "dart_width_mm": "dart width",
}


class PlanError(ValueError):
    """A wish that nothing can follow from; the message is a sentence for the teacher."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """Wished sizes of the fired piece and what it is made of. None follows from the rest.

    Fired: ``height_mm``, ``rim_diameter_mm`` and ``foot_side_mm`` outside, ``wall_mm``,
    ``base_mm``, ``foot_corner_radius_mm``, ``dart_depth_mm`` up the wall, the capacities, and
    ``line_below_rim_mm``. Wet, as cut: ``slab_mm`` and ``dart_width_mm``. ``shrinkage`` is
    linear, from wet to glazed, on the wet length, as a fraction.

    Of wall and slab one is held. Of height, rim, foot side, capacity and dart width three are
    held, and the two others follow (two of three where there are no darts and the foot is as
    wide as the rim). ``dart_depth_mm`` left empty is the whole wall.
    """

    shrinkage: float
    height_mm: float | None = None
    rim_diameter_mm: float | None = None
    foot_side_mm: float | None = None
    capacity_ml: float | None = None
    wall_mm: float | None = None
    slab_mm: float | None = None
    dart_width_mm: float | None = None
    base_mm: float = BASE_MM
    foot_corner_radius_mm: float = FOOT_CORNER_RADIUS_MM
    dart_count: int = 4
    dart_depth_mm: float | None = None
    bevel_deg: float = 45.0
    seam_on_corner: bool = True
    fingers: int = 2
    finger_breadth_mm: float = FINGER_BREADTH_MM
    opening_depth_mm: float = OPENING_DEPTH_MM
    line_ml: float | None = None
    line_below_rim_mm: float | None = None

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if value is None or each.name == "seam_on_corner":
                continue
            zero = each.name in ("shrinkage", "fingers", "dart_count", "foot_corner_radius_mm")
            # Not-a-number is no larger than anything, so it is refused here too.
            enough = value >= 0 if zero else value > 0
            if not enough or not math.isfinite(value):
                what = each.name.removesuffix("_mm").removesuffix("_ml").replace("_", " ")
                raise PlanError(f"The {what} must be a number above zero.")
        if self.shrinkage > LARGEST_SHRINKAGE:
            raise PlanError("No clay shrinks by a third of its length; look at the clay's figures.")
        if self.bevel_deg > 90:
            raise PlanError("A bevel is at most 90°, which is a square-cut end.")

    def empty(self, names=LOFT) -> list[str]:
        """Those of some quantities that are not held."""
        return [name for name in names if getattr(self, name) is None]
