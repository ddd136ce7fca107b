"""From a craft check's result to plain JSON: all that its drawing and its sentence need."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from typing import Any

from rubrics.craft.results import Refused, Result
from studio.ware.condition import FIRED

Facts = dict[str, Any]


def as_facts(
    result: Result,
    *,
    seam_azimuth_deg: float | None = None,
    clay: str = FIRED,
    planned_height_mm: float | None = None,
    rim_meant: str = "",
    rungs: Iterable[Facts] = (),
) -> Facts:
    """Flatten a result, so that it survives JSON unchanged and draws the same in a year.

    Parameters
    ----------
    result : a craft check's result, or Refused
    seam_azimuth_deg : float, optional
        Where the seam is, for a drawing of the wall or the rim to mark it. [°]
    clay : str, optional
        What can be done to the piece now, one of ``studio.ware.condition.CONDITIONS``.
    planned_height_mm : float, optional
        Planned height of the piece at the result's stage: what a rim may be cut down to. [mm]
    rim_meant : str, optional
        "drawn" for a rim that is meant to be drawn out to a lip or to wander.
    rungs : iterable of dict, optional
        What each stage tells, of a check that looks across the stages.

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
    facts |= {"clay": clay, "planned_height_mm": planned_height_mm, "rim_meant": rim_meant}
    if rungs := list(rungs):
        facts["rungs"] = rungs
    return facts


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    return value
