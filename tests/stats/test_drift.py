"""Drift and severity against SciPy, and their false alarms."""

import math

import numpy as np
import pytest
from scipy import stats

from rubrics.stats.drift import FEWEST, between_readers, over_sitting, own_and_teacher, together
from rubrics.stats.errors import CannotTellError
from rubrics.stats.family import CHANCE

from .readers import read


def test_drift_is_the_regression_on_the_order_of_judging():
    rng = np.random.default_rng(1)
    levels = np.clip(np.round(3 - 0.03 * np.arange(30) + rng.normal(0, 0.8, 30)), 1, 4)
    found = over_sitting(levels)
    theirs = stats.linregress(np.arange(30), levels)
    reach = stats.t.ppf(0.975, 28) * theirs.stderr
    assert found.value == pytest.approx(29 * theirs.slope)  # from the first piece to the last
    assert (found.low, found.high) == pytest.approx(
        (29 * (theirs.slope - reach), 29 * (theirs.slope + reach))
    )
    assert found.chance == pytest.approx(theirs.pvalue)
    assert found.count == 30


def test_a_piece_not_judged_keeps_its_place_in_the_order():
    levels = [4, math.nan, 4, 3, 4, 3, 3, 3, math.nan, 3, 2, 3, 2, 2]
    judged = [i for i, each in enumerate(levels) if not math.isnan(each)]
    slope = stats.linregress(judged, [levels[i] for i in judged]).slope
    assert over_sitting(levels).value == pytest.approx(13 * slope)
    assert over_sitting(levels).count == 12


def test_severity_is_the_paired_difference():
    first, second = read(np.random.default_rng(2), 25, 1, error=0.5, bias=0.6)
    found = between_readers(first[:, 0], second[:, 0])
    theirs = stats.ttest_rel(second[:, 0], first[:, 0])
    interval = theirs.confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high))
    assert found.chance == pytest.approx(theirs.pvalue)
    assert found.value > 0  # the second is the kinder one


def test_a_piece_is_one_witness_of_severity():
    first, second = read(np.random.default_rng(2), 25, 1, error=0.5, bias=0.2)
    once = between_readers(first, second)
    often = between_readers(np.repeat(first, 7, axis=1), np.repeat(second, 7, axis=1))
    assert (often.low, often.high, often.count) == pytest.approx((once.low, once.high, 25))


def test_a_student_is_one_witness_over_a_term():
    rng = np.random.default_rng(3)
    students = np.repeat(np.arange(12), 5)
    projects = np.tile(np.arange(1, 6), 12)
    teacher = rng.integers(1, 5, 60)
    own = teacher + rng.normal(0.5, 0.4, 12)[students] - 0.1 * projects + rng.normal(0, 0.2, 60)
    found = own_and_teacher(list(students), projects, own, teacher)
    apart = (own - teacher).reshape(12, 5)
    by_student = stats.ttest_1samp(apart.mean(axis=1), 0)
    assert found.difference.chance == pytest.approx(by_student.pvalue)
    assert found.difference.count == 12
    slopes = [stats.linregress(range(5), each).slope for each in apart]
    by_slope = stats.ttest_1samp(slopes, 0).confidence_interval(0.95)
    assert (found.change.low, found.change.high) == pytest.approx((by_slope.low, by_slope.high))


def test_no_change_is_told_while_students_have_one_project():
    own = [3, 4, 2, 3, 4, 4, 1, 2, 3, 4]
    teacher = [3, 3, 2, 2, 4, 3, 1, 2, 2, 4]
    assert own_and_teacher(range(10), [1] * 10, own, teacher).change is None


def test_what_a_page_shows_is_held_together():
    rng = np.random.default_rng(4)
    shifts = [over_sitting(rng.permutation(np.arange(20))) for _ in range(5)]
    shifts.append(over_sitting(np.arange(20) + rng.normal(size=20)))
    found = together(shifts)
    assert [each.told for each in found] == [False] * 5 + [True]
    assert found[-1].held == pytest.approx(6 * found[-1].chance)
    assert together([]) == ()


def test_false_alarms_of_a_page_of_seven_criteria():
    # Levels of four steps, shuffled: nothing drifts.
    rng, pages, alarms = np.random.default_rng(5), 600, 0
    for _ in range(pages):
        first, second = read(rng, 24, 7, error=0.5, bias=0)
        shifts = []
        for c in range(7):
            shifts += [over_sitting(first[:, c]), between_readers(first[:, c], second[:, c])]
        alarms += any(each.told for each in together(shifts))
    assert alarms / pages <= CHANCE + 3 * math.sqrt(CHANCE * (1 - CHANCE) / pages)


def test_what_cannot_be_told_is_refused():
    few = list(range(FEWEST - 1))
    with pytest.raises(CannotTellError, match="9, and it takes 10"):
        over_sitting(few)
    with pytest.raises(CannotTellError, match="9, and it takes 10"):
        between_readers(few, few)
    with pytest.raises(CannotTellError, match="students judged themselves: 9"):
        own_and_teacher(few, few, few, few)
    with pytest.raises(CannotTellError, match="stand the same"):
        over_sitting([3] * 12)
    with pytest.raises(CannotTellError, match=r"\+1 on all 12 pieces"):
        between_readers([2] * 12, [3] * 12)
    with pytest.raises(CannotTellError, match="nothing that both read"):
        between_readers([1, 2], [1])
    with pytest.raises(CannotTellError, match="its student"):
        own_and_teacher([1], [1, 2], [1, 2], [1, 2])
