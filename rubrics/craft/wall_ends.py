"""The two ends of a wall: its thinnest and its thickest place, found by going all round it.

Who runs the callipers round a wall and notes two places knows more of its ends, and less of its
pattern, than who reads four stations. The ends are facts: a place that was found too thin is too
thin. That no other place is thinner rests on the search, so each end carries a doubt of its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from studio.ware.quantities import THICKEST, THINNEST

from .fits import one_sided
from .inputs import ReadingsError, TooFewError, positive_numbers
from .levels import Limit
from .plan import Plan
from .readings import Reading
from .results import Station, WallEvenness
from .sheet import Sheet
from .verdict import judge

QUANTITY = "wall_end"

SEARCH_U_MM = 0.3
"""How far a second search would find an end from the first: its standard uncertainty. [mm]

Our proposal (common practice, no source); a class that searches its cups twice can tell its own.
"""

_NO_LIMITS: Mapping[str, Limit] = MappingProxyType({})


def ends_of(sheet: Sheet, stage: str) -> tuple[Reading, Reading] | None:
    """The thinnest and the thickest place read at a stage; None where neither was.

    Raises
    ------
    ReadingsError
        One without the other, or the two exchanged.
    """
    read = {reading.name: reading for reading in sheet.at(stage, QUANTITY)}
    if not read:
        return None
    for name, other in ((THINNEST, THICKEST), (THICKEST, THINNEST)):
        if name not in read:
            raise TooFewError(
                f"The {other} place of the wall was noted and the {name} was not; the two together "
                "say how even it is."
            )
    thin, thick = read[THINNEST], read[THICKEST]
    positive_numbers([thin.value, thick.value], "A wall thickness")
    if thin.value > thick.value:
        raise ReadingsError(
            f"The thinnest place of the wall ({thin.value:g} mm) is thicker than the thickest "
            f"({thick.value:g} mm); see whether the two were exchanged."
        )
    return thin, thick


def wall_between(
    ends: tuple[Reading, Reading], stage: str, plan: Plan, among: WallEvenness | None = None
) -> WallEvenness:
    """Tell how even a wall is from its two ends.

    Parameters
    ----------
    ends : (Reading, Reading)
        Thinnest and thickest place, as :func:`ends_of` gives them.
    stage : str
        Where they were read.
    plan : Plan
        Its limits, and the thickness to trust and to carry.
    among : WallEvenness, optional
        What stations read at the same stage say: the mean and the pattern stay theirs, and a
        station beyond an end takes its place.

    Notes
    -----
    The spread is not scaled to twelve readings, as that of few stations is: a search passes more
    places than twelve. It is judged as if it were such a spread, which is strict where the search
    was thorough. Mean, pattern and the match with the plan stay untold without stations.
    """
    thin, thick = (_place(end) for end in ends)
    u_thin, u_thick = (math.hypot(end.u, SEARCH_U_MM) for end in ends)
    stations = (thin, thick)
    if thin.azimuth_deg == thick.azimuth_deg:
        # One above the other on one side, at heights that nobody noted: drawn side by side.
        stations = tuple(replace(station, azimuth_deg=None) for station in stations)
    if among is not None:
        thin = min(thin, among.thinnest, key=_value)
        thick = max(thick, among.thickest, key=_value)
        stations = among.stations
    spread = thick.value_mm - thin.value_mm
    floor, ceiling = plan.wall_bounds_mm(stage)
    too_thin, u_too_thin = one_sided(floor - thin.value_mm, u_thin)
    too_thick, u_too_thick = one_sided(thick.value_mm - ceiling, u_thick)
    u_spread = math.hypot(u_thin, u_thick)
    found = {
        "spread_mm": spread,
        "u_spread_mm": u_spread,
        "scaled_spread_mm": spread,
        "u_scaled_spread_mm": u_spread,
        "floor_mm": floor,
        "ceiling_mm": ceiling,
        "too_thin_mm": too_thin,
        "u_too_thin_mm": u_too_thin,
        "too_thick_mm": too_thick,
        "u_too_thick_mm": u_too_thick,
        "thinnest": thin,
        "thickest": thick,
        "stations": stations,
        "planned_mm": plan.planned_wall_mm(stage),
        "searched": True,
    }
    whole = replace(among, **found) if among else WallEvenness(stage=stage, **found)
    figures = {
        name: getattr(whole, name)
        for figure in WallEvenness.FIGURES
        for name in (figure, f"u_{figure}")
        if hasattr(whole, name)
    }
    verdict, judged = judge(WallEvenness, figures, plan.limits or _NO_LIMITS)
    return replace(whole, verdict=verdict, judged=judged)


def _place(end: Reading) -> Station:
    return Station(end.value, end.height_mm, end.azimuth_deg)


def _value(station: Station) -> float:
    return station.value_mm
