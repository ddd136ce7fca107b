"""Uncertainties of figures against a simulation: readings redrawn with their own u, many times.

JCGM 101:2008 (Monte Carlo method) is the outside judge; the seed is fixed, and 4000 draws tell a
standard deviation to some 1.1 %.
"""

import math

import numpy as np
import pytest

from rubrics.craft.foot import squared_foot
from rubrics.craft.rim import rim_level
from rubrics.craft.shrinkage import DimensionReadings, shrinkage_against_plan
from rubrics.craft.wall import wall_evenness

DRAWS = 4000
U_MM = 0.2
CLOSE = 0.06
"""Five standard errors of the simulation."""


def redrawn(figure, values, u=U_MM):
    """Standard deviation of a figure of readings that are redrawn with u."""
    values = np.asarray(values, float)
    noise = np.random.default_rng(7).normal(0, u, (DRAWS, len(values)))
    return float(np.std([figure(list(row)) for row in values + noise], ddof=1))


# A lozenge with corners of 96 and 84 degrees, so that the worst corner is the same in every draw.
SIDE = 60.0
LONG, SHORT = (2 * SIDE * math.sin(math.radians(half)) for half in (48, 42))


def lozenge(values):
    return squared_foot(values[:4], values[4:], u_side_mm=U_MM, u_diagonal_mm=U_MM)


def test_worst_corner():
    values = [SIDE] * 4 + [LONG, SHORT]
    told = lozenge(values)
    assert abs(told.worst_corner_deg) == pytest.approx(6, abs=0.01)
    simulated = redrawn(lambda v: abs(lozenge(v).worst_corner_deg), values)
    # The formula is that of a right angle and adds the parts as if they were independent: it may
    # be careful, and must not be bold.
    assert simulated * (1 - CLOSE) <= told.u_worst_corner_deg <= 2 * simulated


def test_rock():
    gaps = [3.0, 1.5, 2.9, 1.6]

    def rock(values):
        return squared_foot([SIDE] * 4, [], values, u_gap_mm=U_MM).rock_mm

    told = squared_foot([SIDE] * 4, [], gaps, u_gap_mm=U_MM)
    assert told.u_rock_mm == pytest.approx(redrawn(rock, gaps), rel=CLOSE)


def test_rock_of_two_gaps_knows_two_readings():
    told = squared_foot([SIDE] * 4, [], [2.0, None, 1.5, None], u_gap_mm=U_MM)
    # By hand: two independent readings.
    assert told.u_rock_mm == pytest.approx(U_MM * math.sqrt(2))


def test_differences_of_sides_and_diagonals():
    def diagonals(values):
        return squared_foot([SIDE] * 4, values, u_diagonal_mm=U_MM).diagonal_difference_mm

    told = squared_foot([SIDE] * 4, [86.0, 83.0], u_diagonal_mm=U_MM)
    assert told.u_diagonal_difference_mm == pytest.approx(
        redrawn(diagonals, [86.0, 83.0]), rel=CLOSE
    )

    def sides(values):
        return squared_foot(values, [], u_side_mm=U_MM).side_spread_mm

    four = [57.0, 58.5, 58.4, 60.0]
    assert squared_foot(four, [], u_side_mm=U_MM).u_side_spread_mm == pytest.approx(
        redrawn(sides, four), rel=CLOSE
    )


AZIMUTHS = [0, 45, 90, 135, 180, 225, 270, 315]
WAVY = [95.0, 99.5, 95.0, 96.0, 95.4, 96.0, 90.0, 96.1]


def test_flatness_of_a_rim():
    def flatness(values):
        return rim_level(values, AZIMUTHS, radius_mm=40, u_mm=U_MM).flatness_mm

    told = rim_level(WAVY, AZIMUTHS, radius_mm=40, u_mm=U_MM)
    assert told.u_flatness_mm == pytest.approx(redrawn(flatness, WAVY), rel=CLOSE)


def test_rise_of_a_rim():
    def rise(values):
        return rim_level(values, AZIMUTHS, radius_mm=40, u_mm=U_MM).rise_mm

    told = rim_level(WAVY, AZIMUTHS, radius_mm=40, u_mm=U_MM)
    assert told.u_rise_mm == pytest.approx(redrawn(rise, WAVY), rel=CLOSE)


def test_thick_side_and_taper_of_a_wall():
    heights = [10] * 4 + [45] * 4 + [80] * 4
    azimuths = [0, 90, 180, 270] * 3
    # Made by formula: 6 mm, 0.5 mm thicker towards 90 degrees, 0.1 mm a centimetre to the rim.
    walls = [
        6 + 0.5 * math.sin(math.radians(az)) + 0.01 * z
        for z, az in zip(heights, azimuths, strict=True)
    ]
    told = wall_evenness(walls, heights, azimuths, u_mm=U_MM)
    assert told.thick_side_deg == pytest.approx(90)
    assert told.foot_to_rim_mm_per_10mm == pytest.approx(0.1)
    thinner = [6 - (each - 6) for each in walls]
    assert wall_evenness(thinner, heights, azimuths, u_mm=U_MM).thick_side_deg == pytest.approx(270)
    for figure in ("foot_to_rim_mm_per_10mm", "thick_amplitude_mm", "mean_mm", "spread_mm"):
        # The readings fit without a rest, so that their own u is all there is.
        simulated = redrawn(
            lambda v, f=figure: getattr(wall_evenness(v, heights, azimuths, u_mm=U_MM), f), walls
        )
        tolerance = CLOSE if figure != "spread_mm" else 0.3
        assert getattr(told, f"u_{figure}") == pytest.approx(simulated, rel=tolerance)


