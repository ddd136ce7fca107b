"""Wall evenness: how much the thickness varies, and in what pattern."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from .angles import (
    HALF_TURN_DEG,
    SAME_DIRECTION_DEG,
    direction_uncertainty,
    largest_gap,
    wrap_full_turn,
)
from .fits import Design, design, expected_range, fit_sigma, mean_and_sd, one_sided
from .inputs import (
    TooFewError,
    finite_numbers,
    positive_numbers,
    root_mean_square,
    same_length,
    uncertainties,
)
from .levels import Limit
from .plan import Plan
from .readings import Reading
from .results import Station, WallEvenness
from .sheet import Sheet
from .verdict import judge
from .wall_ends import ends_of, wall_between

QUANTITIES = ("wall_thickness", "wall_end")
FEWEST = 4
LAYOUTS_KEPT = 512
"""Layouts of stations kept ready: a class uses one or a few; photos may bring many."""

HABIT = 12
"""Readings that the spread is scaled to: three heights on four sides."""

PER_10_MM = 10.0
NO_AMPLITUDE_MM = 1e-9
"""An amplitude below this [mm] is binary rounding and has no direction."""


def wall_evenness(
    thickness_mm: Sequence[float],
    heights_mm: Sequence[float] | None = None,
    azimuths_deg: Sequence[float] | None = None,
    *,
    u_mm: float | Sequence[float] = 0.0,
    planned_mm: float | None = None,
    bounds_mm: tuple[float, float] | None = None,
    stage: str = "",
    limits: Mapping[str, Limit] | None = None,
) -> WallEvenness:
    """Tell how even a wall is, where it is thick, and whether it can be trusted.

    The pattern is t = a + b (z − mean z) + c cos(az) + d sin(az), by least squares, as far as
    the stations can tell its terms.

    Parameters
    ----------
    thickness_mm : array_like, shape (n,), n >= 4
        Thickness at each station. [mm]
    heights_mm, azimuths_deg : array_like, shape (n,), optional
        Where each was read: height [mm]; azimuth, counter-clockwise from above [°].
    u_mm : float or array_like, shape (n,)
        Standard uncertainty of the readings. [mm]
    planned_mm : float, optional
        Planned thickness at this stage: wet slab × (1 − planned shrinkage). [mm]
    bounds_mm : (floor, ceiling), optional
        Thinnest wall to trust and thickest to carry at this stage. [mm]
    stage : str
        Carried into the result.
    limits : mapping, optional
        Limits by "wall_evenness.figure".

    Raises
    ------
    ReadingsError
        Under 4 readings, a gap of 180° or more between neighbours, a value not finite, or a
        thickness that is not above zero.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, for the uncertainty of differences and means.
    .. [2] Control chart constants d2 for the spread of n readings: :func:`expected_range`.
    """
    t = positive_numbers(thickness_mm, "A wall thickness")
    n = len(t)
    if n < FEWEST:
        raise TooFewError(
            f"Wall evenness needs at least {FEWEST} thickness readings and has {n}; "
            "read at three heights on four sides if there is time."
        )
    us = uncertainties(u_mm, n)
    z = _stations(heights_mm, n, "Height of wall station", "heights")
    az = _stations(azimuths_deg, n, "Azimuth of wall station", "azimuths")
    gap = _gap(tuple(az)) if az else None

    low, high = t.index(min(t)), t.index(max(t))
    mean, sd = mean_and_sd(t)
    u_rms = root_mean_square(us)
    scale = expected_range(HABIT) / expected_range(n)
    figures = {
        "spread_mm": t[high] - t[low],
        "u_spread_mm": math.hypot(us[low], us[high]),
        "scaled_spread_mm": scale * (t[high] - t[low]),
        "u_scaled_spread_mm": scale * math.hypot(us[low], us[high]),
        "mean_mm": mean,
        "u_mean_mm": u_rms / math.sqrt(n),
        "sd_mm": sd,
        "u_sd_mm": u_rms / math.sqrt(n - 1),
        "cv": sd / mean,
        "u_cv": math.hypot(u_rms / math.sqrt(n - 1), sd / mean * u_rms / math.sqrt(n)) / mean,
    }
    if planned_mm is not None:
        figures["plan_match_mm"] = mean - planned_mm
        figures["u_plan_match_mm"] = figures["u_mean_mm"]
    if bounds_mm is not None:
        floor, ceiling = bounds_mm
        thin, u_thin = one_sided(floor - t[low], us[low])
        thick, u_thick = one_sided(t[high] - ceiling, us[high])
        figures |= {
            "floor_mm": floor,
            "ceiling_mm": ceiling,
            "too_thin_mm": thin,
            "u_too_thin_mm": u_thin,
            "too_thick_mm": thick,
            "u_too_thick_mm": u_thick,
        }
    figures |= _pattern(t, z, az, u_rms)
    stations = tuple(map(Station, t, z or [None] * n, az or [None] * n))
    verdict, judged = judge(WallEvenness, figures, limits)
    return WallEvenness(
        stage=stage,
        verdict=verdict,
        judged=judged,
        planned_mm=planned_mm,
        largest_gap_deg=gap,
        thinnest=stations[low],
        thickest=stations[high],
        stations=stations,
        **figures,
    )


def _stations(values: Sequence[float] | None, n: int, what: str, plural: str) -> list[float] | None:
    if values is None:
        return None
    same_length(n, values, plural)
    return finite_numbers(values, what)


def _pattern(
    t: list[float], z: list[float] | None, az: list[float] | None, u: float
) -> dict[str, object]:
    """Fit the pattern and return its figures, with what is left over."""
    terms, layout = _layout(tuple(z) if z else None, tuple(az) if az else None, len(t))
    coefficients, residuals = layout.fit(t)
    free = layout.degrees_of_freedom
    sigma = fit_sigma(residuals, free, u)
    figures: dict[str, object] = {"terms": terms, "residuals_mm": tuple(residuals)}
    if free > 0:
        figures["residual_mm"] = math.hypot(*residuals) / math.sqrt(free)
    position = 1
    if "height" in terms:
        u_slope = sigma * math.sqrt(layout.covariance[position][position])
        figures["foot_to_rim_mm_per_10mm"] = PER_10_MM * coefficients[position]
        figures["u_foot_to_rim_mm_per_10mm"] = PER_10_MM * u_slope
        position += 1
    if "side" in terms:
        figures |= _side(coefficients, layout.covariance, position, sigma)
    return figures


@lru_cache(maxsize=LAYOUTS_KEPT)
def _gap(azimuths_deg: tuple[float, ...]) -> float:
    """Widest gap between neighbouring stations; refuse stations on one side. [°]"""
    gap = largest_gap(azimuths_deg)
    if gap >= HALF_TURN_DEG - SAME_DIRECTION_DEG:
        raise TooFewError(
            f"The wall was read on one side only: {gap:.0f}° of the way round lie between two "
            "neighbouring places, and nobody can say it is the same all round. Read it on three "
            "sides at least; four are the habit."
        )
    return gap


def _side(
    coefficients: Sequence[float], covariance: list[list[float]], at: int, sigma: float
) -> dict[str, float]:
    """Amplitude and direction of c cos(az) + d sin(az), with their uncertainties."""
    amplitude, direction, u_amplitude, u_direction = vector_figures(
        coefficients, covariance, at, sigma
    )
    figures = {"thick_amplitude_mm": amplitude, "u_thick_amplitude_mm": u_amplitude}
    if amplitude > NO_AMPLITUDE_MM:
        figures |= {"thick_side_deg": direction, "u_thick_side_deg": u_direction}
    return figures


def vector_figures(
    coefficients: Sequence[float], covariance: list[list[float]], at: int, sigma: float
) -> tuple[float, float, float, float]:
    """Polar form of a fitted pair: amplitude, direction [°], and their uncertainties.

    The pair is that of the terms cos and sin at positions ``at`` and ``at + 1``; ``covariance``
    is for unit variance and ``sigma`` the standard deviation that goes with it.
    """
    c, d = coefficients[at], coefficients[at + 1]
    cc, cd, dd = covariance[at][at], covariance[at][at + 1], covariance[at + 1][at + 1]
    amplitude = math.hypot(c, d)
    cos, sin = (c / amplitude, d / amplitude) if amplitude > 0 else (1.0, 0.0)
    along = cos * cos * cc + 2 * cos * sin * cd + sin * sin * dd
    across = sin * sin * cc - 2 * cos * sin * cd + cos * cos * dd
    return (
        amplitude,
        wrap_full_turn(math.degrees(math.atan2(d, c))),
        sigma * math.sqrt(max(along, 0.0)),
        direction_uncertainty(amplitude, sigma * math.sqrt(max(across, 0.0))),
    )


@lru_cache(maxsize=LAYOUTS_KEPT)
def _layout(
    z: tuple[float, ...] | None, az: tuple[float, ...] | None, n: int
) -> tuple[tuple[str, ...], Design]:
    """Choose the terms that these stations can tell, and prepare their fit.

    Height is tried before side: where only one of the two can be told, a slab's own taper is
    the likelier cause.
    """
    terms: tuple[str, ...] = ()
    columns = [np.ones(n)]
    chosen = design(np.column_stack(columns))
    for name, extra in _candidates(z, az):
        wider = design(np.column_stack([*columns, *extra]))
        if wider.full_rank:
            terms, columns, chosen = (*terms, name), [*columns, *extra], wider
    return terms, chosen


def _candidates(
    z: tuple[float, ...] | None, az: tuple[float, ...] | None
) -> list[tuple[str, list[np.ndarray]]]:
    candidates = []
    if z and max(z) > min(z):
        heights = np.array(z)
        candidates.append(("height", [heights - heights.mean()]))
    if az:
        angles = np.radians(az)
        candidates.append(("side", [np.cos(angles), np.sin(angles)]))
    return candidates


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> WallEvenness:
    """Wall evenness of the readings of one piece at a stage: of stations, ends, or both."""
    ends = ends_of(sheet, stage)
    readings = sheet.at(stage, "wall_thickness")
    if ends is None:
        return _of_stations(readings, stage, plan)
    try:
        among = _of_stations(readings, stage, plan) if readings else None
    except TooFewError:
        # Few stations tell nothing beside who went all round; their ends still count.
        among = None
    return wall_between(ends, stage, plan, among)


def _of_stations(readings: Sequence[Reading], stage: str, plan: Plan) -> WallEvenness:
    heights = [r.height_mm for r in readings]
    azimuths = [r.azimuth_deg for r in readings]
    return wall_evenness(
        [r.value for r in readings],
        None if None in heights else heights,
        None if None in azimuths else azimuths,
        u_mm=[r.u for r in readings],
        planned_mm=plan.planned_wall_mm(stage),
        bounds_mm=plan.wall_bounds_mm(stage),
        stage=stage,
        limits=plan.limits,
    )
