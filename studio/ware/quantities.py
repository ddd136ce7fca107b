"""What can be read off a piece: the quantities, their stations and their plausible ranges.

The ranges catch nonsense (a wall of 3 m), not poor craft; the numbers are ours, wide on purpose
(common practice, no source). Base units: millimetres, degrees, grams.
"""

from dataclasses import dataclass

LENGTH, ANGLE, MASS = "mm", "deg", "g"

JOINS = ("seam", "dart1", "dart2", "dart3", "dart4")
ENDS = THINNEST, THICKEST = "thinnest", "thickest"
NUMBERS_4, NUMBERS_2 = ("1", "2", "3", "4"), ("1", "2")

DIMENSIONS = {
    "height": "Height",
    "rim_diameter": "Rim diameter",
    "rim_diameter_2": "Rim diameter, across",
    "max_diameter": "Greatest diameter",
    "diameter": "Diameter at a height",
    "foot_side": "Foot side",
    "foot_diagonal": "Foot diagonal",
    "foot_diameter": "Foot diameter",
    "base_thickness": "Base thickness",
    "depth": "Depth inside",
    "mark": "Shrinkage mark",
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing that can be measured.

    ``instrument`` is the one it is usually read with (:mod:`studio.ware.instruments`).
    ``names`` is None where any lower-case word will do, () where there is no name at all.
    ``lowest`` and ``highest`` bound a plausible value in the base unit. ``needs_height`` and
    ``needs_azimuth`` say that without them nobody knows where the reading was taken.
    ``azimuth_is_found`` marks an azimuth that is read off the piece rather than chosen: a handle
    has one upper attachment wherever it sits, so it does not tell stations apart.
    """

    key: str
    label: str
    unit: str
    instrument: str
    lowest: float
    highest: float
    names: tuple[str, ...] | None = ()
    has_height: bool = False
    has_azimuth: bool = False
    needs_height: bool = False
    needs_azimuth: bool = False
    azimuth_is_found: bool = False


QUANTITIES: dict[str, Quantity] = {
    quantity.key: quantity
    for quantity in (
        Quantity(
            "wall_thickness",
            "Wall",
            LENGTH,
            "calliper",
            # A quarter of an inch typed without its unit, and a lost decimal point, are kept and
            # asked about rather than turned away.
            0.1,
            200,
            has_height=True,
            has_azimuth=True,
            needs_height=True,
            needs_azimuth=True,
        ),
        Quantity(
            "wall_end",
            "Wall, thinnest or thickest place",
            LENGTH,
            "calliper",
            0.1,
            200,
            ENDS,
            has_height=True,
            has_azimuth=True,
            needs_azimuth=True,
            azimuth_is_found=True,
        ),
        Quantity(
            "rim_height",
            "Rim height",
            LENGTH,
            "height gauge",
            5,
            1000,
            has_azimuth=True,
            needs_azimuth=True,
        ),
        Quantity("dimension", "Size", LENGTH, "ruler", 0.5, 2000, names=None, has_height=True),
        Quantity(
            "seam_length",
            "Length of the join",
            LENGTH,
            "tape",
            1,
            2000,
            JOINS,
            has_azimuth=True,
            azimuth_is_found=True,
        ),
        Quantity("seam_open", "Open part", LENGTH, "ruler", 0, 2000, JOINS, has_height=True),
        Quantity("seam_through", "Crack through", LENGTH, "ruler", 0, 2000, JOINS, has_height=True),
        Quantity(
            "seam_step", "Step at the join", LENGTH, "calliper", 0, 50, JOINS, has_height=True
        ),
        Quantity(
            "seam_thickness",
            "Thickness at the join",
            LENGTH,
            "calliper",
            0.1,
            200,
            (*JOINS, "beside"),
            has_height=True,
        ),
        Quantity(
            "handle_top",
            "Upper attachment",
            LENGTH,
            "ruler",
            0,
            1000,
            has_azimuth=True,
            needs_azimuth=True,
            azimuth_is_found=True,
        ),
        Quantity(
            "handle_bottom",
            "Lower attachment",
            LENGTH,
            "ruler",
            0,
            1000,
            has_azimuth=True,
            needs_azimuth=True,
            azimuth_is_found=True,
        ),
        Quantity("handle_twist", "Handle twist", ANGLE, "protractor", -90, 90),
        Quantity("handle_opening", "Handle opening", LENGTH, "ruler", 0, 300, ("height", "depth")),
        Quantity("foot_side", "Foot side", LENGTH, "ruler", 1, 1000, NUMBERS_4),
        Quantity("foot_diagonal", "Foot diagonal", LENGTH, "ruler", 1, 1500, NUMBERS_2),
        Quantity("foot_gap", "Gap under the foot", LENGTH, "feelers", 0, 50, NUMBERS_4),
        Quantity("water_mass", "Water", MASS, "scale", 0, 20000, ("brim", "line")),
    )
}


def station_of(
    quantity: Quantity, name: str, height_mm: float | None, azimuth_deg: float | None
) -> str:
    """The key of a reading's station."""
    return station_key(name, height_mm, None if quantity.azimuth_is_found else azimuth_deg)


def station_key(name: str, height_mm: float | None, azimuth_deg: float | None) -> str:
    """One text for one station, so that a second reading there is known as a correction."""
    parts = [name] if name else []
    if height_mm is not None:
        parts.append(f"z{_short(height_mm)}")
    if azimuth_deg is not None:
        parts.append(f"az{_short(azimuth_deg % 360)}")
    return " ".join(parts)


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
