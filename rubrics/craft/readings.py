"""What a craft check is given: one measured value of one piece, with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

STAGES = ("wet", "leather-hard", "bone dry", "bisque", "glazed")
"""The stages of a piece in the order in which it goes through them; wet is as cut."""

NEAREST_STAGES = {
    stage: tuple(sorted(STAGES, key=lambda other: abs(STAGES.index(other) - STAGES.index(stage))))
    for stage in STAGES
}
"""For each stage all stages, itself first, then its neighbours: where else a size may be read."""

QUANTITIES = (
    "wall_thickness",
    "rim_height",
    "dimension",
    "seam_length",
    "seam_open",
    "seam_through",
    "seam_step",
    "seam_thickness",
    "handle_top",
    "handle_bottom",
    "handle_twist",
    "handle_opening",
    "foot_side",
    "foot_diagonal",
    "foot_gap",
    "water_mass",
)
"""Everything that can be read; the table in :class:`Reading` says what each one means."""

_KNOWN_QUANTITIES = frozenset(QUANTITIES)
_KNOWN_STAGES = frozenset(STAGES)


class ReadingsError(ValueError):
    """The readings cannot carry the answer; the message is a sentence for a teacher."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value.

    Parameters
    ----------
    quantity : str
        One of :data:`QUANTITIES`.
    stage : str
        One of :data:`STAGES`.
    value : float
        The size [mm], angle [°] or mass [g].
    u : float
        Its standard uncertainty, in the same unit; see :func:`standard_uncertainty`.
    name : str
        Which one, where there are several.
    height_mm : float, optional
        Height of the station over the table; along a join, the distance from the foot. [mm]
    azimuth_deg : float, optional
        Azimuth of the station, counter-clockwise seen from above; 0 where the handle is
        planned. [°]

    Raises
    ------
    ReadingsError
        An unknown quantity or stage. The numbers are judged by the check that uses them.

    Notes
    -----
    ============== ======================== ============ ============ =========================
    quantity       name                     height_mm    azimuth_deg  value
    ============== ======================== ============ ============ =========================
    wall_thickness                          of station   of station   thickness
    rim_height                                           of station   height over a flat table
    dimension      height, rim_diameter,    where it                  size
                   foot_side, max_diameter, says where
                   diameter, base_thickness
    seam_length    seam, dart1 .. dart4                  of the seam, length of the join
                                                         if known
    seam_open      seam, dart1 .. dart4     where the                 length of the open part
                                            part starts
    seam_through   seam, dart1 .. dart4     likewise                  length of a crack that
                                                                      goes through
    seam_step      seam, dart1 .. dart4     where                     step between the lips
    seam_thickness seam, beside             where                     thickness
    handle_top     .                        .            of middle    height of attachment
    handle_bottom  .                        .            of middle    height of attachment
    handle_twist   .                        .                         angle [°]
    handle_opening height, depth            .                         size
    foot_side      1 .. 4, counter-clockwise                          size
    foot_diagonal  1 (joins the corner of sides 4, 1 to that of 2, 3) size
                   and 2 (joins 1, 2 to 3, 4)
    foot_gap       1 .. 4 (the corner before side 1 .. 4)             gap over a flat table
    water_mass     brim, line                                         mass of water [g]
    ============== ======================== ============ ============ =========================
    """

    quantity: str
    stage: str
    value: float
    u: float
    name: str = ""
    height_mm: float | None = None
    azimuth_deg: float | None = None

    def __post_init__(self) -> None:
        if self.quantity not in _KNOWN_QUANTITIES:
            raise ReadingsError(
                f"“{self.quantity}” is not something that is measured here; "
                f"known are {', '.join(QUANTITIES)}."
            )
        if self.stage not in _KNOWN_STAGES:
            raise ReadingsError(
                f"“{self.stage}” is not a stage; the stages are {', '.join(STAGES)}."
            )


def standard_uncertainty(resolution: float, repeatability: float = 0.0) -> float:
    """Combine an instrument's resolution with the spread of repeated readings.

    Parameters
    ----------
    resolution : float
        Smallest step the instrument shows, d. Its share is d / √12.
    repeatability : float
        Standard deviation of repeated readings of one station, s.

    Returns
    -------
    float
        u = √(d²/12 + s²), in the unit of the arguments.

    Raises
    ------
    ReadingsError
        A negative or non-finite argument.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1: resolution of an indication.
    """
    if not (math.isfinite(resolution) and math.isfinite(repeatability)):
        raise ReadingsError("The instrument's resolution and repeatability must be numbers.")
    if resolution < 0 or repeatability < 0:
        raise ReadingsError("The instrument's resolution and repeatability cannot be negative.")
    return math.sqrt(resolution**2 / 12 + repeatability**2)
