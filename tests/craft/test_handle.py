"""Handle alignment: lean, twist, placement, fingers, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.handle import cup_radii, finger_room, from_sheet, handle_alignment
from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError
from rubrics.craft.sheet import Sheet, Size

from .pieces import reading

LIMITS = Plan().limits
RADII = {"radius_top_mm": 38.0, "radius_bottom_mm": 32.0}


def _handle(top, bottom, **more):
    return handle_alignment(top, bottom, **RADII, limits=LIMITS, **more)


def test_lean_by_hand():
    # s = R sin(az - mid), mid 5°: 38 sin 5° + 32 sin 5° over 50 mm.
    sideways = 70 * math.sin(math.radians(5))
    assert _handle((10, 80), (0, 30)).lean_deg == pytest.approx(
        math.degrees(math.atan(sideways / 50))
    )


def test_positive_lean_is_top_counter_clockwise():
    assert _handle((5, 80), (0, 30)).lean_deg > 0
    assert _handle((-5, 80), (0, 30)).lean_deg < 0
    assert _handle((355, 80), (0, 30)).lean_deg == _handle((-5, 80), (0, 30)).lean_deg


@given(st.floats(-20, 20), st.floats(-720, 720))
def test_lean_does_not_change_when_the_cup_is_turned(apart, turn):
    upright = _handle((apart, 80), (0, 30)).lean_deg
    assert _handle((apart + turn, 80), (turn, 30)).lean_deg == pytest.approx(upright, abs=1e-8)


@given(st.floats(-40, 40), st.floats(-360, 360))
def test_placement_is_counted_from_the_seam(off, seam):
    handle = _handle((seam + 180 + off, 80), (seam + 180 + off, 30), seam_azimuth_deg=seam)
    assert handle.placement_deg == pytest.approx(off, abs=1e-8)


def test_placement_wraps_to_half_a_turn():
    handle = _handle((170, 80), (170, 30), seam_azimuth_deg=-90, planned_from_seam_deg=60)
    assert handle.placement_deg == pytest.approx(-160)


def test_uncertainty_of_lean_from_its_four_readings():
    # At an upright handle lean is (R_t + R_b)/2 Δaz / Δz, so only the azimuths matter.
    handle = _handle((0, 80), (0, 30), u_azimuth_deg=1, u_height_mm=1, u_radius_mm=2)
    assert handle.u_lean_deg == pytest.approx(35 * math.sqrt(2) / 50, rel=1e-3)
    assert handle.u_placement_deg == pytest.approx(math.hypot(1 / math.sqrt(2), 1))


def test_the_verdict_is_the_worst_of_three():
    straight = _handle((0, 80), (0, 30), twist_deg=0)
    assert (straight.verdict, len(straight.judged)) == ("within", 3)
    twisted = _handle((0, 80), (0, 30), twist_deg=-9, u_twist_deg=0.5)
    assert (twisted.verdict, twisted.decides) == ("outside", "twist_deg")
    askew = _handle((10, 80), (10, 30), u_azimuth_deg=1)
    assert (askew.verdict, askew.decides) == ("too close to call", "placement_deg")


def test_twist_alone_is_judged():
    handle = handle_alignment(twist_deg=2, limits=LIMITS)
    assert (handle.verdict, handle.lean_deg, handle.placement_deg) == ("within", None, None)


def test_finger_room_counts_on_the_glazed_opening():
    handle = handle_alignment(
        opening_height=Size(60, 0.4, "read"),
        opening_depth=Size(32, 0.4, "read"),
        glazed_growth=(0.88 / 0.975, 0.005),
        fingers=2,
        finger_breadth_mm=23,
    )
    assert handle.finger_room_mm == pytest.approx(60 * 0.88 / 0.975 - 49)
    assert handle.finger_depth_room_mm == pytest.approx(32 * 0.88 / 0.975 - 26)
    assert handle.opening_source == "expected"
    assert handle.u_finger_room_mm == pytest.approx(math.hypot(0.4 * 0.88 / 0.975, 0.3))


@pytest.mark.parametrize(
    ("top", "bottom", "more", "sentence"),
    [
        ((0, 80), None, RADII, "lower attachment of the handle was not read"),
        (None, (0, 30), RADII, "upper attachment of the handle was not read"),
        ((0, 30), (0, 80), RADII, r"upper attachment \(30 mm\) is not above its lower one"),
        ((0, math.nan), (0, 30), RADII, "Attachment reading 2 is not a number"),
        ((0, 80), (0, -3), RADII, "must not be negative"),
        (None, None, {"twist_deg": math.inf}, "Twist of the handle 1 is not a number"),
        (None, None, {}, "Nothing was read at the handle"),
    ],
)
def test_refusals_say_what_is_wrong(top, bottom, more, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        handle_alignment(top, bottom, **more)


def test_without_the_cups_size_there_is_no_lean_but_a_placement():
    handle = handle_alignment((7, 80), (3, 30), twist_deg=1, limits=LIMITS)
    assert (handle.lean_deg, handle.placement_deg, handle.verdict) == (None, 5, "within")


def test_cup_radius_runs_from_foot_to_rim():
    sheet = Sheet(
        [
            reading("dimension", "glazed", 90, "height"),
            reading("dimension", "glazed", 80, "rim_diameter"),
            reading("dimension", "glazed", 60, "foot_side"),
        ]
    )
    plan = Plan(foot_corner_radius_mm=0)
    foot, middle, rim = cup_radii((0, 45, 90), "glazed", sheet, plan)
    # The circle of a square's perimeter, 4 × 60 / 2π; the mean of both; half the rim.
    assert foot.value_mm == pytest.approx(240 / (2 * math.pi))
    assert middle.value_mm == pytest.approx((foot.value_mm + 40) / 2)
    assert rim.value_mm == 40
    assert foot.u_mm > middle.u_mm > rim.u_mm
    assert rim.source == "read"


def test_corners_are_as_planned_where_the_plan_knows_no_shrinkage():
    sheet = Sheet(
        [
            reading("dimension", "bisque", 90, "height"),
            reading("dimension", "bisque", 80, "rim_diameter"),
            reading("dimension", "bisque", 60, "foot_side"),
        ]
    )
    plan = Plan(shrinkage={}, foot_corner_radius_mm=10)
    assert plan.growth("glazed", "bisque") is None
    foot, _ = cup_radii((0, 90), "bisque", sheet, plan)
    # Perimeter of a rounded square: four sides less what eight half corners save, (8 - 2 pi) r.
    assert foot.value_mm == pytest.approx((4 * 60 - (8 - 2 * math.pi) * 10) / (2 * math.pi))


def test_a_diameter_read_on_the_way_is_used():
    sheet = Sheet(
        [
            reading("dimension", "glazed", 90, "height"),
            reading("dimension", "glazed", 80, "rim_diameter"),
            reading("dimension", "glazed", 60, "foot_side"),
            reading("dimension", "glazed", 88, "diameter", height=50),
        ]
    )
    at_belly, above = cup_radii((50, 70), "glazed", sheet, Plan())
    assert (at_belly.value_mm, above.value_mm) == (44, 42)


@pytest.mark.parametrize(
    ("height", "depth", "short", "where"),
    [(20, 12, 22, "height"), (43, 12, 10.5, "depth"), (60, 40, 0, "depth")],
)
def test_an_opening_is_short_by_what_it_lacks_most(height, depth, short, where):
    # Two fingers of 19.5 mm and 3 mm of room are 42 mm; one in depth is 22.5 mm.
    handle = handle_alignment(
        opening_height=Size(height, 0.2, "read"),
        opening_depth=Size(depth, 0.2, "read"),
        fingers=2,
        finger_breadth_mm=19.5,
        limits=LIMITS,
    )
    assert (handle.opening_short_mm, handle.opening_short_in) == (short, where)
    assert (handle.verdict == "outside") == (short > 3)


def test_an_opening_read_before_the_glaze_is_carried_to_the_glazed_cup():
    plan = Plan(fingers=2)
    sheet = Sheet(
        [
            reading("handle_opening", "leather-hard", 50, "height", u=0.5),
            reading("handle_opening", "leather-hard", 40, "depth", u=0.5),
        ]
    )
    handle = from_sheet(sheet, "leather-hard", plan)
    needed = finger_room(2, plan.finger_breadth_mm)
    assert handle.finger_room_mm == pytest.approx(50 * 0.88 / 0.975 - needed)
    # A plan without shrinkage leaves it as it was read.
    as_read = from_sheet(sheet, "leather-hard", Plan(fingers=2, shrinkage={}))
    assert as_read.finger_room_mm == pytest.approx(50 - needed)


def test_an_opening_with_room_to_spare_is_in_no_doubt():
    just, ample = (
        handle_alignment(opening_height=Size(mm, 0.5, "read"), fingers=2, finger_breadth_mm=19.5)
        for mm in (42.4, 50)
    )
    # 0 + 2u is the most that may be lacking: 42 - (42.4 - 2 * 0.5) = 0.6.
    assert (just.opening_short_mm, just.u_opening_short_mm) == (0, pytest.approx(0.3))
    assert (ample.opening_short_mm, ample.u_opening_short_mm) == (0, 0)


@pytest.mark.parametrize(("azimuth", "off"), [(95, 5), (265, -5), (180, 90)])
def test_a_quarter_turn_meant_holds_for_either_side(azimuth, off):
    handle = _handle(
        (azimuth, 80),
        (azimuth, 30),
        seam_azimuth_deg=0,
        planned_from_seam_deg=90,
        either_way=True,
        planned_by="student",
    )
    assert (abs(handle.placement_deg), handle.planned_by) == (abs(off), "student")


def test_without_a_seam_there_is_no_placement():
    handle = _handle((0, 80), (0, 30), seam_azimuth_deg=None)
    assert (handle.placement_deg, handle.seam_azimuth_deg, handle.lean_deg) == (None, None, 0)
