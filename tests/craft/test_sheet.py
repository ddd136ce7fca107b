"""Sizes: what was read by hand and seen on a photo of one foot."""

import math

import pytest

from rubrics.checks.compute import check_piece
from rubrics.craft.sheet import Sheet

from .pieces import PLAN, reading


def _sides(stage, *values, u=0.2):
    return [reading("foot_side", stage, v, str(k), u=u) for k, v in enumerate(values, 1)]


def test_sides_and_a_width_that_agree_are_combined_by_their_uncertainties():
    photo = reading("dimension", "glazed", 58.3, "foot_side", u=0.2)
    foot = Sheet([*_sides("glazed", 58, 58, 58, 58), photo]).read_sizes("glazed")["foot_side"]
    # Four sides of u 0.2 have a mean of u 0.1: weights 100 and 25.
    assert foot.value_mm == pytest.approx((100 * 58 + 25 * 58.3) / 125)
    assert foot.u_mm == pytest.approx(1 / math.sqrt(125))


def test_a_width_that_disagrees_leaves_the_sides_alone():
    photo = reading("dimension", "glazed", 76, "foot_side", u=0.5)
    foot = Sheet([*_sides("glazed", 58, 58, 58, 58), photo]).read_sizes("glazed")["foot_side"]
    assert foot.value_mm == 58


@pytest.mark.parametrize(("seen", "kept"), [(59, True), (66, False), (79, False)])
def test_a_foot_seen_corner_on_is_not_taken_for_its_side(seen, kept):
    """A square of 58 turned by an angle shows up to 58 √2 = 82 mm."""
    readings = [
        *_sides("bisque", *[58 / 0.88 * 0.935] * 4),
        reading("dimension", "glazed", seen, "foot_side", u=0.5),
    ]
    foot = Sheet(readings).size("foot_side", "glazed", PLAN)
    assert foot.source == ("read" if kept else "scaled")
    assert foot.value_mm == pytest.approx(seen if kept else 58)


def test_a_foot_seen_corner_on_is_left_out_of_the_shrinkage():
    sizes = {"height": (108, 95), "rim_diameter": (96.6, 85), "foot_side": (66, 75)}
    readings = [
        reading("dimension", stage, value, name, u=0.3)
        for name, pair in sizes.items()
        for stage, value in zip(("wet", "glazed"), pair, strict=True)
    ]
    shrunk = check_piece(readings, PLAN)["shrinkage"]
    assert shrunk.left_out == ("foot_side",)
    assert [each.name for each in shrunk.dimensions] == ["height", "rim_diameter"]
    assert (shrunk.linear_shrinkage, shrunk.agree) == (pytest.approx(0.12, abs=1e-3), True)
    square = check_piece([r for r in readings if r.value != 75], PLAN)["shrinkage"]
    assert square.left_out == ()


def test_a_lone_foot_that_grew_was_turned():
    readings = [
        reading("dimension", "wet", 66, "foot_side", u=0.3),
        reading("dimension", "glazed", 75, "foot_side", u=0.3),
    ]
    assert "seen corner-on" in check_piece(readings, PLAN)["shrinkage"].sentence
