"""Wall evenness: pattern, uncertainty, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.angles import wrap_half_turn
from rubrics.craft.levels import Limit
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
        ([10, 30, 50, 70], [0, 0, 0, 0], ("height",)),
        ([10, 10, 80, 80], [0, 180, 0, 180], ("height", "axis")),
        ([10, 10, 80, 80], [45, 225, 45, 225], ("height", "axis")),
        # Each side read at a height of its own: only one of the two patterns can be told.
        ([10, 80, 10, 80], [0, 180, 0, 180], ("height",)),
    ],
)
def test_only_the_terms_that_the_stations_can_tell_are_fitted(heights, azimuths, terms):
    wall = wall_evenness([6, 6.5, 7, 6.2], heights, azimuths)
    assert wall.terms == terms
    assert (wall.foot_to_rim_mm_per_10mm is not None) == ("height" in terms)
    assert (wall.thick_amplitude_mm is not None) == bool({"side", "axis"} & set(terms))


def test_two_opposite_sides_tell_which_is_thick():
    wall = wall_evenness([6, 7, 6.1, 7.1], [10, 10, 80, 80], [45, 225, 45, 225])
    assert wall.thick_side_deg == pytest.approx(225)
    assert wall.thick_amplitude_mm == pytest.approx(0.5)


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
