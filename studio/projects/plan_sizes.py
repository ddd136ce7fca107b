"""Planned sizes through the stages, for a page. Pure: numbers in, numbers out.

Linear shrinkage S is on the wet length, so a fired size F was F / (1 − S) when wet.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from studio.ware.quantities import DIMENSIONS
from studio.ware.shrinkage import length_ratio, wet_size
from studio.ware.stages import GLAZED, LEATHER_HARD

WHOLE_PERCENT = 100.0


def wet_mm(fired_mm: float, total_percent: float) -> float:
    """Size to make wet so that it comes out at ``fired_mm``. [mm]

    Check: 90 mm fired at 12 % is 102.27 mm wet; adding 12 % to 90 is the usual slip.
    """
    return wet_size(fired_mm, total_percent / WHOLE_PERCENT)


def at_stage_mm(fired_mm: float, percent: float, total_percent: float) -> float:
    """Size at a stage that has shrunk by ``percent``. [mm]"""
    return fired_mm * length_ratio(total_percent / WHOLE_PERCENT, percent / WHOLE_PERCENT)


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One planned size as a page shows it; None where the clay does not say."""

    label: str
    fired_mm: float
    wet_mm: float | None
    leather_hard_mm: float | None


def size_row(label: str, fired_mm: float, percents: Mapping[str, float]) -> SizeRow:
    """A planned size with the sizes to make; ``percents`` is shrinkage by stage [%]."""
    total, leather = percents.get(GLAZED), percents.get(LEATHER_HARD)
    if total is None:
        return SizeRow(label, fired_mm, None, None)
    return SizeRow(
        label,
        fired_mm,
        wet_mm(fired_mm, total),
        None if leather is None else at_stage_mm(fired_mm, leather, total),
    )


def rows_of(plan) -> list[SizeRow]:
    """The planned sizes of a plan on record, with what they are wet; two queries."""
    return _rows(
        plan.clay,
        ((s.get_name_display(), s.height_mm, s.fired_mm) for s in plan.sizes.all()),
    )


def rows_typed(clay, forms, following: Mapping[str, float]) -> list[SizeRow]:
    """The same of the valid forms of a plan that is being typed; one query.

    ``following`` holds, by name, the sizes [mm] that follow and so count in place of what is typed.
    """
    typed = {
        (each["name"], each.get("height_mm")): each["fired_mm"]
        for each in (getattr(form, "cleaned_data", {}) for form in forms)
        if each.get("name") and not each.get("DELETE")
    }
    typed |= {(name, None): size for name, size in following.items()}
    return _rows(clay, ((DIMENSIONS[name], at, size) for (name, at), size in typed.items()))


def _rows(clay, sizes) -> list[SizeRow]:
    percents = {each.stage: float(each.percent) for each in clay.shrinkages.all()} if clay else {}
    return [
        size_row(
            label if height_mm is None else f"Diameter at {height_mm:g} mm", fired_mm, percents
        )
        for label, height_mm, fired_mm in sizes
    ]
