"""Linear shrinkage of a clay: on the wet length, as a fraction, everywhere."""

from __future__ import annotations

import math

LARGEST_SHRINKAGE = 0.33
"""No clay shrinks by a third from wet; more is a slip (common practice, no source)."""

LARGEST_SWELLING = 0.02
"""No clay grows by more from wet; more is a slip (common practice, no source)."""


class ShrinkageError(ValueError):
    """Lengths that carry no shrinkage; the message is a sentence."""


def linear_shrinkage(before_mm: float, after_mm: float) -> float:
    """Linear shrinkage on the length before, S = (L0 − L) / L0.

    Raises
    ------
    ShrinkageError
        A length that is not above zero, or not finite.

    References
    ----------
    .. [1] ASTM C326, drying and firing shrinkages of ceramic whiteware clays: drying and total
       shrinkage are on the plastic length (formulas from memory).
    """
    if not (0 < before_mm < math.inf and 0 < after_mm < math.inf):
        raise ShrinkageError("A length for shrinkage must be more than zero.")
    return (before_mm - after_mm) / before_mm


def volume_shrinkage(linear: float) -> float:
    """Volume shrinkage that goes with a linear one, 1 − (1 − S)³."""
    return 1 - (1 - linear) ** 3


def length_ratio(linear_from: float, linear_to: float) -> float:
    """Ratio of a length at one stage to the same at another, by their shrinkages from wet."""
    return (1 - linear_to) / (1 - linear_from)


def wet_size(fired_mm: float, linear: float) -> float:
    """Size to cut so that it fires to a wanted one: fired / (1 − S), not fired × (1 + S). [mm]"""
    return fired_mm / (1 - linear)


def is_plausible(linear: float) -> bool:
    """Whether a clay may shrink so much, from wet to any stage."""
    return -LARGEST_SWELLING <= linear <= LARGEST_SHRINKAGE
