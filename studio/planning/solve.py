"""From a wish to a plan: what follows from what is held, and everything to cut."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from .cautions import cautions
from .formula_steps import ML, FormulaStep, n
from .making import making_steps
from .shape import (
    LARGEST_MM,
    Cup,
    bisect,
    foot_perimeter,
    foot_side,
    wall_circumference,
)
from .wish import DART_SHARE, NAMES, PlanError, Wish

LEAST_INSIDE_MM = 2.0
"""Less room than this between two walls is no room. [mm]"""

AGREE_SHARE = 0.05
"""A stated capacity within this share of that of the sizes agrees with them: the model of a
hand-built cup is no better (our proposal)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan that has been worked out.

    ``wish`` is the wish with nothing left empty; ``held`` and ``follows`` say which quantities
    were held and which solved. ``steps`` holds every figure by key with its formula. ``problems``
    are sentences why it cannot be made so, ``cautions`` why it may go wrong.
    """

    wish: Wish
    cup: Cup
    held: tuple[str, ...]
    follows: tuple[str, ...]
    steps: dict[str, FormulaStep]
    problems: tuple[str, ...]
    cautions: tuple[str, ...]

    def __getitem__(self, key: str) -> float:
        return self.steps[key].result

    @property
    def is_possible(self) -> bool:
        return not self.problems


def plan(wish: Wish) -> Planned:
    """Work out a plan.

    Parameters
    ----------
    wish : Wish
        What is held; None follows.

    Returns
    -------
    Planned

    Raises
    ------
    PlanError
        Too much is left empty, too much is held at once, or nothing fits what is held.
    """
    unasked = {"foot_diameter_mm"} if wish.is_squared else {"dart_width_mm", "foot_side_mm"}
    held = tuple(name for name in NAMES if getattr(wish, name) is not None and name not in unasked)
    full = _thickness(wish)
    stated = full.capacity_ml
    full, is_stated = _loft(full)
    cup = _cup(full)
    capacity = cup.capacity()
    # A foot diameter never follows: left empty, the foot is as wide as the rim.
    follows = tuple(name for name in NAMES if name not in {*held, *unasked, "foot_diameter_mm"})
    # Where nothing fits inside there is a problem to tell, and no capacity.
    full = replace(full, capacity_ml=capacity if capacity > 0 else None)
    steps = {step.key: step for step in making_steps(full, cup)}
    problems, doubts = cautions(full, cup, steps)
    if is_stated and abs(stated - capacity) > AGREE_SHARE * stated:
        doubts.append(
            f"By these sizes it holds {capacity:.0f} ml to the brim, and {stated:.0f} ml are "
            "planned. Let one of them follow."
        )
    if not wish.is_squared and wish.foot_side_mm is not None:
        doubts.append(
            f"A foot side of {n(wish.foot_side_mm)} mm belongs to a square, and this foot is "
            f"round: it comes out {n(cup.foot_side_mm)} mm across. Plan a foot diameter, or slabs "
            "with four darts."
        )
    line = _line(full, cup, problems)
    if line:
        steps |= {step.key: step for step in line}
    return Planned(
        wish=full,
        cup=cup,
        held=held,
        follows=follows,
        steps=steps,
        problems=tuple(problems),
        cautions=tuple(doubts),
    )


def _thickness(wish: Wish) -> Wish:
    grown = 1 - wish.shrinkage
    if (wish.wall_mm is None) == (wish.slab_mm is None):
        if wish.wall_mm is None:
            raise PlanError("Hold the wall or the slab; the other follows from it.")
        raise PlanError("Wall and slab are both held. Leave one empty: it follows.")
    if wish.slab_mm is None:
        wish = replace(wish, slab_mm=wish.wall_mm / grown)
    else:
        wish = replace(wish, wall_mm=wish.slab_mm * grown)
    return wish if wish.base_mm is not None else replace(wish, base_mm=wish.wall_mm)


def _loft(wish: Wish) -> tuple[Wish, bool]:
    """Fill in height, rim, foot side and dart width; say whether a capacity was merely stated."""
    wall, corner, darts = wish.wall_mm, wish.foot_corner_radius_mm, wish.dart_count
    if not wish.is_squared:
        return _round(wish)
    taken = None
    if wish.dart_width_mm is not None:
        taken = darts * wish.dart_width_mm * (1 - wish.shrinkage)
        if wish.foot_side_mm is not None and wish.rim_diameter_mm is not None:
            raise PlanError("Foot side and dart width are both held. Leave one empty: it follows.")
        if wish.foot_side_mm is not None:
            rim = (foot_perimeter(wish.foot_side_mm, wall, corner) + taken) / math.pi + wall
            wish = replace(wish, rim_diameter_mm=rim)
        elif wish.rim_diameter_mm is not None:
            wish = replace(wish, foot_side_mm=_foot_under(wish, wish.rim_diameter_mm, taken))
    empty = wish.empty()
    if taken is not None and set(empty) == {"rim_diameter_mm", "foot_side_mm"}:
        empty = ["rim_diameter_mm"]

    def with_size(name: str, size: float) -> Wish:
        sized = replace(wish, **{name: size})
        if taken is not None and sized.foot_side_mm is None:
            sized = replace(sized, foot_side_mm=_foot_under(sized, size, taken))
        return sized

    smallest = {
        "height_mm": wish.base_mm + LEAST_INSIDE_MM,
        "rim_diameter_mm": _narrowest_rim(wish, taken),
        "foot_side_mm": 2 * wall + LEAST_INSIDE_MM,
    }
    wish = _fill_in(wish, empty, smallest, with_size)
    if wish.dart_width_mm is None:
        left = wall_circumference(wish.rim_diameter_mm, wall) - foot_perimeter(
            wish.foot_side_mm, wall, corner
        )
        # Below zero is told by cautions(): the wish stays what it was.
        wish = (
            replace(wish, dart_width_mm=left / darts / (1 - wish.shrinkage)) if left > 0 else wish
        )
    return wish, not empty


def _foot_under(wish: Wish, rim_mm: float, taken_mm: float) -> float:
    left = wall_circumference(rim_mm, wish.wall_mm) - taken_mm
    if left <= 0:
        quarter = wall_circumference(rim_mm, wish.wall_mm) / wish.dart_count
        raise PlanError(
            f"Darts of {n(wish.dart_width_mm)} mm are wider than the "
            f"{n(quarter / (1 - wish.shrinkage))} mm from mark to mark: nothing of the foot would "
            "be left. Make them narrower."
        )
    return foot_side(left, wish.wall_mm, wish.foot_corner_radius_mm)


def _narrowest_rim(wish: Wish, taken_mm: float | None) -> float:
    by_wall = 2 * wish.wall_mm + LEAST_INSIDE_MM
    if taken_mm is None:
        return by_wall
    return max(by_wall, taken_mm / math.pi + wish.wall_mm + 2 * LEAST_INSIDE_MM)


def _round(wish: Wish) -> tuple[Wish, bool]:
    """A round foot has its own diameter, or the rim's; there is no dart to solve for."""
    wish = replace(wish, dart_width_mm=None, foot_side_mm=None)
    empty = wish.empty(("height_mm", "rim_diameter_mm", "capacity_ml"))
    smallest = {
        "height_mm": wish.base_mm + LEAST_INSIDE_MM,
        "rim_diameter_mm": 2 * wish.wall_mm + LEAST_INSIDE_MM,
    }
    wish = _fill_in(wish, empty, smallest, lambda name, size: replace(wish, **{name: size}))
    return wish, not empty


