"""The plan: sizes at every stage, and its JSON with sentences that name the field."""

import json

import pytest

from rubrics.checks.plan_json import PlanFileError, plan_from_dict
from rubrics.craft.levels import Limit
from rubrics.craft.plan import Instrument, Plan


def test_a_plan_is_read_from_its_json():
    plan = Plan(
        sizes_mm={"height": 90.0, "diameter@45": 70.0},
        limits=Plan().limits | {"rim_level.rise_mm": Limit("rim_level.rise_mm", 1, 2, 3)},
        instruments={**Plan().instruments, "comb": Instrument(0.25)},
        capacity_ml=None,
    )
    written = """{
      "sizes_mm": {"height": 90, "diameter@45": 70},
      "limits": {"rim_level.rise_mm": [1, 2, 3]},
      "instruments": {"comb": {"resolution": 0.25}},
      "capacity_ml": null
    }"""
    assert plan_from_dict(json.loads(written)) == plan


def test_what_is_left_out_of_a_plan_is_the_starter_plans_and_null_takes_a_limit_away():
    written = {"limits": {"wall_evenness.plan_match_mm": None}, "shrinkage": {"bisque": 0.07}}
    plan = plan_from_dict(written)
    assert set(Plan().limits) - set(plan.limits) == {"wall_evenness.plan_match_mm"}
    assert plan.shrinkage == {**Plan().shrinkage, "bisque": 0.07}
    assert plan.sizes_mm == Plan().sizes_mm


def test_an_empty_object_is_the_starter_plan():
    assert plan_from_dict({}) == Plan()


def test_sizes_at_other_stages():
    plan = Plan()
    assert plan.planned_mm("height", "glazed") == 95
    assert plan.planned_mm("height", "wet") == pytest.approx(95 / 0.88)
    assert plan.planned_mm("height", "bone dry") == pytest.approx(95 / 0.88 * 0.94)
    assert plan.planned_mm("depth", "wet") is None
    assert plan.planned_wall_mm("leather-hard") == pytest.approx(6.35 * 0.975)


def test_one_number_as_a_limit_is_all_three():
    plan = plan_from_dict(
        {"limits": {"rim_level.rise_mm": 1.5, "capacity.difference_fraction": None}}
    )
    assert plan.limits["rim_level.rise_mm"].bounds == (1.5, 1.5, 1.5)
    assert "capacity.difference_fraction" not in plan.limits
    kept = "wall_evenness.scaled_spread_mm"
    assert plan.limits[kept] == Plan().limits[kept]


def test_a_reading_without_an_instrument_counts_with_the_usual_one():
    plan = Plan()
    # d²/12 + s² + a²/3 by hand: calliper 0.1 and 0.1, needle 0.5 and 0.3, soft clay a = 0.5 mm.
    for instrument, u in (("", 0.306866), ("comb", 0.306866), ("needle", 0.440643)):
        found = plan.uncertainty_of("wall_thickness", "wet", instrument)
        assert found == pytest.approx(u, abs=1e-6)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ([], "The plan must be an object"),
        ({"hight": 3}, "field “hight” that is not known"),
        ({"slab_mm": "thick"}, "slab_mm must be a number"),
        ({"slab_mm": 0}, "slab_mm must be more than zero"),
        ({"slab_mm": float("nan")}, "slab_mm must be a number of a plausible size"),
        ({"slab_mm": 10**400}, "slab_mm must be a number of a plausible size"),
        ({"slab_mm": True}, "slab_mm must be a number"),
        ({"sizes_mm": {"height": -3}}, "sizes_mm, height must be more than zero"),
        ({"sizes_mm": 3}, "sizes_mm must be an object"),
        ({"shrinkage": {"glazed": 12}}, "shrinkage, glazed must be a fraction, as 0.12 for 12 %"),
        ({"shrinkage": {"cooked": 0.1}}, "shrinkage has “cooked”"),
        ({"shrinkage_spread": {"bisque": -0.1}}, "shrinkage_spread, bisque must not be negative"),
        ({"fingers": 1.5}, "fingers must be a whole number"),
        ({"name": 7}, "name must be a text"),
        ({"limits": {"rim": 3}}, "limits, rim is not a figure of a check"),
        ({"limits": {"rim_level.height": 3}}, "limits, rim_level.height is not a figure"),
        ({"limits": {"rim_level.rise_mm": [1, 2]}}, "one number or three that rise"),
        ({"limits": {"rim_level.rise_mm": [3, 2, 4]}}, "limits, rim_level.rise_mm must rise"),
        (
            {"instruments": {"comb": {"repeatability": 1}}},
            "instruments, comb must have a resolution",
        ),
        ({"instruments": {"comb": {"resolution": -1}}}, "comb, resolution must not be negative"),
    ],
)
def test_a_bad_plan_is_told_by_its_field(data, sentence):
    with pytest.raises(PlanFileError, match=sentence):
        plan_from_dict(data)
