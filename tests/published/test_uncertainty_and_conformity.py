"""Standard uncertainties and decisions against the guides' own examples."""

import math

import pytest

from rubrics.craft.fits import propagate
from rubrics.craft.levels import suggest_level
from rubrics.craft.verdict import verdict
from studio.ware.uncertainty import standard_uncertainty


@pytest.mark.parametrize(
    ("resolution", "u"),
    [
        (0.01, 0.0028868),
        (0.1, 0.0288675),
        (0.5, 0.1443376),
        (1.0, 0.2886751),
        (25.4 / 16, 0.4582718),
    ],
)
def test_resolution_of_an_instrument(resolution, u):
    # JCGM 100:2008 (GUM), F.2.2.1: u = d/√12 for a resolution d.
    assert standard_uncertainty(resolution) == pytest.approx(u, abs=5e-8)


def test_rectangular_bounds_of_copper():
    # GUM 4.3.7: bounds 16.40e-6 and 16.92e-6 give u = 0.15e-6, printed so.
    assert round(standard_uncertainty(16.92 - 16.40), 2) == 0.15


def test_resolution_and_repeatability_combined():
    # GUM 5.1.2 by hand: √(0.5²/12 + 0.2²).
    assert standard_uncertainty(0.5, 0.2) == pytest.approx(0.2466441, abs=5e-8)


def test_gum_h1_end_gauge_combined():
    # GUM H.1.3.4: components 25; 9.7; 2.9; 16.6 nm combine to 32 nm.
    value, u = propagate(lambda *parts: math.fsum(parts), [0, 0, 0, 0], [25, 9.68194, 2.9, 16.6])
    assert value == 0
    assert round(u) == 32


def test_propagation_of_a_product_is_exact_to_first_order():
    # GUM 5.1.6: relative variances add for a product.
    value, u = propagate(lambda a, b: a * b, [52.0, 90.0], [0.3, 0.5])
    assert value == 4680
    assert u / value == pytest.approx(math.hypot(0.3 / 52, 0.5 / 90), rel=1e-12)


@pytest.mark.parametrize(
    ("value", "word"), [(1.2, "within"), (1.79, "too close to call"), (1.81, "outside")]
)
def test_rim_of_a_millimetre_and_a_half(value, word):
    # ISO 14253-1: conformity within the limit less U, non-conformity beyond it plus U; U = 0.3.
    assert verdict(value, 0.15, 1.5) == word


def test_equality_on_paper_is_not_lost_in_binary():
    # 0.1 + 0.2 is 0.30000000000000004 in binary; on paper it is within 0.3.
    assert 0.1 + 2 * 0.1 > 0.3
    assert verdict(0.1, 0.1, 0.3) == "within"
    assert verdict(0.3 + 2 * 0.1, 0.1, 0.3) == "too close to call"
    assert suggest_level(0.1 + 0.2, 0, (0.3, 0.6, 0.9)).level == 4
