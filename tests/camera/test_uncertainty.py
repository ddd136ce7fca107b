"""Propagation of uncertainty against worked formulas."""

import numpy as np
import pytest

from studio.camera.uncertainty import propagate, with_floor


def test_a_product_by_the_law_of_propagation():
    # GUM 5.1.6: for a product the relative uncertainties add in squares.
    covariance = np.diag([0.02**2, 0.03**2])
    value, spread = propagate(lambda p: np.array([p[0] * p[1]]), np.array([4.0, 5.0]), covariance)
    assert value[0] == pytest.approx(20.0)
    relative = np.hypot(0.02 / 4, 0.03 / 5)
    assert np.sqrt(spread[0, 0]) == pytest.approx(20 * relative, rel=1e-6)


def test_correlated_arguments():
    # GUM 5.2.2: y = a - b with equal uncertainties and full correlation has none.
    covariance = 0.1**2 * np.ones((2, 2))
    _, spread = propagate(lambda p: np.array([p[0] - p[1]]), np.array([7.0, 3.0]), covariance)
    assert spread[0, 0] == pytest.approx(0.0, abs=1e-12)


def test_floor_adds_in_squares():
    assert with_floor(0.3, 0.4) == pytest.approx(0.5)
