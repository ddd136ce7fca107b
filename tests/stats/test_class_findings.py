"""What a class shows: exact chances against SciPy, and the false alarms of a page."""

import math

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from rubrics.stats.class_findings import (
    LOOK_AT_PLAN,
    NEARLY_ALL,
    NOTHING,
    TEACH_AGAIN,
    Counted,
    class_findings,
)
from rubrics.stats.errors import CannotTellError
from rubrics.stats.family import CHANCE


def test_chances_and_intervals_are_exact():
    counts = [Counted("rim", 24, high=18), Counted("lean", 22, low=5, high=9), Counted("wall", 20)]
    found = {each.name: each for each in class_findings(counts)}
    for each in counts:
        missed = each.low + each.high
        theirs = stats.binomtest(missed, each.told, 0.5, alternative="greater")
        assert found[each.name].chance == pytest.approx(theirs.pvalue)
        assert found[each.name].share.value == pytest.approx(theirs.statistic)
        interval = stats.binomtest(missed, each.told).proportion_ci(0.95, method="exact")
        assert found[each.name].share.low == pytest.approx(interval.low)
        assert found[each.name].share.high == pytest.approx(interval.high)
    held = multipletests([found[each.name].chance for each in counts], method="holm")[1]
    assert [found[each.name].held for each in counts] == pytest.approx(list(held))
    # 18 of 24: 1 in 88, times three.
    assert found["rim"].word == TEACH_AGAIN
    assert found["lean"].word == found["wall"].word == NOTHING


def test_twenty_of_twenty_three_too_low_is_the_plan_among_a_page_of_figures():
    counts = [Counted(f"figure {i}", 23, high=i, planned=i % 2 == 0) for i in range(12)]
    first = class_findings([*counts, Counted("opening", 23, low=20, planned=True)])[0]
    assert (first.name, first.word, first.side) == ("opening", LOOK_AT_PLAN, "low")
    assert first.plan_held <= CHANCE


@pytest.mark.parametrize(
    ("counted", "word"),
    [
        (Counted("a rim's rise", 23, high=20), TEACH_AGAIN),  # it can only be too large
        (Counted("either side", 23, low=10, high=10, planned=True), TEACH_AGAIN),
        (Counted("mostly low", 24, low=18, planned=True), TEACH_AGAIN),  # 75 %, not nearly all
        (Counted("low", 24, low=20, planned=True), LOOK_AT_PLAN),
        (Counted("half", 24, low=12, planned=True), NOTHING),
        (Counted("few pieces", 4, low=4, planned=True), NOTHING),  # 1 in 16
        (Counted("five pieces", 5, low=5), TEACH_AGAIN),  # 1 in 32
        (Counted("five, one side of two", 5, low=5, planned=True), TEACH_AGAIN),  # 1 in 16
    ],
)
def test_words_of_a_single_figure(counted, word):
    assert class_findings([counted])[0].word == word


def test_a_side_chosen_after_seeing_the_class_has_the_chance_of_either_side():
    one, both = (
        stats.binomtest(16, 23, 0.5, alternative=way).pvalue for way in ("greater", "two-sided")
    )
    found = class_findings([Counted("opening", 23, low=16, planned=True)])[0]
    held = multipletests([one, both], method="holm")[1]
    assert (found.held, found.plan_held) == pytest.approx(tuple(held))


def test_too_small_a_class_takes_nothing_from_the_others():
    small = [Counted(f"figure {i}", 3, high=3) for i in range(20)]
    found = class_findings([*small, Counted("rim", 20, high=16)])
    assert (found[0].name, found[0].word) == ("rim", TEACH_AGAIN)
    assert found[0].held == found[0].chance


def test_the_surest_comes_first_and_what_nobody_measured_is_left_out():
    found = class_findings(
        [Counted("a", 20, high=11), Counted("b", 20, high=19), Counted("c", 0), Counted("d", 20)]
    )
    assert [each.name for each in found] == ["b", "a", "d"]


def test_false_alarms_of_a_page():
    # Half the pieces miss each of twelve figures, a planned one on one side only: nothing to tell.
    rng, pages, alarms = np.random.default_rng(6), 1500, 0
    for _ in range(pages):
        missed = rng.binomial(24, 0.5, 12)
        counts = [Counted(str(i), 24, low=int(m), planned=i < 6) for i, m in enumerate(missed)]
        alarms += class_findings(counts)[0].word != NOTHING
    assert alarms / pages <= CHANCE + 3 * math.sqrt(CHANCE * (1 - CHANCE) / pages)


def test_more_misses_than_pieces():
    assert 0.5 < NEARLY_ALL < 1
    with pytest.raises(CannotTellError, match="rim: more misses than pieces"):
        class_findings([Counted("rim", 3, low=2, high=2)])
