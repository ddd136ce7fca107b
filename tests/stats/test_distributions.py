"""The few distribution functions written out, against SciPy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from rubrics.stats.distributions import (
    beta_cdf,
    binomial_interval,
    binomial_tail,
    chi2_quantile,
    f_quantile,
    f_tail,
    gamma_cdf,
    t_chance,
    t_quantile,
)

freedom = st.floats(1, 300)


@given(st.floats(0, 1), st.floats(0.5, 500), st.floats(0.5, 500))
def test_incomplete_beta(x, a, b):
    assert beta_cdf(x, a, b) == pytest.approx(special.betainc(a, b, x), rel=1e-8, abs=1e-12)


@given(st.floats(0, 500), st.floats(0.5, 300))
def test_incomplete_gamma(x, a):
    assert gamma_cdf(x, a) == pytest.approx(special.gammainc(a, x), rel=1e-8, abs=1e-12)


@given(st.floats(0.001, 0.999), freedom, freedom)
def test_quantiles_of_f(p, d1, d2):
    assert f_quantile(p, d1, d2) == pytest.approx(stats.f.ppf(p, d1, d2), rel=1e-6)


@given(st.floats(0.5, 0.9995), freedom)
def test_quantiles_of_student(p, d):
    assert t_quantile(p, d) == pytest.approx(stats.t.ppf(p, d), rel=1e-6, abs=1e-9)


@given(st.floats(0.001, 0.999), freedom)
def test_quantiles_of_chi_squared(p, d):
    assert chi2_quantile(p, d) == pytest.approx(stats.chi2.ppf(p, d), rel=1e-8)


@given(st.floats(0, 40), freedom, freedom)
def test_tails(value, d1, d2):
    assert f_tail(value, d1, d2) == pytest.approx(stats.f.sf(value, d1, d2), rel=1e-6, abs=1e-12)
    both_ways = 2 * stats.t.sf(value, d1)
    assert t_chance(-value, d1) == pytest.approx(both_ways, rel=1e-6, abs=1e-12)


@given(st.integers(1, 60), st.data())
def test_binomial(total, data):
    count = data.draw(st.integers(0, total))
    reference = stats.binomtest(count, total)
    assert binomial_tail(count, total, 0.3) == pytest.approx(stats.binom.sf(count - 1, total, 0.3))
    theirs = reference.proportion_ci(0.95, method="exact")
    assert binomial_interval(count, total) == pytest.approx((theirs.low, theirs.high), abs=1e-9)
