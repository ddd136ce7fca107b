"""A sample of a batch for a second look: how many pieces, and which."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from random import Random
from statistics import NormalDist

from .errors import CannotTellError
from .estimates import COVERAGE, FEWEST_PIECES

LEAST_KNOWN_SHARE = 0.5
"""The share that takes the largest sample: taken where nothing is known of it."""


@dataclass(frozen=True, slots=True)
class Sample:
    """The pieces in the order in which they were drawn (to be shown in this order), and the seed
    that draws them again. ``by_level``: how many of how many at each level."""

    pieces: tuple[Hashable, ...]
    by_level: tuple[tuple[Hashable, int, int], ...]
    seed: int


def size_for_share(
    batch: int, within: float, *, share: float = LEAST_KNOWN_SHARE, coverage: float = COVERAGE
) -> int:
    """Pieces needed to know a share (of equal levels, say) to ``within``, from a batch of so many.

    n0 = z^2 p (1 - p) / d^2; of a batch of N, n = n0 / (1 + (n0 - 1) / N), rounded up.

    Parameters
    ----------
    batch : int
        Pieces in the batch, N.
    within : float
        Half the width of the interval, d, as a share: 0.1 is ten points of a hundred.
    share : float
        The share expected, p.

    References
    ----------
    .. [1] W. G. Cochran, Sampling Techniques, 3rd ed. (1977), 4.4.
    """
    if not 0 < within < 1 or not 0 < share < 1:
        raise CannotTellError("The precision and the share lie between 0 and 1.")
    return _size(batch, _z(coverage) ** 2 * share * (1 - share) / within**2)


def _z(coverage: float) -> float:
    return NormalDist().inv_cdf(0.5 + coverage / 2)


def _size(batch: int, without_end: float) -> int:
    """At least as many as agreement can be told from, at most all."""
    if batch < 1:
        raise CannotTellError("The batch has no judged piece to draw from.")
    # Rounding may not turn 20.0000000001 into 21.
    needed = math.ceil(round(without_end / (1 + (without_end - 1) / batch), 9))
    return min(batch, max(needed, FEWEST_PIECES))


def draw(levels: Mapping[Hashable, Hashable], size: int, *, seed: int) -> Sample:
    """Draw pieces by chance, spread over the levels.

    Each level gives in proportion to its pieces (largest remainders first), and one at least
    while there is room: a sample in proportion shows the same agreement as the batch would, and
    the few pieces at an end are seen too.

    Parameters
    ----------
    levels : mapping
        Piece -> the level (or grade band) it stands at; the order of the mapping counts.
    size : int
        Pieces wanted, 1 to all.
    seed : int
        Recorded with the sample; only ``random.Random(seed).random()`` is used, the one sequence
        that Python promises to keep.
    """
    if not 1 <= size <= len(levels):
        raise CannotTellError(
            f"A sample of {size} cannot be drawn from {len(levels)} judged pieces."
        )
    chance = Random(seed)
    strata: dict[Hashable, list[Hashable]] = defaultdict(list)
    for piece, level in levels.items():
        strata[level].append(piece)
    names = sorted(strata, key=str)
    share = _spread([len(strata[name]) for name in names], size, chance)
    drawn = []
    for name, count in zip(names, share, strict=True):
        drawn += sorted(strata[name], key=lambda _: chance.random())[:count]
    return Sample(
        tuple(sorted(drawn, key=lambda _: chance.random())),
        tuple((n, count, len(strata[n])) for n, count in zip(names, share, strict=True)),
        seed,
    )


def _spread(pieces: list[int], size: int, chance: Random) -> list[int]:
    """How many of each level; ties of remainders are broken by chance."""
    whole = sum(pieces)
    quotas = [size * each / whole for each in pieces]
    given = [math.floor(each) for each in quotas]
    by_rest = sorted(range(len(pieces)), key=lambda i: (given[i] - quotas[i], chance.random()))
    for i in by_rest[: size - sum(given)]:
        given[i] += 1
    for i in sorted(range(len(pieces)), key=lambda i: -pieces[i]):
        if given[i] == 0 and max(given) > 1:
            given[given.index(max(given))] -= 1
            given[i] = 1
    return given
