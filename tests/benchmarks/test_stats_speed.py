"""How long the statistics of a page take."""

import time

import numpy as np
import pytest

from rubrics.stats import distributions, kendall
from rubrics.stats.agreement import compare, icc_2_1, limits_of_agreement
from rubrics.stats.dealing import deal, replace_absent
from rubrics.stats.grouping import group
from rubrics.stats.trend import trends
from tests.stats.dealt import meetings
from tests.stats.readers import percents, read

pytestmark = pytest.mark.benchmark

AGREEMENT_SECONDS = 0.100
"""A batch of 150 pieces, seven criteria, two readers."""

DEALING_SECONDS = 0.050
"""Forty students."""


def _best(run, before=lambda: None, times=5):
    seconds = []
    for _ in range(times):
        before()
        begun = time.perf_counter()
        run()
        seconds.append(time.perf_counter() - begun)
    return min(seconds), max(seconds)


def _forget():
    """Nothing remembered from an earlier page."""
    for each in (distributions.f_quantile, distributions.chi2_quantile):
        each.cache_clear()
    kendall._distribution.cache_clear()


def test_a_batch_of_150_with_two_readers():
    a, b = read(np.random.default_rng(1), 150, 7, error=0.5, bias=0.2)

    def page():
        compare(a, b)
        p, q = percents(a), percents(b)
        icc_2_1(np.stack([p, q], axis=1))
        limits_of_agreement(p, q)

    best, worst = _best(page, _forget)
    print(f"\n150 pieces, 7 criteria, two readers: {1000 * best:.1f} to {1000 * worst:.1f} ms")
    assert best < AGREEMENT_SECONDS


@pytest.mark.parametrize("pairs", [0, 6, 40, 200])
def test_dealing_to_forty(pairs):
    rng = np.random.default_rng(pairs)
    apart = [tuple(map(int, rng.choice(40, 2, replace=False))) for _ in range(pairs)]
    best, worst = _best(lambda: deal(range(40), readers=4, apart=apart, seed=1))
    dealt = deal(range(40), readers=4, apart=apart, seed=1)
    met = meetings(dealt)
    again, _ = _best(lambda: replace_absent(dealt, [1, 5, 9]))
    print(
        f"\n40 students, 4 readers, {pairs} pairs apart: {1000 * best:.1f} to {1000 * worst:.1f} "
        f"ms, pairs meet {min(met)} to {max(met)} times; three replaced in {1000 * again:.1f} ms"
    )
    assert best < DEALING_SECONDS
    assert again < DEALING_SECONDS


def test_groups_of_forty():
    best, _ = _best(lambda: group(range(40), apart=[(i, i + 1) for i in range(39)], seed=1))
    print(f"\n40 students in groups, 39 pairs apart: {1000 * best:.1f} ms")
    assert best < DEALING_SECONDS


def test_a_page_of_fourteen_lines():
    rng = np.random.default_rng(2)
    lines = [(range(8), rng.integers(1, 5, 8)) for _ in range(14)]
    best, worst = _best(lambda: trends(lines), _forget)
    print(f"\n14 lines of 8 projects: {1000 * best:.1f} to {1000 * worst:.1f} ms")
    assert best < AGREEMENT_SECONDS
