"""What is wished of a cup. What is left empty follows from the rest."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from studio.ware.hands import USUAL_HAND
from studio.ware.shrinkage import LARGEST_SHRINKAGE

FINGER_BREADTH_MM = USUAL_HAND.finger_breadth_mm
"""One finger of the usual hand; a plan may say another. [mm]"""

FINGER_SLACK_MM = 3.0
"""Room beside the fingers so that they slide in: common practice, no source. [mm]"""

OPENING_DEPTH_MM = 30.0
"""Gap between wall and handle. Cup makers give 25 to 35 mm (common practice, no source). [mm]"""

STRAP_MM, STRAP_WIDTH_MM = 7.0, 22.0
"""A pulled strap, wet: thickness and width (common practice, no source). [mm]"""

JOINT_MM = 8.0
"""Strap that goes into scoring at each end, wet (common practice, no source). [mm]"""

FOOT_CORNER_RADIUS_MM = 8.0
"""Outside radius of a patted foot's corners, fired; the checks take the same. [mm]"""

DART_SHARE = 1 / 3
"""How far up the piece a dart reaches where nothing else is said: a third of its height (common
practice, no source)."""

SQUARE = 4
"""Darts of a squared foot. Three or five would make a foot of as many sides, which nothing here
measures, judges or holds a volume for."""

SLAB, PINCH, COIL, THROWN, FREE = "slab", "pinch", "coil", "thrown", "free"
BUILDINGS = {
    SLAB: "slabs, cut from a pattern",
    PINCH: "pinched",
    COIL: "coiled",
    THROWN: "thrown on the wheel",
    FREE: "by hand, in a form of its own",
}
"""How a piece is built. Only slabs are cut, so only slabs have a pattern."""

LOFT = ("height_mm", "rim_diameter_mm", "foot_side_mm", "capacity_ml")

NAMES = {
    "height_mm": "height",
    "rim_diameter_mm": "rim diameter",
    "foot_side_mm": "foot side",
    "foot_diameter_mm": "foot diameter",
    "capacity_ml": "capacity",
    "wall_mm": "wall",
    "slab_mm": "slab",
    "dart_width_mm": "dart width",
}


class PlanError(ValueError):
    """A wish that nothing can follow from; the message is a sentence for the teacher."""


def not_square(darts: int) -> str:
    """Why another number of darts is refused."""
    foot = f"a foot of {darts} sides" if darts > 2 else "no foot that stands square"
    return (
        f"{darts} dart{'s' if darts > 1 else ''} would make {foot}; the pattern, the volume and "
        f"the foot's check here are those of a square. Plan {SQUARE} darts, or none for a round "
        "foot."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """Wished sizes of the fired piece and what it is made of. None follows from the rest.

    Fired: ``height_mm``, ``rim_diameter_mm``, ``foot_side_mm`` and ``foot_diameter_mm`` outside,
    ``diameters_mm`` on the way up (height over the table, diameter), ``wall_mm``, ``base_mm``,
    ``foot_corner_radius_mm``, ``dart_depth_mm`` up the wall, the capacities, and
    ``line_below_rim_mm``. Wet, as cut: ``slab_mm`` (the wall before it shrinks, however it is
    built) and ``dart_width_mm``. ``shrinkage`` is linear, from wet to glazed, on the wet length,
    as a fraction.

    Of wall and slab one is held. Of height, rim, foot side, capacity and dart width three are
    held, and the two others follow; of height, rim and capacity two where the foot is round. A
    round foot without a diameter is as wide as the rim. ``base_mm`` left empty is as thick as the
    wall, ``dart_depth_mm`` a third of the height unless the darts take the whole wall.
    """

    shrinkage: float
    height_mm: float | None = None
    rim_diameter_mm: float | None = None
    foot_side_mm: float | None = None
    foot_diameter_mm: float | None = None
    diameters_mm: tuple[tuple[float, float], ...] = ()
    capacity_ml: float | None = None
    wall_mm: float | None = None
    slab_mm: float | None = None
    dart_width_mm: float | None = None
    base_mm: float | None = None
    foot_corner_radius_mm: float = FOOT_CORNER_RADIUS_MM
    building: str = SLAB
    dart_count: int = SQUARE
    dart_depth_mm: float | None = None
    has_whole_wall_darts: bool = False
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
            if not isinstance(value, int | float) or isinstance(value, bool):
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
        if self.is_slab and self.dart_count not in (0, SQUARE):
            raise PlanError(not_square(self.dart_count))

    @property
    def is_slab(self) -> bool:
        return self.building == SLAB

    @property
    def is_squared(self) -> bool:
        """Whether darts make its foot a square; everything else stands on a round foot."""
        return self.is_slab and self.dart_count == SQUARE

    def empty(self, names=LOFT) -> list[str]:
        """Those of some quantities that are not held."""
        return [name for name in names if getattr(self, name) is None]