def test_dimensions_that_disagree_widen_the_doubt_by_the_birge_ratio():
    # Two of one u: by hand, the mean's u is u/√2, chi-squared (a - b)² / 2u², and the widened u is
    # half the distance.
    low, high = 0.10, 0.16
    made = [
        DimensionReadings(name=n, wet_mm=100, now_mm=100 * (1 - s), u_wet_mm=0.01, u_now_mm=0.0)
        for n, s in (("height", low), ("rim_diameter", high))
    ]
    told = shrinkage_against_plan(made)
    apart = abs(math.log(1 - high) - math.log(1 - low))
    assert told.agree is False
    assert told.u_linear_shrinkage == pytest.approx(apart / 2 * (1 - told.linear_shrinkage))


def test_dimensions_that_agree_keep_the_doubt_of_their_readings():
    made = [
        DimensionReadings(name=n, wet_mm=100, now_mm=88.0, u_wet_mm=0.1, u_now_mm=0.0)
        for n in ("height", "rim_diameter", "foot_side", "mark")
    ]
    told = shrinkage_against_plan(made)
    assert told.u_linear_shrinkage == pytest.approx(0.001 / 2 * 0.88)


def test_thick_side_of_a_wall_read_at_uneven_places():
    # Uneven places tell one direction better than the other, and the two terms hang together.
    azimuths = [0, 40, 85, 150, 300]
    walls = [6 + 1.2 * math.cos(math.radians(az - 60)) for az in azimuths]
    told = wall_evenness(walls, None, azimuths, u_mm=U_MM)
    assert told.thick_side_deg == pytest.approx(60)

    def amplitude(values):
        return wall_evenness(values, None, azimuths, u_mm=U_MM).thick_amplitude_mm

    def turned(values):
        side = wall_evenness(values, None, azimuths, u_mm=U_MM).thick_side_deg
        return (side - 60 + 180) % 360 - 180

    assert told.u_thick_amplitude_mm == pytest.approx(redrawn(amplitude, walls), rel=CLOSE)
    assert told.u_thick_side_deg == pytest.approx(redrawn(turned, walls), rel=CLOSE)


def test_an_even_wall_is_as_sure_of_its_evenness_as_its_readings():
    # By hand: four places a quarter turn apart, the cosine's coefficient has u √(2/n).
    told = wall_evenness([6.0] * 4, None, [0, 90, 180, 270], u_mm=U_MM)
    assert told.u_thick_amplitude_mm == pytest.approx(U_MM * math.sqrt(2 / 4))


def test_what_is_left_over_of_a_wall_has_its_degrees_of_freedom():
    # By hand: a wave of 0.3 mm twice round, over four places none of which the mean or the side
    # can follow: 4 readings, 3 terms, 1 free; the rest is hypot(0.3 ...) / sqrt(1).
    told = wall_evenness([6.3, 5.7, 6.3, 5.7], None, [0, 90, 180, 270], u_mm=0.01)
    assert told.residual_mm == pytest.approx(0.6)
    assert (told.u_sd_mm, told.u_mean_mm) == pytest.approx((0.01 / math.sqrt(3), 0.01 / 2))


def test_three_dimensions_that_disagree_share_their_degrees_of_freedom():
    # Birge: chi-squared over n - 1. By hand, of three of one u: the widened u of the mean is the
    # spread of the logarithms over √3.
    lows = (0.10, 0.13, 0.16)
    made = [
        DimensionReadings(name=n, wet_mm=100, now_mm=100 * (1 - s), u_wet_mm=0.01, u_now_mm=0.0)
        for n, s in zip(("height", "rim_diameter", "foot_side"), lows, strict=True)
    ]
    told = shrinkage_against_plan(made)
    logs = [math.log(1 - s) for s in lows]
    expected = float(np.std(logs, ddof=1)) / math.sqrt(3) * (1 - told.linear_shrinkage)
    assert told.u_linear_shrinkage == pytest.approx(expected)


def test_the_size_to_expect_lies_within_two_standard_uncertainties_either_way():
    # By hand: 100 mm (u 0.3) times 0.9 (u 0.01): u = hypot(0.27, 1.0), coverage factor 2 (GUM 6.3).
    made = [DimensionReadings(name="height", wet_mm=110, now_mm=100, u_wet_mm=0.3, u_now_mm=0.3)]
    (told,) = shrinkage_against_plan(made, to_fired=(0.9, 0.01)).dimensions
    u = math.hypot(0.27, 1.0)
    assert told.u_expected_fired_mm == pytest.approx(u)
    assert (told.expected_low_mm, told.expected_high_mm) == pytest.approx((90 - 2 * u, 90 + 2 * u))
