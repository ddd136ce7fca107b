"""A squared foot seen corner-on, beside the plain geometry of a turned square."""

import math

import pytest

from studio.ware.turned_foot import is_corner_on, was_turned


def width_of_a_square(turned_deg, side=58.0):
    """What a square shows from the side: from its four corners, turned."""
    corners = [(x * side / 2, y * side / 2) for x in (-1, 1) for y in (-1, 1)]
    turn = math.radians(turned_deg)
    across = [x * math.cos(turn) - y * math.sin(turn) for x, y in corners]
    return max(across) - min(across)


@pytest.mark.parametrize(
    ("turned_deg", "u", "seen"),
    [(0, 0.01, False), (2, 0.01, False), (10, 0.01, True), (45, 0.01, True), (10, 0.1, False)],
)
def test_a_square_that_is_turned_looks_too_broad(turned_deg, u, seen):
    assert is_corner_on(width_of_a_square(turned_deg) / 58, u) is seen


def test_what_no_turn_makes_so_broad_is_another_mistake():
    assert not is_corner_on(1.6, 0.01)


@pytest.mark.parametrize(
    ("wet_deg", "glazed_deg", "others", "turned"),
    [
        (0, 0, [0.88, 0.87], False),
        (0, 30, [0.88, 0.87], True),
        (30, 0, [0.88, 0.87], True),
        (30, 30, [0.88, 0.87], False),
        (0, 45, [], True),  # a foot that grew
        (45, 0, [], False),  # without another size it may have shrunk so much
    ],
)
def test_of_two_stages_the_other_sizes_tell_whether_the_foot_was_turned(
    wet_deg, glazed_deg, others, turned
):
    ratio = 0.88 * width_of_a_square(glazed_deg) / width_of_a_square(wet_deg)
    assert was_turned(ratio, 0.01, others) is turned
