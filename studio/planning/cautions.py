"""What makes a plan impossible, and what makes it risky: sentences for the teacher."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from .formula_steps import FormulaStep, n
from .making import dart_depth_wet, wall_panel
from .shape import Cup
from .wish import Wish

RISKY_SHARE = 0.5
"""A dart of more than half a quarter leaves steep folds that pop: our proposal."""

THICKEST_MM = 9.0
"""Thicker walls hold water and burst in the bisque (common practice, no source). [mm]"""

THINNEST_MM = 3.0
SMALLEST_GAP_MM = 2.0

SAME_SLAB_MM = 0.06
"""A base thicker than its slab by less is the same slab: fired sizes are typed to a tenth, and half
of one is this much wet. [mm]"""

HANGING_MM = 8.0
"""A foot's edge that hangs lower than this asks the clay to stretch: our proposal. [mm]"""

STEEP_DEG = 35.0
"""A wall that leans in or out by more sags while it is soft: our proposal. [°]"""

SLENDER = 2.5
"""Higher than so many feet side by side, a piece tips at a touch: our proposal."""

SPREAD = 3.0
"""A rim wider than so many heights sags before it stiffens: our proposal."""

HEAVY_G = 1500.0
"""More clay than this is much for a student's hands and for a handle: our proposal. [g]"""


def cautions(wish: Wish, cup: Cup, steps: Mapping[str, FormulaStep]) -> tuple[list[str], list[str]]:
    """Sentences why it cannot be made so, and why it may go wrong."""
    problems, doubts = _body(wish, cup), []
    if wish.is_squared:
        problems += _dart_problems(wish, cup, steps)
        quarter, width = steps["quarter_mm"].result, steps["dart_width_mm"].result
        if not problems and width > RISKY_SHARE * quarter:
            doubts.append(
                f"Each dart takes {n(width)} mm of the {n(quarter)} mm between two marks: such "
                "wide darts tend to pop. A wider foot or a narrower rim makes them smaller."
            )
    if wish.fingers:
        problems += _handle_problems(wish, cup, steps)
    doubts += _thickness(wish)
    if not problems:
        doubts += _form(wish, cup, steps)
    return problems, doubts


def _thickness(wish: Wish) -> list[str]:
    """Walls and bases that dry, fire or carry badly, and a base that its slab does not give."""
    doubts = []
    what = "slab" if wish.is_slab else "wall"
    if wish.slab_mm > THICKEST_MM:
        doubts.append(
            f"A {what} of {n(wish.slab_mm)} mm dries slowly and may burst in the bisque; "
            f"under {n(THICKEST_MM)} mm is safer."
        )
    if wish.wall_mm < THINNEST_MM:
        doubts.append(
            f"A fired wall of {n(wish.wall_mm)} mm is thin for a cup that is carried; "
            f"plan {n(THINNEST_MM)} mm or more."
        )
    base = wish.base_mm / (1 - wish.shrinkage)
    if base > THICKEST_MM:
        doubts.append(
            f"A base of {n(base)} mm wet dries long after the wall: it cracks like an S, or bursts "
            f"in the bisque. Under {n(THICKEST_MM)} mm is safer; no thicker than the wall is best."
        )
    if wish.is_slab and base > wish.slab_mm + SAME_SLAB_MM:
        doubts.append(
            f"The base is {n(base)} mm thick wet and the slab {n(wish.slab_mm)} mm: roll a second, "
            f"thicker slab for it, or plan a base of {n(wish.wall_mm)} mm fired."
        )
    if wish.base_mm < THINNEST_MM:
        doubts.append(
            f"A fired base of {n(wish.base_mm)} mm is thin for a piece that is set down; "
            f"plan {n(THINNEST_MM)} mm or more."
        )
    return doubts


