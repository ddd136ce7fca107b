"""Shrinkage, water, fingers and grade arithmetic against worked examples and tables."""

from decimal import Decimal

import pytest

from rubrics.craft.capacity import capacity, water_density, water_volume
from rubrics.craft.grade import Share, half_up, percent, work_out
from rubrics.craft.handle import finger_room
from studio.ware.shrinkage import linear_shrinkage, volume_shrinkage, wet_size


def test_a_chain_of_shrinkages_is_not_their_sum():
    # ASTM C326, formulas on the plastic (wet) length; 100 wet, 94 dry, 88 fired.
    assert linear_shrinkage(100, 94) == pytest.approx(0.06)
    assert linear_shrinkage(94, 88) == pytest.approx(0.06382979, abs=1e-8)
    assert linear_shrinkage(100, 88) == pytest.approx(0.12)
    assert volume_shrinkage(0.12) == pytest.approx(0.318528)


def test_shrinkages_on_two_bases_compound():
    # 6.25 % to dry and 6.66 % of the dry length: 12.49375 %, an eighth; the sum is 12.91 %.
    fired = 100 * (1 - 0.0625) * (1 - 0.0666)
    assert linear_shrinkage(100, fired) == pytest.approx(0.1249375)
    # "Math for Potters", ceramicartsnetwork.org: 8 in wet are 7 in fired.
    assert linear_shrinkage(8, 7) == 0.125


@pytest.mark.parametrize(
    ("fired", "linear", "wet"),
    [
        # "Math for Potters", ceramicartsnetwork.org: an eighth; 8 in gives 7, 11 needs 11 × 8/7.
        (7, 0.125, 8),
        (11, 0.125, 12.571429),
        # A potters' forum, potters.org/subject70279: 11.5 %; 6 in gives 5.31, 6 needs 6.779661.
        (5.31, 0.115, 6),
        (6, 0.115, 6.779661),
        # By hand; 90 × 1.12 = 100.8 is the usual slip.
        (90, 0.12, 102.272727),
    ],
)
def test_wet_size_for_a_fired_one(fired, linear, wet):
    assert wet_size(fired, linear) == pytest.approx(wet, abs=5e-7)


@pytest.mark.parametrize(("linear", "kept"), [(0.12, 0.681472), (0.125, 0.669921875)])
def test_what_shrinking_leaves_of_a_capacity(linear, kept):
    # (1 - S)³, by hand.
    assert 1 - volume_shrinkage(linear) == pytest.approx(kept, rel=1e-12)


@pytest.mark.parametrize(
    ("celsius", "density"),
    [(4, 999.9749), (15, 999.1026), (20, 998.2067), (22, 997.7730), (25, 997.0470)],
)
def test_density_of_water(celsius, density):
    # CIPM: Tanaka et al., Metrologia 38 (2001) 301-309, table of densities.
    assert water_density(celsius) == pytest.approx(density, abs=5e-5)


def test_volume_of_350_grams_of_water():
    # By the same formula; with the buoyancy of air of 1.2 kg/m³ and weights of 8000 kg/m³.
    assert water_volume(350) == pytest.approx(350.6288, abs=5e-5)
    assert water_volume(350, air_buoyancy=True) == pytest.approx(350.9981, abs=5e-5)
    assert capacity(water_g=350).capacity_ml == pytest.approx(350.6288, abs=5e-5)


def test_room_for_fingers():
    # FAA Human Factors Design Standard, appendix B (a secondary digest): index finger at the
    # middle joint, 95th percentile, 23 mm for men and 21 mm for women; slack of 3 mm is common
    # practice, no source.
    assert finger_room(2, 23, slack=3) == 49
    assert finger_room(2, 21) == 45


def test_weighted_per_cent_half_up():
    # By hand: 3 × .3 + 4 × .3 + 2 × .2 + 4 × .2 = 3.3 of 4 is 82.5 %; half even would give 82.
    assert percent([3, 4, 2, 4], [0.3, 0.3, 0.2, 0.2], top=4, places=0) == Decimal("83")
    assert percent([3, 4, 2, 4], [0.3, 0.3, 0.2, 0.2], top=4, places=1) == Decimal("82.5")


@pytest.mark.parametrize(
    ("value", "places", "rounded"),
    [(2.675, 2, "2.68"), (0.285, 2, "0.29"), (2.5, 0, "3"), ("82.5", 0, "83"), (82.49, 0, "82")],
)
def test_half_up_is_not_caught_by_binary(value, places, rounded):
    # Python's own documentation of round(): round(2.675, 2) gives 2.67, round(2.5) gives 2.
    assert half_up(value, places) == Decimal(rounded)


@pytest.mark.parametrize(
    ("value", "places", "half_up_value"), [("6.974951", 2, "6.97"), ("6.9749505", 6, "6.974951")]
)
def test_nist_rounding_examples_where_half_up_is_meant(value, places, half_up_value):
    # NIST SP 811, B.7.1 (from memory) rounds the second half even to 6.974950: a school does not.
    assert half_up(value, places) == Decimal(half_up_value)


def test_an_excused_criterion_leaves_both_sums():
    # The demo's own arithmetic by hand: weights 10 15 20 15 15 15 10, levels 4 4 4 4 excused 4 3
    # at 100/85 points: (10+15+20+15+15) × 100 + 10 × 85 = 8350 of 8500 is 98.24 %.
    scores = [100, 100, 100, 100, 55, 100, 85]
    weights = [10, 15, 20, 15, 15, 15, 10]
    working = work_out(
        [
            Share(n, w, s, excused=n == "E")
            for n, w, s in zip("ABCDEFG", weights, scores, strict=True)
        ],
        places=2,
    )
    assert (working.earned, working.possible) == (Decimal(8350), Decimal(8500))
    assert working.percent == Decimal("98.24")
    assert (working.weight_counted, working.weight_total) == (Decimal(85), Decimal(100))
    assert working.complete
