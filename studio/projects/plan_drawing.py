"""A cup from its plan, cut through the middle and to scale: places for a drawing, no markup."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from studio.planning.solve import Planned
from studio.planning.wish import STRAP_MM

MARGIN_MM = 24.0
TYPE_SHARE = 0.036
"""Size of the type as a share of the drawing's width."""
SCALE_BAR_MM = 50.0
HANDLE_MIDDLE = 0.54
"""Where a handle's middle sits as a share of the height (common practice, no source)."""
BULGE = 4 / 3
"""Control points of one cubic arc that reaches a depth d stand 4/3 d away."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A measured length: its line and where its number stands."""

    x0: float
    y0: float
    x1: float
    y1: float
    text: str
    x: float
    y: float
    anchor: str


@dataclass(frozen=True, slots=True)
class PlanDrawing:
    """Everything of the drawing in fired millimetres, y downwards."""

    view_box: str
    wall: str
    water: str
    handle: str
    darts: tuple[str, ...]
    dimensions: tuple[Dimension, ...]
    bar: Dimension
    type_mm: float
    says: str


def drawing(planned: Planned) -> PlanDrawing:
    """Lay out the drawing of a plan that can be made."""
    cup, wish = planned.cup, planned.wish
    rim, foot, height = cup.rim_diameter_mm / 2, cup.foot_side_mm / 2, cup.height_mm
    points = [
        (0.0, foot),
        *([(cup.lift_mm, foot)] if cup.lift_mm else []),
        *((z, diameter / 2) for z, diameter in cup.rings),
        (height, rim),
    ]
    handle_reach = wish.opening_depth_mm + STRAP_MM if wish.fingers else 0.0
    widest = max(r for _, r in points)
    left, right = -widest - MARGIN_MM, widest + max(handle_reach + 8, MARGIN_MM)
    top, bottom = -height - MARGIN_MM * 0.75, MARGIN_MM * 1.1
    width = right - left
    size = width * TYPE_SHARE

    def radius(z: float) -> float:
        for (low, narrow), (top, wide) in pairwise(points):
            if z <= top:
                return narrow + (wide - narrow) * (z - low) / (top - low)
        return rim

    def inner(z: float) -> float:
        return radius(z) - cup.wall_mm

    levels = [z for z, _ in points]
    inside = sorted({cup.base_mm, *(z for z in levels if z > cup.base_mm)})
    outline = [(-radius(z), z) for z in reversed(levels)] + [(radius(z), z) for z in levels]
    hollow = [(inner(z), z) for z in reversed(inside)] + [(-inner(z), z) for z in inside]
    level = _water_level(planned)
    filled = [z for z in inside if z < level] + [level]
    water = [(inner(z), z) for z in filled] + [(-inner(z), z) for z in reversed(filled)]
    return PlanDrawing(
        view_box=f"{left:.1f} {top:.1f} {width:.1f} {bottom - top:.1f}",
        wall=_points([*outline, *hollow]),
        water=_points(water),
        handle=_handle(planned, radius) if wish.fingers else "",
        darts=_darts(planned, min(cup.shoulder_mm or height, height)),
        dimensions=_dimensions(planned, size, widest),
        bar=Dimension(
            left + 3,
            bottom - 4,
            left + 3 + SCALE_BAR_MM,
            bottom - 4,
            f"{SCALE_BAR_MM:g} mm",
            left + 5 + SCALE_BAR_MM,
            bottom - 4 + size * 0.35,
            "start",
        ),
        type_mm=round(size, 2),
        says=_says(planned),
    )


def _points(places) -> str:
    return " ".join(f"{x:.2f},{-z:.2f}" for x, z in places)


def _water_level(planned: Planned) -> float:
    height = planned.cup.height_mm
    if "line_below_mm" in planned.steps:
        return height - planned["line_below_mm"]
    if planned.wish.line_below_rim_mm is not None and "line_ml" in planned.steps:
        return height - planned.wish.line_below_rim_mm
    return height


def _handle(planned: Planned, radius) -> str:
    """The strap as one closed path: an outer and an inner arc from the wall back to the wall."""
    strap = STRAP_MM * (1 - planned.wish.shrinkage)
    opening, depth = planned["opening_fired_mm"], planned.wish.opening_depth_mm
    middle = max(planned.cup.height_mm * HANDLE_MIDDLE, opening / 2 + strap)

    def arc(half: float, reach: float, downwards: bool) -> str:
        ends = (middle + half, middle - half) if downwards else (middle - half, middle + half)
        (x0, z0), (x1, z1) = ((radius(z) - 0.5, z) for z in ends)
        out = BULGE * reach
        return (
            f"{x0:.2f},{-z0:.2f} C {x0 + out:.2f},{-z0:.2f} {x1 + out:.2f},{-z1:.2f} "
            f"{x1:.2f},{-z1:.2f}"
        )

    outer = arc(opening / 2 + strap, depth + strap, True)
    return f"M {outer} L {arc(opening / 2, depth, False)} Z"


def _darts(planned: Planned, shoulder: float) -> tuple[str, ...]:
    """The closed darts of the near side, as they run from the foot's corners up to their tips."""
    if not planned.wish.is_squared:
        return ()
    foot, rim = planned.cup.foot_side_mm / 2, planned.cup.rim_diameter_mm / 2
    corner, tip = foot - planned.cup.corner_mm * 0.3, rim * 0.7071
    low = planned.cup.lift_mm
    return tuple(
        f"{side * corner:.2f},{-low:.2f} {side * tip:.2f},{-shoulder:.2f}" for side in (-1, 1)
    )


def _dimensions(planned: Planned, size: float, widest: float) -> tuple[Dimension, ...]:
    cup = planned.cup
    rim, foot, height = cup.rim_diameter_mm / 2, cup.foot_side_mm / 2, cup.height_mm
    x = -widest - size * 1.3
    return (
        Dimension(x, 0, x, -height, f"{height:.4g}", x - size * 0.5, -height / 2, "end"),
        Dimension(
            -rim,
            -height - size,
            rim,
            -height - size,
            f"{2 * rim:.4g}",
            0,
            -height - size * 1.4,
            "middle",
        ),
        Dimension(-foot, size, foot, size, f"{2 * foot:.4g}", 0, size * 2.2, "middle"),
    )


def _says(planned: Planned) -> str:
    cup = planned.cup
    foot = "squared foot, side" if planned.wish.is_squared else "round foot, diameter"
    said = (
        f"The cup cut through the middle: {cup.height_mm:.4g} mm high, rim "
        f"{cup.rim_diameter_mm:.4g} mm across, {foot} {cup.foot_side_mm:.4g} mm, wall "
        f"{cup.wall_mm:.2g} mm, base {cup.base_mm:.2g} mm."
    )
    if planned.wish.fingers:
        said += f" The handle opens {planned['opening_fired_mm']:.4g} mm."
    return said
