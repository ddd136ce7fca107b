"""Wall evenness: pattern, uncertainty, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rubrics.craft.angles import wrap_half_turn
from rubrics.craft.fits import expected_range
from rubrics.craft.levels import Limit, suggest
from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError
from rubrics.craft.wall import wall_evenness

Z, AZ = (grid.ravel() for grid in np.meshgrid([10.0, 45.0, 80.0], [0.0, 90.0, 180.0, 270.0]))
LIMITS = {"wall_evenness.spread_mm": Limit("wall_evenness.spread_mm", 1, 2, 3)}

thicknesses = st.lists(st.floats(3, 12), min_size=12, max_size=12)


def _close(result, other):
    """Every figure alike, but for directions."""
    for figure in result.FIGURES:
        if figure.endswith("_deg"):
            continue
        here, there = getattr(result, figure), getattr(other, figure)
        if there is None:
            assert here is None, figure
        else:
            assert here == pytest.approx(there, rel=1e-6, abs=1e-9), figure


def test_spread_is_judged_with_the_doubt_of_two_readings():
    wall = wall_evenness([6.0, 6.5, 7.0, 7.8], u_mm=0.05, limits=LIMITS)
    assert wall.u_spread_mm == pytest.approx(math.sqrt(2) * 0.05)
    assert (wall.verdict, wall.judged[0].limit) == ("within", 2)
    assert wall_evenness([6.0, 6.5, 7.0, 7.95], u_mm=0.05, limits=LIMITS).verdict == (
        "too close to call"
    )
    assert wall_evenness([6.0, 6.5, 7.0, 8.2], u_mm=0.05, limits=LIMITS).verdict == "outside"


def test_no_limit_gives_no_verdict():
    assert wall_evenness([6, 6, 6, 6]).verdict is None


def test_thinnest_and_thickest_are_told_with_their_place():
    wall = wall_evenness([6, 5, 7, 6], [10, 20, 30, 40], [0, 90, 180, 270])
    assert (wall.thinnest.value_mm, wall.thinnest.height_mm, wall.thinnest.azimuth_deg) == (
        5,
        20,
        90,
    )
    assert (wall.thickest.value_mm, wall.thickest.height_mm, wall.thickest.azimuth_deg) == (
        7,
        30,
        180,
    )


def test_plan_match_is_signed():
    wall = wall_evenness([6, 6, 6, 6], planned_mm=6.2, u_mm=0.1)
    assert wall.plan_match_mm == pytest.approx(-0.2)
    assert wall.u_plan_match_mm == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("heights", "azimuths", "terms"),
    [
        (None, None, ()),
        ([10, 10, 10, 10], [0, 90, 180, 270], ("side",)),
        ([10, 30, 50, 70], None, ("height",)),
        ([10, 10, 80, 80], [0, 90, 180, 270], ("height",)),
    ],
)
def test_only_the_terms_that_the_stations_can_tell_are_fitted(heights, azimuths, terms):
    wall = wall_evenness([6, 6.5, 7, 6.2], heights, azimuths)
    assert wall.terms == terms
    assert (wall.foot_to_rim_mm_per_10mm is not None) == ("height" in terms)
    assert (wall.thick_amplitude_mm is not None) == ("side" in terms)


@pytest.mark.parametrize("azimuths", [[0, 1, 2, 3], [0, 90, 180, 45], [0, 180, 0, 180]])
def test_readings_on_one_side_claim_nothing_of_all_round(azimuths):
    with pytest.raises(ReadingsError, match="read on one side only"):
        wall_evenness([6, 6, 6, 6], None, azimuths)


def test_places_nobody_noted_are_not_said_to_lie_all_round():
    assert wall_evenness([6, 6, 6, 6]).largest_gap_deg is None
    assert wall_evenness([6, 6, 6, 6], None, [0, 90, 180, 270]).largest_gap_deg == 90


PUBLISHED_D2 = {
    2: 1.128, 3: 1.693, 4: 2.059, 5: 2.326, 6: 2.534, 7: 2.704, 8: 2.847, 9: 2.970,
    10: 3.078, 11: 3.173, 12: 3.258, 15: 3.472, 20: 3.735, 25: 3.931,
}  # fmt: skip


@pytest.mark.parametrize(("n", "d2"), PUBLISHED_D2.items())
def test_expected_range_as_control_chart_tables_have_it(n, d2):
    # Factors for control charts, D. C. Montgomery, Introduction to Statistical Quality Control,
    # appendix VI; the same in ISO 7870-2 and ASTM E2587 (from memory).
    assert expected_range(n) == pytest.approx(d2, abs=6e-4)


def test_the_spread_is_scaled_to_twelve_readings():
    wall = wall_evenness([6.0, 6.5, 7.0, 7.0], u_mm=0.1)
    assert wall.scaled_spread_mm == pytest.approx(3.258 / 2.059, abs=1e-3)
    assert wall.u_scaled_spread_mm == pytest.approx(wall.scaled_spread_mm * 0.1 * math.sqrt(2))
    twelve = wall_evenness([6.0, 7.0] * 6, u_mm=0.1)
    assert (twelve.scaled_spread_mm, twelve.spread_mm) == pytest.approx((1, 1))


LEVELS = [Limit("wall_evenness.scaled_spread_mm", 1.5, 3, 4.5)]
OLD_LEVELS = [Limit("wall_evenness.spread_mm", 1, 2, 3)]


def levels_of_simulated_walls(n, limits, walls=1000):
    """Mean level and share of level 4 of walls with a standard deviation of 0.6 mm, read at n."""
    rng = np.random.default_rng(n)
    found = [
        suggest({"wall_evenness": wall_evenness(6 + 0.6 * row, u_mm=0.1)}, limits).level
        for row in rng.standard_normal((walls, n))
    ]
    told = [level for level in found if level is not None]
    return np.mean(told), np.mean(np.array(told) == 4)


def test_a_level_does_not_hang_on_the_number_of_readings():
    means, shares = zip(*(levels_of_simulated_walls(n, LEVELS) for n in (4, 8, 12)), strict=True)
    assert max(means) - min(means) < 0.15
    # By the plain spread the same walls are level 4 for half of the cups read at four places and
    # for one in twenty read at twelve.
    old_means, old = zip(
        *(levels_of_simulated_walls(n, OLD_LEVELS) for n in (4, 8, 12)), strict=True
    )
    assert max(old_means) - min(old_means) > 0.5
    assert max(shares) - min(shares) < 0.25
    assert max(old) - min(old) > 0.4


def share_of_level_4(n, sds_mm, u_mm):
    """Share of level 4 among all walls, told or not, of these standard deviations read at n."""
    rng = np.random.default_rng(100 + n)
    rows = sds_mm[:, None] * rng.standard_normal((len(sds_mm), n))
    found = [
        suggest({"wall_evenness": wall_evenness(7 + row, u_mm=u_mm)}, LEVELS).level for row in rows
    ]
    return np.mean([level == 4 for level in found])


PLACES = (4, 6, 8, 12)


def largest_spread_of_level_4(n, u_mm):
    """The largest spread of n readings that is still given level 4. [mm]"""
    fits, too_much = 0.0, 6.0
    for _ in range(40):
        spread = (fits + too_much) / 2
        wall = wall_evenness([6.0] * (n - 1) + [6.0 + spread], u_mm=u_mm)
        four = suggest({"wall_evenness": wall}, LEVELS).level == 4
        fits, too_much = (spread, too_much) if four else (fits, spread)
    return fits


def test_level_4_falls_to_a_wall_as_often_at_four_places_as_at_twelve():
    # By the calliper's own doubt on fired ware, and the exact distribution of the range of n
    # normal values (SciPy's studentized range with infinitely many degrees of freedom). Four
    # readings know less, so that no scale makes the shares alike for every wall; here they are.
    u = Plan().uncertainty_of("wall_thickness", "glazed")
    edges = [largest_spread_of_level_4(n, u) for n in PLACES]
    shares = [
        stats.studentized_range.cdf(edge / 0.6, n, np.inf)
        for n, edge in zip(PLACES, edges, strict=True)
    ]
    assert max(shares) - min(shares) < 0.05
    old = [stats.studentized_range.cdf(1 / 0.6, n, np.inf) for n in PLACES]
    assert max(old) - min(old) > 0.25
    simulated = [share_of_level_4(n, np.full(2000, 0.6), u) for n in PLACES]
    assert simulated == pytest.approx(shares, abs=0.035)  # three standard errors of 2000 walls


def test_a_class_of_good_and_poor_walls_has_as_many_level_4_by_any_number_of_places():
    u = Plan().uncertainty_of("wall_thickness", "glazed")
    sds = 0.5 * np.exp(0.3 * np.random.default_rng(0).standard_normal(4000))
    shares = [share_of_level_4(n, sds, u) for n in PLACES]
    assert max(shares) - min(shares) < 0.04


@pytest.mark.parametrize("n", PLACES)
def test_an_even_wall_is_told_on_leather_hard_clay_and_a_poor_one_is_not_praised(n):
    u = Plan().uncertainty_of("wall_thickness", "leather-hard")
    assert share_of_level_4(n, np.full(1000, 0.3), u) > 0.85
    assert share_of_level_4(n, np.full(1000, 1.2), u) < 0.12


@pytest.mark.parametrize(
    ("uniform_mm", "stage", "level"),
    [(5.6, "glazed", 4), (6.2, "leather-hard", 4), (12, "glazed", 1), (12, "leather-hard", 1),
     (2, "glazed", 1), (2, "leather-hard", 1), (7.4, "glazed", 3)],
)  # fmt: skip
def test_an_even_wall_may_still_be_too_thin_or_too_thick(uniform_mm, stage, level):
    plan = Plan()
    wall = wall_evenness(
        [uniform_mm] * 12,
        Z,
        AZ,
        u_mm=0.225,
        planned_mm=plan.planned_wall_mm(stage),
        bounds_mm=plan.wall_bounds_mm(stage),
        limits=plan.limits,
    )
    limits = [v for k, v in plan.limits.items() if k.startswith("wall_evenness.")]
    assert suggest({"wall_evenness": wall}, limits).level == level
    assert (wall.verdict == "outside") == (level < 3)


def test_floor_and_ceiling_follow_stage_and_plan():
    # 4 mm glazed at 12 % is 4.545 mm wet; a cup cut from 4 mm is held to its own wall.
    floor, ceiling = Plan().wall_bounds_mm("wet")
    assert (floor, ceiling) == pytest.approx((min(4 / 0.88, 0.7 * 6.35), 1.5 * 6.35))
    thin = Plan(slab_mm=4).wall_bounds_mm("wet")
    assert thin == pytest.approx((2.8, 6))
    assert Plan(slab_mm=12).wall_bounds_mm("wet")[1] == 10


def test_an_even_wall_has_no_thick_side():
    wall = wall_evenness([6.0] * 12, Z, AZ, u_mm=0.1)
    assert (wall.spread_mm, wall.sd_mm, wall.thick_side_deg) == (0, 0, None)


@given(thicknesses, st.floats(-360, 360))
def test_turning_the_piece_turns_the_thick_side_alone(t, turn):
    wall, turned = wall_evenness(t, Z, AZ, u_mm=0.1), wall_evenness(t, Z, AZ + turn, u_mm=0.1)
    _close(wall, turned)
    if wall.thick_amplitude_mm > 1e-3:
        apart = wrap_half_turn(turned.thick_side_deg - wall.thick_side_deg - turn)
        assert apart == pytest.approx(0, abs=1e-4)


@given(thicknesses, st.permutations(range(12)))
def test_the_order_of_the_readings_does_not_matter(t, order):
    t, order = np.array(t), np.array(order)
    _close(wall_evenness(t, Z, AZ), wall_evenness(t[order], Z[order], AZ[order]))


@given(thicknesses)
def test_inches_tell_the_same_as_millimetres(t):
    t = np.array(t)
    mm, inch = (
        wall_evenness(t, Z, AZ, u_mm=0.1),
        wall_evenness(t / 25.4, Z / 25.4, AZ, u_mm=0.1 / 25.4),
    )
    assert inch.spread_mm * 25.4 == pytest.approx(mm.spread_mm, abs=1e-9)
    assert inch.cv == pytest.approx(mm.cv, abs=1e-12)
    assert inch.foot_to_rim_mm_per_10mm == pytest.approx(mm.foot_to_rim_mm_per_10mm, abs=1e-9)


@given(thicknesses, st.floats(0, 5))
def test_a_thicker_slab_changes_the_mean_alone(t, more):
    wall, thicker = wall_evenness(t, Z, AZ), wall_evenness(np.array(t) + more, Z, AZ)
    assert thicker.mean_mm == pytest.approx(wall.mean_mm + more)
    assert thicker.spread_mm == pytest.approx(wall.spread_mm, abs=1e-9)
    assert thicker.thick_amplitude_mm == pytest.approx(wall.thick_amplitude_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("thickness", "heights", "azimuths", "sentence"),
    [
        ([6, 6, 6], None, None, "at least 4 thickness readings and has 3"),
        ([6, 6, math.nan, 6], None, None, "A wall thickness 3 is not a number; read that place"),
        ([6, 6, math.inf, 6], None, None, "not a number"),
        ([6, -6, 6, 6], None, None, "A wall thickness of -6 cannot be"),
        ([6, 0, 6, 6], None, None, "must be more than zero"),
        ([6, 6, 6, 6], [1, 2, 3], None, "4 readings but 3 heights"),
        ([6, 6, 6, 6], None, [0, 90, 180, math.nan], "Azimuth of wall station 4 is not a number"),
    ],
)
def test_refusals_say_what_is_wrong(thickness, heights, azimuths, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        wall_evenness(thickness, heights, azimuths)
