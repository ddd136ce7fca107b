"""Shrinkage against the clay's plan, and why a piece missed its planned size."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.ware.shrinkage import linear_shrinkage, volume_shrinkage, wet_size
from studio.ware.stages import GLAZED, WET
from studio.ware.turned_foot import was_turned
from studio.ware.uncertainty import COVERAGE_FACTOR

from .fits import chi_squared_tail, weighted_mean
from .inputs import NotReadError, TooFewError, is_size, positive_numbers
from .levels import Limit
from .plan import Plan, size_key
from .results import DimensionShrinkage, Shrinkage
from .sheet import FOOT, Sheet, Size
from .verdict import judge

QUANTITIES = ("dimension",)

DISAGREE_BELOW = 0.05
"""Dimensions disagree when chance would give their spread less often than this."""

FEWEST_TO_NAME_ONE = 3
"""Of two dimensions that disagree, nobody can say which one is wrong."""

SMALLEST_U_SHARE = 1e-9
"""A size said to be exact still gets this share of itself as u: a weight must be finite."""


@dataclass(slots=True, kw_only=True)
class DimensionReadings:
    """One dimension wet and now, and its planned sizes where there are any. [mm]"""

    name: str
    wet_mm: float
    now_mm: float
    u_wet_mm: float = 0.0
    u_now_mm: float = 0.0
    height_mm: float | None = None
    planned_fired_mm: float | None = None


def shrinkage_against_plan(
    dimensions: Sequence[DimensionReadings],
    *,
    planned: float | None = None,
    planned_fired: float | None = None,
    to_fired: tuple[float, float] | None = None,
    left_out: tuple[str, ...] = (),
    stage: str = "",
    limits: Mapping[str, Limit] | None = None,
) -> Shrinkage:
    """Pool the shrinkage of several dimensions and hold it against the plan.

    The pooled shrinkage is 1 − exp(m), m being the inverse-variance weighted mean of
    ln(L / L_wet). Where the dimensions disagree its uncertainty is widened by the Birge ratio,
    √(chi-squared / degrees of freedom).

    Parameters
    ----------
    dimensions : sequence of DimensionReadings, at least 1
        Each read wet and at this stage.
    planned, planned_fired : float, optional
        The clay's planned linear shrinkage to this stage and to the glazed piece.
    to_fired : (ratio, its standard uncertainty), optional
        What a length at this stage is to be multiplied by to foretell the fired one.
    left_out, stage : tuple of str, str
        Carried into the result.
    limits : mapping, optional
        Limits by "shrinkage.figure"; "shrinkage.difference" is a fraction.

    Raises
    ------
    ReadingsError
        No dimension, or a length not finite or not above zero.

    References
    ----------
    .. [1] ASTM C326: shrinkage on the plastic length.
    .. [2] R. T. Birge, Phys. Rev. 40 (1932) 207, internal and external consistency (from memory).
    """
    if not dimensions:
        raise TooFewError("Shrinkage needs a dimension that was read wet and again at this stage.")
    for each in dimensions:
        if not (is_size(each.wet_mm) and is_size(each.now_mm)):
            what = f"A {each.name.replace('_', ' ')}"
            positive_numbers([each.wet_mm, each.now_mm], what)
    logs = [math.log(each.now_mm / each.wet_mm) for each in dimensions]
    us = [
        max(math.hypot(d.u_wet_mm / d.wet_mm, d.u_now_mm / d.now_mm), SMALLEST_U_SHARE)
        for d in dimensions
    ]
    mean, u_mean, chi_squared = weighted_mean(logs, us)
    free = len(logs) - 1
    p = chi_squared_tail(chi_squared, free) if free else None
    agree = None if p is None else p >= DISAGREE_BELOW
    if agree is False:
        u_mean *= math.sqrt(chi_squared / free)
    standing = _standings(logs, us)
    linear = -math.expm1(mean)
    u_linear = math.exp(mean) * u_mean
    figures = {
        "linear_shrinkage": linear,
        "u_linear_shrinkage": u_linear,
        "volume_shrinkage": volume_shrinkage(linear),
        "u_volume_shrinkage": 3 * (1 - linear) ** 2 * u_linear,
        "chi_squared": chi_squared if free else None,
        "chi_squared_p": p,
    }
    if planned is not None:
        figures |= {
            "planned_shrinkage": planned,
            "difference": linear - planned,
            "u_difference": u_linear,
        }
    verdict, judged = judge(Shrinkage, figures, limits)
    return Shrinkage(
        stage=stage,
        verdict=verdict,
        judged=judged,
        agree=agree,
        left_out=left_out,
        stands_out=_stands_out(dimensions, standing) if agree is False else None,
        dimensions=tuple(
            _dimension(d, u_log, stands, planned, planned_fired, to_fired)
            for d, u_log, stands in zip(dimensions, us, standing, strict=True)
        ),
        **figures,
    )


def _standings(logs: Sequence[float], us: Sequence[float]) -> list[float | None]:
    """How many standard uncertainties each stands from the weighted mean of the others."""
    if len(logs) == 1:
        return [None]
    weights = [1 / (u * u) for u in us]
    total = math.fsum(weights)
    total_value = math.fsum([w * v for w, v in zip(weights, logs, strict=True)])
    standings = []
    for value, weight, u in zip(logs, weights, us, strict=True):
        rest = total - weight
        others = (total_value - weight * value) / rest
        standings.append((value - others) / math.sqrt(u * u + 1 / rest))
    return standings


def _stands_out(
    dimensions: Sequence[DimensionReadings], standings: Sequence[float | None]
) -> str | None:
    if len(dimensions) < FEWEST_TO_NAME_ONE:
        return None
    worst = max(range(len(dimensions)), key=lambda i: abs(standings[i]))
    return size_key(dimensions[worst].name, dimensions[worst].height_mm)


def _dimension(
    d: DimensionReadings,
    u_log: float,
    standing: float | None,
    *plans: float | tuple[float, float] | None,
) -> DimensionShrinkage:
    """What one dimension did, and the exact split of its miss in logarithms."""
    planned, planned_fired, to_fired = plans
    facts: dict[str, float] = {}
    if d.planned_fired_mm is not None and planned is not None and planned_fired is not None:
        planned_wet = wet_size(d.planned_fired_mm, planned_fired)
        planned_now = planned_wet * (1 - planned)
        making_mm, clay_mm = split_miss(d.wet_mm, d.now_mm, planned_wet, planned_now)
        facts |= {
            "planned_fired_mm": d.planned_fired_mm,
            "planned_wet_mm": planned_wet,
            "planned_now_mm": planned_now,
            "miss_mm": d.now_mm - planned_now,
            "making_mm": making_mm,
            "clay_mm": clay_mm,
        }
    if to_fired is not None:
        ratio, u_ratio = to_fired
        fired = d.now_mm * ratio
        u_fired = math.hypot(d.u_now_mm * ratio, d.now_mm * u_ratio)
        facts |= {
            "expected_fired_mm": fired,
            "u_expected_fired_mm": u_fired,
            "expected_low_mm": fired - COVERAGE_FACTOR * u_fired,
            "expected_high_mm": fired + COVERAGE_FACTOR * u_fired,
        }
    return DimensionShrinkage(
        name=d.name,
        height_mm=d.height_mm,
        wet_mm=d.wet_mm,
        now_mm=d.now_mm,
        shrinkage=linear_shrinkage(d.wet_mm, d.now_mm),
        u_shrinkage=d.now_mm / d.wet_mm * u_log,
        standing=standing,
        **facts,
    )


def split_miss(
    wet_mm: float, now_mm: float, planned_wet_mm: float, planned_now_mm: float
) -> tuple[float, float]:
    """Split now − planned into what the making did and what the clay did. [mm]

    ln(L / L_plan) = ln(L_wet / L_wet,plan) + ln((1 − S) / (1 − S_plan)) holds exactly; the miss
    is shared in the ratio of the two logarithms, by the logarithmic mean of L and L_plan, so
    that the shares add up to it and neither depends on which is taken first.

    References
    ----------
    .. [1] B. W. Ang, F. Q. Zhang, K.-H. Choi, Energy 23 (1998) 489-495: decomposition without a
       remainder by the logarithmic mean (from memory).
    """
    making = math.log(wet_mm / planned_wet_mm)
    total = math.log(now_mm / planned_now_mm)
    miss = now_mm - planned_now_mm
    # For a vanishing miss the logarithmic mean tends to the size itself.
    per_log = miss / total if abs(total) > SMALLEST_U_SHARE else planned_now_mm
    making_mm = per_log * making
    return making_mm, miss - making_mm


def expected_fired_sizes(sheet: Sheet, stage: str, plan: Plan) -> dict[str, Size]:
    """Fired size to expect of every dimension read at a stage, while it can still be mended.

    Needs no wet reading: the size now is carried to the glazed piece by the clay's plan.
    """
    growth = plan.growth(stage, GLAZED)
    if growth is None:
        return {}
    ratio, u_ratio = growth
    named = {size_key(r.name, r.height_mm) for r in sheet.at(stage, "dimension")}
    return {
        key: Size(
            size.value_mm * ratio,
            math.hypot(size.u_mm * ratio, size.value_mm * u_ratio),
            size.source if stage == GLAZED else "expected",
        )
        for key, size in sheet.read_sizes(stage).items()
        if key in named
    }


def _without_turned_foot(
    dimensions: list[DimensionReadings],
) -> tuple[list[DimensionReadings], tuple[str, ...]]:
    """Leave out a foot that was seen corner-on at one stage: a diagonal does not pair with a side.

    The other dimensions say how much the clay shrank; a lone foot is taken for turned where it
    would have grown.
    """
    foot = next((d for d in dimensions if d.name == FOOT and d.height_mm is None), None)
    if foot is None:
        return dimensions, ()
    if not all(is_size(d.now_mm) and is_size(d.wet_mm) for d in dimensions):
        return dimensions, ()
    others = [d for d in dimensions if d is not foot]
    u = math.hypot(foot.u_now_mm / foot.now_mm, foot.u_wet_mm / foot.wet_mm)
    turned = was_turned(foot.now_mm / foot.wet_mm, u, [d.now_mm / d.wet_mm for d in others])
    return (others, (FOOT,)) if turned else (dimensions, ())


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> Shrinkage:
    """Shrinkage of the readings of one piece from wet to a stage."""
    if stage == WET:
        raise NotReadError("Shrinkage needs readings at a later stage than wet.")
    now, wet = sheet.read_sizes(stage), sheet.read_sizes(WET)
    dimensions = []
    for key, r in {size_key(r.name, r.height_mm): r for r in sheet.at(stage, "dimension")}.items():
        if key not in wet:
            continue
        dimensions.append(
            DimensionReadings(
                name=r.name,
                height_mm=r.height_mm,
                wet_mm=wet[key].value_mm,
                u_wet_mm=wet[key].u_mm,
                now_mm=now[key].value_mm,
                u_now_mm=now[key].u_mm,
                planned_fired_mm=plan.sizes_mm.get(key),
            )
        )
    dimensions, left_out = _without_turned_foot(dimensions)
    if not dimensions and left_out:
        raise TooFewError(
            "The foot was seen corner-on at one of the two stages, and its breadth then is not its "
            "side; read the side again."
        )
    if not dimensions:
        raise TooFewError(
            f"None of the sizes read at {stage} was also read wet, and shrinkage counts on the "
            "wet length; read two fine marks 100 mm apart when the next piece is cut."
        )
    return shrinkage_against_plan(
        dimensions,
        left_out=left_out,
        planned=plan.shrinkage_to(stage),
        planned_fired=plan.shrinkage_to(GLAZED),
        to_fired=plan.growth(stage, GLAZED),
        stage=stage,
        limits=plan.limits,
    )
