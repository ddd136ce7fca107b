"""Agreement of two readers against published examples and a reference library."""

import numpy as np
import pytest
from scipy import stats

from rubrics.stats.agreement import (
    AgreementError,
    f_quantile,
    icc_2_1,
    limits_of_agreement,
    weighted_kappa,
)

# Shrout & Fleiss, Psychological Bulletin 86 (1979) 420-428, table 2.
SHROUT_FLEISS = [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
]
# Cohen, Psychological Bulletin 70 (1968) 213-220, as frequencies of 200.
COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
# Bland & Altman, Lancet i (1986) 307-310: peak flow by two meters.
WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def spread_out(table):
    pairs = [
        (i + 1, j + 1) for i, row in enumerate(table) for j, n in enumerate(row) for _ in range(n)
    ]
    return tuple(zip(*pairs, strict=True))


def test_quadratic_kappa_of_cohens_table():
    found = weighted_kappa(*spread_out(COHEN), levels=3)
    # Two open reference libraries agree on .4545455 with quadratic weights.
    assert found.value == pytest.approx(0.4545455, abs=1e-7)
    assert found.count == 200
    assert found.low < found.value < found.high
    # Close to the interval from the large-sample variance, some 0.13 to either side.
    assert found.high - found.low == pytest.approx(0.26, abs=0.06)


def test_kappa_of_two_by_two():
    assert weighted_kappa(*spread_out([[20, 5], [10, 15]]), levels=2).value == pytest.approx(0.4)


def test_kappa_by_its_definition_on_random_levels():
    rng = np.random.default_rng(5)
    a, b = rng.integers(1, 5, 60), rng.integers(1, 5, 60)
    table = np.zeros((4, 4))
    np.add.at(table, (a - 1, b - 1), 1 / 60)
    weights = (np.arange(4)[:, None] - np.arange(4)) ** 2
    expected = np.outer(table.sum(1), table.sum(0))
    by_definition = 1 - (weights * table).sum() / (weights * expected).sum()
    assert weighted_kappa(a, b).value == pytest.approx(by_definition)


def test_icc_of_shrout_and_fleiss():
    found = icc_2_1(SHROUT_FLEISS)
    assert found.value == pytest.approx(0.289764, abs=1e-6)
    # The interval as computed by the same open library as the value: [.02, .76].
    assert (round(found.low, 2), round(found.high, 2)) == (0.02, 0.76)
    assert found.count == 6


def test_limits_of_bland_and_altman():
    found = limits_of_agreement(WRIGHT, MINI)
    assert (found.mean, found.sd) == pytest.approx((-2.117647, 38.765130), abs=1e-6)
    assert (found.low, found.high) == pytest.approx((-78.097302, 73.862007), abs=2e-3)
    assert found.u_limit == pytest.approx(16.2846, abs=1e-4)


@pytest.mark.parametrize(
    ("p", "d1", "d2"), [(0.975, 5, 3.7), (0.975, 3.7, 5), (0.95, 23, 60.2), (0.5, 1, 1)]
)
def test_quantiles_of_f_against_scipy(p, d1, d2):
    assert f_quantile(p, d1, d2) == pytest.approx(stats.f.ppf(p, d1, d2), rel=1e-9)


def test_what_cannot_be_told_is_refused():
    with pytest.raises(AgreementError, match="one and the same"):
        weighted_kappa([3, 3, 3], [3, 3, 3])
    with pytest.raises(AgreementError, match="nothing"):
        weighted_kappa([], [])
    with pytest.raises(AgreementError, match="1 to 4"):
        weighted_kappa([5], [4])
