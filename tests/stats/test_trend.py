"""The robust trend against published data and SciPy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rubrics.stats.trend import (
    FALLING,
    RISING,
    STEADY,
    TOO_EARLY,
    TrendError,
    chance_of,
    kendall_s,
    theil_sen,
    trend,
)

# Sen, Journal of the American Statistical Association 63 (1968) 1379-1389. The interval printed
# there rests on slips in its list of slopes (SciPy's tests say so); 26/7 and 35/8 are recomputed.
SEN_X = [1, 2, 3, 4, 10, 12, 18]
SEN_Y = [9, 15, 19, 20, 45, 55, 78]


def test_sens_own_example():
    fitted = theil_sen(SEN_X, SEN_Y)
    assert fitted.slope == 4
    assert fitted.intercept == 4
    assert fitted.interval(0.93) == pytest.approx((26 / 7, 35 / 8))


def test_ties_by_the_environmental_handbook():
    # EPA QA/G-9S, p. 109: S 22, variance 155.3333, Z 1.685.
    values = [10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15]
    times = list(range(len(values)))
    fitted = theil_sen(times, values)
    assert kendall_s(times, values) == 22
    assert fitted.deviation**2 == pytest.approx(155.3333, abs=5e-5)
    assert (22 - 1) / fitted.deviation == pytest.approx(1.685, abs=5e-4)


@pytest.mark.parametrize(
    ("values", "s", "chance"),
    [
        ([5, 6, 11, 8, 10], 6, 14 / 120),  # EPA QA/G-9, small sample: .117
        ([10, 15, 14, 20], 4, 4 / 24),  # Gilbert 1987, ch. 16: .167
        ([1, 2, 3], 3, 1 / 6),
        ([1, 2, 3, 4], 6, 1 / 24),
    ],
)
def test_the_exact_chance_of_few_points(values, s, chance):
    times = list(range(len(values)))
    assert kendall_s(times, values) == s
    assert chance_of(s, len(values)) == pytest.approx(chance)


points = st.lists(st.integers(-50, 50), min_size=4, max_size=9)


@given(points)
def test_slope_and_interval_agree_with_scipy(values):
    x = np.arange(len(values), dtype=float)
    ours, theirs = theil_sen(x, values), stats.theilslopes(values, x, 0.9)
    assert ours.slope == pytest.approx(theirs.slope)
    assert ours.intercept == pytest.approx(theirs.intercept)
    assert ours.interval(0.9) == pytest.approx((theirs.low_slope, theirs.high_slope))


@given(st.lists(st.integers(-50, 50), min_size=4, max_size=9, unique=True))
def test_the_exact_chance_agrees_with_scipy(values):
    x = list(range(len(values)))
    s = abs(kendall_s(x, values))
    if s:
        theirs = stats.kendalltau(x, values, method="exact", alternative="two-sided").pvalue
        assert min(2 * chance_of(s, len(x)), 1) == pytest.approx(theirs)


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ([70, 75, 85], TOO_EARLY),
        ([70, 75, 80, 85], RISING),
        ([85, 80, 75, 70], FALLING),
        ([70, 90, 75, 85], STEADY),
        ([85, 85, 85, 85, 85], STEADY),
    ],
)
def test_words(values, word):
    assert trend(list(range(len(values))), values).word == word


@given(points)
def test_turning_the_figures_round_turns_the_word_round(values):
    x = list(range(len(values)))
    turned = {RISING: FALLING, FALLING: RISING, STEADY: STEADY}
    assert trend(x, [-v for v in values]).word == turned[trend(x, values).word]


def test_what_cannot_carry_a_slope():
    with pytest.raises(TrendError, match="one and the same project"):
        theil_sen([1, 1], [2, 3])
    with pytest.raises(TrendError, match="no number"):
        theil_sen([1, 2], [2, float("nan")])
    with pytest.raises(TrendError, match="two figures"):
        theil_sen([1], [2])
