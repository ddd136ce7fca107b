"""Pooling over pieces, beside scipy."""

import pytest
from scipy import stats

from rubrics.craft.pooling import pool, student_95
from rubrics.craft.readings import ReadingsError


@pytest.mark.parametrize("free", [1, 2, 5, 10, 11, 15, 30, 100, 5000])
def test_students_t_as_scipy_has_it(free):
    assert student_95(free) == pytest.approx(stats.t.ppf(0.975, free), abs=6e-4)


def test_mean_spread_and_interval_as_scipy_has_them():
    values = [0.120, 0.118, 0.121, 0.119, 0.122, 0.098]
    pooled = pool(values)
    low, high = stats.t.interval(0.95, len(values) - 1, loc=pooled.mean, scale=stats.sem(values))
    assert (pooled.pieces, pooled.spread) == (6, pytest.approx(stats.tstd(values)))
    assert (pooled.low, pooled.high) == pytest.approx((low, high), abs=1e-5)


def test_two_pieces_move_no_plan():
    with pytest.raises(ReadingsError, match="3 pieces"):
        pool([0.12, 0.11])
