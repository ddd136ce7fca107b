"""Shrinkage and absorption of a clay against the worked numbers of the standards' formulas."""

import math
import statistics

import pytest

from studio.planning.bars import BarError, absorption, bar_shrinkage
from studio.ware.shrinkage import ShrinkageError


def test_a_chain_is_not_a_sum():
    # ASTM C326 by its formulas: Lp 100, Ld 94, Lf 88 gives Sd 6, Sf 6.382979 of the dry length,
    # St 12.000 (the sum 12.382979 is wrong), volume 31.8528 % (recomputed with numpy).
    result = bar_shrinkage([{"wet": 100, "bone dry": 94, "glazed": 88}])
    assert result.of("bone dry").mean == pytest.approx(0.06)
    assert result.of("glazed").mean == pytest.approx(0.12)
    assert result.firing_on_dry == pytest.approx(0.06382979, abs=5e-9)
    assert result.total_volume == pytest.approx(0.318528)
    assert result.total_volume_percent == pytest.approx(31.8528)


def test_several_bars_give_mean_and_spread_by_stage():
    fired = [88.0, 87.6, 88.3, 88.1]
    bars = [{"wet": 100.0, "glazed": length} for length in fired]
    bars.append({"wet": 100.0, "bone dry": 94.1})
    bars.append({"bone dry": 90.0})  # never marked wet: tells nothing
    result = bar_shrinkage(bars)
    shares = [(100 - length) / 100 for length in fired]
    told = result.of("glazed")
    assert (told.bars, told.mean) == (4, pytest.approx(statistics.mean(shares)))
    assert told.spread == pytest.approx(statistics.stdev(shares))
    assert (told.least, told.most) == (pytest.approx(0.117), pytest.approx(0.124))
    assert told.percent == pytest.approx(100 * statistics.mean(shares))
    assert told.spread_percent == pytest.approx(100 * statistics.stdev(shares))
    assert (told.least_percent, told.most_percent) == (pytest.approx(11.7), pytest.approx(12.4))
    assert (result.of("bone dry").bars, result.of("bone dry").spread) == (1, None)
    assert result.of("bisque") is None
    assert result.firing_on_dry is None


def test_each_bar_counts_on_its_own_wet_length():
    result = bar_shrinkage([{"wet": 101, "glazed": 88}, {"wet": 100, "glazed": 88}])
    assert result.of("glazed").mean == pytest.approx((13 / 101 + 0.12) / 2)


def test_absorption_by_three_weighings():
    # ASTM C373 by its formulas, D 100, S 62, M 104 g: V 42 cm3, P 9.523810 %, A 4.000 %,
    # T 2.631579, B 2.380952 (recomputed).
    told = absorption(100, 104, 62)
    assert told.exterior_volume_cm3 == 42
    assert told.porosity == pytest.approx(0.0952381, abs=5e-8)
    assert told.porosity_percent == pytest.approx(9.523810, abs=5e-6)
    assert told.absorption_percent == pytest.approx(4.0)
    assert told.absorption == 0.04
    assert told.apparent_gravity == pytest.approx(2.631579, abs=5e-7)
    assert told.bulk_density_g_cm3 == pytest.approx(2.380952, abs=5e-7)


@pytest.mark.parametrize(
    "masses", [(104, 100, 62), (100, 104, 100), (100, 104, 0), (100, math.inf, 62)]
)
def test_masses_of_no_piece_are_refused(masses):
    with pytest.raises(BarError, match="two of the three were exchanged"):
        absorption(*masses)


@pytest.mark.parametrize("length", [0, -1, math.nan, math.inf])
def test_a_length_of_nothing_is_refused(length):
    with pytest.raises(ShrinkageError, match="more than zero"):
        bar_shrinkage([{"wet": 100, "glazed": length}])
