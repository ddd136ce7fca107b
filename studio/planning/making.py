"""Everything to cut for a cup whose fired sizes are known, each figure with its formula."""

from __future__ import annotations

import math

from .clay import clay_steps
from .formula_steps import DEG, ML, FormulaStep, n
from .panel import Panel, panel
from .shape import Cup, foot_perimeter, wall_circumference
from .taper import Taper, ring, taper
from .wish import (
    DART_SHARE,
    FINGER_SLACK_MM,
    JOINT_MM,
    STRAP_MM,
    STRAP_WIDTH_MM,
    Wish,
)

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


def making_steps(wish: Wish, cup: Cup) -> list[FormulaStep]:
    """Wet sizes, pattern, darts, base, handle, clay and capacity, in the order of the work."""
    steps = [
        *_sizes(wish, cup),
        *(_pattern(wish, cup) if wish.is_slab else []),
        *_base(wish, cup),
        *(_handle(wish) if wish.fingers else []),
    ]
    return [
        *steps,
        *clay_steps(wish, cup, {step.key: step.result for step in steps}),
        FormulaStep(
            "capacity_ml",
            "Capacity to the brim",
            "inside of the form from foot to rim, level by level, above the base",
            f"height {n(cup.height_mm)}, rim {n(cup.rim_diameter_mm)}, foot "
            f"{n(cup.foot_side_mm)}, wall {n(cup.wall_mm)}, base {n(cup.base_mm)}",
            cup.capacity(),
            ML,
        ),
    ]


def _wet(key: str, name: str, fired: float, wish: Wish) -> FormulaStep:
    return FormulaStep(
        key,
        name,
        f"fired {WET}",
        f"{n(fired)} ÷ (1 − {n4(wish.shrinkage)})",
        fired / (1 - wish.shrinkage),
    )


