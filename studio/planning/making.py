"""Everything to cut for a cup whose fired sizes are known, each figure with its formula."""

from __future__ import annotations

import math

from .shape import Cup, foot_perimeter, wall_circumference
from .steps import ML, Step, n
from .wish import FINGER_SLACK_MM, JOINT_MM, STRAP_MM, STRAP_WIDTH_MM, Wish

WET = "÷ (1 − shrinkage)"


def lap_mm(slab_mm: float, bevel_deg: float) -> float:
    """Overlap of two ends bevelled alike, t / tan β; none for a square-cut end. [mm]

    Check: a quarter-inch slab at 45° laps a quarter of an inch.
    """
    return 0.0 if bevel_deg >= 90 else slab_mm / math.tan(math.radians(bevel_deg))


def ellipse_perimeter(a: float, b: float) -> float:
    """Perimeter of an ellipse of semi-axes a and b, Ramanujan's second formula. [mm]

    For a handle's proportions the error is below a millionth.
    """
    h = ((a - b) / (a + b)) ** 2
    return math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))


def making_steps(wish: Wish, cup: Cup) -> list[Step]:
    """Wet sizes, pattern, darts, base, handle and capacity, in the order of the work."""
    return [
        *_sizes(wish, cup),
        *_pattern(wish, cup),
        *(_darts(wish, cup) if wish.dart_count else []),
        *_base(wish, cup),
        *(_handle(wish) if wish.fingers else []),
        Step(
            "capacity_ml",
            "Capacity to the brim",
            "inside of the loft from foot to rim, level by level, above the base",
            f"height {n(cup.height_mm)}, rim {n(cup.rim_diameter_mm)}, foot "
            f"{n(cup.foot_side_mm)}, wall {n(cup.wall_mm)}, base {n(cup.base_mm)}",
            cup.capacity(),
            ML,
        ),
    ]


def _wet(key: str, name: str, fired: float, wish: Wish) -> Step:
    return Step(
        key,
        name,
        f"fired {WET}",
        f"{n(fired)} ÷ (1 − {n4(wish.shrinkage)})",
        fired / (1 - wish.shrinkage),
    )


