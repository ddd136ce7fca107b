"""Seam join: how much of the seam and of the darts is open, and how well the lips meet.

Whether the seam is shown or hidden is the student's plan and is not judged here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.ware.stages import GLAZED, NEAREST_STAGES
from studio.ware.uncertainty import COVERAGE_FACTOR

from .inputs import TooFewError, is_size, not_negative_numbers, positive_numbers
from .inputs import uncertainties as checked_uncertainties
from .levels import Limit
from .plan import HIDDEN, Plan
from .readings import Reading, ReadingsError
from .results import OUTSIDE, Join, SeamJoin
from .sheet import PLANNED, PLANNED_SIZE_U, READ, SCALED, Sheet, Size
from .verdict import judge

QUANTITIES = ("seam_length", "seam_open", "seam_through", "seam_step", "seam_thickness")
OPENINGS = ("seam_length", "seam_open", "seam_through")
THICKNESS = "seam_thickness"
SEAM, BESIDE = "seam", "beside"

HIDDEN_STEP_MM = 0.5
"""Up to this step the lips meet, and a seam meant to be hidden is (common practice). [mm]"""


@dataclass(slots=True, kw_only=True)
class JoinReadings:
    """What was read along one seam or dart.

    ``open_parts_mm`` and ``through_parts_mm`` hold (start along the join from the foot or None,
    length) [mm]; ``steps_mm`` holds (where or None, step) [mm]. An open part of length 0 says
    that somebody looked and found none. ``looked`` is whether anybody looked for open parts.
    """

    name: str = "seam"
    length_mm: float | None = None
    u_length_mm: float = 0.0
    length_source: str = "given"
    open_parts_mm: Sequence[tuple[float | None, float]] = ()
    through_parts_mm: Sequence[tuple[float | None, float]] = ()
    u_open_mm: float = 0.0
    steps_mm: Sequence[tuple[float | None, float]] = ()
    u_step_mm: float = 0.0
    looked: bool = True


def merge_parts(parts: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Merge (from, to) parts that overlap or touch, in order along the join. [mm]"""
    if len(parts) < 2:
        return tuple(parts)
    merged: list[tuple[float, float]] = []
    for start, end in sorted(parts):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return tuple(merged)


def seam_join(
    joins: Sequence[JoinReadings],
    *,
    seam_thickness_mm: Sequence[float] = (),
    beside_thickness_mm: Sequence[float] = (),
    u_thickness_mm: float = 0.0,
    intended: str = "",
    stage: str = "",
    limits: Mapping[str, Limit] | None = None,
) -> SeamJoin:
    """Tell how well a seam and its darts are closed.

    Parameters
    ----------
    joins : sequence of JoinReadings
        The seam and the darts.
    seam_thickness_mm, beside_thickness_mm : sequence of float
        Thickness on the joins and beside them. [mm]
    u_thickness_mm : float
        Standard uncertainty of one thickness. [mm]
    intended : str
        What the student means the seam to be: "shown", "hidden" or "". It is told and no level
        follows from it.
    stage : str
        Carried into the result.
    limits : mapping, optional
        Limits by "seam_join.figure". A crack that goes through is outside whatever they say.

    Raises
    ------
    ReadingsError
        A value not finite or negative, or an open part longer than its join.
    """
    told = tuple(_join(each) for each in joins)
    figures = {
        **_open_figures(joins, told),
        **_step_figures(joins),
        **_thickness_figures(seam_thickness_mm, beside_thickness_mm, u_thickness_mm),
    }
    verdict, judged = judge(SeamJoin, figures, limits)
    through = bool(figures.get("through_mm"))
    lengths = [join.length_mm for join in told]
    return SeamJoin(
        stage=stage,
        verdict=OUTSIDE if through else verdict,
        judged=judged,
        through=through,
        joins=told,
        length_mm=None if None in lengths or not lengths else math.fsum(lengths),
        worst_join=_worst(told),
        intended=intended,
        as_intended=_as_intended(intended, told),
        **figures,
    )


def _as_intended(intended: str, joins: Sequence[Join]) -> bool | None:
    """Whether a seam meant to be hidden is: closed, and the lips meet. None where nobody can tell.

    One that is meant to be shown cannot miss; how it is shown is for the eye.
    """
    seam = next((join for join in joins if join.name == "seam"), None)
    if intended != HIDDEN or seam is None or seam.largest_step_mm is None:
        return None
    return seam.open_mm == 0 and seam.largest_step_mm <= HIDDEN_STEP_MM


