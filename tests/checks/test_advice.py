"""Nobody is told to do something to clay that no longer takes it: a table over all cases."""

import itertools
import re

import pytest

from rubrics.checks.advice import advised, on_the_piece
from rubrics.checks.register import checks
from rubrics.craft.results import OUTSIDE
from rubrics.families.languages import language
from rubrics.reports.language import ENGLISH, speaking
from rubrics.reports.sentences import sentence
from studio.ware.condition import condition
from studio.ware.stages import STAGES
from tests.reports.examples import facts_of

STATES = ("in work", "finished", "lost", "broken")
# (stage, severity): nothing, a crack while drying, a flaw of the glaze, a burst piece.
OUTCOMES = (None, ("bone dry", 2), ("glazed", 1), ("bisque", 3))
LOSS = 3

SOFT = {"wet", "leather-hard"}
UNFIRED = SOFT | {"bone dry"}

NEXT_TIME = {"en": "Next time", "es": "La próxima vez"}

# A sentence that begins with one of these tells someone to do something to clay.
MENDING = re.compile(
    r"(?:^|[.:;] )(?:Shave|Scrape|Rub|Press|Pat|Score|Trim|Rib|Move|Turn|Cut|Ease|Set|Sponge|"
    r"Smooth|Bend|Add)\b"
)


def figures():
    """Every figure of every check, in each way that its advice can go."""
    for name, check in checks().items():
        for kind in ("middling", "poor"):
            facts = facts_of(kind)[name]
            for figure in check.figures:
                if facts.get(figure.name) is not None:
                    yield name, kind, figure.name


FIGURES = sorted(set(figures()))


def judged(facts, figure, sign=1):
    value = sign * abs(facts[figure])
    entry = {"figure": figure, "value": value, "u": 0.01, "limit": 0.0, "verdict": OUTSIDE}
    return facts | {"judged": [entry], "verdict": OUTSIDE}, entry


def cases():
    return itertools.product(STAGES, STAGES, STATES, OUTCOMES)


@pytest.mark.parametrize("tongue", ["en", "es"])
@pytest.mark.parametrize(("name", "kind", "figure"), FIGURES)
def test_what_is_advised_fits_the_piece_as_it_is_now(name, kind, figure, tongue):
    check = checks()[name]
    spoken = ENGLISH if tongue == "en" else language(tongue)
    seen = 0
    for read_at, stage, state, outcome in cases():
        reached = {read_at, stage} | ({outcome[0]} if outcome else set())
        gone = state in ("lost", "broken") or (outcome is not None and outcome[1] == LOSS)
        clay = condition(stage, state, reached, is_lost=outcome is not None and outcome[1] == LOSS)
        for sign in (1, -1):
            facts, entry = judged(facts_of(kind)[name], figure, sign)
            facts |= {"stage": read_at, "clay": clay}
            with speaking(spoken):
                words = advised(check, facts, entry)
                told = sentence(name, facts, reader="student")
            # What is kept is read at any time; it says what to do next time only.
            assert tongue != "en" or not MENDING.search(told), told
            if gone or not reached <= UNFIRED:
                assert words.startswith(NEXT_TIME[tongue]), (read_at, stage, state, outcome)
                assert told.endswith(words)
                assert not on_the_piece(check, facts, entry)
                seen += 1
    assert seen > 0


@pytest.mark.parametrize(("name", "kind", "figure"), FIGURES)
def test_soft_clay_is_mended_only_while_it_was_read_soft_and_is_soft(name, kind, figure):
    check = checks()[name]
    facts, entry = judged(facts_of(kind)[name], figure)
    for read_at, stage in itertools.product(STAGES, STAGES):
        told = facts | {"stage": read_at, "clay": condition(stage, "in work", [read_at])}
        words = on_the_piece(check, told, entry)
        assert not words or {read_at, stage} <= UNFIRED
        if {read_at, stage} <= SOFT:
            assert words == check.advise(told, entry).soft


def test_a_wall_at_its_planned_thickness_is_not_thinned_for_a_thin_side():
    facts = facts_of("poor")["wall_evenness"]
    thickest = max(each["value_mm"] for each in facts["stations"])
    at_plan = facts | {"planned_mm": thickest, "clay": "soft"}
    words = advised(checks()["wall_evenness"], at_plan, at_plan["judged"][0])
    assert words.startswith("The wall is too thin")
    assert "cannot be put back" in words
    over = facts | {"planned_mm": thickest - 2, "clay": "soft"}
    assert "Scrape" in advised(checks()["wall_evenness"], over, over["judged"][0])


def test_a_rim_is_not_shaved_below_the_height_that_was_planned():
    facts = facts_of("poor")["rim_level"] | {"clay": "soft"}
    lowest = min(each["value_mm"] for each in facts["stations"])
    tall = advised(checks()["rim_level"], facts | {"planned_height_mm": lowest}, None)
    assert tall.startswith("Shave")
    low = advised(checks()["rim_level"], facts | {"planned_height_mm": lowest / 0.94}, None)
    assert low.startswith("There is no height to spare")
    assert "Leave it as high as it is" in low


def test_a_rim_that_is_meant_to_be_drawn_out_is_not_levelled():
    facts = facts_of("poor")["rim_level"] | {"rim_meant": "drawn"}
    for clay in ("soft", "dry", "fired"):
        assert advised(checks()["rim_level"], facts | {"clay": clay}, None) == ""
    assert "meant to be drawn out" in sentence("rim_level", facts)


def test_a_cup_that_holds_too_much_is_trimmed_only_where_it_is_taller_than_planned():
    capacity = checks()["capacity"]
    facts = facts_of("poor")["capacity"] | {"clay": "soft", "difference_ml": 60.0}
    sized = facts | {"sizes_mm": [["height", 98.0, "read"]], "planned_height_mm": 95.0}
    assert advised(capacity, sized, None).startswith("Trim the rim")
    low = sized | {"planned_height_mm": 99.0}
    assert advised(capacity, low, None).startswith("Next time")


def test_a_page_frozen_without_the_state_of_the_clay_mends_nothing():
    facts = dict(facts_of("poor")["rim_level"])
    del facts["clay"]
    assert advised(checks()["rim_level"], facts, None).startswith("Next time")