def n4(value: float) -> str:
    """A shrinkage inside a formula."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _sizes(wish: Wish, cup: Cup) -> list[Step]:
    return [
        Step(
            "slab_mm",
            "Slab, wet",
            f"wall {WET}",
            f"{n(wish.wall_mm)} ÷ (1 − {n4(wish.shrinkage)})",
            wish.slab_mm,
        ),
        Step(
            "wall_mm",
            "Wall, fired",
            "slab × (1 − shrinkage)",
            f"{n(wish.slab_mm)} × (1 − {n4(wish.shrinkage)})",
            wish.wall_mm,
        ),
        _wet("wet_height_mm", "Height, wet", cup.height_mm, wish),
        _wet("wet_rim_mm", "Rim diameter, wet", cup.rim_diameter_mm, wish),
        _wet(
            "wet_foot_mm",
            "Foot side, wet" if wish.dart_count else "Foot diameter, wet",
            cup.foot_side_mm,
            wish,
        ),
    ]


def _pattern(wish: Wish, cup: Cup) -> list[Step]:
    shrunk = 1 - wish.shrinkage
    wall, slab = wish.wall_mm, wish.slab_mm
    lap = lap_mm(slab, wish.bevel_deg)
    around = wall_circumference(cup.rim_diameter_mm, wall) / shrunk
    upright = (cup.height_mm - cup.base_mm) / shrunk
    depth = dart_depth_wet(wish, cup)
    taken = wish.dart_count * (wish.dart_width_mm or 0.0)
    lean = taken / (2 * math.pi)
    length = upright - depth + math.hypot(depth, lean)
    return [
        Step(
            "lap_mm",
            "Overlap of the bevelled ends",
            "slab ÷ tan(bevel)",
            f"{n(slab)} ÷ tan({n(wish.bevel_deg)}°)",
            lap,
        ),
        Step(
            "around_mm",
            "Once around, mid-wall",
            f"π × (rim diameter − wall) {WET}",
            f"π × ({n(cup.rim_diameter_mm)} − {n(wall)}) ÷ (1 − {n4(wish.shrinkage)})",
            around,
        ),
        Step(
            "pattern_length_mm",
            "Pattern length",
            "once around + overlap",
            f"{n(around)} + {n(lap)}",
            around + lap,
        ),
        Step(
            "pattern_height_mm",
            "Pattern height",
            "upright wall above the darts + √(dart depth² + lean²)"
            if taken
            else f"(height − base) {WET}",
            f"{n(upright - depth)} + √({n(depth)}² + {n(lean)}²)"
            if taken
            else f"({n(cup.height_mm)} − {n(cup.base_mm)}) ÷ (1 − {n4(wish.shrinkage)})",
            length,
        ),
    ]


def dart_depth_wet(wish: Wish, cup: Cup) -> float:
    """How far up the upright wall the darts reach, wet; 0 without darts. [mm]"""
    if not wish.dart_count:
        return 0.0
    wall = cup.height_mm - cup.base_mm
    depth = wall if wish.dart_depth_mm is None else min(wish.dart_depth_mm, wall)
    return depth / (1 - wish.shrinkage)


def _darts(wish: Wish, cup: Cup) -> list[Step]:
    shrunk, count = 1 - wish.shrinkage, wish.dart_count
    around = wall_circumference(cup.rim_diameter_mm, wish.wall_mm)
    foot = foot_perimeter(cup.foot_side_mm, wish.wall_mm, cup.corner_mm)
    width = (around - foot) / count / shrunk
    upright = dart_depth_wet(wish, cup)
    lean = count * max(width, 0.0) / (2 * math.pi)
    depth = math.hypot(upright, lean)
    return [
        Step(
            "foot_around_mm",
            "Around the foot, mid-wall",
            f"4 × (side − wall), less (8 − 2π) × the corners' mid radius, {WET}",
            f"(4 × ({n(cup.foot_side_mm)} − {n(wish.wall_mm)}) − {n(8 - 2 * math.pi)} × "
            f"{n(max(cup.corner_mm - wish.wall_mm / 2, 0.0))}) ÷ (1 − {n4(wish.shrinkage)})",
            foot / shrunk,
        ),
        Step(
            "quarter_mm",
            "From mark to mark",
            "once around ÷ number of darts",
            f"{n(around / shrunk)} ÷ {count}",
            around / shrunk / count,
        ),
        Step(
            "dart_width_mm",
            "Dart width, at the foot",
            "(once around − around the foot) ÷ number of darts",
            f"({n(around / shrunk)} − {n(foot / shrunk)}) ÷ {count}",
            width,
        ),
        Step(
            "dart_depth_mm",
            "Dart depth",
            "√(upright depth² + lean²), lean = all darts ÷ 2π",
            f"√({n(upright)}² + {n(lean)}²)",
            depth,
        ),
    ]


def _base(wish: Wish, cup: Cup) -> list[Step]:
    return [
        _wet(
            "base_side_mm",
            "Base, side to side" if wish.dart_count else "Base, across",
            cup.foot_side_mm,
            wish,
        ),
        _wet("base_thickness_mm", "Base thickness, wet", wish.base_mm, wish),
    ]


def _handle(wish: Wish) -> list[Step]:
    shrunk = 1 - wish.shrinkage
    fired = wish.fingers * wish.finger_breadth_mm + FINGER_SLACK_MM
    height, depth = fired / shrunk, wish.opening_depth_mm / shrunk
    a, b = (height + STRAP_MM) / 2, depth + STRAP_MM / 2
    return [
        Step(
            "opening_fired_mm",
            f"Opening for {wish.fingers} finger{'s' if wish.fingers > 1 else ''}, fired",
            "fingers × breadth + room to slide in",
            f"{wish.fingers} × {n(wish.finger_breadth_mm)} + {n(FINGER_SLACK_MM)}",
            fired,
        ),
        _wet("opening_mm", "Opening, wet", fired, wish),
        _wet("opening_depth_mm", "Opening from the wall, wet", wish.opening_depth_mm, wish),
        Step(
            "handle_height_mm",
            "Handle over all, fired",
            "opening + strap above and below",
            f"{n(fired)} + 2 × {n(STRAP_MM * shrunk)}",
            fired + 2 * STRAP_MM * shrunk,
        ),
        Step(
            "strap_length_mm",
            "Strap length, wet",
            "half an ellipse through the strap's middle + two joints",
            f"½ ellipse of {n(2 * a)} by {n(2 * b)} + 2 × {n(JOINT_MM)}",
            ellipse_perimeter(a, b) / 2 + 2 * JOINT_MM,
        ),
        Step(
            "strap_width_mm",
            "Strap width, wet",
            "as pulled (common practice)",
            n(STRAP_WIDTH_MM),
            STRAP_WIDTH_MM,
        ),
    ]
