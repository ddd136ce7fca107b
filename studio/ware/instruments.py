"""Instruments that ship with the site.

Resolution is the smallest step an instrument of its kind shows. Repeatability is the standard
deviation to expect when one spot of clay or ware is read again and again by a careful student:
common practice, no source. A school that repeats readings enters its own.
"""

from dataclasses import dataclass

from studio.ware.quantities import ANGLE, LENGTH, MASS


@dataclass(frozen=True, slots=True)
class Instrument:
    """What a reading is taken with: smallest step and spread of repeats, in ``unit``."""

    resolution: float
    repeatability: float = 0.0
    unit: str = LENGTH


STARTER_INSTRUMENTS = {
    "calliper": Instrument(0.1, 0.1),
    "feelers": Instrument(0.05, 0.05),
    "height gauge": Instrument(0.5, 0.2),
    "needle": Instrument(0.5, 0.3),
    "ruler": Instrument(1.0, 0.3),
    "steel ruler, half millimetres": Instrument(0.5, 0.3),
    # 1/16 in, exactly (1 in = 25.4 mm, NIST SP 811).
    "ruler, sixteenths of an inch": Instrument(1.5875, 0.3),
    "tape": Instrument(1.0, 0.5),
    "protractor": Instrument(1.0, 1.0, ANGLE),
    "scale": Instrument(1.0, 0.5, MASS),
}
