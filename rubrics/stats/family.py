"""Many findings on one page: the chance that any of them is a false alarm is held together."""

from __future__ import annotations

from collections.abc import Sequence

CHANCE = 0.05
"""On a page where nothing but chance is at work, something is claimed in 1 of 20 cases at most."""


def holm(chances: Sequence[float]) -> tuple[float, ...]:
    """Each chance as it stands beside the others: claimed where it is at most the page's chance.

    Holds however the figures hang together.

    References
    ----------
    .. [1] S. Holm, A simple sequentially rejective multiple test procedure, Scandinavian Journal
       of Statistics 6 (1979) 65-70.
    """
    order = sorted(range(len(chances)), key=lambda i: chances[i])
    held, so_far = [1.0] * len(chances), 0.0
    for place, i in enumerate(order):
        so_far = max(so_far, min(1.0, (len(chances) - place) * chances[i]))
        held[i] = so_far
    return tuple(held)


def room(least: Sequence[float], chance: float = CHANCE) -> int:
    """How many findings share the page's chance, those left out that could never be claimed.

    Few points, or ties, have a smallest chance that even a perfect order reaches. One that cannot
    reach its share of the page's chance takes nothing from the others.

    Returns
    -------
    int
        The smallest k for which at most k of the smallest chances are chance / k or less. Findings
        with a smallest chance above chance / k are out of the family.

    References
    ----------
    .. [1] R. E. Tarone, A modified Bonferroni method for discrete data, Biometrics 46 (1990)
       515-522.
    """
    k = 1
    while sum(each <= chance / k for each in least) > k:
        k += 1
    return k
