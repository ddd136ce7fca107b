"""How far two readers of the same pieces agree, each figure with its interval and its count.

Two readers are two people, a student and the teacher, or one teacher twice. The intervals say how
far the figures could move with other pieces of the same kind read by the same two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from . import estimates
from .distributions import chi2_quantile, t_quantile
from .errors import CannotTellError
from .estimates import COVERAGE, FEWEST_PIECES, Estimate

MOST_ALIKE = 0.75
"""Where more than this share of both readings is one and the same level, kappa swings with a piece
or two, whatever the readers do: the share of equal levels is told, kappa is not (our choice)."""

Z = NormalDist().inv_cdf(0.5 + COVERAGE / 2)


@dataclass(frozen=True, slots=True)
class LevelShares:
    """Share of marks that are equal, and that are at most one level apart."""

    same: Estimate
    near: Estimate


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of agreement (second less first): the mean difference, and the two limits between
    which 95 % of the differences are expected, mean -+ 1.96 SD."""

    mean: Estimate
    low: Estimate
    high: Estimate
    sd: float
    count: int


@dataclass(frozen=True, slots=True)
class CriterionAgreement:
    """What can be told of one criterion, or of all together; ``because`` says why something is
    not (then it is None). ``higher`` and ``lower``: marks that the second reader gave above or
    below the first; ``marks`` all that both gave."""

    pieces: int
    marks: int
    higher: int
    lower: int
    shares: LevelShares | None
    kappa: Estimate | None
    because: str = ""

    @property
    def same(self) -> int:
        """Marks that are equal."""
        return self.marks - self.higher - self.lower


@dataclass(frozen=True, slots=True)
class ReaderAgreement:
    """Agreement by criterion, in the order given, and over all criteria together."""

    criteria: tuple[CriterionAgreement, ...]
    together: CriterionAgreement


def compare(first, second, *, levels: int = 4) -> ReaderAgreement:
    """Tell all that the levels of two readers can carry; what they cannot is said, not raised.

    Parameters
    ----------
    first, second : array_like, shape (pieces, criteria)
        Levels 1 .. ``levels``; NaN where a criterion was not judged or is excused.

    Raises
    ------
    CannotTellError
        Shapes differ, there is no piece at all, or a level is out of range.
    """
    a, b = _levels(first, second, levels)
    each = [_told(a[:, [c]], b[:, [c]], levels) for c in range(a.shape[1])]
    return ReaderAgreement(tuple(each), _told(a, b, levels))


def _told(a: np.ndarray, b: np.ndarray, levels: int) -> CriterionAgreement:
    a, b = _read_by_both(a, b)
    counts = {
        "pieces": len(a),
        "marks": int(np.isfinite(a).sum()),
        "higher": int(np.sum(b > a)),
        "lower": int(np.sum(b < a)),
    }
    try:
        told = shares(a, b)
    except CannotTellError as error:
        return CriterionAgreement(**counts, shares=None, kappa=None, because=str(error))
    try:
        return CriterionAgreement(**counts, shares=told, kappa=weighted_kappa(a, b, levels=levels))
    except CannotTellError as error:
        return CriterionAgreement(**counts, shares=told, kappa=None, because=str(error))


def weighted_kappa(first, second, *, levels: int = 4) -> Estimate:
    """Quadratic weighted kappa with its interval, pieces left out one at a time.

    1 - (sum of squared differences) / (the sum expected of two readers with the same margins who
    do not look at the pieces); over several criteria both sums run over all, each criterion with
    margins of its own, so that a criterion on which all do well earns no agreement.

    Parameters
    ----------
    first, second : array_like, shape (pieces,) or (pieces, criteria)
        Levels 1 .. ``levels``; NaN where not judged.

    Raises
    ------
    CannotTellError
        Under :data:`~.estimates.FEWEST_PIECES` pieces, nearly all marks at one level, or a level
        out of range.

    References
    ----------
    .. [1] J. Cohen, Weighted kappa, Psychological Bulletin 70 (1968) 213-220.
    """
    a, b = _read_by_both(*_levels(first, second, levels))
    _enough(len(a))
    judged = np.isfinite(a)
    commonest = max(np.sum(a == x) + np.sum(b == x) for x in range(1, levels + 1))
    if a.shape[1] == 1 and commonest > 2 * MOST_ALIKE * judged.sum():
        raise CannotTellError(
            "Nearly all pieces stand at one level: look at the share of equal levels; "
            "kappa would hang on one piece or two."
        )
    sums = _sums(a, b)
    value = float(_kappa(sums.sum(axis=1)))
    if math.isnan(value):
        raise CannotTellError("Both gave one and the same level everywhere.")
    if value >= 1:
        return Estimate(1.0, _low_of_complete(a), 1.0, len(a))
    return estimates.correlation(value, _kappa(sums.sum(axis=1)[:, None] - sums))