def _join(readings: JoinReadings) -> Join:
    """Merge the parts of one join and refuse those that cannot be."""
    name, length = readings.name, readings.length_mm
    if length is not None and not is_size(length):
        positive_numbers((length,), f"A length of the {name}")
    source = "" if length is None else readings.length_source
    if not (readings.open_parts_mm or readings.through_parts_mm or readings.steps_mm):
        return Join(name, length, source, (), (), (), (), 0.0, 0.0, 0.0, None)
    if readings.steps_mm:
        not_negative_numbers([step for _, step in readings.steps_mm], f"A step at the {name}")
    through, lone_through = _placed(readings.through_parts_mm, name)
    opened, lone_open = _placed(readings.open_parts_mm, name)
    # A crack that goes through is open as well, whether or not it was read as both.
    parts = merge_parts((*opened, *through))
    lone = (*lone_open, *lone_through)
    _refuse_beyond_the_end(readings, parts, lone)
    return Join(
        name=name,
        length_mm=length,
        length_source=source,
        open_parts_mm=parts,
        unplaced_open_mm=lone,
        through_parts_mm=through,
        steps_mm=tuple(readings.steps_mm),
        open_mm=math.fsum(_lengths(parts, lone)),
        longest_open_mm=max(_lengths(parts, lone), default=0.0),
        longest_through_mm=max(_lengths(through, lone_through), default=0.0),
        largest_step_mm=max([step for _, step in readings.steps_mm], default=None),
    )


_Parts = tuple[tuple[float, float], ...]


def _placed(
    parts: Sequence[tuple[float | None, float]], name: str
) -> tuple[_Parts, tuple[float, ...]]:
    """Return the merged parts as (from, to), and the lengths of those placed nowhere."""
    if not parts:
        return (), ()
    not_negative_numbers([length for _, length in parts], f"An open part of the {name}")
    starts = [start for start, _ in parts if start is not None]
    not_negative_numbers(starts, f"A start of an open part of the {name}")
    # A length of 0 says that somebody looked and found nothing.
    found = [(start, length) for start, length in parts if length > 0]
    placed = merge_parts([(s, s + length) for s, length in found if s is not None])
    return placed, tuple(length for s, length in found if s is None)


def _lengths(parts: _Parts, lone: Sequence[float]) -> list[float]:
    return [*(end - start for start, end in parts), *lone] if parts else list(lone)


def _refuse_beyond_the_end(readings: JoinReadings, parts: _Parts, lone: Sequence[float]) -> None:
    """Refuse open parts that pass the end of the join by more than the readings' uncertainty."""
    if readings.length_mm is None or not (parts or lone):
        return
    reach = max(math.fsum(_lengths(parts, lone)), parts[-1][1] if parts else 0.0)
    slack = COVERAGE_FACTOR * math.hypot(readings.u_length_mm, readings.u_open_mm)
    if reach > readings.length_mm + slack:
        raise ReadingsError(
            f"{readings.name.capitalize()}: the open parts reach {reach:.4g} mm but the join is "
            f"{readings.length_mm:.4g} mm long; read its length and the open parts again."
        )


def _open_figures(joins: Sequence[JoinReadings], told: Sequence[Join]) -> dict[str, object]:
    """Figures of the open parts over all joins that somebody looked at."""
    looked = [(r, j) for r, j in zip(joins, told, strict=True) if r.looked]
    if not looked:
        return {}
    opened = math.fsum([j.open_mm for _, j in looked])
    variance = math.fsum([_pieces(j) * r.u_open_mm**2 for r, j in looked if j.open_mm])
    u_opened = math.sqrt(variance)
    longest_r, longest = max(looked, key=_longest_open)
    through_r, through = max(looked, key=_longest_through)
    figures = {
        "open_mm": opened,
        "u_open_mm": u_opened,
        "longest_open_mm": longest.longest_open_mm,
        "u_longest_open_mm": longest_r.u_open_mm if longest.longest_open_mm else 0.0,
        "through_mm": through.longest_through_mm,
        "u_through_mm": through_r.u_open_mm if through.longest_through_mm else 0.0,
    }
    lengths = [j.length_mm for _, j in looked]
    if None not in lengths:
        length = math.fsum(lengths)
        u_length = math.hypot(*[r.u_length_mm for r, _ in looked])
        # An open part may pass the length by the reading's own uncertainty, no fraction passes 1.
        figures["open_fraction"] = min(opened / length, 1.0)
        figures["u_open_fraction"] = math.hypot(u_opened, opened / length * u_length) / length
    return figures


def _longest_open(looked: tuple[JoinReadings, Join]) -> float:
    return looked[1].longest_open_mm


def _longest_through(looked: tuple[JoinReadings, Join]) -> float:
    return looked[1].longest_through_mm


def _pieces(join: Join) -> int:
    return len(join.open_parts_mm) + len(join.unplaced_open_mm)


def _step_figures(joins: Sequence[JoinReadings]) -> dict[str, object]:
    steps = [(abs(step), r.u_step_mm) for r in joins for _, step in r.steps_mm]
    if not steps:
        return {}
    largest, u_largest = max(steps)
    n = len(steps)
    return {
        "largest_step_mm": largest,
        "u_largest_step_mm": u_largest,
        "mean_step_mm": math.fsum(step for step, _ in steps) / n,
        "u_mean_step_mm": math.hypot(*(u for _, u in steps)) / n,
    }


