"""What a craft check is given: one measured value of one piece, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

from studio.ware.quantities import QUANTITIES
from studio.ware.stages import STAGES


class ReadingsError(ValueError):
    """The readings cannot carry the answer; the message is a sentence for a teacher."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value.

    Parameters
    ----------
    quantity : str
        One of :data:`studio.ware.quantities.QUANTITIES`.
    stage : str
        One of :data:`studio.ware.stages.STAGES`.
    value : float
        The size [mm], angle [°] or mass [g].
    u : float
        Its standard uncertainty, in the same unit; see :mod:`studio.ware.uncertainty`.
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
    wall_end       thinnest, thickest       if noted     of the place thickness there, found by
                                                                      going all round
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
        if self.quantity not in QUANTITIES:
            raise ReadingsError(
                f"“{self.quantity}” is not something that is measured here; "
                f"known are {', '.join(QUANTITIES)}."
            )
        if self.stage not in STAGES:
            raise ReadingsError(
                f"“{self.stage}” is not a stage; the stages are {', '.join(STAGES)}."
            )
