"""Means, deviations and fits against certified values."""

from fractions import Fraction

import numpy as np
import pytest

from rubrics.craft.fits import chi_squared_tail, design, mean_and_sd, weighted_mean
from rubrics.craft.inputs import TooFewError
from rubrics.craft.wall import wall_evenness


def _numbers(text, *, start=0.0, step=1.0):
    return [start + step * float(each) for each in text.split()]


# NIST Statistical Reference Datasets, univariate summary statistics (itl.nist.gov/div898/strd):
# name: (data, certified mean, certified standard deviation, digits that float64 can hold)
_TENTHS = [0.1, 0.3] * 500
UNIVARIATE = {
    "NumAcc1": ([10000001, 10000003, 10000002], 10000002, 1, 1e-15),
    "NumAcc2": ([1.2] + [1.1, 1.3] * 500, 1.2, 0.1, 1e-14),
    "NumAcc3": ([1000000.2] + [1000000 + t for t in _TENTHS], 1000000.2, 0.1, 1e-9),
    # The data themselves are not binary numbers: float64 holds 0.10000000055879 at best.
    "NumAcc4": ([10000000.2] + [10000000 + t for t in _TENTHS], 10000000.2, 0.1, 1e-8),
}

# NIST StRD Mavro: filter transmittance, 2.00000 + 1e-5 x.
MAVRO = _numbers(
    """180 170 180 190 180 170 150 140 150 150 170 180 180 190 190 210 200 160 140 130 130
    150 150 160 150 140 130 140 150 140 150 160 150 160 190 200 200 210 220 230 240 250 270 260 260
    260 270 260 250 240""",
    start=2,
    step=1e-5,
)
# NIST StRD Michelso: speed of light in air, 1879, 299 + 0.01 x.
MICHELSO = _numbers(
    """85 74 90 107 93 85 95 98 98 88 100 98 93 65 76 81 100 100 96 96 96 94 96 94 88 80 85
    88 90 84 83 79 81 88 88 83 80 79 76 80 88 88 88 86 72 72 62 86 97 95 88 91 85 87 84 84 85 84 84
    84 89 81 81 82 80 77 76 74 75 76 91 92 89 86 88 72 84 85 85 78 89 84 78 81 76 81 79 81 82 85 87
    87 81 74 81 94 95 80 81 87""",
    start=299,
    step=0.01,
)
# NIST StRD Norris: calibration of ozone monitors, linear regression, lower level of difficulty.
NORRIS_X = _numbers(
    """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9
    338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3
    229.2 669.1 448.9 0.5"""
)
NORRIS_Y = _numbers(
    """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8
    339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6
    228.9 668.4 449.2 0.2"""
)


@pytest.mark.parametrize("name", UNIVARIATE)
def test_nist_univariate_by_exact_summation(name):
    data, mean, sd, tolerance = UNIVARIATE[name]
    assert mean_and_sd(data) == pytest.approx((mean, sd), rel=tolerance)


def test_float64_numacc4_is_what_the_binary_data_give():
    data = UNIVARIATE["NumAcc4"][0]
    exact = [Fraction(x) for x in data]
    mean = sum(exact) / len(exact)
    variance = sum((x - mean) ** 2 for x in exact) / (len(exact) - 1)
    assert mean_and_sd(data)[1] == pytest.approx(float(variance) ** 0.5, rel=1e-9)


@pytest.mark.parametrize(
    ("data", "mean", "sd"),
    [
        (MAVRO, 2.00185600000000, 0.000429123454003053),
        (MICHELSO, 299.852400000000, 0.0790105478190518),
    ],
    ids=["Mavro", "Michelso"],
)
def test_nist_univariate_as_a_wall(data, mean, sd):
    wall = wall_evenness(data)
    assert wall.mean_mm == pytest.approx(mean, rel=1e-14)
    assert wall.sd_mm == pytest.approx(sd, rel=1e-11)
    assert wall.spread_mm == pytest.approx(max(data) - min(data))


def test_numacc1_is_too_few_for_a_wall():
    with pytest.raises(TooFewError, match="at least 4"):
        wall_evenness(UNIVARIATE["NumAcc1"][0])


def test_nist_norris_as_a_wall_that_thickens_with_height():
    # Certified: slope 1.00211681802045, intercept -0.262323073774029, s(slope)
    # 0.000429796848199937, s(intercept) 0.232818234301152, residual SD 0.884796396144373.
    wall = wall_evenness(NORRIS_Y, NORRIS_X)
    assert wall.terms == ("height",)
    assert wall.foot_to_rim_mm_per_10mm == pytest.approx(10.0211681802045, rel=1e-12)
    assert wall.u_foot_to_rim_mm_per_10mm == pytest.approx(0.00429796848199937, rel=1e-11)
    assert wall.residual_mm == pytest.approx(0.884796396144373, rel=1e-12)
    assert wall.sd_mm == pytest.approx(np.std(NORRIS_Y, ddof=1), rel=1e-13)


def test_nist_norris_through_the_fit_itself():
    line = design(np.column_stack([np.ones(36), NORRIS_X]))
    (intercept, slope), residuals = line.fit(NORRIS_Y)
    assert slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert sum(r * r for r in residuals) / line.degrees_of_freedom == pytest.approx(
        0.884796396144373**2, rel=1e-12
    )


def test_gum_h3_calibration_of_a_thermometer():
    # JCGM 100:2008, H.3: y1 -0.1712 (u 0.0029), y2 0.00218 (u 0.00067), r -0.930, s 0.0035.
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160]
    line = design(np.column_stack([np.ones(11), np.array(t) - 20]))
    (y1, y2), residuals = line.fit([each / 1000 for each in b])
    s = (sum(r * r for r in residuals) / line.degrees_of_freedom) ** 0.5
    (v11, v12), (_, v22) = line.covariance
    assert round(y1, 4) == -0.1712
    assert round(y2, 5) == 0.00218
    assert round(s, 4) == 0.0035
    assert round(s * v11**0.5, 4) == 0.0029
    assert round(s * v22**0.5, 5) == 0.00067
    assert round(v12 / (v11 * v22) ** 0.5, 3) == -0.930


def test_weighted_mean_of_three_shrinkages():
    # .120(2) .118(3) .126(3), worked by the textbook formula of the inverse variances.
    mean, u, chi_squared = weighted_mean([0.120, 0.118, 0.126], [0.002, 0.003, 0.003])
    assert (mean, u, chi_squared) == pytest.approx((0.120941176, 0.001455214, 4.026144), rel=1e-6)


@pytest.mark.parametrize(
    ("chi_squared", "free"), [(3.841, 1), (5.991, 2), (7.815, 3), (9.488, 4), (18.307, 10)]
)
def test_chi_squared_table_at_five_per_cent(chi_squared, free):
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values at 0.05.
    assert round(chi_squared_tail(chi_squared, free), 4) == 0.05


def test_one_value_has_itself_as_mean_and_no_deviation():
    assert mean_and_sd([5.5]) == (5.5, 0.0)
