"""The next step is what cost most, whatever stands first in a list."""

import itertools

import pytest

from rubrics.craft.results import OUTSIDE
from rubrics.families.languages import language
from rubrics.reports.language import speaking
from rubrics.reports.step_choice import StepSource, as_dict, choose, step_said
from studio.ware.outcomes import CRAFT, KILN, UNCLEAR
from tests.reports.examples import criterion

RIM, ROCK, LEAN = "rim_level.rise_mm", "squared_foot.rock_mm", "handle_alignment.lean_deg"
SIDES, STEP = "squared_foot.side_spread_mm", "seam_join.largest_step_mm"


def limits(*figures, bounds=("2", "4", "6")):
    return [dict(zip(("figure", *"abc"), (each, *bounds), strict=True)) for each in figures]


def facts(key, value, clay="fired"):
    check, _, name = key.partition(".")
    judged = {"figure": name, "value": value, "u": 0.1, "limit": 4.0, "verdict": OUTSIDE}
    return {
        "check": check,
        "stage": "glazed",
        "clay": clay,
        name: value,
        "u_" + name: 0.1,
        "judged": [judged],
        "verdict": OUTSIDE,
        "stations": [{"value_mm": 90.0, "azimuth_deg": 0.0}],
    }


def row(letter, weight, level, *figures, **more):
    checks = list(dict.fromkeys(each.partition(".")[0] for each in figures))
    above = "" if level == 4 else f"What level {level + 1} of {letter} looks like."
    given = {"limits": limits(*figures), "checks": checks, "above": above, "top": "100", **more}
    return criterion(letter, f"Criterion {letter}", weight, level=level, **given)


def page(rows, *found, outcomes=()):
    told = {}
    for one in found:
        told.setdefault(one["check"], {"facts": {}})["facts"].update(one)
    happened = [
        {"kind": kind, "stage": "glazed", "doing": doing, "severity": 2, "note": ""}
        for kind, doing in outcomes
    ]
    return {"criteria": rows, "checks": told, "outcomes": happened}


def test_weight_times_levels_lost_decides():
    rim, lean = facts(RIM, 5.0), facts(LEAN, 5.0)
    # 20 x 15 points lost against 10 x 30: a tie is broken elsewhere; here 25 against 10.
    heavy = page([row("D", "10", 2, RIM), row("E", "25", 3, LEAN)], rim, lean)
    assert choose(heavy) == StepSource("finding", LEAN)
    deep = page([row("D", "10", 1, RIM), row("E", "20", 3, LEAN)], rim, lean)
    assert choose(deep) == StepSource("finding", RIM)


def test_no_order_of_the_list_decides():
    rows = [row("B", "15", 3, SIDES), row("D", "10", 2, RIM), row("E", "10", 1, LEAN)]
    found = [facts(SIDES, 3.0), facts(RIM, 5.0), facts(LEAN, 9.0)]
    chosen = {choose(page(list(order), *found)) for order in itertools.permutations(rows)}
    assert chosen == {StepSource("finding", LEAN)}


def test_of_two_figures_in_one_criterion_the_easier_to_change_is_taken():
    rows = [row("D", "15", 2, SIDES, ROCK)]
    both = page(rows, facts(SIDES, 5.0), facts(ROCK, 5.0))
    assert choose(both) == StepSource("finding", ROCK)
    # A figure that is better than the level given does not explain it.
    assert choose(page(rows, facts(SIDES, 5.0), facts(ROCK, 1.0))) == StepSource("finding", SIDES)


def test_an_outcome_with_a_lesson_explains_what_no_figure_does():
    rows = [row("E", "10", 1, LEAN), row("D", "10", 3, RIM)]
    found = [facts(LEAN, 1.0), facts(RIM, 3.0)]
    cracked = page(rows, *found, outcomes=[("handle crack", CRAFT)])
    assert choose(cracked) == StepSource("outcome", "handle crack")
    assert step_said(cracked, choose(cracked)) == (
        "Next time: join the handle when it is as wet as the wall, then wrap the cup overnight."
    )


def test_an_outcome_costs_what_all_that_it_touched_lost():
    # 10 x 15 and 10 x 15 by the warp, against 15 x 15 of a seam: the warp cost more.
    rows = [row("D", "10", 3, RIM), row("E", "10", 3, LEAN), row("C", "15", 3, STEP)]
    found = [facts(RIM, 3.0), facts(LEAN, 3.0), facts(STEP, 3.0)]
    assert choose(page(rows, *found)) == StepSource("finding", STEP)
    warped = page(rows, *found, outcomes=[("warp", UNCLEAR)])
    assert choose(warped) == StepSource("outcome", "warp")


def test_a_burst_piece_teaches_what_burst_it():
    rows = [row("B", "10", 2, "wall_evenness.spread_mm"), row("C", "15", 3, STEP)]
    burst = page(rows, facts(STEP, 3.0), outcomes=[("blow-out", UNCLEAR)])
    assert choose(burst) == StepSource("outcome", "blow-out")


@pytest.mark.parametrize(
    ("kind", "doing"), [("handle crack", KILN), ("dunt", UNCLEAR), ("sound", CRAFT)]
)
def test_what_teaches_the_maker_nothing_is_no_step(kind, doing):
    rows = [row("E", "10", 1, LEAN)]
    assert choose(page(rows, facts(LEAN, 9.0), outcomes=[(kind, doing)])).kind == "finding"


def test_a_criterion_judged_by_eye_aims_at_its_next_level():
    rows = [row("F", "30", 2), row("D", "10", 3, RIM)]
    shown = page(rows, facts(RIM, 3.0))
    assert choose(shown) == StepSource("criterion", "F")
    assert step_said(shown, choose(shown)) == (
        "Next time, aim for this in “Criterion F”: What level 3 of F looks like."
    )


def test_a_measured_criterion_lowered_by_eye_aims_at_its_next_level_too():
    shown = page([row("E", "10", 2, LEAN)], facts(LEAN, 1.0))
    assert choose(shown) == StepSource("criterion", "E")


def test_excused_criteria_cost_nothing_and_all_at_the_top_says_so():
    excused = row("E", "50", 3, LEAN) | {"level": None, "points": None, "excused": True}
    shown = page([excused, row("D", "10", 4, RIM)], facts(LEAN, 9.0), facts(RIM, 1.0))
    assert choose(shown) == StepSource("all high")
    assert "highest level" in step_said(shown, choose(shown))
    assert choose(page([excused], facts(LEAN, 9.0))) is None


def test_it_is_frozen_and_said_again_in_the_familys_language():
    shown = page([row("D", "10", 2, RIM)], facts(RIM, 5.0))
    step = StepSource(**as_dict(choose(shown)))
    assert step_said(shown, step).startswith("Next time, true the rim")
    with speaking(language("es")):
        assert step_said(shown, step).startswith("La próxima vez")
