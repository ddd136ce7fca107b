"""Capacity: what a piece holds, by the water it takes and by its sizes, beside the plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial

from studio.ware.stages import GLAZED
from studio.ware.uncertainty import COVERAGE_FACTOR
from studio.ware.volume import inside_volume

from .fits import propagate
from .inputs import SMALLEST_SIZE, NotReadError, TooFewError, positive_numbers
from .levels import Limit
from .plan import Plan
from .readings import ReadingsError
from .results import Capacity
from .sheet import PLANNED, READ, Sheet, Size
from .verdict import judge

QUANTITIES = ("water_mass",)
ALSO = ("dimension",)
OUTSIDE_SIZES = ("height", "rim_diameter", "foot_side", "wall", "base_thickness")

FILL_HALF_WIDTH_ML = 5.0
"""By how much two people differ over "full to the brim": our proposal, from memory. [ml]"""

FILL_U_ML = FILL_HALF_WIDTH_ML / math.sqrt(3)

LOFT_MODEL_U = 0.03
"""Share by which a hand-built cup's inside departs from straight lines: our proposal."""

MEASURING_TEMPERATURE_C = 20.0

AIR_DENSITY_KG_M3, WEIGHT_DENSITY_KG_M3 = 1.2, 8000.0
"""Conventional densities of air and of the weights a scale is set with (OIML D 28, from memory)."""


def water_density(temperature_c: float = MEASURING_TEMPERATURE_C) -> float:
    """Density of air-free water at 101 325 Pa, 0 to 40 °C. [kg/m³]

    References
    ----------
    .. [1] M. Tanaka et al., Metrologia 38 (2001) 301-309, recommended by the CIPM.
    """
    t = temperature_c
    return 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def water_volume(
    mass_g: float,
    *,
    temperature_c: float = MEASURING_TEMPERATURE_C,
    air_buoyancy: bool = False,
) -> float:
    """Volume of a mass of water. [ml]

    Parameters
    ----------
    mass_g : float
        What the scale shows. [g]
    temperature_c : float
        Temperature of the water. [°C]
    air_buoyancy : bool
        Whether to allow for the air that the water displaces: 0.1 %, a third of a millilitre in a
        cup and far below what filling to the brim can tell, so it is left out unless asked for.
    """
    density = water_density(temperature_c)
    volume = mass_g / density * 1000
    if air_buoyancy:
        volume *= (1 - AIR_DENSITY_KG_M3 / WEIGHT_DENSITY_KG_M3) / (1 - AIR_DENSITY_KG_M3 / density)
    return volume


def planned_capacity(plan: Plan) -> float | None:
    """Planned capacity of the fired piece: as stated, else from its planned sizes. [ml]"""
    if plan.capacity_ml is not None:
        return plan.capacity_ml
    wall = plan.planned_wall_mm(GLAZED)
    sizes = [plan.sizes_mm.get(key) for key in OUTSIDE_SIZES if key != "wall"]
    if wall is None or None in sizes:
        return None
    height, rim, foot, base = sizes
    shoulder = plan.shoulder_at(GLAZED, height)
    return inside_volume(
        height,
        rim,
        foot,
        wall,
        base,
        foot_corner_radius_mm=plan.foot_corner_radius_mm,
        diameters_mm=() if shoulder is None else ((shoulder, rim),),
    )


def capacity(
    *,
    water_g: float | None = None,
    line_g: float | None = None,
    u_water_g: float = 0.0,
    geometry_ml: float | None = None,
    u_geometry_ml: float = 0.0,
    to_fired: tuple[float, float] = (1.0, 0.0),
    planned_ml: float | None = None,
    temperature_c: float = MEASURING_TEMPERATURE_C,
    sizes_mm: tuple[tuple[str, float, str], ...] = (),
    stage: str = "",
    limits: Mapping[str, Limit] | None = None,
) -> Capacity:
    """Tell what a piece holds, and hold it against the plan.

    Parameters
    ----------
    water_g, line_g : float, optional
        Mass of water to the brim and to the line. [g]
    u_water_g : float
        Standard uncertainty of a mass. [g]
    geometry_ml, u_geometry_ml : float
        Capacity by the sizes, as :func:`inside_volume` gives, and its uncertainty. [ml]
    to_fired : (ratio, its standard uncertainty)
        What a *length* at this stage is to be multiplied by to foretell the fired one.
    planned_ml : float, optional
        Planned capacity of the fired piece. [ml]
    temperature_c : float
        Temperature of the water. [°C]
    sizes_mm, stage : tuple, str
        Carried into the result.
    limits : mapping, optional
        Limits by "capacity.figure".

    Raises
    ------
    ReadingsError
        Neither water to the brim nor geometry, or a value not finite or not above zero.

    References
    ----------
    .. [1] M. Tanaka et al., Metrologia 38 (2001) 301-309, for the density of water.
    """
    figures: dict[str, object] = {}
    per_gram = water_volume(1.0, temperature_c=temperature_c)
    for name, grams in (("capacity_water_ml", water_g), ("line_ml", line_g)):
        if grams is not None:
            (known,) = positive_numbers([grams], "A mass of water")
            figures[name] = known * per_gram
            figures[f"u_{name}"] = math.hypot(u_water_g * per_gram, FILL_U_ML)
    if geometry_ml is not None:
        (known,) = positive_numbers([geometry_ml], "A capacity")
        figures |= {"capacity_geometry_ml": known, "u_capacity_geometry_ml": u_geometry_ml}
    source = next((s for s in ("water", "geometry") if f"capacity_{s}_ml" in figures), None)
    if source is None:
        raise TooFewError("Capacity needs the water to the brim weighed, or the sizes read.")
    value, u = figures[f"capacity_{source}_ml"], figures[f"u_capacity_{source}_ml"]
    ratio, u_ratio = to_fired
    fired = value * ratio**3
    u_fired = math.hypot(u * ratio**3, 3 * value * ratio**2 * u_ratio)
    figures |= {
        "capacity_ml": value,
        "u_capacity_ml": u,
        "fired_ml": fired,
        "u_fired_ml": u_fired,
    }
    if planned_ml is not None:
        figures |= {
            "planned_ml": planned_ml,
            "difference_ml": fired - planned_ml,
            "u_difference_ml": u_fired,
            "difference_fraction": fired / planned_ml - 1,
            "u_difference_fraction": u_fired / planned_ml,
        }
    verdict, judged = judge(Capacity, figures, limits)
    return Capacity(
        stage=stage,
        verdict=verdict,
        judged=judged,
        source=source,
        sizes_mm=sizes_mm,
        water_and_geometry_agree=_agree(figures),
        **figures,
    )


