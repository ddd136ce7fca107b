"""Agreement of two readers against published examples and reference libraries."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.inter_rater import cohens_kappa

from rubrics.stats.agreement import (
    compare,
    icc,
    icc_2_1,
    limits_of_agreement,
    shares,
    weighted_kappa,
)
from rubrics.stats.errors import CannotTellError
from rubrics.stats.estimates import FEWEST_PIECES

from .readers import percents, read

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
    reference = cohens_kappa(COHEN, wt="quadratic")
    # The large-sample interval is made on kappa itself, ours on Fisher's scale: at 200 pairs the
    # two lie within a hundredth of each other.
    assert found.low == pytest.approx(reference.kappa_low, abs=0.015)
    assert found.high == pytest.approx(reference.kappa_upp, abs=0.015)


def test_kappa_of_two_by_two():
    assert weighted_kappa(*spread_out([[20, 5], [10, 15]])).value == pytest.approx(0.4)


@given(st.integers(0, 10**6))
def test_kappa_agrees_with_statsmodels(seed):
    rng = np.random.default_rng(seed)
    a, b = rng.integers(1, 5, 60), rng.integers(1, 5, 60)
    table = np.zeros((4, 4))
    np.add.at(table, (a - 1, b - 1), 1)
    reference = cohens_kappa(table, wt="quadratic", return_results=True)
    assert weighted_kappa(a, b).value == pytest.approx(reference.kappa)


def test_icc_of_shrout_and_fleiss():
    # .29 in their table 4; .289764 recomputed by an open library.
    assert icc(SHROUT_FLEISS) == pytest.approx(0.289764, abs=1e-6)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 4))
def test_icc_by_the_mean_squares_of_statsmodels(seed, readers):
    rng = np.random.default_rng(seed)
    x = rng.normal(80, 8, (20, 1)) + rng.normal(0, 3, readers) + rng.normal(0, 4, (20, readers))
    rows = [(p, r, x[p, r]) for p in range(20) for r in range(readers)]
    frame = pd.DataFrame(rows, columns=["piece", "reader", "mark"])
    table = anova_lm(ols("mark ~ C(piece) + C(reader)", frame).fit())
    between, across, error = table["mean_sq"]
    below = between + (readers - 1) * error + readers * (across - error) / 20
    assert icc(x) == pytest.approx((between - error) / below)
    assert icc_2_1(x).value == pytest.approx(icc(x))


def test_intervals_leave_out_whole_pieces():
    # Written out the long way: each piece taken out, the figure worked out anew.
    rng = np.random.default_rng(7)
    a, b = read(rng, 24, 3, error=0.5, bias=0.2)
    without = [np.delete(np.arange(24), i) for i in range(24)]
    left = np.array([weighted_kappa(a[rows], b[rows]).value for rows in without])
    error = np.sqrt(23 / 24 * np.sum((left - left.mean()) ** 2))
    found = weighted_kappa(a, b)
    reach = (np.arctanh(found.high) - np.arctanh(found.low)) / 2
    narrowest = stats.t.ppf(0.975, 23) * error / (1 - found.value**2)
    assert narrowest <= reach < 1.2 * narrowest  # fewer degrees of freedom, seldom by much
    marks = np.stack([percents(a), percents(b)], axis=1)
    left = np.array([icc(marks[rows]) for rows in without])
    error = np.sqrt(23 / 24 * np.sum((left - left.mean()) ** 2))
    found = icc_2_1(marks)
    reach = (np.arctanh(found.high) - np.arctanh(found.low)) / 2
    narrowest = stats.t.ppf(0.975, 23) * error / (1 - found.value**2)
    assert narrowest * (1 - 1e-9) <= reach < 1.5 * narrowest


def test_marks_of_one_piece_are_no_witnesses_of_their_own():
    rng = np.random.default_rng(3)
    a, b = read(rng, 30, 1, error=0.5, bias=0)
    once = weighted_kappa(a, b)
    seven_times = weighted_kappa(np.repeat(a, 7, axis=1), np.repeat(b, 7, axis=1))
    # One mark copied to seven criteria says nothing new: the interval stays as wide.
    assert seven_times.value == pytest.approx(once.value)
    assert seven_times.low == pytest.approx(once.low)
    assert seven_times.count == once.count == 30
    same, copied = (
        shares(*each).same for each in ((a, b), (np.repeat(a, 7, 1), np.repeat(b, 7, 1)))
    )
    assert copied.value == same.value
    # A little wider, for the spread between pieces is now estimated; never narrower.
    assert 1 < (copied.high - copied.low) / (same.high - same.low) < 1.1


def test_limits_of_bland_and_altman():
    found = limits_of_agreement(MINI, WRIGHT)
    assert (found.mean.value, found.sd) == pytest.approx((-2.117647, 38.765130), abs=1e-6)
    assert found.low.value == pytest.approx(-78.097302, abs=2e-3)
    assert found.high.value == pytest.approx(73.862007, abs=2e-3)
    # The paper's own 95 % interval of the mean, t with 16 degrees of freedom: -22.0 to 17.8 l/min
    # (from memory; recomputed).
    assert (found.mean.low, found.mean.high) == pytest.approx((-22.05, 17.81), abs=0.01)
    # The paper's approximate standard error of a limit, sqrt(3 s2/n) = 16.28, gives 34.5 to either
    # side; with few pieces, some far out, it is too short.
    for limit in (found.low, found.high):
        assert 34.5 < (limit.high - limit.low) / 2 < 1.3 * 34.5
    assert found.high.high - found.high.value > found.high.value - found.high.low


def test_limits_turn_round_with_the_readers():
    one, other = limits_of_agreement(WRIGHT, MINI), limits_of_agreement(MINI, WRIGHT)
    assert one.high.value == pytest.approx(-other.low.value)
    assert (one.high.low, one.high.high) == pytest.approx((-other.low.high, -other.low.low))


@given(st.floats(1e-3, 1e3))
def test_limits_in_another_unit_are_the_same_limits(scale):
    tail = np.random.default_rng(4).gamma(2, 1, 40)
    one, other = (limits_of_agreement(np.zeros(40), tail * by) for by in (1, scale))
    for end in ("low", "high"):
        for part in ("low", "value", "high"):
            expected = scale * getattr(getattr(one, end), part)
            assert getattr(getattr(other, end), part) == pytest.approx(expected, rel=1e-6)


def test_the_limit_on_the_side_of_the_long_tail_is_the_less_certain_one():
    # A chi-squared spread: where a large difference raises the mean it raises the SD as well.
    tail = np.random.default_rng(2).chisquare(3, 60)
    found = limits_of_agreement(np.zeros(60), tail)
    high, low = found.high, found.low
    assert high.high - high.low > 1.3 * (low.high - low.low)


def test_full_agreement_is_not_taken_for_certain():
    levels = [1, 2, 3, 4] * 5
    found = weighted_kappa(levels, levels)
    assert (found.value, found.high) == (1, 1)
    # 20 pieces without a difference: up to 16.8 % may differ (1 - .025^(1/20)); expected squared
    # difference by chance 2 x 1.25.
    assert found.low == pytest.approx(1 - (1 - 0.025 ** (1 / 20)) / 2.5)
    assert shares(levels, levels).same.low < 0.85
    # On two criteria, each spread as before: a piece that differs does so on both.
    both = np.column_stack([levels, levels[::-1]])
    assert weighted_kappa(both, both).low == pytest.approx(1 - 2 * (1 - 0.025 ** (1 / 20)) / 5)


def test_compare_tells_each_criterion_and_all():
    a, b = read(np.random.default_rng(1), 40, 3, error=0.4, bias=0.3)
    a[:, 1] = np.where(np.arange(40) < 30, np.nan, a[:, 1])  # judged on ten pieces only
    a[:, 2] = b[:, 2] = 4
    b[0, 2] = 3
    found = compare(a, b)
    first, few, alike = found.criteria
    assert (first.pieces, first.because) == (40, "")
    assert first.kappa.low < first.kappa.value < first.kappa.high
    assert first.shares.same.value == np.mean(a[:, 0] == b[:, 0]) == first.same / 40
    assert first.shares.near.value == np.mean(np.abs(a - b)[:, 0] <= 1)
    assert (few.pieces, few.kappa, few.shares) == (10, None, None)
    assert "Too few pieces" in few.because
    assert alike.kappa is None
    assert alike.shares.same.value == 39 / 40
    assert "at one level" in alike.because
    assert found.together.marks == 90
    assert found.together.higher - found.together.lower == sum(
        each.higher - each.lower for each in found.criteria
    )
    # All together: the sums over criteria, each with margins of its own.
    top = below = 0
    for c in range(3):
        x, y = a[:, c], b[:, c]
        x, y = x[~np.isnan(x)], y[~np.isnan(x)]
        top += np.sum((x - y) ** 2)
        below += np.sum((x[:, None] - y) ** 2) / len(x)
    assert found.together.kappa.value == pytest.approx(1 - top / below)


def test_what_cannot_be_told_is_refused():
    with pytest.raises(CannotTellError, match="one and the same"):
        weighted_kappa([[3, 3]] * 20, [[3, 3]] * 20)
    with pytest.raises(CannotTellError, match="nothing"):
        weighted_kappa([], [])
    with pytest.raises(CannotTellError, match="1 to 4"):
        weighted_kappa([5], [4])
    few = list(np.arange(FEWEST_PIECES - 1) % 4 + 1)
    with pytest.raises(CannotTellError, match=f"{len(few)}, and it takes 15"):
        weighted_kappa(few, few[::-1])
    with pytest.raises(CannotTellError, match="the agreement is complete"):
        icc_2_1([[each, each] for each in range(20)])
    with pytest.raises(CannotTellError, match="All figures are the same"):
        icc([[80, 80], [80, 80]])
    with pytest.raises(CannotTellError, match="each with a figure"):
        icc([[80, np.nan], [70, 80]])