def _fill_in(
    wish: Wish,
    empty: Sequence[str],
    smallest: Mapping[str, float],
    with_size: Callable[[str, float], Wish],
) -> Wish:
    """Solve the one size that is left empty from the capacity that is held.

    ``smallest`` says where the search for it begins [mm]; ``with_size`` puts a trial in.
    """
    if len(empty) > 1:
        names = " and ".join(NAMES[name] for name in empty)
        raise PlanError(f"Nothing tells {names}. Hold all but one of them.")
    if not empty or empty[0] == "capacity_ml":
        return wish
    (name,) = empty
    size = bisect(
        lambda size: _cup(with_size(name, size)).capacity(),
        wish.capacity_ml,
        smallest[name],
        LARGEST_MM,
        NAMES[name],
    )
    return with_size(name, size)


def _cup(wish: Wish) -> Cup:
    """The fired cup."""
    if not wish.is_squared:
        foot = wish.foot_diameter_mm or wish.rim_diameter_mm
        return Cup(
            height_mm=wish.height_mm,
            rim_diameter_mm=wish.rim_diameter_mm,
            foot_side_mm=foot,
            wall_mm=wish.wall_mm,
            base_mm=wish.base_mm,
            corner_mm=foot / 2,
            # A slab is rolled into a straight wall, whatever else was planned on the way up.
            diameters_mm=() if wish.is_slab else wish.diameters_mm,
            has_wall_on_base=wish.is_slab,
        )
    shoulder = None
    if not wish.has_whole_wall_darts or wish.dart_depth_mm is not None:
        depth = wish.dart_depth_mm or wish.height_mm * DART_SHARE
        shoulder = wish.base_mm + depth
    return Cup(
        height_mm=wish.height_mm,
        rim_diameter_mm=wish.rim_diameter_mm,
        foot_side_mm=wish.foot_side_mm,
        wall_mm=wish.wall_mm,
        base_mm=wish.base_mm,
        corner_mm=wish.foot_corner_radius_mm,
        shoulder_mm=shoulder,
    )


def _line(wish: Wish, cup: Cup, problems: list[str]) -> list[FormulaStep]:
    """The line that is filled to, by its place or by what it is to hold."""
    if problems and cup.capacity() <= 0:
        return []
    if wish.line_below_rim_mm is not None:
        level = cup.height_mm - wish.line_below_rim_mm
        if level <= cup.base_mm:
            problems.append(
                f"A line {n(wish.line_below_rim_mm)} mm below the rim lies under the inside of "
                "the base. Plan it higher."
            )
            return []
        return [
            FormulaStep(
                "line_ml",
                "Capacity to the line",
                "the same, up to height − distance below the rim",
                f"filled to {n(level)} mm over the table",
                cup.capacity(level),
                ML,
            )
        ]
    if wish.line_ml is None:
        return []
    if wish.line_ml > cup.capacity():
        problems.append(
            f"The line holds {wish.line_ml:.0f} ml and the cup only {cup.capacity():.0f} ml to "
            "the brim. Plan a lower line or a larger cup."
        )
        return []
    level = cup.level_of(wish.line_ml)
    return [
        FormulaStep(
            "line_below_mm",
            "Line below the rim, fired",
            "height − the height to which that much fills it",
            f"{n(cup.height_mm)} − {n(level)}",
            cup.height_mm - level,
        )
    ]
