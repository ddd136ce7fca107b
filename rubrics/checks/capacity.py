"""What the cup holds, beside what was planned."""

from __future__ import annotations

from rubrics.craft import capacity
from rubrics.craft.results import Capacity
from rubrics.reports.drawings.capacity import picture
from rubrics.reports.wording import expanded, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, said

NEAR_SHARE = 0.05
"""Within this share of the plan a cup holds what was planned (our proposal)."""


def say(facts: Facts) -> Saying:
    """Say a result of ``capacity``."""
    return Saying(what=_what(facts), why=_two_ways(facts), phrase=_phrase(facts))


def _ml(value: float) -> str:
    return quantity("_ml", value)


def _held(facts: Facts) -> tuple[float, float | None]:
    if facts.get("fired_ml") is not None:
        return facts["fired_ml"], facts.get("u_fired_ml")
    return facts["capacity_ml"], facts.get("u_capacity_ml")


def _what(facts: Facts) -> str:
    held, u = _held(facts)
    named = {"held": _ml(held), "doubt": _ml(expanded(u))}
    planned = facts.get("planned_ml")
    if facts["stage"] != "glazed" and facts.get("fired_ml") is not None:
        if planned is None:
            return said("When glazed, the cup should hold {held}, give or take {doubt}.", **named)
        return said(
            "When glazed, the cup should hold {held}, give or take {doubt}; "
            "the plan says {planned}.",
            planned=_ml(planned),
            **named,
        )
    if planned is None:
        return said("The cup holds {held} to the brim.", **named)
    return said(
        "The cup holds {held} to the brim; the plan says {planned}.", planned=_ml(planned), **named
    )


def _two_ways(facts: Facts) -> str:
    if facts.get("water_and_geometry_agree") is not False:
        return ""
    return said(
        "Water gives {water} and the sizes give {sizes}: one of them is worth measuring again.",
        water=_ml(facts["capacity_water_ml"]),
        sizes=_ml(facts["capacity_geometry_ml"]),
    )


def advise(facts: Facts, _judged: Facts | None) -> Advice:
    """A lower rim holds less, where there is height to spare; for more there is the next cup."""
    if (facts.get("difference_ml") or 0.0) > 0:
        return Advice(
            soft=said("Trim the rim a little: a lower cup holds less.") if _is_tall(facts) else "",
            next_time=said("Next time, cut the pattern a little shorter: the cup gets narrower."),
        )
    return Advice(
        next_time=said("Next time, cut the pattern a little longer: the cup gets wider."),
    )


def _is_tall(facts: Facts) -> bool:
    """Whether the cup is higher than its plan at this stage."""
    planned = facts.get("planned_height_mm")
    heights = [value for name, value, source in facts.get("sizes_mm") or () if name == "height"]
    return planned is not None and bool(heights) and heights[0] > planned


def praise(facts: Facts) -> str:
    """What was seen of a cup that holds what it should."""
    planned, off = facts.get("planned_ml"), facts.get("difference_fraction")
    if planned is None or off is None or abs(off) > NEAR_SHARE or facts["stage"] != "glazed":
        return ""
    held = _ml(_held(facts)[0])
    if held == _ml(planned):
        return said("It holds {held}, as planned.", held=held)
    return said(
        "It holds {held}, near the {planned} that were planned.",
        held=held,
        planned=_ml(planned),
    )


def _phrase(facts: Facts) -> str:
    held, _ = _held(facts)
    planned = facts.get("planned_ml")
    if planned is None:
        return said("holds {held}", held=_ml(held))
    return said("holds {held}, planned {planned}", held=_ml(held), planned=_ml(planned))


_SAID = {
    "within": marked("Up to {limit} off the plan is fine."),
    "too_close": marked(
        "That is {value} off the plan, give or take {doubt}; the limit is {limit}."
    ),
    "outside": marked("That is {value} off the plan; the limit is {limit}."),
}

CHECK = Check(
    name=Capacity.check,
    place=7,
    part="what it holds",
    title="What the cup holds",
    result=Capacity,
    compute=capacity.from_sheet,
    needs=capacity.QUANTITIES,
    also=capacity.ALSO,
    reads=("water_mass", "dimension", "wall_thickness"),
    figures=(
        Figure(
            name="difference_ml",
            reads=("water_mass",),
            axis="Capacity minus plan",
            label="Capacity: away from the plan",
            short="off plan",
            signed=True,
            is_planned=True,
            ease=2,
            **_SAID,
        ),
        Figure(
            name="difference_fraction",
            reads=("water_mass",),
            axis="Capacity minus plan",
            label="Capacity: share away from the plan",
            short="off plan",
            signed=True,
            is_planned=True,
            ease=2,
            **_SAID,
        ),
        Figure(name="capacity_ml", reads=("water_mass",), axis="Capacity"),
    ),
    principal="capacity_ml",
    picture=picture,
    say=say,
    advise=advise,
    praise=praise,
    settled_by="weigh the water to the brim on a scale that shows 1 g",
    touched_by=frozenset(
        {"seam crack", "base crack", "warp", "dunt", "bloat", "underfired", "overfired"}
    ),
)
