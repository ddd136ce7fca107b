"""Squared foot: sides, corners, rounding, rock, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.foot import squared_foot
from rubrics.craft.geometry import ROUNDING_OF_DIAGONAL
from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError

LIMITS = Plan().limits


def _measured(corners, radius=0.0):
    """Sides and diagonals of a four-sided figure, the diagonals shortened by rounding."""
    sides = [math.dist(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    shorter = ROUNDING_OF_DIAGONAL * radius
    return sides, [math.dist(corners[k], corners[k + 2]) - shorter for k in (0, 1)]


def _angles(corners):
    """Interior angles by vectors, another way than the law of cosines."""
    angles = []
    for k in range(4):
        (ax, ay), (bx, by), (cx, cy) = (corners[(k + j) % 4] for j in (-1, 0, 1))
        first = math.atan2(ay - by, ax - bx)
        second = math.atan2(cy - by, cx - bx)
        angles.append(math.degrees(first - second) % 360)
    return angles


nudge = st.floats(-2, 2)
corner_lists = st.tuples(*[st.tuples(nudge, nudge) for _ in range(4)]).map(
    lambda moves: [
        (x + dx, y + dy)
        for (x, y), (dx, dy) in zip([(0, 0), (58, 0), (58, 58), (0, 58)], moves, strict=True)
    ]
)


def test_a_true_square():
    foot = squared_foot([58] * 4, [58 * math.sqrt(2)] * 2, [0] * 4, limits=LIMITS)
    assert foot.corners_deg == pytest.approx((90,) * 4)
    assert foot.corner_radius_mm == pytest.approx(0, abs=1e-6)
    assert (foot.side_spread_mm, foot.diagonal_difference_mm, foot.rock_mm) == (0, 0, 0)
    assert (foot.verdict, len(foot.judged)) == ("within", 4)


def test_rounded_corners_do_not_make_a_square_look_crooked():
    square = [(0, 0), (58, 0), (58, 58), (0, 58)]
    foot = squared_foot(*_measured(square, radius=8))
    assert foot.corners_deg == pytest.approx((90,) * 4)
    assert foot.corner_radius_mm == pytest.approx(8)


@given(corner_lists)
def test_corners_of_any_foot_as_vectors_give_them(corners):
    foot = squared_foot(*_measured(corners))
    # The distance between the middles of the diagonals is left out: a tenth of a degree here.
    assert foot.corners_deg == pytest.approx(_angles(corners), abs=0.35)
    assert math.fsum(foot.corners_deg) == pytest.approx(360, abs=0.5)


def test_a_lozenge_has_its_wide_corners_on_the_short_diagonal():
    lozenge = [(0, 0), (58, 0), (58 + 4, 57.86), (4, 57.86)]
    foot = squared_foot(*_measured(lozenge))
    assert foot.corners_deg == pytest.approx(_angles(lozenge), abs=1e-6)
    assert foot.corners_deg[0] < 90 < foot.corners_deg[1]
    assert abs(foot.worst_corner_deg) == pytest.approx(foot.corners_deg[1] - 90, abs=1e-6)


def test_a_misread_diagonal_shows_in_the_closure():
    foot = squared_foot([52] * 4, [74.5] * 2)
    # One way round every corner has 91.5°, the other way 88.5°: the mean cannot blame a corner.
    assert foot.corners_deg == pytest.approx((90,) * 4)
    assert foot.closure_deg == pytest.approx(4 * 1.507260, abs=1e-5)


@given(st.floats(0, 3), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_rock_does_not_depend_on_how_the_piece_happens_to_stand(lift, a, b):
    # Adding any plane to the four gaps leaves the rock.
    plane = [1 + a + b, 1 - a + b, 1 - a - b, 1 + a - b]
    gaps = [plane[0], plane[1], plane[2], plane[3] + lift]
    if min(gaps) >= 0:
        assert squared_foot(gaps_mm=gaps).rock_mm == pytest.approx(lift, abs=1e-9)


def test_a_gap_that_was_not_read_touches():
    foot = squared_foot(gaps_mm=[None, None, None, 0.8], u_gap_mm=0.1)
    assert (foot.rock_mm, foot.u_rock_mm, foot.largest_gap_mm) == (0.8, 0.1, 0.8)


def test_side_spread_and_plan():
    foot = squared_foot([57, 58, 59, 58], u_side_mm=0.5, planned_side_mm=57)
    assert foot.side_spread_mm == 2
    assert foot.u_side_spread_mm == pytest.approx(0.5 * math.sqrt(2))
    assert (foot.plan_match_mm, foot.u_plan_match_mm) == (1, 0.25)
    assert foot.corners_deg == ()


@given(st.lists(st.floats(50, 60), min_size=4, max_size=4), st.floats(0.1, 10))
def test_a_scale_model_is_as_square(sides, scale):
    diagonals = [78.0, 79.0]
    foot = squared_foot(sides, diagonals)
    model = squared_foot([s * scale for s in sides], [d * scale for d in diagonals])
    assert model.corners_deg == pytest.approx(foot.corners_deg, abs=1e-6)
    assert model.side_spread_mm == pytest.approx(foot.side_spread_mm * scale, abs=1e-9)


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ({"sides_mm": [58, 58, 58]}, "needs all four sides, or both diagonals"),
        ({"sides_mm": [58, 58, 58, -58]}, "A foot side of -58 cannot be"),
        ({"sides_mm": [58, 58, math.nan, 58]}, "A foot side 3 is not a number"),
        ({"diagonals_mm": [80, 0]}, "A diagonal of the foot of 0 cannot be"),
        ({"gaps_mm": [0, -0.5]}, "must not be negative"),
        ({"sides_mm": [1] * 5}, "has 4 sides, and 5 were given"),
        ({"sides_mm": [58] * 4, "diagonals_mm": [150, 150]}, "cannot meet"),
    ],
)
def test_refusals_say_what_is_wrong(readings, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        squared_foot(**readings)


def test_a_bulged_base_lifts_every_corner_and_does_not_rock():
    foot = squared_foot(gaps_mm=[1.5, 1.5, 1.6, 1.5], u_gap_mm=0.05, limits=LIMITS)
    assert (foot.lifted_mm, foot.largest_gap_mm) == (1.5, 1.6)
    assert foot.rock_mm == pytest.approx(0.1)
    assert (foot.verdict, squared_foot(gaps_mm=[1.5, None, 1, 1]).lifted_mm) == ("outside", None)
