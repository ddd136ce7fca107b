"""Capacity: water beside geometry, the fired size to expect, refusals."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from rubrics.craft.capacity import (
    FILL_U_ML,
    by_geometry,
    capacity,
    inside_volume,
    planned_capacity,
)
from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError
from rubrics.craft.sheet import Sheet

from .pieces import reading

LIMITS = Plan().limits


def test_inside_of_a_straight_cylinder_is_a_cylinder():
    # A foot whose corners are half its side is a circle.
    inside = inside_volume(90, 80, 80, 5, 6, foot_corner_radius_mm=40)
    assert inside == pytest.approx(math.pi * 35**2 * 84 / 1000)


def test_inside_of_a_box_to_circle_as_a_library_integrates_it():
    height, rim, foot, wall, base, corner = 95, 85, 58, 5.6, 6, 8
    level = wall * math.hypot(1, (rim - foot) / 2 / height)
    side, radius, r = foot - 2 * level, rim / 2 - level, corner - level

    def area(z):
        # The section is a square of the flats that remain, thickened all round by its corners.
        share = z / height
        flat = (side - 2 * r) * (1 - share)
        rounding = r * (1 - share) + radius * share
        return flat**2 + 4 * flat * rounding + math.pi * rounding**2

    volume, _ = integrate.quad(area, base, height)
    assert inside_volume(
        height, rim, foot, wall, base, foot_corner_radius_mm=corner
    ) == pytest.approx(volume / 1000)


def test_water_comes_before_geometry():
    result = capacity(water_g=280, u_water_g=0.3, geometry_ml=300, u_geometry_ml=12)
    assert (result.source, result.capacity_ml) == ("water", result.capacity_water_ml)
    assert result.u_capacity_ml == pytest.approx(math.hypot(0.3, FILL_U_ML), rel=1e-3)
    assert result.water_and_geometry_agree
    assert not capacity(water_g=280, geometry_ml=340, u_geometry_ml=12).water_and_geometry_agree


def test_difference_is_judged_as_a_share_of_the_plan():
    result = capacity(geometry_ml=322, u_geometry_ml=0, planned_ml=280, limits=LIMITS)
    assert (result.difference_ml, result.verdict) == (42, "within")
    assert capacity(geometry_ml=230, planned_ml=280, limits=LIMITS).verdict == "outside"


def test_an_unfired_cup_is_judged_by_what_it_will_hold():
    ratio = 0.88 / 0.94
    result = capacity(geometry_ml=340, u_geometry_ml=5, to_fired=(ratio, 0.005), planned_ml=280)
    assert result.fired_ml == pytest.approx(340 * ratio**3)
    assert result.u_fired_ml == pytest.approx(math.hypot(5 * ratio**3, 3 * 340 * ratio**2 * 0.005))


def test_a_plan_without_a_capacity_has_that_of_its_sizes():
    assert planned_capacity(Plan(capacity_ml=280)) == 280
    by_sizes = planned_capacity(Plan(capacity_ml=None))
    assert by_sizes == pytest.approx(
        inside_volume(95, 85, 58, 6.35 * 0.88, 6, foot_corner_radius_mm=8)
    )
    assert planned_capacity(Plan(capacity_ml=None, sizes_mm={"height": 95})) is None


def test_sizes_that_were_not_read_come_from_another_stage_or_the_plan():
    sheet = Sheet(
        [
            reading("dimension", "glazed", 95, "height"),
            reading("dimension", "glazed", 85, "rim_diameter"),
            reading("wall_thickness", "leather-hard", 6.5),
        ]
    )
    value, u, sizes = by_geometry(sheet, "glazed", Plan())
    assert {name: source for name, _, source in sizes} == {
        "height": "read",
        "rim_diameter": "read",
        "foot_side": "plan",
        "wall": "scaled",
        "base_thickness": "plan",
    }
    assert value == pytest.approx(
        inside_volume(95, 85, 58, 6.5 * 0.88 / 0.975, 6, foot_corner_radius_mm=8)
    )
    assert u > 0.03 * value


def test_a_diameter_on_the_straight_wall_changes_nothing_but_one_on_a_belly_does():
    # A round foot: half way between 60 and 80 the straight wall has 70.
    sizes, foot = (90, 80, 60, 5, 6), {"foot_corner_radius_mm": 30}
    straight = inside_volume(*sizes, **foot)
    assert inside_volume(*sizes, **foot, diameters_mm=[(45, 70)]) == pytest.approx(straight)
    # Two frusta by the textbook formula, the wall of no thickness and no base.
    bellied = inside_volume(90, 80, 60, 0, 0, **foot, diameters_mm=[(45, 90)])

    def frustum(r, s):
        return math.pi * 45 * (r * r + r * s + s * s) / 3000

    assert bellied == pytest.approx(frustum(30, 45) + frustum(45, 40))


def test_a_belly_that_was_read_is_used():
    outside = [
        reading("dimension", "glazed", 95, "height"),
        reading("dimension", "glazed", 85, "rim_diameter"),
    ]
    belly = reading("dimension", "glazed", 100, "max_diameter", height=50)
    slim, *_ = by_geometry(Sheet(outside), "glazed", Plan())
    full, *_ = by_geometry(Sheet([*outside, belly]), "glazed", Plan())
    assert full > 1.2 * slim


def test_a_depth_inside_tells_the_base():
    outside = [
        reading("dimension", "glazed", 95, "height", u=0.3),
        reading("dimension", "glazed", 85, "rim_diameter"),
    ]
    sheet = Sheet([*outside, reading("dimension", "glazed", 87, "depth", u=0.4)])
    sizes = {name: (size, source) for name, size, source in by_geometry(sheet, "glazed", Plan())[2]}
    assert sizes["base_thickness"] == (8, "read")
    with pytest.raises(ReadingsError, match=r"depth inside \(96 mm\) is not less than the height"):
        by_geometry(
            Sheet([*outside, reading("dimension", "glazed", 96, "depth")]), "glazed", Plan()
        )


def test_planned_sizes_alone_would_only_tell_the_plan_again():
    assert by_geometry(Sheet([]), "glazed", Plan()) is None


@given(st.floats(60, 120), st.floats(60, 100), st.floats(40, 80), st.floats(0.1, 10))
def test_volume_goes_with_the_cube_of_the_size(height, rim, foot, scale):
    model = inside_volume(*(x * scale for x in (height, rim, foot, 5, 6)))
    assert model == pytest.approx(inside_volume(height, rim, foot, 5, 6) * scale**3)


@given(st.floats(60, 120), st.floats(60, 100), st.floats(40, 80), st.floats(3, 8))
def test_a_thicker_wall_holds_less(height, rim, foot, wall):
    assert inside_volume(height, rim, foot, wall + 0.5, 6) < inside_volume(
        height, rim, foot, wall, 6
    )


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ({}, "needs the water to the brim weighed"),
        ({"line_g": 200}, "needs the water to the brim weighed"),
        ({"water_g": -5}, "A mass of water of -5 cannot be"),
        ({"water_g": math.nan}, "A mass of water 1 is not a number"),
    ],
)
def test_refusals_say_what_is_wrong(readings, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        capacity(**readings)


def test_a_shouldered_cup_holds_what_its_two_parts_hold():
    """Outside: the plan's solver, and by hand the cylinder above the shoulder."""
    sizes = {"height": 95.0, "rim_diameter": 82.0, "foot_side": 61.0, "base_thickness": 5.5}
    plan = Plan(sizes_mm=sizes, capacity_ml=None, slab_mm=5.6 / 0.88, shoulder_mm=37.0)
    straight = replace(plan, shoulder_mm=None)
    inner = (82.0 - 2 * plan.planned_wall_mm("glazed")) / 2
    above = math.pi * inner**2 * (95.0 - 37.0) / 1000
    below = planned_capacity(plan) - above
    frustum = planned_capacity(replace(plan, sizes_mm=sizes | {"height": 37.0}, shoulder_mm=None))
    assert below == pytest.approx(frustum, abs=0.5)
    assert planned_capacity(plan) > planned_capacity(straight) + 20