def _agree(figures: Mapping[str, object]) -> bool | None:
    """Whether water and geometry tell the same within their expanded uncertainty."""
    if "capacity_water_ml" not in figures or "capacity_geometry_ml" not in figures:
        return None
    apart = abs(figures["capacity_water_ml"] - figures["capacity_geometry_ml"])
    u = math.hypot(figures["u_capacity_water_ml"], figures["u_capacity_geometry_ml"])
    return apart <= COVERAGE_FACTOR * u


def by_geometry(
    sheet: Sheet, stage: str, plan: Plan
) -> tuple[float, float, tuple[tuple[str, float, str], ...]] | None:
    """Capacity by the sizes at a stage, its uncertainty [ml], and the sizes used.

    None unless height and rim were read at some stage: sizes that are all the plan's would only
    tell the plan again.
    """
    sizes = {key: sheet.size(key, stage, plan) for key in OUTSIDE_SIZES}
    sizes["base_thickness"] = _base(sizes, sheet, stage)
    if None in sizes.values():
        return None
    if PLANNED in {sizes["height"].source, sizes["rim_diameter"].source}:
        return None
    growth = plan.growth(GLAZED, stage) or (1.0, 0.0)
    corner = plan.foot_corner_radius_mm * growth[0]

    waist = sheet.diameters(stage, sizes["height"].value_mm)
    levels = [z for z, _ in waist]
    # Above darts that end on the way it is as wide as the rim; what was read there tells more.
    shoulder = None if waist else plan.shoulder_at(stage, sizes["height"].value_mm)

    def with_rings(*outside: float) -> float:
        straight, waist_diameters = outside[: len(OUTSIDE_SIZES)], outside[len(OUTSIDE_SIZES) :]
        rings = tuple(zip(levels, waist_diameters, strict=True))
        if shoulder is not None:
            rings = ((shoulder, straight[OUTSIDE_SIZES.index("rim_diameter")]),)
        return inside_volume(*straight, foot_corner_radius_mm=corner, diameters_mm=rings)

    is_straight = not levels and shoulder is None
    volume = partial(inside_volume, foot_corner_radius_mm=corner) if is_straight else with_rings
    used = [*sizes.values(), *(size for _, size in waist)]
    value, u = propagate(volume, [size.value_mm for size in used], [size.u_mm for size in used])
    if value <= 0:
        raise ReadingsError(
            "By these sizes there is no room inside; read the wall, the base and the height again."
        )
    told = tuple((key, size.value_mm, size.source) for key, size in sizes.items())
    return value, math.hypot(u, LOFT_MODEL_U * value), told


def _base(sizes: Mapping[str, Size | None], sheet: Sheet, stage: str) -> Size | None:
    """Thickness of the base: as read, else height outside less depth inside, else as it may be."""
    base, height, depth = (
        sizes["base_thickness"],
        sizes["height"],
        sheet.read_sizes(stage).get("depth"),
    )
    if (base and base.source == READ) or not depth or not height or height.source != READ:
        return base
    thickness = height.value_mm - depth.value_mm
    if thickness < SMALLEST_SIZE:
        raise ReadingsError(
            f"The depth inside ({depth.value_mm:g} mm) is not less than the height outside "
            f"({height.value_mm:g} mm); read both again."
        )
    return Size(thickness, math.hypot(height.u_mm, depth.u_mm), READ)


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> Capacity:
    """Capacity of one piece at a stage, by water and by its sizes."""
    water = {r.name or "brim": r for r in sheet.at(stage, "water_mass")}
    if water and stage != GLAZED:
        raise ReadingsError(
            "Water tells the capacity of a glazed piece only: unglazed clay drinks it, and "
            "unfired clay falls apart in it. Weigh the water after the glaze firing."
        )
    geometry = by_geometry(sheet, stage, plan)
    if geometry is None and not water:
        raise NotReadError(
            "Capacity needs the height and the rim's diameter, or the water weighed."
        )
    brim, line = water.get("brim"), water.get("line")
    return capacity(
        water_g=brim.value if brim else None,
        line_g=line.value if line else None,
        u_water_g=max((r.u for r in water.values()), default=0.0),
        geometry_ml=geometry[0] if geometry else None,
        u_geometry_ml=geometry[1] if geometry else 0.0,
        sizes_mm=geometry[2] if geometry else (),
        to_fired=plan.growth(stage, GLAZED) or (1.0, 0.0),
        planned_ml=planned_capacity(plan),
        stage=stage,
        limits=plan.limits,
    )
