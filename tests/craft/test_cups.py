"""What is said of constructed cups is what a potter would say of them."""

from dataclasses import replace

import pytest

from rubrics.checks.compute import check_piece
from rubrics.checks.register import checks
from rubrics.craft.levels import suggest
from rubrics.craft.results import Refused

from .cups import CUPS
from .pieces import PLAN


def _found(cup, plan=PLAN):
    results = check_piece(cup.readings, plan)
    limits = [limit for key, limit in plan.limits.items() if key.startswith(f"{cup.check}.")]
    return results[cup.check], suggest(results, limits)


@pytest.mark.parametrize("cup", CUPS, ids=lambda cup: f"{cup.check}: {cup.name}")
def test_a_constructed_cup_gets_the_verdict_and_level_it_deserves(cup):
    result, found = _found(cup)
    assert (getattr(result, "verdict", None), found.level if found else None) == (
        cup.verdict,
        cup.level,
    ), cup.why
    decides = found.decides.partition(".")[2] if found else ""
    assert decides == cup.decided_by, cup.why


def test_there_are_enough_cups_and_each_is_named_once():
    assert len(CUPS) >= 60
    assert len({(cup.check, cup.name) for cup in CUPS}) == len(CUPS)
    assert {cup.check for cup in CUPS} == set(checks())


@pytest.mark.parametrize("cup", CUPS, ids=lambda cup: f"{cup.check}: {cup.name}")
def test_what_is_called_outside_is_never_suggested_as_assured(cup):
    result, found = _found(cup)
    if not isinstance(result, Refused) and result.verdict == "outside":
        assert found.level is None or found.level <= 2


def test_a_lean_that_the_eye_hardly_read_earns_nothing():
    # A lean of 23 degrees give or take some 32: azimuths guessed to about twenty degrees.
    cup = next(cup for cup in CUPS if cup.name == "leans 23 degrees")
    result, found = _found(cup, replace(PLAN, azimuth_u_deg=19))
    assert 2 * result.u_lean_deg == pytest.approx(32, abs=3)
    assert found.level is None
    (lean,) = [each for each in found.figures if each.figure == "handle_alignment.lean_deg"]
    assert lean.level is None
    assert lean.needed_u < lean.u / 2