def _form(wish: Wish, cup: Cup, steps: Mapping[str, FormulaStep]) -> list[str]:
    """Forms that can be built and yet go wrong easily."""
    doubts = []
    if wish.is_squared and steps["foot_hang_mm"].result > HANGING_MM:
        doubts.append(
            f"The foot's edge hangs {n(steps['foot_hang_mm'].result)} mm lower in the middle of a "
            "side than at the darts. Cut it as drawn and true it after closing; higher darts, or "
            "a foot nearer the rim in width, make it straighter."
        )
    lean = _steepest_deg(cup)
    if lean > STEEP_DEG:
        doubts.append(
            f"The wall leans by {lean:.0f}° from upright: soft clay sags there. Let it stiffen in "
            "a support, or plan foot and rim nearer each other in width."
        )
    if cup.height_mm > SLENDER * cup.foot_side_mm:
        doubts.append(
            f"A piece of {n(cup.height_mm)} mm on a foot of {n(cup.foot_side_mm)} mm tips easily. "
            "Plan a wider foot or a lower piece."
        )
    if cup.rim_diameter_mm > SPREAD * cup.height_mm:
        doubts.append(
            f"A rim of {n(cup.rim_diameter_mm)} mm on a height of {n(cup.height_mm)} mm is a dish: "
            "its wall sags while it is soft. Build it over a hump or in a slump mould."
        )
    clay = steps["clay_in_piece_g"].result
    if clay > HEAVY_G:
        doubts.append(
            f"The piece takes {clay:.0f} g of clay: heavy to hold, slow to dry. A thinner wall or "
            "a smaller piece is lighter."
        )
    return doubts


def _steepest_deg(cup: Cup) -> float:
    """The steepest lean of the wall from upright, in the middle of a side. [°]"""
    points = [
        (cup.lift_mm, cup.foot_side_mm),
        *cup.rings,
        (cup.height_mm, cup.rim_diameter_mm),
    ]
    return max(
        math.degrees(math.atan2(abs(wide - narrow) / 2, top - low))
        for (low, narrow), (top, wide) in pairwise(points)
    )


def _body(wish: Wish, cup: Cup) -> list[str]:
    problems = []
    if cup.base_mm >= cup.height_mm:
        problems.append(
            f"The base of {n(cup.base_mm)} mm is as thick as the cup is high. Plan a thinner base "
            "or a higher cup."
        )
    across = min(cup.rim_diameter_mm, cup.foot_side_mm)
    if across - 2 * wish.wall_mm < SMALLEST_GAP_MM:
        problems.append(
            f"Walls of {n(wish.wall_mm)} mm leave no room inside {n(across)} mm. Plan a wider cup "
            "or a thinner slab."
        )
    if wish.is_squared and 2 * cup.corner_mm > cup.foot_side_mm:
        problems.append(
            f"Corners of {n(cup.corner_mm)} mm make a foot of {n(cup.foot_side_mm)} mm round. "
            "Plan sharper corners or a wider foot."
        )
    return problems


def _dart_problems(wish: Wish, cup: Cup, steps: Mapping[str, FormulaStep]) -> list[str]:
    quarter, width = steps["quarter_mm"].result, steps["dart_width_mm"].result
    upright = cup.height_mm - cup.base_mm
    problems = []
    if width >= quarter:
        problems.append(
            f"Each dart would be {n(width)} mm wide and there are only {n(quarter)} mm from mark "
            "to mark: nothing of the foot would be left. Plan a wider foot or a narrower rim."
        )
    if width <= 0:
        problems.append(
            f"A foot of {n(cup.foot_side_mm)} mm is wider around than the rim; darts only take "
            "in. Plan a narrower foot, a wider rim, or no darts."
        )
    if wish.dart_depth_mm is not None and wish.dart_depth_mm > upright:
        problems.append(
            f"Darts {n(wish.dart_depth_mm)} mm deep would cut through the rim: the wall is "
            f"{n(upright)} mm high above the base. Leave the depth empty for a third of the height."
        )
    if not problems and wall_panel(wish, cup).is_flat:
        problems.append(
            f"Darts {n(dart_depth_wet(wish, cup))} mm high cannot take in {n(width)} mm each: "
            "the wall would have to lie flat. Plan deeper darts, or a foot nearer the rim in width."
        )
    return problems


def _handle_problems(wish: Wish, cup: Cup, steps: Mapping[str, FormulaStep]) -> list[str]:
    handle = steps["handle_height_mm"].result
    if handle <= cup.height_mm:
        return []
    return [
        f"A handle for {wish.fingers} finger{'s' if wish.fingers > 1 else ''} is {n(handle)} mm "
        f"high with its strap, and the cup only {n(cup.height_mm)} mm. "
        + ("Plan fewer fingers or a higher cup." if wish.fingers > 1 else "Plan a higher cup.")
    ]