def n4(value: float) -> str:
    """A shrinkage inside a formula."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _sizes(wish: Wish, cup: Cup) -> list[FormulaStep]:
    return [
        FormulaStep(
            "slab_mm",
            "Slab, wet" if wish.is_slab else "Wall, wet",
            f"wall {WET}",
            f"{n(wish.wall_mm)} ÷ (1 − {n4(wish.shrinkage)})",
            wish.slab_mm,
        ),
        FormulaStep(
            "wall_mm",
            "Wall, fired",
            "wet × (1 − shrinkage)",
            f"{n(wish.slab_mm)} × (1 − {n4(wish.shrinkage)})",
            wish.wall_mm,
        ),
        _wet("wet_height_mm", "Height, wet", cup.height_mm, wish),
        _wet("wet_rim_mm", "Rim diameter, wet", cup.rim_diameter_mm, wish),
        _wet(
            "wet_foot_mm",
            "Foot side, wet" if wish.is_squared else "Foot diameter, wet",
            cup.foot_side_mm,
            wish,
        ),
    ]


def _pattern(wish: Wish, cup: Cup) -> list[FormulaStep]:
    lap = lap_mm(wish.slab_mm, wish.bevel_deg)
    around = wall_circumference(cup.rim_diameter_mm, wish.wall_mm) / (1 - wish.shrinkage)
    steps = [
        FormulaStep(
            "lap_mm",
            "Overlap of the bevelled ends",
            "slab ÷ tan(bevel)",
            f"{n(wish.slab_mm)} ÷ tan({n(wish.bevel_deg)}°)",
            lap,
        ),
        FormulaStep(
            "around_mm",
            "Once around the rim, mid-wall",
            f"π × (rim diameter − wall) {WET}",
            f"π × ({n(cup.rim_diameter_mm)} − {n(wish.wall_mm)}) ÷ (1 − {n4(wish.shrinkage)})",
            around,
        ),
    ]
    conical = None if wish.is_squared else wall_taper(wish, cup)
    if conical:
        return [*steps, *_ring(wish, cup, conical, lap)]
    upright = (cup.height_mm - cup.base_mm) / (1 - wish.shrinkage)
    length = FormulaStep(
        "pattern_length_mm",
        "Pattern length",
        "once around + overlap",
        f"{n(around)} + {n(lap)}",
        around + lap,
    )
    if wish.is_squared:
        darts = _darts(wish, cup, around, upright)
    else:
        darts = [
            FormulaStep(
                "pattern_height_mm",
                "Pattern height",
                f"(height − base) {WET}",
                f"({n(cup.height_mm)} − {n(cup.base_mm)}) ÷ (1 − {n4(wish.shrinkage)})",
                upright,
            )
        ]
    height = next(each.result for each in darts if each.key == "pattern_height_mm")
    return [*steps, length, *_sheet(around + lap, height), *darts]


def _sheet(length: float, height: float) -> list[FormulaStep]:
    """The slab that the wall is cut from."""
    said = "the pattern from end to end and from foot to rim"
    return [
        FormulaStep("sheet_length_mm", "Slab for the wall, at least long", said, n(length), length),
        FormulaStep("sheet_height_mm", "Slab for the wall, at least wide", said, n(height), height),
    ]


def wall_taper(wish: Wish, cup: Cup) -> Taper | None:
    """The wall of a round foot laid flat, wet; None where foot and rim are as wide."""
    shrunk = 1 - wish.shrinkage
    return taper(
        (cup.foot_side_mm - wish.wall_mm) / 2 / shrunk,
        (cup.rim_diameter_mm - wish.wall_mm) / 2 / shrunk,
        (cup.height_mm - cup.base_mm) / shrunk,
    )


def _ring(wish: Wish, cup: Cup, conical: Taper, lap: float) -> list[FormulaStep]:
    """The parts of a ring that a tapered wall lies flat as."""
    shrunk = 1 - wish.shrinkage
    upright = (cup.height_mm - cup.base_mm) / shrunk
    lean = abs(cup.rim_diameter_mm - cup.foot_side_mm) / 2 / shrunk
    wide = (max(cup.rim_diameter_mm, cup.foot_side_mm) - wish.wall_mm) / 2 / shrunk
    placed = ring(conical, lap)
    return [
        FormulaStep(
            "foot_around_mm",
            "Once around the foot, mid-wall",
            f"π × (foot diameter − wall) {WET}",
            f"π × ({n(cup.foot_side_mm)} − {n(wish.wall_mm)}) ÷ (1 − {n4(wish.shrinkage)})",
            wall_circumference(cup.foot_side_mm, wish.wall_mm) / shrunk,
        ),
        FormulaStep(
            "slant_mm",
            "Wall from foot to rim, along the slant",
            "√(upright² + lean²), lean = half of rim − foot",
            f"√({n(upright)}² + {n(lean)}²)",
            conical.slant,
        ),
        FormulaStep(
            "outer_radius_mm",
            "Radius of the outer arc",
            "slant × wider radius ÷ lean, mid-wall",
            f"{n(conical.slant)} × {n4(wide)} ÷ {n4(lean)}",
            conical.outer,
        ),
        FormulaStep(
            "inner_radius_mm",
            "Radius of the inner arc",
            "outer arc − slant",
            f"{n(conical.outer)} − {n(conical.slant)}",
            conical.inner,
        ),
        FormulaStep(
            "ring_angle_deg",
            "Angle of the ring, once around",
            "360° × wider radius ÷ outer arc",
            f"360 × {n4(wide)} ÷ {n(conical.outer)}",
            math.degrees(conical.angle),
            DEG,
        ),
        *_sheet(placed.width, placed.height),
    ]


def dart_depth_wet(wish: Wish, cup: Cup) -> float:
    """How far up the upright wall the darts reach, wet; 0 without darts. [mm]"""
    if not wish.is_squared:
        return 0.0
    wall = cup.height_mm - cup.base_mm
    if wish.dart_depth_mm is not None:
        depth = wish.dart_depth_mm
    else:
        depth = wall if wish.has_whole_wall_darts else cup.height_mm * DART_SHARE
    return min(depth, wall) / (1 - wish.shrinkage)


def wall_panel(wish: Wish, cup: Cup) -> Panel:
    """The wall between two darts laid flat, wet."""
    shrunk = 1 - wish.shrinkage
    side = (cup.foot_side_mm - wish.wall_mm) / shrunk
    return panel(
        (cup.rim_diameter_mm - wish.wall_mm) / 2 / shrunk,
        side,
        min(max(cup.corner_mm - wish.wall_mm / 2, 0.0) / shrunk, max(side, 0.0) / 2),
        dart_depth_wet(wish, cup),
    )


def _darts(wish: Wish, cup: Cup, around: float, upright: float) -> list[FormulaStep]:
    shrunk, count = 1 - wish.shrinkage, wish.dart_count
    foot = foot_perimeter(cup.foot_side_mm, wish.wall_mm, cup.corner_mm) / shrunk
    depth = dart_depth_wet(wish, cup)
    lean = (cup.rim_diameter_mm - cup.foot_side_mm) / 2 / shrunk
    laid = wall_panel(wish, cup)
    mouth = around / count - laid.chord_mm
    return [
        FormulaStep(
            "pattern_height_mm",
            "Pattern height, in the middle of a side",
            "upright wall above the darts + √(dart depth² + lean²), lean = half of rim − foot side",
            f"{n(upright - depth)} + √({n(depth)}² + {n(lean)}²)",
            upright - depth + laid.side_mm,
        ),
        FormulaStep(
            "foot_around_mm",
            "Around the foot, mid-wall",
            f"4 × (side − wall), less (8 − 2π) × the corners' mid radius, {WET}",
            f"(4 × ({n(cup.foot_side_mm)} − {n(wish.wall_mm)}) − {n(8 - 2 * math.pi)} × "
            f"{n(max(cup.corner_mm - wish.wall_mm / 2, 0.0))}) ÷ (1 − {n4(wish.shrinkage)})",
            foot,
        ),
        FormulaStep(
            "quarter_mm",
            "From mark to mark",
            "once around ÷ number of darts",
            f"{n(around)} ÷ {count}",
            around / count,
        ),
        FormulaStep(
            "dart_width_mm",
            "Taken in by each dart, along the foot's edge",
            "(once around − around the foot) ÷ number of darts",
            f"({n(around)} − {n(foot)}) ÷ {count}",
            (around - foot) / count,
        ),
        FormulaStep(
            "dart_mouth_mm",
            "Dart width as drawn, straight across",
            "from mark to mark − the side between two darts, straight across",
            f"{n(around / count)} − {n(laid.chord_mm)}",
            mouth,
        ),
        FormulaStep(
            "dart_seam_mm",
            "Edge of a dart, from its tip to the foot",
            "length of the strip that runs down to the foot's corner",
            n(laid.seam_mm),
            laid.seam_mm,
        ),
        FormulaStep(
            "dart_depth_mm",
            "Dart depth as drawn",
            "√(edge of the dart² − half its width²)",
            f"√({n(laid.seam_mm)}² − ({n(mouth)} ÷ 2)²)",
            laid.depth_mm,
        ),
        FormulaStep(
            "foot_hang_mm",
            "Foot's edge, lower in the middle of a side",
            "strip in the middle of a side − dart depth as drawn; cut straight, the corners would "
            "reach the table first",
            f"{n(laid.side_mm)} − {n(laid.depth_mm)}",
            laid.hang_mm,
        ),
    ]


def _base(wish: Wish, cup: Cup) -> list[FormulaStep]:
    return [
        _wet(
            "base_side_mm",
            "Base, side to side" if wish.is_squared else "Base, across",
            cup.foot_side_mm,
            wish,
        ),
        _wet("base_thickness_mm", "Base thickness, wet", wish.base_mm, wish),
    ]


def _handle(wish: Wish) -> list[FormulaStep]:
    shrunk = 1 - wish.shrinkage
    fired = wish.fingers * wish.finger_breadth_mm + FINGER_SLACK_MM
    height, depth = fired / shrunk, wish.opening_depth_mm / shrunk
    a, b = (height + STRAP_MM) / 2, depth + STRAP_MM / 2
    return [
        FormulaStep(
            "opening_fired_mm",
            f"Opening for {wish.fingers} finger{'s' if wish.fingers > 1 else ''}, fired",
            "fingers × breadth + room to slide in",
            f"{wish.fingers} × {n(wish.finger_breadth_mm)} + {n(FINGER_SLACK_MM)}",
            fired,
        ),
        _wet("opening_mm", "Opening, wet", fired, wish),
        _wet("opening_depth_mm", "Opening from the wall, wet", wish.opening_depth_mm, wish),
        FormulaStep(
            "handle_height_mm",
            "Handle over all, fired",
            "opening + strap above and below",
            f"{n(fired)} + 2 × {n(STRAP_MM * shrunk)}",
            fired + 2 * STRAP_MM * shrunk,
        ),
        FormulaStep(
            "strap_length_mm",
            "Strap length, wet",
            "half an ellipse through the strap's middle + two joints",
            f"½ ellipse of {n(2 * a)} by {n(2 * b)} + 2 × {n(JOINT_MM)}",
            ellipse_perimeter(a, b) / 2 + 2 * JOINT_MM,
        ),
        FormulaStep(
            "strap_width_mm",
            "Strap width, wet",
            "as pulled (common practice)",
            n(STRAP_WIDTH_MM),
            STRAP_WIDTH_MM,
        ),
    ]
