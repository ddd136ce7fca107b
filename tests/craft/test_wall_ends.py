"""The two ends of a wall, found by going round it: what they say, and what they do not.

The limits are the plan's own (our proposal); the uncertainty is by JCGM 100:2008, 5.1.2.
"""

import math

import pytest

from rubrics.checks.compute import check_piece
from rubrics.checks.register import checks
from rubrics.craft.levels import suggest
from rubrics.craft.results import OUTSIDE, WITHIN, Refused
from rubrics.craft.wall_ends import SEARCH_U_MM
from rubrics.reports.result_json import as_facts
from tests.craft.pieces import PLAN, reading

STAGE = "leather-hard"
U_MM = 0.1
LIMITS = tuple(limit for limit in PLAN.limits.values() if limit.figure.startswith("wall_evenness"))


def end(name, value, azimuth, **fields):
    return reading("wall_end", STAGE, value, name, azimuth=azimuth, u=U_MM, **fields)


def wall(*readings):
    return check_piece(readings, PLAN, STAGE)["wall_evenness"]


def ends(thin, thick, thin_at=180, thick_at=90):
    return end("thinnest", thin, thin_at), end("thickest", thick, thick_at)


def stations(*values):
    step = 360 / len(values)
    return [
        reading("wall_thickness", STAGE, value, height=45, azimuth=step * at, u=U_MM)
        for at, value in enumerate(values)
    ]


def test_two_ends_tell_the_spread_and_where_it_is():
    found = wall(*ends(5.8, 6.4))
    assert found.spread_mm == pytest.approx(0.6)
    assert (found.thinnest.azimuth_deg, found.thickest.azimuth_deg) == (180, 90)
    assert found.searched
    # The doubt of each end is its reading's and that of the search, JCGM 100:2008, 5.1.2.
    each = math.hypot(U_MM, SEARCH_U_MM)
    assert found.u_spread_mm == pytest.approx(math.sqrt(2) * each)
    assert found.verdict == WITHIN


def test_two_ends_tell_no_mean_and_no_pattern():
    found = wall(*ends(5.8, 6.4))
    for untold in ("mean_mm", "sd_mm", "cv", "plan_match_mm", "thick_side_deg", "residual_mm"):
        assert getattr(found, untold) is None
    assert found.terms == ()
    suggestion = suggest({"wall_evenness": found}, LIMITS)
    assert suggestion.missing == ("wall_evenness.plan_match_mm",)
    assert suggestion.level == 4


def test_the_spread_is_not_scaled_up_as_that_of_few_stations_is():
    """A search passes more places than twelve; four stations are scaled by d2(12)/d2(4) = 1.58."""
    assert wall(*ends(5.0, 7.0)).scaled_spread_mm == pytest.approx(2.0)
    assert wall(*stations(5.0, 6.0, 7.0, 6.0)).scaled_spread_mm == pytest.approx(2 * 1.58, rel=0.01)


@pytest.mark.parametrize(
    ("thin", "thick", "figure"), [(2.0, 6.0, "too_thin_mm"), (6.0, 14.0, "too_thick_mm")]
)
def test_a_place_that_was_found_too_thin_or_thick_is_outside(thin, thick, figure):
    found = wall(*ends(thin, thick))
    judged = {each.figure: each.verdict for each in found.judged}
    assert judged[figure] == OUTSIDE
    assert found.verdict == OUTSIDE


def test_one_end_alone_says_nothing():
    refused = wall(end("thinnest", 5.8, 180))
    assert isinstance(refused, Refused)
    assert "thickest was not" in refused.sentence


def test_ends_that_were_exchanged_are_told():
    assert "exchanged" in wall(*ends(7.1, 5.8)).sentence


def test_stations_beside_them_keep_the_mean_and_the_ends_the_thinnest_place():
    """Four stations looked fine; the hand that went round found a thin place between them."""
    four = stations(6.0, 6.2, 6.1, 6.0)
    found = wall(*four, *ends(2.5, 6.3, thin_at=45))
    assert found.mean_mm == pytest.approx(6.075)
    assert (found.thinnest.value_mm, found.thinnest.azimuth_deg) == (2.5, 45)
    assert len(found.stations) == len(four)
    assert found.verdict == OUTSIDE


def test_a_station_beyond_an_end_takes_its_place():
    assert wall(*stations(3.0, 6.2, 6.1, 6.0), *ends(5.0, 6.3)).thinnest.value_mm == 3.0


def test_stations_on_one_side_stay_refused_and_the_ends_count_without_them():
    """Readings on one side make no claim all round; going all round does."""
    one_side = [
        reading("wall_thickness", STAGE, 6.0, height=z, azimuth=90, u=U_MM)
        for z in (20, 40, 60, 80)
    ]
    assert "one side only" in wall(*one_side).sentence
    found = wall(*one_side, *ends(5.8, 6.4))
    assert found.mean_mm is None
    assert found.spread_mm == pytest.approx(0.6)


@pytest.mark.parametrize("sides", [(180, 90), (90, 90), (0, 315)])
def test_it_is_said_and_drawn(sides):
    found = wall(*ends(5.8, 6.4, *sides))
    check = checks()["wall_evenness"]
    facts = as_facts(found)
    said = check.say(facts)
    assert "5.8" in said.what
    assert "looked for all the way round" in said.why
    picture = check.picture(facts, 300.0)
    assert {"5.8", "6.4"} <= {each.words for each in picture.texts()}
