"""Instruments that ship with the site.

Resolution is the smallest step an instrument of its kind shows. Repeatability is the standard
deviation to expect when one spot of clay or ware is read again and again by a careful student:
common practice, no source. A school that repeats readings enters its own.
"""

from dataclasses import dataclass

from studio.models import Instrument


@dataclass(frozen=True, slots=True)
class StarterInstrument:
    """Resolution and repeatability are in ``unit``."""

    name: str
    unit: str
    resolution: float
    repeatability: float


STARTER_INSTRUMENTS = (
    StarterInstrument("calliper", "mm", 0.1, 0.1),
    StarterInstrument("feelers", "mm", 0.05, 0.05),
    StarterInstrument("height gauge", "mm", 0.5, 0.2),
    StarterInstrument("needle", "mm", 0.5, 0.3),
    StarterInstrument("ruler", "mm", 1.0, 0.3),
    StarterInstrument("steel ruler, half millimetres", "mm", 0.5, 0.3),
    # 1/16 in, exactly (1 in = 25.4 mm, NIST SP 811).
    StarterInstrument("ruler, sixteenths of an inch", "mm", 1.5875, 0.3),
    StarterInstrument("tape", "mm", 1.0, 0.5),
    StarterInstrument("protractor", "deg", 1.0, 1.0),
    StarterInstrument("scale", "g", 1.0, 0.5),
)


def ensure_instruments() -> int:
    """Add the shipped instruments that are missing; what stands is left alone. Returns how many.

    Two queries.
    """
    there = set(Instrument.objects.filter(owner=None).values_list("name", flat=True))
    missing = [
        Instrument(
            owner=None,
            name=one.name,
            unit=one.unit,
            resolution=one.resolution,
            repeatability=one.repeatability,
        )
        for one in STARTER_INSTRUMENTS
        if one.name not in there
    ]
    Instrument.objects.bulk_create(missing)
    return len(missing)
