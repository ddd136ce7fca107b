"""Shrinkage: pooling, the dimension that stands out, the split of a miss, what to expect."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rubrics.craft.fits import chi_squared_tail
from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError
from rubrics.craft.sheet import Sheet
from rubrics.craft.shrinkage import (
    DimensionReadings,
    expected_fired_sizes,
    shrinkage_against_plan,
    split_miss,
)

from .pieces import reading

LIMITS = Plan().limits
sizes = st.floats(20, 200)


def _dimension(name, wet, now, **more):
    return DimensionReadings(name=name, wet_mm=wet, now_mm=now, u_wet_mm=0.3, u_now_mm=0.3, **more)


def test_one_dimension_is_its_own_pool():
    result = shrinkage_against_plan([_dimension("mark", 100, 88)], planned=0.12, limits=LIMITS)
    assert result.linear_shrinkage == pytest.approx(0.12)
    assert result.volume_shrinkage == pytest.approx(0.318528)
    assert result.difference == pytest.approx(0, abs=1e-12)
    assert result.u_linear_shrinkage == pytest.approx(0.88 * math.hypot(0.3 / 100, 0.3 / 88))
    assert (result.verdict, result.agree, result.chi_squared) == ("within", None, None)


def test_verdict_is_on_the_difference_either_way():
    for now in (84, 92):
        result = shrinkage_against_plan([_dimension("mark", 100, now)], planned=0.12, limits=LIMITS)
        assert result.verdict == "outside"


def test_large_dimensions_count_more_than_small_ones():
    result = shrinkage_against_plan([_dimension("height", 100, 88), _dimension("base", 7, 6.3)])
    assert result.linear_shrinkage == pytest.approx(0.12, abs=0.001)
    assert result.agree


def test_a_misread_dimension_stands_out():
    result = shrinkage_against_plan(
        [
            _dimension("height", 108, 95),
            _dimension("rim_diameter", 96.6, 85),
            _dimension("foot_side", 65.9, 53),
        ]
    )
    assert (result.agree, result.stands_out) == (False, "foot_side")
    calm = shrinkage_against_plan(
        [_dimension("height", 108, 95), _dimension("foot_side", 65.9, 58)]
    )
    assert (calm.agree, calm.stands_out) == (True, None)


def test_of_two_that_disagree_none_is_blamed_and_the_doubt_grows():
    pair = [_dimension("height", 108, 95), _dimension("foot_side", 65.9, 53)]
    result = shrinkage_against_plan(pair)
    assert (result.agree, result.stands_out) == (False, None)
    apart = abs(result.dimensions[0].shrinkage - result.dimensions[1].shrinkage)
    assert result.u_linear_shrinkage > apart / 4


@given(st.floats(0.01, 60), st.integers(1, 12))
def test_chi_squared_tail_as_a_library_gives_it(x, free):
    assert chi_squared_tail(x, free) == pytest.approx(stats.chi2.sf(x, free), rel=1e-9)


@given(sizes, sizes, sizes, sizes)
def test_making_and_clay_add_up_to_the_miss(wet, now, planned_wet, planned_now):
    making, clay = split_miss(wet, now, planned_wet, planned_now)
    assert making + clay == pytest.approx(now - planned_now, abs=1e-9)


@given(sizes, st.floats(0.8, 1.2))
def test_a_miss_by_making_alone_is_all_making(planned_wet, slip):
    making, clay = split_miss(
        planned_wet * slip, planned_wet * slip * 0.88, planned_wet, planned_wet * 0.88
    )
    assert clay == pytest.approx(0, abs=1e-7)
    assert making == pytest.approx(planned_wet * 0.88 * (slip - 1), abs=1e-7)


def test_two_errors_that_cancel_are_both_told():
    making, clay = split_miss(110, 88, 100, 88)
    assert making == pytest.approx(88 * math.log(1.1))
    assert clay == pytest.approx(-making)


def test_table_of_a_dimension():
    result = shrinkage_against_plan(
        [_dimension("height", 110, 96.8, planned_fired_mm=95)], planned=0.12, planned_fired=0.12
    )
    (height,) = result.dimensions
    assert height.planned_wet_mm == pytest.approx(95 / 0.88)
    assert height.miss_mm == pytest.approx(1.8)
    assert height.making_mm == pytest.approx(1.8)
    assert height.clay_mm == pytest.approx(0, abs=1e-9)


def test_fired_size_to_expect_from_leather_hard():
    sheet = Sheet([reading("dimension", "leather-hard", 100, "height", u=0.4)])
    expected = expected_fired_sizes(sheet, "leather-hard", Plan())["height"]
    ratio = 0.88 / 0.975
    assert expected.value_mm == pytest.approx(100 * ratio)
    share = math.hypot(0.4 / 100, 0.005 / 0.88, 0.005 / 0.975)
    assert expected.u_mm == pytest.approx(100 * ratio * share)
    assert expected.source == "expected"


def test_a_glazed_size_is_read_and_not_expected():
    sheet = Sheet([reading("dimension", "glazed", 88, "height", u=0.3)])
    now = expected_fired_sizes(sheet, "glazed", Plan())["height"]
    assert (now.value_mm, now.u_mm, now.source) == (88, 0.3, "read")


@given(st.lists(st.tuples(sizes, st.floats(0.7, 1.0)), min_size=1, max_size=5), st.floats(0.1, 10))
def test_a_scale_model_shrinks_alike(pairs, scale):
    def pooled(by):
        return shrinkage_against_plan(
            [
                DimensionReadings(
                    name=str(i),
                    wet_mm=wet * by,
                    now_mm=wet * kept * by,
                    u_wet_mm=0.2 * by,
                    u_now_mm=0.2 * by,
                )
                for i, (wet, kept) in enumerate(pairs)
            ]
        )

    assert pooled(scale).linear_shrinkage == pytest.approx(pooled(1).linear_shrinkage, abs=1e-9)
    assert pooled(scale).u_linear_shrinkage == pytest.approx(pooled(1).u_linear_shrinkage)


def test_exact_sizes_do_not_divide_by_nothing():
    result = shrinkage_against_plan(
        [DimensionReadings(name=n, wet_mm=100, now_mm=88) for n in ("a", "b")]
    )
    assert result.linear_shrinkage == pytest.approx(0.12)


@pytest.mark.parametrize(
    ("dimensions", "sentence"),
    [
        ([], "needs a dimension that was read wet"),
        ([_dimension("foot_side", 60, -1)], "A foot side of -1 cannot be"),
        ([_dimension("height", math.nan, 90)], "A height 1 is not a number"),
    ],
)
def test_refusals_say_what_is_wrong(dimensions, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        shrinkage_against_plan(dimensions)