def _thickness_figures(
    seam_mm: Sequence[float], beside_mm: Sequence[float], u: float
) -> dict[str, object]:
    """Mean thickness on the joins and beside them, and their ratio."""
    figures: dict[str, object] = {}
    checked_uncertainties(u, 1)
    for name, values in (("seam", seam_mm), ("beside", beside_mm)):
        if len(values):
            known = positive_numbers(values, f"A thickness {_PLACE[name]} the seam")
            figures[f"{name}_mm"] = math.fsum(known) / len(known)
            figures[f"u_{name}_mm"] = u / math.sqrt(len(known))
    if len(figures) == 4:  # both means and both uncertainties
        ratio = figures["seam_mm"] / figures["beside_mm"]
        figures["seam_to_beside"] = ratio
        figures["u_seam_to_beside"] = ratio * math.hypot(
            figures["u_seam_mm"] / figures["seam_mm"], figures["u_beside_mm"] / figures["beside_mm"]
        )
    return figures


_PLACE = {"seam": "on", "beside": "beside"}


def _worst(joins: Sequence[Join]) -> str | None:
    """The join to look at first: longest open part, else largest step; None if all are clean."""
    if not joins:
        return None
    worst = max(joins, key=_badness)
    return worst.name if worst.longest_open_mm or worst.largest_step_mm else None


def _badness(join: Join) -> tuple[float, float, float]:
    return join.longest_through_mm, join.longest_open_mm, join.largest_step_mm or 0.0


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> SeamJoin:
    """Seam join of the readings of one piece at a stage."""
    by_name: dict[str, dict[str, list[Reading]]] = {}
    for quantity in QUANTITIES:
        for reading in sheet.at(stage, quantity):
            name = reading.name or SEAM
            of = by_name.get(name)
            if of is None:
                of = by_name[name] = {}
            if quantity in of:
                of[quantity].append(reading)
            else:
                of[quantity] = [reading]
    beside = by_name.pop(BESIDE, {}).get(THICKNESS, [])
    on = [r for of in by_name.values() if THICKNESS in of for r in of[THICKNESS]]
    joins = [
        _readings_of(name, of, sheet, stage, plan)
        for name, of in by_name.items()
        if len(of) > 1 or THICKNESS not in of
    ]
    if not joins and not on and not beside:
        raise TooFewError("Nothing was read at the seam at this stage.")
    return seam_join(
        joins,
        seam_thickness_mm=[r.value for r in on],
        beside_thickness_mm=[r.value for r in beside],
        u_thickness_mm=max([r.u for r in [*on, *beside]], default=0.0),
        intended=plan.seam_intent,
        stage=stage,
        limits=plan.limits,
    )


def _readings_of(
    name: str, of: Mapping[str, Sequence[Reading]], sheet: Sheet, stage: str, plan: Plan
) -> JoinReadings:
    length = _length(name, of, sheet, stage, plan)
    if len(of) == 1 and "seam_length" in of:  # nothing of it was open: nothing more to sort
        return JoinReadings(
            name=name,
            length_mm=length.value_mm,
            u_length_mm=length.u_mm,
            length_source=length.source,
        )
    opened, through = of.get("seam_open", ()), of.get("seam_through", ())
    steps = of.get("seam_step", ())
    return JoinReadings(
        name=name,
        length_mm=length.value_mm if length else None,
        u_length_mm=length.u_mm if length else 0.0,
        length_source=length.source if length else "",
        open_parts_mm=[(r.height_mm, r.value) for r in opened],
        through_parts_mm=[(r.height_mm, r.value) for r in through],
        u_open_mm=max([r.u for r in (*opened, *through)], default=0.0),
        steps_mm=[(r.height_mm, r.value) for r in steps],
        u_step_mm=max([r.u for r in steps], default=0.0),
        looked=not of.keys().isdisjoint(OPENINGS),
    )


def _length(
    name: str, of: Mapping[str, Sequence[Reading]], sheet: Sheet, stage: str, plan: Plan
) -> Size | None:
    """Length of a join: read at the stage, else at the nearest other stage, else planned."""
    if "seam_length" in of:
        r = of["seam_length"][-1]
        return Size(r.value, r.u, READ)
    for other in NEAREST_STAGES[stage]:
        growth = plan.growth(other, stage)
        for r in sheet.at(other, "seam_length"):
            if (r.name or "seam") == name and growth is not None:
                ratio, u_ratio = growth
                return Size(r.value * ratio, math.hypot(r.u * ratio, r.value * u_ratio), SCALED)
    planned, growth = plan.join_lengths_mm.get(name), plan.growth(GLAZED, stage)
    if planned is None or growth is None:
        return None
    return Size(planned * growth[0], planned * growth[0] * PLANNED_SIZE_U, PLANNED)
