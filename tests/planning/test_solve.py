"""From wishes to a plan: published template numbers, scipy's volumes, and what cannot be."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, special

from rubrics.craft.handle import FINGER_SLACK_MM, finger_room
from rubrics.craft.plan import Plan as CraftPlan
from studio.planning import making, wish
from studio.planning.shape import foot_perimeter, foot_side, wall_circumference
from studio.planning.solve import plan
from studio.planning.wish import STRAP_MM, PlanError, Wish
from studio.projects.starter_plans import STARTER_PLANS

CUP = Wish(
    shrinkage=0.12,
    height_mm=95,
    rim_diameter_mm=85,
    foot_side_mm=58,
    slab_mm=6.35,
    base_mm=5.5,
    has_whole_wall_darts=True,
)
# A wall of 6 mm fired, for the template numbers; corners sharp but for the wall itself.
TEMPLATE = Wish(
    shrinkage=0.12,
    height_mm=90,
    rim_diameter_mm=85,
    wall_mm=6,
    dart_width_mm=10 / 0.88,
    foot_corner_radius_mm=3,
)


def test_the_template_of_a_cup_as_the_mid_wall_tells_it():
    # D 85, t 6: π (D − t) = 248.185820, and for 12 % total shrinkage 282.029340 wet
    # (recomputed with numpy; outside and inside would give 267.035376 and 229.336264).
    assert wall_circumference(85, 6) == pytest.approx(248.185820, abs=5e-7)
    assert plan(TEMPLATE)["around_mm"] == pytest.approx(282.029340, abs=5e-7)


def test_four_darts_of_ten_make_the_square():
    # (248.185820 − 40) / 4 = 52.046455 at the middle of the wall (recomputed).
    planned = plan(TEMPLATE)
    assert planned.wish.foot_side_mm - 6 == pytest.approx(52.046455, abs=5e-7)
    assert planned["dart_width_mm"] * 0.88 == pytest.approx(10)


def test_a_quarter_inch_slab_at_45_degrees_laps_a_quarter_inch():
    assert making.lap_mm(6.35, 45) == pytest.approx(6.35)
    assert making.lap_mm(6.35, 30) == pytest.approx(6.35 * math.sqrt(3))
    assert making.lap_mm(6.35, 90) == 0


def test_wet_is_fired_over_what_is_left():
    # 90 mm at 12 % is 102.272727 wet; 90 × 1.12 = 100.8 is the usual slip. An eighth of shrinkage:
    # 11 in needs 11 × 8/7 = 12.571429 in ("Math for Potters", a public article).
    assert plan(replace(CUP, height_mm=90))["wet_height_mm"] == pytest.approx(102.272727, abs=5e-7)
    eighth = plan(replace(CUP, shrinkage=0.125, height_mm=11 * 25.4))
    assert eighth["wet_height_mm"] / 25.4 == pytest.approx(12.571429, abs=5e-7)


def test_the_opening_takes_the_fingers_of_a_published_survey():
    # FAA Human Factors Design Standard, appendix B (secondary digest): index finger at the middle
    # joint, 95th percentile of men 23 mm, of women 21. Two fingers + 3 mm: 49 and 45.
    large = replace(CUP, finger_breadth_mm=23)
    assert plan(large)["opening_fired_mm"] == 49
    assert plan(replace(CUP, finger_breadth_mm=21))["opening_fired_mm"] == 45
    assert plan(replace(large, fingers=1))["opening_fired_mm"] == 26
    assert plan(large)["opening_mm"] == pytest.approx(49 / 0.88)
    # The usual hand lies between the medians of men (21) and women (18).
    assert plan(CUP)["opening_fired_mm"] == 2 * (21 + 18) / 2 + 3


def test_plan_and_checks_mean_the_same_fingers_and_corners():
    assert (
        CraftPlan().finger_breadth_mm,
        FINGER_SLACK_MM,
    ) == (wish.FINGER_BREADTH_MM, wish.FINGER_SLACK_MM)
    assert CraftPlan().foot_corner_radius_mm == wish.FOOT_CORNER_RADIUS_MM
    assert plan(CUP)["opening_fired_mm"] == finger_room(2, CraftPlan().finger_breadth_mm)


def test_half_an_ellipse_as_scipy_measures_it():
    # Perimeter 4 a E(e²): scipy.special.ellipe; a 2, b 1 gives 9.688448220548.
    for a, b in ((2, 1), (5, 4), (31.3, 37.6)):
        exact = 4 * a * special.ellipe(1 - (b / a) ** 2)
        assert making.ellipse_perimeter(a, b) == pytest.approx(exact, rel=1e-8)


def integrated(cup, low, high):
    """The inside by scipy, from the sections as point sets, in ml."""

    base = cup.base_mm
    top = (cup.shoulder_mm or cup.height_mm) - base
    radius, side = cup.rim_diameter_mm / 2, cup.foot_side_mm

    def straight(z):
        level = cup.wall_mm * math.hypot(1, (radius - side / 2) / top)
        inner, corner = side - 2 * level, max(cup.corner_mm - level, 0)
        flat = (inner - 2 * corner) * (1 - z / top)
        rounding = corner * (1 - z / top) + (radius - level) * z / top
        return flat**2 + 4 * flat * rounding + math.pi * rounding**2

    # The wall stands on a base of the foot's own square and leans from there on.
    below, _ = integrate.quad(straight, low - base, min(top, high - base))
    above = max(high - base - top, 0) * math.pi * (radius - cup.wall_mm) ** 2
    return (below + above) / 1000


@pytest.mark.parametrize("depth", [None, 40.0])
def test_capacity_as_scipy_integrates_it(depth):
    planned = plan(replace(CUP, dart_depth_mm=depth, line_below_rim_mm=10))
    cup = planned.cup
    assert planned["capacity_ml"] == pytest.approx(integrated(cup, 5.5, 95), rel=1e-9)
    assert planned["line_ml"] == pytest.approx(integrated(cup, 5.5, 85), rel=1e-9)


def test_shorter_darts_leave_a_shoulder_and_hold_more():
    straight = plan(CUP)
    shoulder = plan(replace(CUP, dart_depth_mm=40))
    assert shoulder["capacity_ml"] > straight["capacity_ml"] * 1.1
    assert shoulder["dart_width_mm"] == straight["dart_width_mm"]


def test_a_line_is_found_by_what_it_holds():
    by_place = plan(replace(CUP, line_below_rim_mm=12))
    by_volume = plan(replace(CUP, line_ml=by_place["line_ml"]))
    assert by_volume["line_below_mm"] == pytest.approx(12, abs=1e-6)


FULL = plan(CUP).wish


@pytest.mark.parametrize(
    "follows",
    [
        {"capacity_ml", "dart_width_mm"},
        {"height_mm", "dart_width_mm"},
        {"rim_diameter_mm", "dart_width_mm"},
        {"foot_side_mm", "dart_width_mm"},
        {"foot_side_mm", "capacity_ml"},
        {"foot_side_mm", "height_mm"},
        {"rim_diameter_mm", "capacity_ml"},
        {"rim_diameter_mm", "height_mm"},
        {"rim_diameter_mm", "foot_side_mm"},
    ],
    ids=lambda names: "-".join(sorted(names)),
)
def test_whatever_is_let_go_comes_back(follows):
    held = replace(FULL, wall_mm=None, **dict.fromkeys(follows))
    again = plan(held)
    for name in wish.NAMES:
        if name != "foot_diameter_mm":
            assert getattr(again.wish, name) == pytest.approx(getattr(FULL, name), rel=1e-9), name
    assert set(again.follows) == follows | {"wall_mm"}


@given(
    height=st.floats(60, 160),
    rim=st.floats(60, 140),
    share=st.floats(0.6, 0.75),
    shrinkage=st.floats(0, 0.2),
)
def test_height_from_capacity_and_back(height, rim, share, shrinkage):
    whole = plan(
        Wish(
            shrinkage=shrinkage,
            height_mm=height,
            rim_diameter_mm=rim,
            foot_side_mm=rim * share,
            wall_mm=5,
        )
    )
    again = plan(replace(whole.wish, height_mm=None, slab_mm=None, dart_width_mm=None))
    assert again.wish.height_mm == pytest.approx(height, rel=1e-6)


@given(side=st.floats(30, 120), wall=st.floats(2, 9), corner=st.floats(0, 14))
def test_foot_side_and_perimeter_are_each_others_way_back(side, wall, corner):
    assert foot_side(foot_perimeter(side, wall, corner), wall, corner) == pytest.approx(side)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"foot_side_mm": 5}, "nothing of the foot would be left"),
        ({"foot_side_mm": 80}, "darts only take in"),
        (
            {"height_mm": 55, "finger_breadth_mm": 23},
            "A handle for 2 fingers is 61.32 mm high with its strap",
        ),
        ({"base_mm": 95}, "as thick as the cup is high"),
        ({"slab_mm": 40, "foot_side_mm": 60}, "leave no room inside"),
        ({"dart_depth_mm": 94}, "would cut through the rim"),
        ({"line_ml": 400}, "The line holds 400 ml and the cup only"),
        ({"line_below_rim_mm": 94}, "lies under the inside of the base"),
        ({"foot_corner_radius_mm": 30}, "make a foot of 58 mm round"),
    ],
)
def test_what_cannot_be_made_is_said(change, said):
    planned = plan(replace(CUP, **change))
    assert not planned.is_possible
    assert said in " ".join(planned.problems)


def test_a_plan_that_can_be_made_has_nothing_said_against_it():
    assert (plan(CUP).problems, plan(CUP).cautions) == ((), ())


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"foot_side_mm": 36, "rim_diameter_mm": 90}, "wide darts tend to pop"),
        ({"slab_mm": 12}, "may burst in the bisque"),
        ({"slab_mm": 3}, "is thin for a cup"),
        ({"capacity_ml": 350}, "By these sizes it holds 293 ml to the brim, and 350 ml are"),
        ({"dart_count": 0}, "A foot side of 58 mm belongs to a square"),
        ({"base_mm": 20}, "A base of 22.73 mm wet dries long after the wall"),
        ({"base_mm": 20}, "the slab 6.35 mm: roll a second, thicker slab for it"),
        ({"base_mm": 6.5}, "The base is 7.39 mm thick wet and the slab 6.35 mm"),
        ({"base_mm": 5.7}, "The base is 6.48 mm thick wet and the slab 6.35 mm"),
        ({"base_mm": 2}, "A fired base of 2 mm is thin"),
        ({"height_mm": 160}, "on a foot of 58 mm tips easily"),
        ({"rim_diameter_mm": 290, "foot_side_mm": 200, "fingers": 0}, "is a dish"),
        ({"rim_diameter_mm": 120, "foot_side_mm": 90, "dart_depth_mm": 20}, "leans by 37°"),
        (
            {"slab_mm": 8.9, "height_mm": 200, "rim_diameter_mm": 150, "foot_side_mm": 110},
            "g of clay",
        ),
    ],
)
def test_what_may_go_wrong_is_said(change, said):
    assert said in " ".join(plan(replace(CUP, **change)).cautions)


def test_a_base_of_the_slabs_own_thickness_typed_to_a_tenth_is_the_same_slab():
    # 6.35 mm wet is 5.588 fired, and 5.6 is what a teacher types.
    assert plan(replace(CUP, base_mm=5.6)).cautions == ()


def test_darts_reach_a_third_of_the_height_unless_they_are_to_take_the_whole_wall():
    third = plan(replace(CUP, has_whole_wall_darts=False))
    assert third.cup.shoulder_mm == pytest.approx(5.5 + 95 / 3)
    assert third["capacity_ml"] == plan(replace(CUP, dart_depth_mm=95 / 3))["capacity_ml"]
    assert plan(CUP).cup.shoulder_mm is None
    # The wall keeps the rim's width for longer, so it holds more than with a leaning wall.
    assert third["capacity_ml"] > plan(CUP)["capacity_ml"] * 1.15


@pytest.mark.parametrize("darts", [1, 2, 3, 5, 6])
def test_another_number_of_darts_than_four_is_refused_with_the_reason(darts):
    with pytest.raises(PlanError, match="are those of a square"):
        replace(CUP, dart_count=darts)


ROUND = replace(CUP, dart_count=0, foot_side_mm=None, fingers=0)


def test_a_round_taper_holds_the_frustum_of_a_cone():
    # Radii inside 34 and 40, height 90: pi h (R2 + R r + r2) / 3 = 387923.86 mm3 (by hand, by
    # Pappus and by Simpson). The wall is measured square to itself, so it is thin here.
    thin = replace(ROUND, slab_mm=None, wall_mm=0.001, base_mm=0.001, height_mm=90.001)
    planned = plan(replace(thin, rim_diameter_mm=80.002, foot_diameter_mm=68.002))
    assert planned["capacity_ml"] == pytest.approx(387.923861, abs=0.001)
    assert planned.cup.foot_side_mm == 68.002


def test_a_round_foot_without_a_diameter_is_as_wide_as_the_rim():
    planned = plan(ROUND)
    # Inside: pi / 4 x 73.824 squared x 89.5 (by hand).
    assert planned["capacity_ml"] == pytest.approx(383.10, abs=0.01)
    assert planned.cautions == ()


def test_the_height_of_a_taper_follows_from_what_it_holds():
    held = plan(replace(ROUND, foot_diameter_mm=60))
    again = plan(replace(held.wish, height_mm=None, wall_mm=None))
    assert again.wish.height_mm == pytest.approx(95, rel=1e-9)


def test_a_coiled_belly_counts_and_leans_from_the_table_on():
    # Two frusta by hand, thin: radii 30 to 50 over 60 mm, 50 to 25 over 40 mm.
    thin = replace(ROUND, slab_mm=None, wall_mm=0.001, base_mm=0.001, height_mm=100)
    planned = plan(
        replace(
            thin,
            building="coil",
            rim_diameter_mm=50,
            foot_diameter_mm=60,
            diameters_mm=((60, 100),),
        )
    )
    by_hand = math.pi / 3 * (60 * (900 + 1500 + 2500) + 40 * (2500 + 1250 + 625)) / 1000
    assert planned["capacity_ml"] == pytest.approx(by_hand, rel=1e-3)
    assert "pattern_length_mm" not in planned.steps
    assert "around_mm" not in planned.steps


@pytest.mark.parametrize("building", ["pinch", "coil", "thrown", "free"])
def test_other_ways_of_building_have_sizes_and_clay_and_no_pattern(building):
    planned = plan(replace(ROUND, building=building, fingers=1))
    assert planned["wet_height_mm"] == pytest.approx(95 / 0.88)
    assert planned["clay_out_g"] > planned["clay_in_piece_g"] > 100
    assert not {"lap_mm", "around_mm", "sheet_length_mm"} & set(planned.steps)


def test_clay_is_weighed_out_for_the_slab_with_its_trim():
    # By hand: wall 302 x 124.64 less nothing, and so on, at 1.9 g/ml and 6.35 mm.
    planned = plan(ROUND)
    length, height = planned["pattern_length_mm"], planned["pattern_height_mm"]
    wall = (length + 30) * (height + 30) * 6.35 / 1000
    base = (85 / 0.88 + 30) ** 2 * 6.35 / 1000
    assert planned["clay_out_g"] == pytest.approx(1.9 * (wall + base), rel=1e-9)
    # In the piece: the wall's ring and the base's disc, wet, by hand.
    ring = math.pi / 4 * (85**2 - 73.824**2) * 89.5 + math.pi / 4 * 85**2 * 5.5
    assert planned["clay_in_piece_g"] == pytest.approx(1.9 * ring / 1000 / 0.88**3, rel=1e-6)


def test_the_strap_is_clay_of_the_piece_and_two_of_them_are_weighed_out():
    with_handle = replace(CUP, fingers=2)
    without = replace(CUP, fingers=0)
    one, bare = plan(with_handle), plan(without)
    # 1.9 g/ml, common practice; length by breadth by thickness of the strip that is cut.
    strap_g = 1.9 * one["strap_length_mm"] * one["strap_width_mm"] * STRAP_MM / 1000
    assert one["clay_in_piece_g"] - bare["clay_in_piece_g"] == pytest.approx(strap_g)
    assert one["clay_out_g"] - bare["clay_out_g"] == pytest.approx(2 * strap_g)


def test_a_pound_of_clay_makes_the_mug_that_a_potter_tells_of():
    # A potter's own figures, read in a blog: one pound (453.6 g) of clay, 12 US fl oz (354.9 ml),
    # walls up to 3/16 in. fired. The width is ours, as is a handle for two fingers.
    mug = Wish(
        shrinkage=0.12,
        capacity_ml=354.9,
        rim_diameter_mm=85,
        wall_mm=25.4 * 3 / 16,
        building="thrown",
        fingers=2,
    )
    assert plan(mug)["clay_out_g"] == pytest.approx(453.6, rel=0.15)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"height_mm": None, "foot_side_mm": None}, "Nothing tells height and foot side and capac"),
        ({"slab_mm": None}, "Hold the wall or the slab"),
        ({"wall_mm": 5}, "Leave one empty"),
        ({"dart_width_mm": 10}, "Foot side and dart width are both held"),
        ({"dart_width_mm": 90, "foot_side_mm": None}, "wider than the 70.88 mm"),
        ({"height_mm": None, "capacity_ml": 1e5}, "gives less than that"),
        ({"rim_diameter_mm": None, "capacity_ml": 1}, "gives more than that"),
    ],
)
def test_too_much_or_too_little_is_a_sentence(change, said):
    with pytest.raises(PlanError, match=said):
        plan(replace(CUP, **change))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0])
@pytest.mark.parametrize("name", ["height_mm", "slab_mm", "capacity_ml", "dart_depth_mm"])
def test_no_number_that_is_none_gets_in(name, bad):
    with pytest.raises(PlanError, match="must be a number above zero"):
        replace(CUP, **{name: bad})


@pytest.mark.parametrize("starter", STARTER_PLANS.values(), ids=STARTER_PLANS)
def test_a_starter_plan_can_be_made_and_holds_what_it_says(starter):
    sizes = {name: size for name, _, size in starter.sizes}
    planned = plan(
        Wish(
            shrinkage=0.12,
            height_mm=sizes["height"],
            rim_diameter_mm=sizes["rim_diameter"],
            foot_side_mm=sizes.get("foot_side"),
            foot_diameter_mm=sizes.get("foot_diameter"),
            diameters_mm=tuple((at, size) for _, at, size in starter.sizes if at is not None),
            base_mm=sizes["base_thickness"],
            slab_mm=starter.slab_mm,
            building=starter.building,
            dart_count=starter.dart_count,
            fingers=starter.fingers,
        )
    )
    assert (planned.problems, planned.cautions) == ((), ())
    assert starter.capacity_ml == pytest.approx(planned["capacity_ml"], abs=3)


@pytest.mark.parametrize(
    ("wish", "formulas"),
    [
        (replace(CUP, dart_depth_mm=40), 25),
        (replace(CUP, dart_count=0, foot_side_mm=None, foot_diameter_mm=60), 21),
    ],
)
def test_every_formula_tells_its_own_result(wish, formulas):
    # Each line of numbers is worked out anew by Python; what is told must be what is used.
    told = 0
    for step in plan(wish).steps.values():
        if "ellipse" in step.numbers or step.unit in ("ml", "g"):
            continue
        text = step.numbers.replace("×", "*").replace("÷", "/").replace("−", "-")
        text = text.replace("π", "pi").replace("²", "**2").replace("√", "sqrt")
        text = text.replace("tan(45°)", "tan(radians(45))")
        worked = eval(text, {"__builtins__": {}, **vars(math)})
        assert worked == pytest.approx(step.result, abs=0.05), step
        told += 1
    assert told == formulas
