"""The robust trend against published data and SciPy, and its false alarms."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.multitest import multipletests

from rubrics.stats.errors import CannotTellError
from rubrics.stats.family import CHANCE, holm, room
from rubrics.stats.kendall import (
    EXACT_BOTH_TIED,
    EXACT_ONE_TIED,
    chance_of,
    deviation,
    kendall_s,
    least_chance,
)
from rubrics.stats.trend import (
    FALLING,
    RISING,
    STEADY,
    TOO_EARLY,
    theil_sen,
    trend,
    trends,
)

# Sen, Journal of the American Statistical Association 63 (1968) 1379-1389. The interval printed
# there rests on slips in its list of slopes (SciPy's tests say so); 26/7 and 35/8 are recomputed.
SEN_X = [1, 2, 3, 4, 10, 12, 18]
SEN_Y = [9, 15, 19, 20, 45, 55, 78]


def test_sens_own_example():
    fitted = theil_sen(SEN_X, SEN_Y)
    assert fitted.slope == 4
    assert fitted.intercept == 4
    # Called 93 % by the paper, which takes P(|S| < 13); the same two slopes, the 4th and the 18th
    # of 21, in truth hold 96.9 % (P(|S| <= 13)), and are the narrowest that hold 95 %.
    assert fitted.interval(0.95) == pytest.approx((26 / 7, 35 / 8))


def test_ties_by_the_environmental_handbook():
    # EPA QA/G-9S, p. 109: S 22, variance 155.3333, Z 1.685, two-sided .0920 by the normal curve.
    values = [10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15]
    times = list(range(len(values)))
    assert kendall_s(times, values) == 22
    assert deviation(times, values) ** 2 == pytest.approx(155.3333, abs=5e-5)
    assert (22 - 1) / deviation(times, values) == pytest.approx(1.685, abs=5e-4)
    assert chance_of(times, values) == pytest.approx(0.092, abs=0.005)


@pytest.mark.parametrize(
    ("values", "s", "chance"),
    [
        ([5, 6, 11, 8, 10], 6, 14 / 120),  # EPA QA/G-9, small sample: .117
        ([10, 15, 14, 20], 4, 4 / 24),  # Gilbert 1987, ch. 16: .167
        ([1, 2, 3], 3, 1 / 6),
        ([1, 2, 3, 4], 6, 1 / 24),
        ([1, 2, 2, 3], 5, 1 / 12),  # twelve orders, not twenty-four: two are alike
    ],
)
def test_the_exact_chance_of_few_points(values, s, chance):
    times = list(range(len(values)))
    assert kendall_s(times, values) == s
    assert chance_of(times, values, one_sided=True) == pytest.approx(chance)
    assert chance_of(times, values) == pytest.approx(2 * chance)


small = st.integers(3, 7).flatmap(
    lambda n: st.tuples(
        st.lists(st.integers(0, 6), min_size=n, max_size=n),
        st.lists(st.integers(1, 4), min_size=n, max_size=n),
    )
)


@settings(max_examples=40, deadline=None)
@given(small)
def test_the_exact_chance_by_going_through_all_orders(data):
    # Ties in time (two pieces of one project), in the figures (levels), or in both.
    x, y = data
    each = [kendall_s(x, order) for order in itertools.permutations(y)]
    s, most = abs(kendall_s(x, y)), max(map(abs, each))
    beyond = sum(abs(other) >= s for other in each) / len(each)
    assert chance_of(x, y) == pytest.approx(beyond)
    assert deviation(x, y) ** 2 == pytest.approx(np.var(each), abs=1e-9)
    assert least_chance(x, y) == pytest.approx(
        sum(abs(other) >= most for other in each) / len(each)
    )


@given(st.lists(st.integers(-500, 500), min_size=4, max_size=EXACT_ONE_TIED, unique=True))
def test_the_exact_chance_agrees_with_scipy(values):
    x = list(range(len(values)))
    theirs = stats.kendalltau(x, values, method="exact").pvalue
    assert chance_of(x, values) == pytest.approx(theirs)


def test_beyond_counting_the_normal_curve_is_corrected_for_continuity():
    # Against 100,000 random orders of twelve levels, two pieces a project. Without the correction
    # the chance comes out a tenth too small.
    rng = np.random.default_rng(4)
    x, y = np.repeat(np.arange(6), 2), np.array([4, 1, 3, 2, 2, 1, 3, 4, 2, 4, 3, 4])
    assert len(x) > EXACT_BOTH_TIED
    s = kendall_s(x, y)
    first, second = np.triu_indices(12, k=1)
    orders = rng.permuted(np.tile(y, (100_000, 1)), axis=1)
    signs = np.sign(orders[:, second] - orders[:, first]) * np.sign(x[second] - x[first])
    counted = np.mean(np.abs(signs.sum(axis=1)) >= s)
    assert chance_of(x, y) == pytest.approx(counted, rel=0.05)
    assert signs.sum(axis=1).std() == pytest.approx(deviation(x, y), rel=0.01)


@pytest.mark.parametrize("seed", range(6))
def test_the_normal_curve_takes_over_smoothly(seed):
    # To a hundredth of SciPy's exact chance; without the correction it is off by two or three.
    n = EXACT_ONE_TIED + 1
    y = np.random.default_rng(seed).permutation(n) + np.arange(n) * 0.1234567
    exact = stats.kendalltau(range(n), y, method="exact").pvalue
    assert chance_of(range(n), y) == pytest.approx(exact, rel=0.01)


points = st.lists(st.integers(-50, 50), min_size=4, max_size=9)


@given(points)
def test_the_slope_agrees_with_scipy(values):
    x = np.arange(len(values), dtype=float)
    ours, theirs = theil_sen(x, values), stats.theilslopes(values, x, 0.95)
    assert ours.slope == pytest.approx(theirs.slope)
    assert ours.intercept == pytest.approx(theirs.intercept)


@settings(deadline=None)
@given(st.lists(st.floats(-50, 50), min_size=5, max_size=9, unique=True))
def test_the_interval_holds_the_slopes_that_the_exact_test_does_not_refuse(values):
    x, y = np.arange(len(values)), np.array(values)
    found = theil_sen(x, y)
    low, high = found.interval(0.95)
    step = 1e-7
    assume(min(np.diff(found.slopes)) > 10 * step)

    def chance(slope):
        return stats.kendalltau(x, y - slope * x, method="exact").pvalue

    assert chance(low + step) > 0.05 >= chance(low - step)
    assert chance(high - step) > 0.05 >= chance(high + step)


def test_four_points_have_no_interval():
    assert theil_sen([1, 2, 3, 4], [2, 5, 6, 9]).interval() is None


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ([70, 75, 85], TOO_EARLY),
        ([70, 75, 80, 85], TOO_EARLY),  # 1 in 12, rising or falling
        ([70, 75, 80, 85, 90], RISING),  # 1 in 60
        ([85, 80, 75, 70, 65], FALLING),
        ([1, 2, 2, 3, 3], STEADY),  # 1 in 15
        ([1, 2, 2, 3, 4], RISING),  # 1 in 30
        ([70, 90, 75, 85, 80], STEADY),
        ([85, 85, 85, 85, 85], STEADY),
    ],
)
def test_words_of_a_single_line(values, word):
    assert trend(list(range(len(values))), values).word == word


def test_five_points_in_order_are_told_alone_and_not_among_four_lines():
    # 2 in 120 orders: under 1 in 20 alone, over 1 in 80 beside three others.
    rise, wave = ([1, 2, 3, 4, 5],) * 2, ([1, 2, 3, 4, 5], [2, 5, 1, 4, 3])
    assert trends([rise])[0].word == RISING
    assert [each.word for each in trends([rise, wave, wave, wave])] == [TOO_EARLY] * 4
    six = (range(6), range(6))
    told = trends([six, wave, wave, wave])
    assert [each.word for each in told] == [RISING] + [TOO_EARLY] * 3
    assert told[0].chance == pytest.approx(2 / 720)


def test_a_line_that_could_never_be_told_takes_nothing_from_the_others():
    five, few = ([1, 2, 3, 4, 5],) * 2, ([1, 2, 3], [1, 2, 3])
    flat = ([1, 2, 3, 4, 5], [3, 3, 3, 3, 4])
    told = trends([few, five, flat, few, few])
    assert [each.word for each in told] == [TOO_EARLY, RISING, STEADY, TOO_EARLY, TOO_EARLY]
    assert told[1].held == told[1].chance


@given(points)
def test_turning_the_figures_round_turns_the_word_round(values):
    x = list(range(len(values)))
    turned = {RISING: FALLING, FALLING: RISING, STEADY: STEADY, TOO_EARLY: TOO_EARLY}
    assert trend(x, [-v for v in values]).word == turned[trend(x, values).word]


@pytest.mark.parametrize("count", [1, 2, 7, 20])
def test_holm_agrees_with_statsmodels(count):
    chances = np.random.default_rng(count).uniform(0, 0.2, count)
    assert holm(chances) == pytest.approx(list(multipletests(chances, method="holm")[1]))


def test_the_room_of_a_family():
    assert room([]) == 1
    assert room([0.5, 0.5]) == 1
    assert room([0.001] * 3) == 3
    # One of 0.04 cannot be told beside another that could.
    assert room([0.04, 0.001]) == 2
    assert room([0.04, 0.04]) == 2


def _chances_of_a_false_alarm(lines, draw, pages, rng):
    """Share of pages of pure chance on which any line is called rising or falling."""
    alarms = 0
    for _ in range(pages):
        shown = trends([(range(n), draw(rng, n)) for n in lines])
        alarms += any(each.word in (RISING, FALLING) for each in shown)
    return alarms / pages


@pytest.mark.parametrize(
    ("draw", "lines"),
    [
        (lambda rng, n: rng.integers(1, 5, n), [8] * 7),  # levels: ties
        (lambda rng, n: rng.normal(size=n), [8] * 14),
        (lambda rng, n: rng.normal(size=n), [5]),
        (lambda rng, n: rng.normal(size=n), [4, 5, 5, 6, 6, 7, 8]),
        (lambda rng, n: rng.integers(1, 4, n), [45, 45]),  # beyond counting
    ],
    ids=["levels", "fourteen figures", "one line", "lines of all lengths", "long lines"],
)
def test_false_alarms_of_a_whole_page(draw, lines):
    pages = 800
    found = _chances_of_a_false_alarm(lines, draw, pages, np.random.default_rng(12))
    assert found <= CHANCE + 3 * math.sqrt(CHANCE * (1 - CHANCE) / pages)


def test_lines_that_hang_together_raise_no_more_alarms():
    rng, pages, alarms = np.random.default_rng(9), 800, 0
    for _ in range(pages):
        common = rng.normal(size=8)
        lines = [(range(8), common + 0.3 * rng.normal(size=8)) for _ in range(7)]
        alarms += any(each.word in (RISING, FALLING) for each in trends(lines))
    assert alarms / pages <= CHANCE + 3 * math.sqrt(CHANCE * (1 - CHANCE) / pages)


def test_the_stated_chance():
    assert CHANCE == 0.05
    almost = trend(range(5), [1, 2, 3, 5, 4])
    assert (almost.word, almost.chance) == (STEADY, pytest.approx(10 / 120))
    # 1 in 15 = 0.067 lies between one in twenty and 0.08.
    tied = trend(range(5), [1, 2, 2, 3, 3])
    assert (tied.word, tied.chance) == (STEADY, pytest.approx(1 / 15))


def test_what_cannot_carry_a_slope():
    with pytest.raises(CannotTellError, match="one and the same project"):
        theil_sen([1, 1], [2, 3])
    with pytest.raises(CannotTellError, match="no number"):
        theil_sen([1, 2], [2, float("nan")])
    with pytest.raises(CannotTellError, match="two figures"):
        theil_sen([1], [2])
    assert trend([3, 3, 3, 3, 3], [1, 2, 3, 4, 5]).word == TOO_EARLY
