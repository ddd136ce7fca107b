"""Verdicts and suggested levels: the benefit of the doubt, and its limits."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rubrics.craft.levels import BENEFIT_SHARE, Limit, needed_u, suggest, suggest_level
from rubrics.craft.results import Refused
from rubrics.craft.rim import rim_level
from rubrics.craft.seam import JoinReadings, seam_join
from rubrics.craft.verdict import verdict, worst_verdict
from rubrics.craft.wall import wall_evenness
from studio.ware.instruments import STARTER_INSTRUMENTS
from studio.ware.uncertainty import reading_uncertainty

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


def test_a_rough_reading_suggests_nothing():
    for value, u, limits in ((4, 2, (2, 4, 6)), (23, 16, (3, 7, 12)), (0, 8, (2, 4, 6))):
        assert suggest_level(value, u, limits).level is None


@pytest.mark.parametrize(
    ("value", "expanded", "level"),
    [
        (4.4, 0.5, 3),  # passes 4 by no more than a quarter of the band of 2
        (4.6, 0.5, 2),  # reaches one level only
        (4.6, 0.7, None),  # may be 3, but by more than a fit instrument could miss
        (3.6, 0.7, 3),  # reads as 3 and may be 2: nobody is marked down
        (4.4, 1.9, None),  # reaches three levels
        (30, 9, 1),  # rough, and yet beyond doubt
    ],
)
def test_how_far_the_benefit_of_the_doubt_goes(value, expanded, level):
    assert suggest_level(value, expanded / 2, (2, 4, 6)).level == level


def test_bands_without_width_count_for_no_level():
    # Nothing open is level 4; one number as a limit is 4 or 1.
    assert suggest_level(0, 0.4, (0, 5, 12)).level == 4
    assert suggest_level(0.6, 0.4, (0, 5, 12)).level == 4
    assert suggest_level(5.2, 0.4, (5, 5, 5)).level == 4
    assert suggest_level(0.1, 0.2, (0, 0, 0)).level is None


@given(st.floats(-30, 30), st.floats(0, 5), bounds)
def test_the_benefit_of_the_doubt_never_lowers_a_level(value, u, limits):
    level = suggest_level(value, u, limits).level
    assert level is None or level >= suggest_level(value, 0, limits).level


@given(st.floats(0, 30), st.floats(0, 5), st.floats(0, 5), bounds)
def test_doubt_lifts_by_no_more_than_a_quarter_of_a_band(value, u, more, limits):
    """What a coarser instrument may earn over a finer one is what is given to everybody."""
    fine, coarse = (suggest_level(value, each, limits).level for each in (u, u + more))
    if fine is None or coarse is None or coarse <= fine:
        return
    edge = limits[4 - coarse]
    assert value - edge <= BENEFIT_SHARE * max(limits[0], *_widths(limits)) + 1e-9
    assert coarse == fine + 1 or limits[4 - coarse] == limits[4 - fine - 1]


def _widths(limits):
    return [limits[1] - limits[0], limits[2] - limits[1]]


@given(st.floats(0, 30), st.floats(0, 5), st.floats(0, 5))
def test_of_two_instruments_no_finer_than_a_fit_one_the_worse_never_earns_more(value, u, more):
    limits, band = (2, 4, 6), 2
    fit = BENEFIT_SHARE * band / 2
    fine, coarse = (suggest_level(value, fit + each, limits).level for each in (u, u + more))
    if fine is not None and coarse is not None:
        assert coarse <= fine


@pytest.mark.parametrize("stage", ["leather-hard", "glazed"])
def test_a_coarser_instrument_of_the_sheet_never_earns_more(stage):
    """The spread of a wall by every length instrument that ships, from the finest."""
    us = sorted(
        reading_uncertainty("wall_thickness", stage, instrument=each) * math.sqrt(2)
        for each in STARTER_INSTRUMENTS.values()
        if each.unit == "mm"
    )
    for tenth in range(80):
        levels = [suggest_level(tenth / 10, u, (1.5, 3, 4.5)).level for u in us]
        told = [level for level in levels if level is not None]
        assert told == sorted(told, reverse=True), tenth
        # Once an instrument cannot tell, no coarser one can.
        assert levels == told + [None] * (len(levels) - len(told)), tenth


@given(st.floats(0, 30), st.floats(0, 30), st.floats(0, 5), bounds)
def test_better_work_never_gets_a_lower_level(value, worse_by, u, limits):
    better, worse = (suggest_level(v, u, limits).level for v in (value, value + worse_by))
    if better is not None and worse is not None:
        assert better >= worse


@given(st.floats(0, 30), st.floats(0.01, 20), bounds)
def test_what_would_settle_it_does(value, u, limits):
    if suggest_level(value, u, limits).level is None:
        enough = needed_u(value, u, limits)
        assert enough < u
        assert suggest_level(value, enough, limits).level is not None


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
    p = stats.norm.cdf(limit, abs(value), u)  # JCGM 106:2012, 7.3
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


def test_a_rough_figure_leaves_a_criterion_open_only_where_it_could_lower_it():
    rim = rim_level([90, 91, 92, 95], [0, 90, 180, 270], radius_mm=40, u_mm=0.1)
    rough = wall_evenness([6, 6, 6, 6.5], u_mm=2)
    found = suggest({"rim_level": rim, "wall_evenness": rough}, [SPREAD, RISE])
    assert (found.level, found.decides) == (None, "wall_evenness.spread_mm")
    poor = rim_level([90, 91, 92, 99], [0, 90, 180, 270], radius_mm=40, u_mm=0.1)
    found = suggest({"rim_level": poor, "wall_evenness": rough}, [SPREAD, RISE])
    assert (found.level, found.decides) == (1, "rim_level.rise_mm")


@pytest.mark.parametrize("limits", [(3, 2, 4), (-1, 2, 3), (1, float("nan"), 3)])
def test_limits_must_rise(limits):
    with pytest.raises(ValueError, match=r"limits of rim_level\.rise_mm"):
        Limit("rim_level.rise_mm", *limits)
