"""From a craft check's result to plain JSON: all that its drawing and its sentence need."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from typing import Any

from rubrics.craft.results import Refused, Result, Shrinkage

Facts = dict[str, Any]


def as_facts(
    result: Result,
    *,
    seam_azimuth_deg: float | None = None,
    other_stages: Iterable[Result] = (),
) -> Facts:
    """Flatten a result, so that it survives JSON unchanged and draws the same in a year.

    Parameters
    ----------
    result : a craft check's result, or Refused
    seam_azimuth_deg : float, optional
        Where the seam is, for a drawing of the wall or the rim to mark it. [°]
    other_stages : iterable of results, optional
        The same check at other stages: the ladder of shrinkage shows them all.

    Returns
    -------
    dict
        "check", "stage", and every field of the result under its own name. A refused check holds
        "check", "stage" and "refused", the sentence.
    """
    if isinstance(result, Refused):
        return {"check": result.check, "stage": result.stage, "refused": result.sentence}
    facts: Facts = {"check": result.check} | _plain(result)
    if facts.get("seam_azimuth_deg") is None:
        facts["seam_azimuth_deg"] = seam_azimuth_deg
    if isinstance(result, Shrinkage):
        rungs = {r.stage: r for r in other_stages if isinstance(r, Shrinkage)}
        rungs[result.stage] = result
        facts["rungs"] = [_rung(rung) for rung in rungs.values()]
    return facts


def _rung(result: Shrinkage) -> Facts:
    return {
        "stage": result.stage,
        "linear_shrinkage": result.linear_shrinkage,
        "u_linear_shrinkage": result.u_linear_shrinkage,
        "planned_shrinkage": result.planned_shrinkage,
    }


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    return value
