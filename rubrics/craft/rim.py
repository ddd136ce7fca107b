"""Rim level: whether the rim is tilted or wavy, by how much, and where it is high."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from studio.ware.uncertainty import COVERAGE_FACTOR

from .angles import HALF_TURN_DEG, SAME_DIRECTION_DEG, largest_gap
from .fits import Design, design, fit_sigma
from .inputs import (
    TooFewError,
    finite_numbers,
    not_negative_numbers,
    positive_numbers,
    root_mean_square,
    same_length,
    uncertainties,
)
from .levels import Limit
from .plan import Plan
from .readings import ReadingsError
from .results import RimLevel, Station
from .sheet import RIM_DIAMETERS, Sheet, Size
from .verdict import judge
from .wall import LAYOUTS_KEPT, NO_AMPLITUDE_MM, vector_figures

QUANTITIES = ("rim_height",)
FEWEST = 3
FEWEST_FOR_HARMONICS = 8

WORST_CONDITION = 5.0
"""Harmonics 2 and 3 are given where the stations tell all seven terms about equally well.

Eight evenly spread stations have a condition of 1.41; a cluster with a gap has far more.
"""

SEEN_SHARE = 0.5
"""A wave of which these places may read less than this share of the height can hide from them."""

PHASES = 180
"""So many turns of a wave are tried against the places: every degree of half a wave."""

RISES = ("rise_mm", "rise_deg")
"""Figures of which three places show a part only: a rim with three waves looks level there."""

RISE_WITHOUT_RADIUS = Limit("rim_level.rise_mm", 2, 4, 6, graded=False)
"""Stands in for the rise as an angle where nobody knows how wide the rim is. [mm]"""

PREVAILS = 2.0
"""One cause is named alone when it makes at least this many times the rise of the other."""


def rim_level(
    heights_mm: Sequence[float],
    azimuths_deg: Sequence[float],
    *,
    radius_mm: float | None,
    u_mm: float | Sequence[float] = 0.0,
    u_radius_mm: float = 0.0,
    radius_source: str = "given",
    diameters: tuple[Size, Size] | None = None,
    stage: str = "",
    limits: Mapping[str, Limit] | None = None,
) -> RimLevel:
    """Tell how far a rim is from level, and whether by tilt or by waviness.

    The plane h = a + b R cos(az) + c R sin(az) is fitted by least squares. Deviations are taken
    along the vertical; normal to the plane they are smaller by cos(tilt): 0.14 % at 3°.

    Parameters
    ----------
    heights_mm, azimuths_deg : array_like, shape (n,), n >= 3
        Rim above a flat table [mm]; azimuths, counter-clockwise from above [°].
    radius_mm : float or None
        Rim radius [mm]; None where nobody knows it, and then the tilt has no angle.
    u_mm : float or array_like, shape (n,)
        Standard uncertainty of the heights. [mm]
    u_radius_mm : float
        Standard uncertainty of the radius. [mm]
    diameters : (Size, Size), optional
        The rim's diameter one way and across it, for its roundness. [mm]
    radius_source, stage : str
        Carried into the result.
    limits : mapping, optional
        Limits by "rim_level.figure".

    Raises
    ------
    ReadingsError
        Under 3 heights, a value not finite, or a gap of 180° or more between neighbours.

    References
    ----------
    .. [1] ISO 12781-1:2011, flatness: least-squares reference plane, peak-to-valley deviation.
    """
    h = not_negative_numbers(heights_mm, "A rim height")
    n = len(h)
    if n < FEWEST:
        raise TooFewError(
            f"Rim level needs at least {FEWEST} heights round the rim and has {n}; "
            "read at eight places if there is time."
        )
    same_length(n, azimuths_deg, "azimuths")
    az = finite_numbers(azimuths_deg, "Azimuth of rim station")
    if radius_mm is not None:
        positive_numbers([radius_mm], "A rim radius")
    us = uncertainties(u_mm, n)
    plane, waves, hidden = _layout(tuple(az))

    low, high = h.index(min(h)), h.index(max(h))
    figures = {
        "rise_mm": h[high] - h[low],
        "u_rise_mm": math.hypot(us[low], us[high]),
    }
    u_rms = root_mean_square(us)
    coefficients, residuals = plane.fit(h)
    figures |= _tilt(plane, coefficients, residuals, u_rms, radius=radius_mm, u_radius=u_radius_mm)
    figures |= _flatness(plane, residuals, u_rms)
    if waves is not None:
        figures |= _harmonics(waves, h, u_rms)
    if radius_mm is not None:
        figures |= _rise_angle(figures, radius_mm, u_radius_mm)
    if diameters is not None:
        one, other = diameters
        figures["out_of_round_mm"] = abs(one.value_mm - other.value_mm)
        figures["u_out_of_round_mm"] = math.hypot(one.u_mm, other.u_mm)
    at_least = () if n > FEWEST else RISES
    verdict, judged = judge(RimLevel, figures, limits, at_least)
    return RimLevel(
        stage=stage,
        verdict=verdict,
        judged=judged,
        cause=_cause(figures),
        at_least=at_least,
        hidden_waves=hidden,
        radius_mm=radius_mm,
        radius_source="" if radius_mm is None else radius_source,
        stations=tuple(Station(value, value, a) for value, a in zip(h, az, strict=True)),
        residuals_mm=tuple(residuals),
        take_off_mm=tuple(value - h[low] for value in h),
        **figures,
    )


def _rise_angle(
    figures: Mapping[str, float | None], radius: float, u_radius: float
) -> dict[str, float]:
    """The rise as the angle of a line across the rim, by which small and large ware compare."""
    across, rise = 2 * radius, figures["rise_mm"]
    slope = rise / across
    u_slope = math.hypot(figures["u_rise_mm"], slope * 2 * u_radius) / across
    return {
        "rise_deg": math.degrees(math.atan(slope)),
        "u_rise_deg": math.degrees(u_slope / (1 + slope * slope)),
    }


@lru_cache(maxsize=LAYOUTS_KEPT)
def _layout(azimuths_deg: tuple[float, ...]) -> tuple[Design, Design | None, tuple[int, ...]]:
    """Prepare the fit of the plane on a circle of radius 1, and of harmonics 2 and 3 if told.

    Last come the harmonics that can hide from these places.
    """
    gap = largest_gap(azimuths_deg)
    if gap >= HALF_TURN_DEG - SAME_DIRECTION_DEG:
        raise ReadingsError(
            f"The rim was read on one side only: {gap:.0f}° of it lie between two neighbouring "
            "places. Read a place in that gap, so that none is 180° or wider."
        )
    angles = np.radians(azimuths_deg)
    columns = [np.ones(len(angles)), np.cos(angles), np.sin(angles)]
    plane = design(np.column_stack(columns))
    hidden = tuple(k for k in (2, 3) if _seen_share(k * angles) < SEEN_SHARE)
    if len(angles) < FEWEST_FOR_HARMONICS:
        return plane, None, hidden
    for k in (2, 3):
        columns += [np.cos(k * angles), np.sin(k * angles)]
    waves = design(np.column_stack(columns))
    return plane, waves if waves.condition <= WORST_CONDITION else None, hidden


def _seen_share(angles: np.ndarray) -> float:
    """Share of a wave's height that readings at these angles of it show, turned at its worst.

    Three even places see nothing of three highs, and four nothing of two that stand between them.
    """
    phases = np.linspace(0, math.pi, PHASES, endpoint=False)
    return float(np.ptp(np.cos(angles - phases[:, None]), axis=1).min() / 2)


def _tilt(
    plane: Design,
    coefficients: list[float],
    residuals: list[float],
    u: float,
    *,
    radius: float | None,
    u_radius: float,
) -> dict[str, float | None]:
    """Tilt, its direction, and the rise it makes across the rim."""
    sigma = fit_sigma(residuals, plane.degrees_of_freedom, u)
    amplitude, direction, u_amplitude, u_direction = vector_figures(
        coefficients, plane.covariance, 1, sigma
    )
    directed = amplitude > NO_AMPLITUDE_MM
    tilt = u_tilt = None
    if radius is not None:
        slope = amplitude / radius
        u_slope = math.hypot(u_amplitude / radius, slope * u_radius / radius)
        tilt = math.degrees(math.atan(slope))
        u_tilt = math.degrees(u_slope / (1 + slope * slope))
    return {
        "tilt_deg": tilt,
        "u_tilt_deg": u_tilt,
        "high_side_deg": direction if directed else None,
        "u_high_side_deg": u_direction if directed else None,
        "tilt_rise_mm": 2 * amplitude,
        "u_tilt_rise_mm": 2 * u_amplitude,
        "mean_height_mm": coefficients[0],
        "u_mean_height_mm": sigma * math.sqrt(plane.covariance[0][0]),
    }


def _flatness(plane: Design, residuals: list[float], u: float) -> dict[str, float | None]:
    """Peak to valley of the residuals; three heights always lie in a plane and tell nothing."""
    if plane.degrees_of_freedom < 1:
        return {"flatness_mm": None, "u_flatness_mm": None}
    i, j = residuals.index(max(residuals)), residuals.index(min(residuals))
    leave = plane.leave
    variance = leave[i][i] + leave[j][j] - 2 * leave[i][j]
    return {
        "flatness_mm": residuals[i] - residuals[j],
        "u_flatness_mm": u * math.sqrt(max(variance, 0.0)),
    }


def _harmonics(waves: Design, heights: list[float], u: float) -> dict[str, float | None]:
    """Amplitude and first high of the saddle (2) and of the three-cornered wave (3)."""
    coefficients, residuals = waves.fit(heights)
    sigma = fit_sigma(residuals, waves.degrees_of_freedom, u)
    figures: dict[str, float | None] = {}
    for k, name in ((2, "saddle"), (3, "three_corner")):
        amplitude, direction, u_amplitude, _ = vector_figures(
            coefficients, waves.covariance, 2 * k - 1, sigma
        )
        figures[f"{name}_mm"] = amplitude
        figures[f"u_{name}_mm"] = u_amplitude
        figures[f"{name}_deg"] = direction / k if amplitude > NO_AMPLITUDE_MM else None
    return figures


def _cause(figures: Mapping[str, float | None]) -> str:
    """What makes the rise; "none" where it is no more than the readings' own uncertainty."""
    if figures["rise_mm"] <= max(COVERAGE_FACTOR * figures["u_rise_mm"], NO_AMPLITUDE_MM):
        return "none"
    tilt, waviness = figures["tilt_rise_mm"], figures["flatness_mm"] or 0.0
    if tilt >= PREVAILS * waviness:
        return "tilt"
    return "waviness" if waviness >= PREVAILS * tilt else "both"


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> RimLevel:
    """Rim level of the readings of one piece at a stage."""
    readings = sheet.at(stage, "rim_height")
    if any(r.azimuth_deg is None for r in readings):
        raise ReadingsError(
            "A rim height lacks its place round the rim; say at which angle it was read."
        )
    diameter = sheet.size("rim_diameter", stage, plan)
    limits = plan.limits
    if diameter is None and limits:
        limits = {RISE_WITHOUT_RADIUS.figure: RISE_WITHOUT_RADIUS, **limits}
    return rim_level(
        [r.value for r in readings],
        [r.azimuth_deg for r in readings],
        radius_mm=diameter.value_mm / 2 if diameter else None,
        u_mm=[r.u for r in readings],
        u_radius_mm=diameter.u_mm / 2 if diameter else 0.0,
        radius_source=diameter.source if diameter else "",
        diameters=sheet.pair(RIM_DIAMETERS, stage, plan),
        stage=stage,
        limits=limits,
    )
