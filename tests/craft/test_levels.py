"""Verdicts and suggested levels: the benefit of the doubt, and its limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.levels import Limit, suggest, suggest_level
from rubrics.craft.results import Refused
from rubrics.craft.rim import rim_level
from rubrics.craft.seam import JoinReadings, seam_join
from rubrics.craft.verdict import p_conform, verdict, worst_verdict
from rubrics.craft.wall import wall_evenness

bounds = st.lists(st.floats(0, 20), min_size=3, max_size=3).map(sorted)
RISE = Limit("rim_level.rise_mm", 2, 4, 6)
SPREAD = Limit("wall_evenness.spread_mm", 1, 2, 3)


@pytest.mark.parametrize(
    ("value", "level"), [(0, 4), (2, 4), (2.01, 3), (4, 3), (6, 2), (6.01, 1), (-3, 3)]
)
def test_levels_without_doubt(value, level):
    suggestion = suggest_level(value, 0, (2, 4, 6))
    assert (suggestion.level, suggestion.reaches, suggestion.doubt) == (
        level,
        (level, level),
        False,
    )


def test_the_higher_of_two_levels_that_the_reading_reaches():
    suggestion = suggest_level(4.2, 0.15, (2, 4, 6))
    assert (suggestion.level, suggestion.reaches, suggestion.doubt) == (3, (2, 3), True)


def test_a_rough_reading_may_reach_every_level():
    assert suggest_level(4, 2, (2, 4, 6)).reaches == (1, 4)


@given(st.floats(-30, 30), st.floats(0, 5), bounds)
def test_the_benefit_of_the_doubt_never_lowers_a_level(value, u, limits):
    assert suggest_level(value, u, limits).level >= suggest_level(value, 0, limits).level


@given(st.floats(0, 30), st.floats(0, 5), st.floats(0, 5), bounds)
def test_more_doubt_never_lowers_a_level(value, u, more, limits):
    assert suggest_level(value, u + more, limits).level >= suggest_level(value, u, limits).level


@given(st.floats(0, 30), st.floats(0, 30), st.floats(0, 5), bounds)
def test_better_work_never_gets_a_lower_level(value, worse_by, u, limits):
    assert suggest_level(value, u, limits).level >= suggest_level(value + worse_by, u, limits).level


@given(st.floats(0, 30), st.floats(0, 5), st.floats(0, 30))
def test_level_and_verdict_agree(value, u, limit):
    # Within the acceptable limit no level below 3 is reached; outside it no level of 3.
    suggestion = suggest_level(value, u, (limit / 2, limit, limit * 2))
    word = verdict(value, u, limit)
    if word == "within":
        assert suggestion.reaches[0] >= 3
    elif word == "outside":
        assert suggestion.reaches[1] <= 2
    else:
        assert suggestion.reaches[0] <= 2 < suggestion.reaches[1]


@given(st.floats(-30, 30), st.floats(0.01, 5), st.floats(0, 30))
def test_verdicts_keep_their_promise_of_probability(value, u, limit):
    word = verdict(value, u, limit)
    p = p_conform(None, limit, abs(value), u)
    if word == "within":
        assert p >= 0.97724
    elif word == "outside":
        assert p <= 0.02276


@given(st.floats(-30, 30), st.floats(0, 5), st.floats(0, 30))
def test_signed_figures_are_judged_on_their_magnitude(value, u, limit):
    assert verdict(value, u, limit) == verdict(-value, u, limit)


def test_worst_verdict():
    assert worst_verdict([]) is None
    assert worst_verdict(["within", "too close to call"]) == "too close to call"
    assert worst_verdict(["outside", "too close to call", "within"]) == "outside"


def test_exactly_known_values():
    assert p_conform(1, 2, 2, 0) == 1
    assert p_conform(1, 2, 2.1, 0) == 0


def _results():
    return {
        "rim_level": rim_level([90, 91, 92, 95], [0, 90, 180, 270], radius_mm=40, u_mm=0.1),
        "wall_evenness": wall_evenness([6, 6, 6, 6.5], u_mm=0.1),
    }


def test_the_lowest_figure_decides_and_is_named():
    suggestion = suggest(_results(), [SPREAD, RISE])
    assert (suggestion.level, suggestion.decides, suggestion.missing) == (
        2,
        "rim_level.rise_mm",
        (),
    )
    assert [each.level for each in suggestion.figures] == [4, 2]


def test_what_is_missing_is_named_and_refused_counts_as_missing():
    results = {**_results(), "squared_foot": Refused("squared_foot", "glazed", "Read it.")}
    asked = [
        SPREAD,
        Limit("squared_foot.rock_mm", 0.3, 1, 2),
        Limit("capacity.difference_ml", 1, 2, 3),
    ]
    suggestion = suggest(results, asked)
    assert suggestion.level == 4
    assert suggestion.missing == ("squared_foot.rock_mm", "capacity.difference_ml")
    assert suggest(results, asked[1:]) is None


def test_a_crack_through_suggests_the_lowest_level_without_doubt():
    results = {"seam_join": seam_join([JoinReadings(length_mm=100, through_parts_mm=[(5, 0.3)])])}
    suggestion = suggest(results, [Limit("seam_join.open_fraction", 0, 0.05, 0.12)])
    assert (suggestion.level, suggestion.reaches, suggestion.doubt) == (1, (1, 1), False)


def test_doubt_is_told_when_another_figure_could_pull_lower():
    results = {
        "rim_level": rim_level([90, 91, 92, 95], [0, 90, 180, 270], radius_mm=40, u_mm=0.01),
        "wall_evenness": wall_evenness([6, 6, 6, 8.9], u_mm=0.2),
    }
    suggestion = suggest(results, [SPREAD, RISE])
    assert (suggestion.level, suggestion.reaches, suggestion.doubt) == (2, (1, 2), True)


@pytest.mark.parametrize("limits", [(3, 2, 4), (-1, 2, 3), (1, float("nan"), 3)])
def test_limits_must_rise(limits):
    with pytest.raises(ValueError, match=r"limits of rim_level\.rise_mm"):
        Limit("rim_level.rise_mm", *limits)
