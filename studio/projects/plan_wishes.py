"""From a project's plan, as kept or as typed, to what planning takes, and back to rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from studio.models import Clay, Plan, Stage
from studio.planning.solve import Planned, plan
from studio.planning.wish import SLAB, SQUARE, PlanError, Wish

WHOLE_PERCENT = 100.0
NO_CLAY = "Choose a clay first: without its shrinkage to glazed no wet size can be told."
SIZE_OF = {
    "height_mm": "height",
    "rim_diameter_mm": "rim_diameter",
    "foot_side_mm": "foot_side",
    "foot_diameter_mm": "foot_diameter",
    "base_mm": "base_thickness",
}
BUILT = (
    "building",
    "slab_mm",
    "dart_count",
    "dart_depth_mm",
    "has_whole_wall_darts",
    "bevel_deg",
    "seam_on_corner",
    "fingers",
    "finger_breadth_mm",
    "capacity_ml",
    "line_ml",
)
"""What of a plan's own fields goes into the wish under the same name."""
KEPT_PLACES = 1
"""A size that follows is kept to a tenth of a millimetre, finer than anybody cuts."""


@dataclass(frozen=True, slots=True)
class Worked:
    """A plan that was worked out, or the sentence why it was not."""

    planned: Planned | None
    refusal: str = ""


def total_shrinkage(clay: Clay | None) -> float | None:
    """Linear shrinkage of a clay from wet to glazed, as a fraction; one query."""
    if clay is None:
        return None
    stages = {each.stage: each.percent for each in clay.shrinkages.all()}
    percent = stages.get(Stage.GLAZED)
    return None if percent is None else float(percent) / WHOLE_PERCENT


def of_plan(row: Plan) -> Worked:
    """Work out a plan as it is kept; three queries."""
    sizes = [(size.name, size.height_mm, size.fired_mm) for size in row.sizes.all()]
    return _work(row.clay, sizes, {name: getattr(row, name) for name in BUILT}, {})


def of_forms(form, sizes) -> Worked:
    """Work out a plan as its two valid forms have it."""
    data = form.cleaned_data
    typed = []
    for each in sizes.forms:
        size = getattr(each, "cleaned_data", {})
        if size.get("name") and not size.get("DELETE"):
            typed.append((size["name"], size.get("height_mm"), size["fired_mm"]))
    built = {name: data[name] for name in BUILT if name in data}
    return _work(data["clay"], typed, built | {"seam_on_corner": data["seam"] != "side"}, data)


def wants_solving(form) -> bool:
    """Whether something of a valid form is to follow and be kept."""
    data = form.cleaned_data
    return bool(
        data["follows"] or data["wall_mm"] or data["dart_width_mm"] or data["line_below_mm"]
    )


def _work(
    clay: Clay | None,
    sizes: Iterable[tuple[str, float | None, float]],
    built: dict,
    typed: Mapping,
) -> Worked:
    shrinkage = total_shrinkage(clay)
    if shrinkage is None:
        return Worked(None, NO_CLAY)
    whole = {name: size for name, at, size in sizes if at is None}
    wish = {
        **built,
        **{name: whole.get(size) for name, size in SIZE_OF.items()},
        "diameters_mm": tuple(sorted((at, size) for _, at, size in sizes if at)),
    }
    if typed.get("wall_mm"):
        wish |= {"wall_mm": typed["wall_mm"], "slab_mm": None}
    if typed.get("dart_width_mm") and wish["building"] == SLAB and wish["dart_count"] == SQUARE:
        wish |= {"dart_width_mm": typed["dart_width_mm"], "foot_side_mm": None}
    if typed.get("line_below_mm"):
        wish |= {"line_below_rim_mm": typed["line_below_mm"], "line_ml": None}
    if typed.get("follows"):
        wish[typed["follows"]] = None
    try:
        return Worked(plan(Wish(shrinkage=shrinkage, **wish)))
    except PlanError as error:
        return Worked(None, str(error))


def sizes_that_follow(form, planned: Planned) -> dict[str, float]:
    """Fired sizes to keep because they follow, by the name of a planned size."""
    solved = {form.cleaned_data["follows"]} & set(SIZE_OF)
    if form.cleaned_data["dart_width_mm"] and planned.wish.is_squared:
        solved.add("foot_side_mm")
    return {SIZE_OF[name]: round(getattr(planned.wish, name), KEPT_PLACES) for name in solved}


def fields_that_follow(form, planned: Planned) -> dict[str, float]:
    """What follows of the plan itself, by field."""
    data, found = form.cleaned_data, {}
    if data["follows"] == "capacity_ml":
        found["capacity_ml"] = round(planned["capacity_ml"])
    if data["wall_mm"]:
        found["slab_mm"] = planned["slab_mm"]
    if data["line_below_mm"] and "line_ml" in planned.steps:
        found["line_ml"] = round(planned["line_ml"])
    return found
