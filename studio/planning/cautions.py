"""What makes a plan impossible, and what makes it risky: sentences for the teacher."""

from __future__ import annotations

from collections.abc import Mapping

from .shape import Cup
from .steps import Step, n
from .wish import Wish

RISKY_SHARE = 0.5
"""A dart of more than half a quarter leaves steep folds that pop: our proposal."""

THICKEST_MM = 9.0
"""Thicker walls hold water and burst in the bisque (common practice, no source). [mm]"""

THINNEST_MM = 3.0
SMALLEST_GAP_MM = 2.0


def cautions(wish: Wish, cup: Cup, steps: Mapping[str, Step]) -> tuple[list[str], list[str]]:
    """Sentences why it cannot be made so, and why it may go wrong."""
    problems, doubts = _body(wish, cup), []
    if wish.dart_count:
        problems += _dart_problems(wish, cup, steps)
        quarter, width = steps["quarter_mm"].result, steps["dart_width_mm"].result
        if not problems and width > RISKY_SHARE * quarter:
            doubts.append(
                f"Each dart takes {n(width)} mm of the {n(quarter)} mm between two marks: such "
                "wide darts tend to pop. A wider foot or a narrower rim makes them smaller."
            )
    if wish.fingers:
        problems += _handle_problems(wish, cup, steps)
    if wish.slab_mm > THICKEST_MM:
        doubts.append(
            f"A slab of {n(wish.slab_mm)} mm dries slowly and may burst in the bisque; "
            f"under {n(THICKEST_MM)} mm is safer."
        )
    if wish.wall_mm < THINNEST_MM:
        doubts.append(
            f"A fired wall of {n(wish.wall_mm)} mm is thin for a cup that is carried; "
            f"plan {n(THINNEST_MM)} mm or more."
        )
    return problems, doubts


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
    if wish.dart_count and 2 * cup.corner_mm > cup.foot_side_mm:
        problems.append(
            f"Corners of {n(cup.corner_mm)} mm make a foot of {n(cup.foot_side_mm)} mm round. "
            "Plan sharper corners or a wider foot."
        )
    return problems


def _dart_problems(wish: Wish, cup: Cup, steps: Mapping[str, Step]) -> list[str]:
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
            f"{n(upright)} mm high above the base. Leave the depth empty for the whole wall."
        )
    return problems


def _handle_problems(wish: Wish, cup: Cup, steps: Mapping[str, Step]) -> list[str]:
    handle = steps["handle_height_mm"].result
    if handle <= cup.height_mm:
        return []
    return [
        f"A handle for {wish.fingers} finger{'s' if wish.fingers > 1 else ''} is {n(handle)} mm "
        f"high with its strap, and the cup only {n(cup.height_mm)} mm. "
        + ("Plan fewer fingers or a higher cup." if wish.fingers > 1 else "Plan a higher cup.")
    ]
