"""Measuring studies against two published ones: the readings, and what their authors print of them.

Readings and figures are from memory, not copied from the pages. They hold each other: a reading
remembered wrongly would not give the printed sums of squares to their last place.
"""

import pytest

from rubrics.stats.measuring_study import CUP, PERSON, REPEAT, TOGETHER, measuring_study

# Thermal impedance of power modules, degrees C per W x 100: ten parts, three inspectors, three
# times each. R. E. Houf, D. B. Berman, Statistical analysis of power module thermal test equipment
# performance, IEEE Transactions on Components, Hybrids, and Manufacturing Technology 11 (1988)
# 516-520; printed with its analysis of variance in D. C. Montgomery, Design and Analysis of
# Experiments, and in Burdick, Borror, Montgomery, Journal of Quality Technology 35 (2003) 342-354.
# A line a part: three readings of each inspector.
IMPEDANCE = """\
37 38 37 41 41 40 41 42 41
42 41 43 42 42 42 43 42 43
30 31 31 31 31 31 29 30 28
42 43 42 43 43 43 42 42 42
28 30 29 29 30 29 31 29 29
42 42 43 45 45 45 44 46 45
25 26 27 28 28 30 29 27 27
40 40 40 43 42 42 43 43 41
25 25 25 27 29 28 26 26 26
35 34 34 35 35 34 35 34 35"""

# Automotive Industry Action Group, Measurement Systems Analysis, 4th edition (2010), the worked
# gauge study: ten parts, three appraisers, three trials. A line a trial, a column a part.
APPRAISERS = """\
0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36
0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25
0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31
0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68
0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62
0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50
0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49
-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77
-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16"""

TIMES = 3


def numbers(table):
    return [[float(cell) for cell in line.split()] for line in table.splitlines()]


def study(rows):
    """Rows of (person, part, reading)."""
    return measuring_study(*zip(*rows, strict=True))


@pytest.fixture
def impedance():
    table = enumerate(numbers(IMPEDANCE))
    return study([(i // TIMES, part, read) for part, line in table for i, read in enumerate(line)])


@pytest.fixture
def appraisers():
    table = enumerate(numbers(APPRAISERS))
    return study([(i // TIMES, part, read) for i, line in table for part, read in enumerate(line)])


def assert_analysis(found, printed, places):
    """Sums of squares as printed, each within half of its last place."""
    rows = {row.source: (row.squares, row.freedom) for row in found.rows}
    for source, (squares, freedom) in printed.items():
        assert rows[source] == (pytest.approx(squares, abs=0.5 * 10**-places), freedom), source


def test_the_inspectors_of_power_modules(impedance):
    assert_analysis(
        impedance,
        {CUP: (3935.96, 9), PERSON: (39.27, 2), TOGETHER: (48.51, 18), REPEAT: (30.67, 60)},
        places=2,
    )
    # Components of variance as printed: parts, inspectors, both together, repeats.
    assert impedance.cup_sd**2 == pytest.approx(48.29, abs=0.005)
    assert impedance.person_sd**2 == pytest.approx(0.5646, abs=5e-5)
    assert impedance.interaction_sd**2 == pytest.approx(0.7280, abs=5e-5)
    assert impedance.repeatability.value**2 == pytest.approx(0.5111, abs=5e-5)
    # And the variance of the measuring, 1.80.
    assert impedance.measuring.value**2 == pytest.approx(1.80, abs=0.005)


def test_the_appraisers_whose_interaction_is_pooled(appraisers):
    assert_analysis(
        appraisers,
        {CUP: (88.3619, 9), PERSON: (3.1673, 2), TOGETHER: (0.3590, 18), REPEAT: (2.7589, 60)},
        places=4,
    )
    # The manual pools the interaction, which is below the repeats, and prints EV, AV, GRR, PV.
    assert appraisers.interaction_sd == 0
    assert appraisers.repeatability.value == pytest.approx(0.199933, abs=5e-7)
    assert appraisers.person_sd == pytest.approx(0.226838, abs=5e-7)
    assert appraisers.measuring.value == pytest.approx(0.302373, abs=2e-6)
    assert appraisers.cup_sd == pytest.approx(1.042327, abs=5e-7)
