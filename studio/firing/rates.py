"""A share with its interval: how often something happens, from few firings."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class RateShare:
    """``count`` of ``total`` with the interval that holds the true share."""

    count: int
    total: int
    low: float
    high: float

    @property
    def value(self) -> float:
        return self.count / self.total

    @property
    def percent(self) -> float:
        return 100 * self.value

    @property
    def low_percent(self) -> float:
        return 100 * self.low

    @property
    def high_percent(self) -> float:
        return 100 * self.high


def wilson(count: int, total: int, *, confidence: float = 0.95) -> RateShare | None:
    """Wilson's score interval of a share; None where nothing was counted.

    Parameters
    ----------
    count, total : int
        0 <= count <= total.
    confidence : float
        Between 0 and 1.

    References
    ----------
    .. [1] E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212.
    """
    if not 0 <= count <= total:
        raise ValueError(f"{count} of {total} is not a share.")
    if total == 0:
        return None
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share = count / total
    middle = (share + z * z / (2 * total)) / (1 + z * z / total)
    half = z / (1 + z * z / total) * sqrt(share * (1 - share) / total + (z / (2 * total)) ** 2)
    # At the ends the formula gives 0 and 1 but for rounding.
    low = 0.0 if count == 0 else max(0.0, middle - half)
    high = 1.0 if count == total else min(1.0, middle + half)
    return RateShare(count, total, low, high)
