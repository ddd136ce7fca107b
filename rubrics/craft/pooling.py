"""What many pieces of one clay say of its shrinkage."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from .inputs import TooFewError, finite_numbers

FEWEST = 3
"""Two pieces tell a mean and hardly a spread; no plan should move for them (our proposal)."""

TWO_SIDED = 0.95

# Two-sided 95 % points of Student's t for 1 to 10 degrees of freedom, NIST/SEMATECH e-Handbook,
# 1.3.6.7.2. Beyond, the expansion below is good to four figures.
_T95 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


def student_95(free: int) -> float:
    """Two-sided 95 % point of Student's t.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, to 10 degrees of freedom.
    .. [2] E. A. Cornish, R. A. Fisher, 1938, expansion in 1/ν (from memory), beyond.
    """
    if free <= len(_T95):
        return _T95[free - 1]
    z = NormalDist().inv_cdf((1 + TWO_SIDED) / 2)
    first = (z**3 + z) / (4 * free)
    second = (5 * z**5 + 16 * z**3 + 3 * z) / (96 * free**2)
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * free**3)
    return z + first + second + third


@dataclass(frozen=True, slots=True)
class Pooled:
    """Mean over pieces with its 95 % interval, and the spread from piece to piece."""

    pieces: int
    mean: float
    spread: float
    low: float
    high: float


def pool(values: Sequence[float]) -> Pooled:
    """Pool one value a piece; every piece counts alike, since pieces differ more than readings.

    Raises
    ------
    ReadingsError
        Fewer than three pieces, or a value not finite.
    """
    known = finite_numbers(values, "A shrinkage")
    n = len(known)
    if n < FEWEST:
        raise TooFewError(f"Pooling needs {FEWEST} pieces.")
    mean = math.fsum(known) / n
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in known) / (n - 1))
    half = student_95(n - 1) * spread / math.sqrt(n)
    return Pooled(n, mean, spread, mean - half, mean + half)