def _low_of_complete(a: np.ndarray) -> float:
    """Lower end where all marks are equal: so many pieces may still be a level apart.

    Of n pieces without a difference, the share that differs is at most q, (1 - q)^n = 2.5 %. A
    piece that differs is taken to be a level apart on all its criteria.
    """
    tail = (1 - COVERAGE) / 2
    share = 1 - tail ** (1 / len(a))
    expected = 2 * float(np.nansum(np.nanvar(a, axis=0)))
    return max(-1.0, 1 - share * a.shape[1] / expected)


def _sums(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """What kappa is made of, by piece: shape (5, pieces, criteria), nothing where not judged."""
    parts = np.stack([np.ones_like(a), a, b, a * a + b * b, a * b])
    return np.where(np.isfinite(a), parts, 0.0)


def _kappa(sums: np.ndarray) -> np.ndarray:
    """Kappa from sums over pieces, shape (5, ..., criteria) -> (...); NaN without any spread."""
    n, a, b, squares, products = sums
    seen = n > 0
    expected = squares - 2 * np.divide(a * b, n, out=np.zeros_like(a), where=seen)
    observed, expected = (squares - 2 * products).sum(axis=-1), expected.sum(axis=-1)
    flat = expected <= 0
    return np.where(flat, np.nan, 1 - observed / np.where(flat, 1.0, expected))


def shares(first, second) -> LevelShares:
    """Share of marks that are equal, and at most one level apart; pieces are the witnesses.

    Wilson's interval with the number of marks that a simple sample would need to be as sure; that
    number comes of the spread between pieces, and is the number of pieces where there is none.

    References
    ----------
    .. [1] E. L. Korn, B. I. Graubard, Confidence intervals for proportions with small expected
       number of positive counts, Survey Methodology 24 (1998) 193-201 (the effective number).
    .. [2] E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212.
    """
    a, b = _read_by_both(*_columns(first, second))
    _enough(len(a))
    apart, judged = np.abs(a - b), np.isfinite(a)
    return LevelShares(_share(judged & (apart == 0), judged), _share(judged & (apart <= 1), judged))


def _share(hits: np.ndarray, judged: np.ndarray) -> Estimate:
    hit, of = hits.sum(axis=1), judged.sum(axis=1)
    n, marks = len(of), float(of.sum())
    value = float(hit.sum()) / marks
    z, effective = Z, float(n)
    if of.max() > 1:  # with one mark a piece the spread follows from the share itself
        z = t_quantile(0.5 + COVERAGE / 2, n - 1)
        variance = n / (n - 1) * float(np.sum((hit - value * of) ** 2)) / marks**2
        if variance > 0:
            effective = min(value * (1 - value) / variance, marks)
    middle = (value + z * z / (2 * effective)) / (1 + z * z / effective)
    reach = math.sqrt(value * (1 - value) / effective + (z / (2 * effective)) ** 2)
    reach *= z / (1 + z * z / effective)
    return Estimate(value, max(0.0, middle - reach), min(1.0, middle + reach), n)


def icc(scores) -> float:
    """Intraclass correlation ICC(2,1) without an interval: one reader, absolute agreement.

    Parameters
    ----------
    scores : array_like, shape (pieces, readers), both >= 2

    References
    ----------
    .. [1] P. E. Shrout, J. L. Fleiss, Intraclass correlations, Psychological Bulletin 86 (1979)
       420-428.
    """
    x = _scores(scores)
    return float(_icc_from(*_icc_sums(x)))


def icc_2_1(scores) -> Estimate:
    """Intraclass correlation ICC(2,1) with its interval, pieces left out one at a time.

    The interval is over pieces, with these readers. (The one that takes the readers too for a
    sample has one degree of freedom with two of them, and mostly tells nothing.)

    Raises
    ------
    CannotTellError
        Too few pieces, a figure missing, all figures the same, or both readers equal throughout.
    """
    x = _scores(scores)
    _enough(len(x))
    n, total, rows, squares, columns = _icc_sums(x)
    value = float(_icc_from(n, total, rows, squares, columns))
    if value >= 1:
        raise CannotTellError(
            f"All {n} pieces have the same percent from every reader: the agreement is complete, "
            "and no interval can be drawn from that."
        )
    row = x.sum(axis=1)
    left_out = _icc_from(
        n - 1, total - row, rows - row**2, squares - (x**2).sum(axis=1), columns - x
    )
    return estimates.correlation(value, left_out)


def _scores(scores) -> np.ndarray:
    x = np.asarray(scores, dtype=float)
    if x.ndim != 2 or min(x.shape) < 2 or not np.isfinite(x).all():
        raise CannotTellError("Two pieces and two readers at least, each with a figure.")
    x = x - x.mean()
    if not np.any(x):
        raise CannotTellError("All figures are the same: agreement cannot be told.")
    return x


def _icc_sums(x: np.ndarray):
    return len(x), x.sum(), (x.sum(axis=1) ** 2).sum(), (x**2).sum(), x.sum(axis=0)


def _icc_from(n, total, rows, squares, columns):
    """ICC(2,1) from n, the sum, sum of squared row sums, of squares, and the column sums."""
    k = columns.shape[-1]
    whole = total**2 / (n * k)
    between = rows / k - whole
    readers = (columns**2).sum(axis=-1) / n - whole
    error = (squares - whole - between - readers) / ((n - 1) * (k - 1))
    between, readers = between / (n - 1), readers / (k - 1)
    return (between - error) / (between + (k - 1) * error + k * (readers - error) / n)


def limits_of_agreement(first, second) -> Limits:
    """Mean difference (second less first) and its limits, mean -+ 1.96 SD, each with an interval.

    The interval of a limit joins those of the mean and of the SD by their distances from the
    figures (the variance-recovery way); the SD's degrees of freedom and its correlation with the
    mean come of leaving out one piece at a time, for differences of percents are not normal.

    Parameters
    ----------
    first, second : array_like, shape (pieces,)

    References
    ----------
    .. [1] J. M. Bland, D. G. Altman, Statistical methods for assessing agreement, Lancet i (1986)
       307-310. The paper prints 2 SD; here it is 1.96.
    .. [2] G. Y. Zou, Confidence interval estimation for the Bland-Altman limits of agreement,
       Statistical Methods in Medical Research 22 (2013) 630-642.
    """
    a, b = _columns(first, second)
    a, b = _read_by_both(a, b)
    _enough(len(a))
    differences = (b - a)[:, 0]
    n, middle = len(differences), estimates.mean(differences)
    sd = float(differences.std(ddof=1))
    free = estimates.freedom(differences)
    tail = (1 - COVERAGE) / 2
    shrunk = Z * sd * (1 - math.sqrt(free / chi2_quantile(1 - tail, free)))
    grown = Z * sd * (math.sqrt(free / chi2_quantile(tail, free)) - 1)
    r = _mean_with_sd(differences) if sd > 0 else 0.0
    reach = middle.high - middle.value
    near, far = _joined(reach, shrunk, r), _joined(reach, grown, r)
    high = middle.value + Z * sd
    upper = Estimate(high, high - near, high + far, n)
    near, far = _joined(reach, shrunk, -r), _joined(reach, grown, -r)
    low = middle.value - Z * sd
    return Limits(middle, Estimate(low, low - far, low + near, n), upper, sd, n)


def _joined(first: float, second: float, r: float) -> float:
    return math.sqrt(max(first**2 + second**2 + 2 * r * first * second, 0.0))


def _mean_with_sd(values: np.ndarray) -> float:
    """Correlation of mean and SD: 0 for a symmetric spread."""
    logs = estimates.log_variance_left_out(values)
    # The mean with a value left out falls as the value rises.
    return -float(np.corrcoef(values, logs)[0, 1]) if np.ptp(logs) > 0 else 0.0


def _enough(pieces: int) -> None:
    if pieces < FEWEST_PIECES:
        raise CannotTellError(
            f"Too few pieces were read by both: {pieces}, and it takes {FEWEST_PIECES} to tell "
            "agreement with an interval that holds."
        )


def _columns(first, second) -> tuple[np.ndarray, np.ndarray]:
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if a.shape != b.shape or a.ndim not in (1, 2) or a.size == 0:
        raise CannotTellError("There is nothing that both read.")
    return (a[:, None], b[:, None]) if a.ndim == 1 else (a, b)


def _levels(first, second, levels: int) -> tuple[np.ndarray, np.ndarray]:
    a, b = _columns(first, second)
    for each in (a, b):
        if not np.isin(each[~np.isnan(each)], range(1, levels + 1)).all():
            raise CannotTellError(f"A level is not one of 1 to {levels}.")
    return a, b


def _read_by_both(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pieces with a mark from both; NaN where either has none."""
    both = np.isfinite(a) & np.isfinite(b)
    a, b = np.where(both, a, np.nan), np.where(both, b, np.nan)
    some = both.any(axis=1)
    return a[some], b[some]
