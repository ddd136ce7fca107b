"""The strap of a handle: its length along an ellipse, against scipy's elliptic integral."""

import math

import pytest
from scipy import special

from studio.planning.solve import plan
from studio.planning.wish import Wish

CUP = Wish(
    shrinkage=0.12, height_mm=95, rim_diameter_mm=85, foot_side_mm=58, slab_mm=6.35, base_mm=6
)


def half_ellipse(a: float, b: float) -> float:
    """Half the perimeter of an ellipse, 2 a E(e²) (DLMF 19.30.5)."""
    a, b = max(a, b), min(a, b)
    return 2 * a * special.ellipe(1 - (b / a) ** 2)


@pytest.mark.parametrize(("fingers", "opening"), [(1, 22.5), (2, 42.0), (3, 61.5)])
def test_a_strap_is_half_an_ellipse_through_its_middle_and_two_joints(fingers, opening):
    found = plan(Wish(**{**_fields(CUP), "fingers": fingers}))
    # By hand: fingers of 19.5 mm and 3 mm to slide in; a strap of 7 mm, joints of 8 mm wet; the gap
    # to the wall 30 mm fired (common practice, no source).
    assert found["opening_fired_mm"] == pytest.approx(opening)
    height, depth = opening / 0.88, 30 / 0.88
    length = half_ellipse((height + 7) / 2, depth + 3.5) + 2 * 8
    assert found["strap_length_mm"] == pytest.approx(length, rel=1e-6)
    assert found["handle_height_mm"] == pytest.approx(opening + 2 * 7 * 0.88)


def test_a_deeper_gap_needs_a_longer_strap():
    near, far = (plan(Wish(**{**_fields(CUP), "opening_depth_mm": d})) for d in (25.0, 35.0))
    longer = far["strap_length_mm"] - near["strap_length_mm"]
    # Out and back is at most twice the difference.
    assert 10 / 0.88 < longer < 2 * 10 / 0.88
    assert math.isfinite(longer)


def _fields(wish: Wish) -> dict:
    return {name: getattr(wish, name) for name in Wish.__dataclass_fields__}
