"""A squared foot seen corner-on: what looks like its width is no side, and pairs with none."""

from __future__ import annotations

import math
from collections.abc import Sequence

from studio.ware.uncertainty import COVERAGE_FACTOR

DIAGONAL_OF_UNIT_SQUARE = math.sqrt(2)

CORNER_ON_SHARE = 0.05
"""A foot that looks broader than its side by this share was turned, by 3° or more, to the eye: a
hand-built foot's own sides differ by less (our proposal)."""


def is_corner_on(ratio: float, u: float) -> bool:
    """Whether a foot seen from the side is too broad, by this ratio, to be its side.

    A square turned by an angle shows its side times cos + sin of it, up to its diagonal.

    Parameters
    ----------
    ratio : float
        What was seen over the side.
    u : float
        Standard uncertainty of the ratio.
    """
    least = 1 + CORNER_ON_SHARE + COVERAGE_FACTOR * u
    return least < ratio <= DIAGONAL_OF_UNIT_SQUARE * (1 + CORNER_ON_SHARE)


def was_turned(ratio: float, u: float, others: Sequence[float] = ()) -> bool:
    """Whether a foot was seen corner-on at one of two stages.

    Parameters
    ----------
    ratio : float
        Its width at the later stage over that at the earlier.
    u : float
        Standard uncertainty of the ratio.
    others : sequence of float, above zero
        The same of sizes that no turn changes: they say how much the clay shrank. Without them
        only a foot that would have grown is told.
    """
    if others:
        ratio /= math.exp(math.fsum([math.log(each) for each in others]) / len(others))
    return is_corner_on(ratio, u) or (bool(others) and is_corner_on(1 / ratio, u))
