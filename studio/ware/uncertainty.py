"""The standard uncertainty of one reading: one rule for checks, photos and pages."""

from __future__ import annotations

import math

from studio.ware.instruments import STARTER_INSTRUMENTS, Instrument
from studio.ware.quantities import QUANTITIES
from studio.ware.stages import SOFT_STAGES

COVERAGE_FACTOR = 2.0
"""k in U = k u: an interval of some 95 % (JCGM 100:2008, 6.3.3); to one side 97.7 %, stricter than
the usual 95 %, because a grade hangs on it."""

SOFT_GIVE_MM = 0.5
"""Soft clay yields under the jaws and has no sharp edge: a careful reading is wrong by no more than
about this to either side (common practice, no source). A bound and no standard deviation. [mm]"""

FIRM_GIVE_MM = 0.2
"""What remains on dry and fired ware: grain and rounding; likewise a bound to either side (common
practice, no source). [mm]"""

RECTANGULAR = 1 / math.sqrt(3)
"""Standard uncertainty of what is only known to lie within ± 1, anywhere there as likely as
elsewhere (JCGM 100:2008, 4.3.7)."""

JAWS_CLOSE_ON = frozenset(
    {
        "wall_thickness",
        "wall_end",
        "seam_thickness",
        "dimension",
        "foot_side",
        "foot_diagonal",
        "handle_opening",
    }
)
"""Quantities read with jaws that close on the clay or open against it. A feeler in a gap, an edge
seen beside a ruler and a gauge that is laid on the rim press nothing."""


def standard_uncertainty(resolution: float, repeatability: float = 0.0, give: float = 0.0) -> float:
    """Combine an instrument's resolution, the spread of repeats and the give of the clay.

    Parameters
    ----------
    resolution : float
        Smallest step the instrument shows, d. Its share is d / √12.
    repeatability : float
        Standard deviation of repeated readings of one station, s.
    give : float
        Standard deviation that the clay itself adds, g.

    Returns
    -------
    float
        u = √(d²/12 + s² + g²), in the unit of the arguments.

    Raises
    ------
    ValueError
        A negative or non-finite argument.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1 (resolution of an indication), 5.1.2.
    """
    if not all(0 <= part < math.inf for part in (resolution, repeatability, give)):
        raise ValueError(
            "An instrument's resolution and repeatability must be numbers that are not negative."
        )
    return math.sqrt(resolution**2 / 12 + repeatability**2 + give**2)


def give(quantity: str, stage: str) -> float:
    """Return the standard deviation that the clay adds to a reading; 0 where no jaws close on it.

    What practice says of the clay is a bound, a = 0.5 or 0.2 mm: "about half a millimetre either
    way". Nothing else is known of it, so that it counts as a rectangular distribution, u = a/√3;
    taken as a standard deviation it would say that every third reading is out by more. [mm]

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7.
    """
    if quantity not in JAWS_CLOSE_ON:
        return 0.0
    return RECTANGULAR * (SOFT_GIVE_MM if stage in SOFT_STAGES else FIRM_GIVE_MM)


def usual_instrument(quantity: str) -> Instrument:
    """Return the instrument that the measuring sheet names for a quantity."""
    return STARTER_INSTRUMENTS[QUANTITIES[quantity].instrument]


def reading_uncertainty(
    quantity: str,
    stage: str,
    *,
    own_u: float | None = None,
    instrument: Instrument | None = None,
) -> float:
    """Standard uncertainty of a reading, in its base unit.

    Parameters
    ----------
    quantity, stage : str
        Of the reading.
    own_u : float, optional
        What the reading itself came with, as from a photo; it counts alone.
    instrument : optional
        Anything with ``resolution`` and ``repeatability``; the usual one where none is named.
    """
    if own_u is not None:
        return own_u
    tool = instrument or usual_instrument(quantity)
    return standard_uncertainty(tool.resolution, tool.repeatability, give(quantity, stage))
