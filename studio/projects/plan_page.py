"""A worked-out plan as its page shows it: figures in groups, in the section's unit."""

from __future__ import annotations

from dataclasses import dataclass

from studio.planning.formula_steps import DEG, GRAM, ML, FormulaStep
from studio.planning.pattern import no_pattern
from studio.planning.wish import NAMES
from studio.projects.plan_drawing import PlanDrawing, drawing
from studio.projects.plan_wishes import Worked
from studio.ware.units import MM_PER_INCH

GROUPS = (
    ("Fired", ("wall_mm", "capacity_ml", "line_ml", "line_below_mm")),
    ("How the wet sizes come about", ("wet_height_mm", "wet_rim_mm", "wet_foot_mm")),
    ("Clay", ("clay_out_g", "clay_in_piece_g")),
    (
        "Slab or wall, and pattern",
        (
            "slab_mm",
            "sheet_length_mm",
            "sheet_height_mm",
            "around_mm",
            "foot_around_mm",
            "lap_mm",
            "pattern_length_mm",
            "pattern_height_mm",
            "slant_mm",
            "outer_radius_mm",
            "inner_radius_mm",
            "ring_angle_deg",
        ),
    ),
    (
        "Darts",
        (
            "quarter_mm",
            "dart_width_mm",
            "dart_mouth_mm",
            "dart_depth_mm",
            "dart_seam_mm",
            "foot_hang_mm",
        ),
    ),
    ("Base", ("base_side_mm", "base_thickness_mm")),
    (
        "Handle",
        (
            "opening_fired_mm",
            "opening_mm",
            "opening_depth_mm",
            "handle_height_mm",
            "strap_length_mm",
            "strap_width_mm",
        ),
    ),
)


GRAMS_A_POUND = 453.59237
"""Exactly, by the international agreement of 1959 (NIST SP 811)."""


@dataclass(frozen=True, slots=True)
class PlanFigure:
    """One figure of the page with its formula."""

    name: str
    shown: str
    formula: str
    numbers: str


@dataclass(frozen=True, slots=True)
class Group:
    name: str
    figures: tuple[PlanFigure, ...]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """What the page shows of a plan, or the sentence why there is nothing to show."""

    groups: tuple[Group, ...] = ()
    drawing: PlanDrawing | None = None
    held: str = ""
    follows: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    refusal: str = ""
    has_pattern: bool = False
    no_pattern: str = ""


def shown(worked: Worked, unit: str = "mm") -> PlanPage:
    """Lay out a worked plan; lengths in inches carry their millimetres."""
    planned = worked.planned
    if planned is None:
        return PlanPage(refusal=worked.refusal)
    groups = []
    for name, keys in GROUPS:
        steps = [planned.steps[key] for key in keys if key in planned.steps]
        if steps:
            groups.append(Group(name, tuple(_figure(step, unit) for step in steps)))
    names = NAMES if planned.wish.is_slab else NAMES | {"slab_mm": "wet wall"}
    follows = tuple(
        f"{names[name]} {_value(getattr(planned.wish, name), _unit_of(name), unit)}"
        for name in planned.follows
        if getattr(planned.wish, name) is not None
    )
    return PlanPage(
        groups=tuple(groups),
        drawing=drawing(planned) if planned.is_possible else None,
        held=", ".join(names[name] for name in planned.held),
        follows=follows,
        problems=planned.problems,
        cautions=planned.cautions,
        has_pattern=planned.is_possible and planned.wish.is_slab,
        no_pattern="" if planned.wish.is_slab else no_pattern(planned.wish.building),
    )


def _unit_of(name: str) -> str:
    return ML if name.endswith("_ml") else "mm"


def _figure(step: FormulaStep, unit: str) -> PlanFigure:
    value = _value(step.result, step.unit, unit)
    return PlanFigure(
        step.name, value, step.formula, f"{step.numbers} = {step.result:.2f} {step.unit}"
    )


def _value(value: float, unit: str, wanted: str) -> str:
    if unit == ML:
        return f"{value:.0f} ml"
    if unit == DEG:
        return f"{value:.1f}°"
    if unit == GRAM:
        if wanted == "in":
            return f"{value / GRAMS_A_POUND:.1f} lb ({value:.0f} g)"
        return f"{value:.0f} g"
    if wanted == "in":
        return f"{value / float(MM_PER_INCH):.2f} in ({value:.1f} mm)"
    return f"{value:.1f} mm"
