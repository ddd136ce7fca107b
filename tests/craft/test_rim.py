"""Rim level: tilt against waviness, turning, refusals."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rubrics.craft.angles import wrap_half_turn
from rubrics.craft.levels import Limit, suggest
from rubrics.craft.readings import ReadingsError
from rubrics.craft.rim import rim_level
from rubrics.craft.sheet import Size

EIGHTS = np.arange(0.0, 360, 45)
LIMITS = {"rim_level.rise_mm": Limit("rim_level.rise_mm", 2, 4, 6)}
heights = st.lists(st.floats(80, 100), min_size=8, max_size=8)


def _cos(degrees):
    return np.cos(np.radians(degrees))


@pytest.mark.parametrize(
    ("rim", "cause"),
    [
        (90 + 2 * _cos(EIGHTS - 70), "tilt"),
        (90 + 2 * _cos(2 * EIGHTS), "waviness"),
        (90 + 1 * _cos(EIGHTS) + 1 * _cos(2 * EIGHTS), "both"),
        (90 + 0.05 * _cos(EIGHTS), "none"),
        (np.full(8, 90.0), "none"),
    ],
)
def test_what_makes_the_rise(rim, cause):
    assert rim_level(rim, EIGHTS, radius_mm=40, u_mm=0.2).cause == cause


def test_where_to_take_clay_off():
    rim = rim_level([90, 90, 90, 92], [0, 90, 180, 270], radius_mm=40)
    assert rim.take_off_mm == (0, 0, 0, 2)
    assert rim.high_side_deg == pytest.approx(270)


def test_three_heights_lie_in_a_plane_and_tell_no_waviness():
    rim = rim_level([90, 91, 92], [0, 120, 240], radius_mm=40, u_mm=0.1, limits=LIMITS)
    assert (rim.flatness_mm, rim.u_flatness_mm, rim.saddle_mm) == (None, None, None)
    # Three places cannot see a rim with three waves: only what they show too much is certain.
    assert (rim.verdict, rim.at_least) == (None, ("rise_mm", "rise_deg"))
    high = rim_level([90, 91, 99], [0, 120, 240], radius_mm=40, u_mm=0.1, limits=LIMITS)
    assert high.verdict == "outside"
    assert rim.u_tilt_deg > 0


@pytest.mark.parametrize("phase", [0, 15, 40, 60])
def test_three_waves_hide_from_three_places_and_not_from_eight(phase):
    def waves(azimuths):
        return [90 + 3 * math.cos(math.radians(3 * (az - phase))) for az in azimuths]

    three, limit = (0, 120, 240), [Limit("rim_level.rise_deg", 1.4, 2.9, 4.3)]
    blind = rim_level(waves(three), three, radius_mm=40, u_mm=0.25)
    assert blind.rise_mm == pytest.approx(0, abs=1e-9)
    found = suggest({"rim_level": blind}, limit)
    assert (found.level, found.reaches, found.figures[0].at_least) == (None, (1, 4), True)
    seen = rim_level(waves(EIGHTS), EIGHTS, radius_mm=40, u_mm=0.25)
    assert seen.three_corner_mm == pytest.approx(3)
    assert suggest({"rim_level": seen}, limit).level in {1, 2}


@pytest.mark.parametrize(
    ("azimuths", "hidden"),
    [
        ((0, 120, 240), (3,)),
        ((0, 90, 180, 270), (2,)),  # two highs between the four places
        ((20, 110, 200, 290), (2,)),
        ((0, 72, 144, 216, 288), ()),
        (range(0, 360, 60), (3,)),
        (range(0, 360, 45), ()),
        (range(0, 360, 30), ()),
    ],
)
def test_waves_that_can_hide_from_the_places_are_named(azimuths, hidden):
    rim = rim_level([90] * len(azimuths), azimuths, radius_mm=40)
    assert rim.hidden_waves == hidden
    # Each hidden wave, turned by every degree, is read level once; each other one never is.
    for k in (2, 3):
        least = min(
            np.ptp(_cos(k * np.array(azimuths) - phase)) for phase in np.arange(0, 360, 1.0)
        )
        assert (least < 0.05) == (k in hidden)


def test_a_rise_counts_by_the_width_of_the_rim():
    # 4.2 mm across 60 mm is twice the angle of 4.2 mm across 120 mm, and a poorer rim.
    small, large = (
        rim_level(90 + 2.1 * _cos(EIGHTS), EIGHTS, radius_mm=radius) for radius in (30, 60)
    )
    assert small.rise_deg == pytest.approx(math.degrees(math.atan(4.2 / 60)))
    assert large.rise_deg == pytest.approx(math.degrees(math.atan(4.2 / 120)))
    limit = [Limit("rim_level.rise_deg", 1.4, 2.9, 4.3)]
    assert [suggest({"rim_level": r}, limit).level for r in (small, large)] == [2, 3]


def test_an_oval_rim_is_told_by_two_diameters():
    sizes = (Size(84, 0.3, "read"), Size(76, 0.4, "read"))
    rim = rim_level([90] * 8, EIGHTS, radius_mm=40, diameters=sizes)
    assert (rim.out_of_round_mm, rim.u_out_of_round_mm) == pytest.approx((8, 0.5))
    assert suggest({"rim_level": rim}, [Limit("rim_level.out_of_round_mm", 3, 6, 9)]).level == 2


def test_without_a_radius_there_is_a_rise_but_no_angle():
    rim = rim_level(90 + 2 * _cos(EIGHTS), EIGHTS, radius_mm=None, u_mm=0.1, limits=LIMITS)
    assert (rim.tilt_deg, rim.u_tilt_deg, rim.radius_source) == (None, None, "")
    assert (rim.rise_mm, rim.tilt_rise_mm) == pytest.approx((4, 4))
    assert rim.verdict == "too close to call"


def test_harmonics_need_stations_all_round():
    crowded = [0, 10, 20, 30, 40, 150, 160, 270]
    assert rim_level([90] * 8, crowded, radius_mm=40).saddle_mm is None
    assert rim_level([90] * 8, EIGHTS, radius_mm=40).saddle_mm == pytest.approx(0, abs=1e-9)


def test_a_saddle_has_its_high_where_it_was_put():
    rim = rim_level(90 + 0.5 * _cos(2 * (EIGHTS - 65)), EIGHTS, radius_mm=40)
    assert (rim.saddle_mm, rim.saddle_deg) == pytest.approx((0.5, 65))


def test_an_uncertain_radius_makes_an_uncertain_tilt():
    tilted = 90 + 2 * _cos(EIGHTS)
    sure = rim_level(tilted, EIGHTS, radius_mm=40)
    unsure = rim_level(tilted, EIGHTS, radius_mm=40, u_radius_mm=4)
    assert sure.u_tilt_deg == pytest.approx(0, abs=1e-9)
    assert unsure.u_tilt_deg == pytest.approx(unsure.tilt_deg / 10, rel=0.01)


@given(heights, st.floats(-360, 360))
def test_turning_the_piece_turns_the_high_side_alone(h, turn):
    rim = rim_level(h, EIGHTS, radius_mm=40, u_mm=0.2)
    turned = rim_level(h, EIGHTS + turn, radius_mm=40, u_mm=0.2)
    for figure in ("rise_mm", "tilt_deg", "u_tilt_deg", "flatness_mm", "tilt_rise_mm", "saddle_mm"):
        assert getattr(turned, figure) == pytest.approx(getattr(rim, figure), abs=1e-7), figure
    assume(rim.tilt_rise_mm > 0.01)
    apart = wrap_half_turn(turned.high_side_deg - rim.high_side_deg - turn)
    assert apart == pytest.approx(0, abs=1e-4)


@given(heights, st.floats(-50, 50))
def test_a_taller_cup_is_as_level(h, taller):
    rim = rim_level(h, EIGHTS, radius_mm=40)
    other = rim_level(np.array(h) + taller, EIGHTS, radius_mm=40)
    for figure in ("rise_mm", "tilt_deg", "flatness_mm", "saddle_mm", "three_corner_mm"):
        assert getattr(other, figure) == pytest.approx(getattr(rim, figure), abs=1e-7), figure
    assert other.mean_height_mm == pytest.approx(rim.mean_height_mm + taller)


@given(heights, st.permutations(range(8)))
def test_the_order_of_the_readings_does_not_matter(h, order):
    order = np.array(order)
    rim = rim_level(h, EIGHTS, radius_mm=40)
    other = rim_level(np.array(h)[order], EIGHTS[order], radius_mm=40)
    for figure in ("rise_mm", "tilt_deg", "flatness_mm", "saddle_mm", "three_corner_mm"):
        assert getattr(other, figure) == pytest.approx(getattr(rim, figure), abs=1e-7), figure


@given(heights, st.floats(0.1, 10))
def test_a_cup_twice_the_size_has_the_same_angles(h, scale):
    rim = rim_level(h, EIGHTS, radius_mm=40)
    other = rim_level(np.array(h) * scale, EIGHTS, radius_mm=40 * scale)
    assert other.tilt_deg == pytest.approx(rim.tilt_deg, abs=1e-7)
    assert other.rise_mm == pytest.approx(rim.rise_mm * scale, abs=1e-7)


@pytest.mark.parametrize(
    ("h", "azimuths", "radius", "sentence"),
    [
        ([90, 91], [0, 180], 40, "at least 3 heights round the rim and has 2"),
        ([90, 91, 92], [0, 90, 180], 40, "one side only: 180° of it"),
        ([90, 91, 92, 93], [0, 10, 20, 30], 40, "one side only: 330° of it"),
        ([90, math.nan, 92], [0, 120, 240], 40, "A rim height 2 is not a number"),
        ([90, -1, 92], [0, 120, 240], 40, "must not be negative"),
        ([90, 91, 92], [0, 120], 40, "3 readings but 2 azimuths"),
        ([90, 91, 92], [0, 120, math.inf], 40, "Azimuth of rim station 3 is not a number"),
        ([90, 91, 92], [0, 120, 240], 0, "A rim radius of 0 cannot be"),
    ],
)
def test_refusals_say_what_is_wrong(h, azimuths, radius, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        rim_level(h, azimuths, radius_mm=radius)


def test_uncertainties_must_match_the_readings():
    with pytest.raises(ReadingsError, match="3 readings but 2 uncertainties"):
        rim_level([90, 91, 92], [0, 120, 240], radius_mm=40, u_mm=[0.1, 0.1])
