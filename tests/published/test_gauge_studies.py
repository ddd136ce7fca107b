"""Components of variance of measuring against two studies that textbooks print in full.

Data and printed results are from memory; that both agree to the last printed digit says that the
memory is right.
"""

import numpy as np
import pytest

from rubrics.stats.measuring_study import CUP, PERSON, REPEAT, TOGETHER, measuring_study

# Houf & Berman, IEEE Transactions on Components, Hybrids and Manufacturing Technology 11 (1988)
# 516-522: thermal impedance of ten parts, three operators, three times each. Analysed by
# Burdick, Borror & Montgomery, Journal of Quality Technology 35 (2003) 342-354.
IMPEDANCE = """
37 38 37 41 41 40 41 42 41
42 41 43 42 42 42 43 42 43
30 31 31 31 31 31 29 30 28
42 43 42 43 43 43 42 42 42
28 30 29 29 30 29 31 29 29
42 42 43 45 45 45 44 46 45
25 26 27 28 28 30 29 27 27
40 40 40 43 42 42 43 43 41
25 25 25 27 29 28 26 26 26
35 34 34 35 35 34 35 34 35
"""

# Measurement Systems Analysis, reference manual of the automotive industry, 3rd ed. (2002), the
# worked study of ten parts: three appraisers, three trials each, a row a trial.
TRIALS = """
0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36
0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25
0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31
0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68
0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62
0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50
0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49
-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77
-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16
"""


def _numbers(text):
    return np.array([[float(each) for each in line.split()] for line in text.split("\n") if line])


@pytest.fixture
def impedance():
    values = _numbers(IMPEDANCE)
    people, parts = np.tile(np.repeat([1, 2, 3], 3), 10), np.repeat(np.arange(10), 9)
    return measuring_study(people, parts, values.ravel())


@pytest.fixture
def trials():
    values = _numbers(TRIALS)
    people, parts = np.repeat(list("ABC"), 30), np.tile(np.arange(10), 9)
    return measuring_study(people, parts, values.ravel())


def _mean_squares(study):
    return {row.source: row.mean_square for row in study.rows}


def test_impedance_table_of_variance(impedance):
    found = _mean_squares(impedance)
    assert found[CUP] == pytest.approx(437.33, abs=0.005)
    assert found[PERSON] == pytest.approx(19.63, abs=0.005)
    assert found[TOGETHER] == pytest.approx(2.70, abs=0.005)
    assert found[REPEAT] == pytest.approx(0.51, abs=0.005)


def test_impedance_components(impedance):
    assert impedance.cup_sd**2 == pytest.approx(48.29, abs=0.005)
    assert impedance.person_sd**2 == pytest.approx(0.56, abs=0.005)
    assert impedance.interaction_sd**2 == pytest.approx(0.73, abs=0.005)
    assert impedance.repeatability.value**2 == pytest.approx(0.51, abs=0.005)
    # The interval of the measuring's variance, 1.20 to 27.0.
    measuring = impedance.measuring
    assert measuring.value**2 == pytest.approx(1.80, abs=0.005)
    assert (measuring.low**2, measuring.high**2) == pytest.approx((1.20, 27.02), abs=0.01)


def test_trials_table_of_variance(trials):
    squares = {row.source: (row.squares, row.freedom) for row in trials.rows}
    assert squares[CUP] == (pytest.approx(88.3619, abs=5e-5), 9)
    assert squares[PERSON] == (pytest.approx(3.1673, abs=5e-5), 2)
    assert squares[TOGETHER] == (pytest.approx(0.3590, abs=5e-5), 18)
    assert squares[REPEAT] == (pytest.approx(2.7589, abs=5e-5), 60)


def test_trials_components(trials):
    # The interaction is below the repeats (0.0199 < 0.0460), so the manual pools it.
    assert trials.repeatability.value == pytest.approx(0.199933, abs=5e-7)
    assert trials.person_sd == pytest.approx(0.226838, abs=1e-6)
    assert trials.interaction_sd == 0
    assert trials.measuring.value == pytest.approx(0.302373, abs=2e-6)
    assert trials.cup_sd == pytest.approx(1.042327, abs=1e-6)
    # 27.9 % of the total variation, printed as per cent of study variation.
    total = np.hypot(trials.measuring.value, trials.cup_sd)
    assert trials.measuring.value / total == pytest.approx(0.279, abs=5e-4)
