"""What is said of constructed cups is what a potter would say of them."""

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


def test_there_are_enough_cups_and_each_is_named_once():
    assert len(CUPS) >= 60
    assert len({(cup.check, cup.name) for cup in CUPS}) == len(CUPS)
    assert {cup.check for cup in CUPS} == set(checks())


@pytest.mark.parametrize("cup", CUPS, ids=lambda cup: f"{cup.check}: {cup.name}")
def test_what_is_called_outside_is_never_suggested_as_assured(cup):
    result, found = _found(cup)
    if not isinstance(result, Refused) and result.verdict == "outside":
        assert found.level is None or found.level <= 2
