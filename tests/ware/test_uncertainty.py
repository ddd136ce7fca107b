"""One uncertainty of one reading, wherever it is asked for."""

import math

import numpy as np
import pytest

from studio.ware.instruments import STARTER_INSTRUMENTS, Instrument
from studio.ware.quantities import QUANTITIES
from studio.ware.stages import STAGES
from studio.ware.uncertainty import give, reading_uncertainty, standard_uncertainty


def test_every_quantity_has_a_usual_instrument_of_its_own_unit():
    for quantity in QUANTITIES.values():
        assert STARTER_INSTRUMENTS[quantity.instrument].unit == quantity.unit


@pytest.mark.parametrize(
    ("stage", "u"),
    [
        # Ruler: 1²/12 + 0.3² = 0.173333; with the clay's bound of 0.5 or 0.2 mm (common practice)
        # as a²/3 by GUM 4.3.7: 0.083333 or 0.013333, by hand.
        ("wet", 0.506623),
        ("leather-hard", 0.506623),
        ("bone dry", 0.432049),
        ("bisque", 0.432049),
        ("glazed", 0.432049),
    ],
)
def test_soft_clay_gives_more_than_fired(stage, u):
    assert reading_uncertainty("foot_side", stage) == pytest.approx(u, abs=1e-6)


def test_the_clays_give_is_a_bound_that_any_reading_keeps():
    # GUM 4.3.7: a quantity anywhere within ± a has u = a/√3. The reference draws such errors.
    drawn = np.random.default_rng(3).uniform(-0.5, 0.5, 200_000)
    assert give("wall_thickness", "leather-hard") == pytest.approx(drawn.std(), rel=5e-3)
    drawn = np.random.default_rng(4).uniform(-0.2, 0.2, 200_000)
    assert give("wall_thickness", "glazed") == pytest.approx(drawn.std(), rel=5e-3)


@pytest.mark.parametrize(("quantity", "u"), [("handle_twist", 1.040833), ("water_mass", 0.577350)])
def test_angles_and_masses_do_not_feel_the_clay(quantity, u):
    # Protractor: 1/12 + 1; scale: 1/12 + 0.25, by hand.
    for stage in STAGES:
        assert reading_uncertainty(quantity, stage) == pytest.approx(u, abs=1e-6)


def test_a_named_instrument_counts_instead_and_an_own_uncertainty_alone():
    needle = Instrument(0.5, 0.3)
    assert reading_uncertainty("wall_thickness", "glazed", instrument=needle) == pytest.approx(
        math.sqrt(0.25 / 12 + 0.09 + 0.2**2 / 3)
    )
    assert reading_uncertainty("rim_height", "wet", own_u=0.07, instrument=needle) == 0.07


@pytest.mark.parametrize("quantity", ["foot_gap", "seam_step", "seam_open", "rim_height"])
def test_what_no_jaws_close_on_has_no_give(quantity):
    tool = Instrument(0.05, 0.05)
    for stage in STAGES:
        assert reading_uncertainty(quantity, stage, instrument=tool) == pytest.approx(
            math.sqrt(0.05**2 / 12 + 0.05**2)
        )


@pytest.mark.parametrize("parts", [(-1, 0, 0), (1, -0.1, 0), (1, 0, math.inf), (math.nan, 0, 0)])
def test_what_is_no_size_is_refused(parts):
    with pytest.raises(ValueError, match="must be numbers that are not negative"):
        standard_uncertainty(*parts)
