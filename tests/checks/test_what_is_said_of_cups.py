"""What is said of constructed cups claims no more than their readings show."""

import pytest

from rubrics.checks.compute import check_piece
from rubrics.checks.register import checks
from rubrics.reports.result_json import as_facts
from rubrics.reports.sentences import phrase, sentence
from tests.craft.cups import CUPS, GLAZED, LEATHER, foot, four, rim, wall
from tests.craft.pieces import PLAN

HARD = "\N{NO-BREAK SPACE}"
NAMED = {cup.name: cup for cup in CUPS}


def facts_of(check, readings):
    return as_facts(check_piece(readings, PLAN)[check], seam_azimuth_deg=180)


@pytest.mark.parametrize("name", ["all corners 1.5 mm hollow", "all corners 3 mm hollow"])
def test_a_foot_that_stands_on_its_middle_is_not_said_to_stand_firm(name):
    facts = facts_of("squared_foot", NAMED[name].readings)
    assert "No corner touches the table" in sentence("squared_foot", facts)
    assert "firm" not in sentence("squared_foot", facts)
    slight = facts_of("squared_foot", foot(gaps=(0.4, 0.4, 0.4, 0.4)))
    assert slight["verdict"] == "within"
    assert "firm" not in checks()["squared_foot"].praise(slight)
    assert "firm" in checks()["squared_foot"].praise(facts_of("squared_foot", foot()))


def test_three_places_do_not_tell_that_a_rim_is_level():
    facts = facts_of("rim_level", NAMED["three waves seen at three places"].readings)
    assert phrase("rim_level", facts) == "not told by so few places"
    assert "would not show three highs between them" in sentence("rim_level", facts)
    seen = facts_of("rim_level", NAMED["14 mm at three places"].readings)
    assert "would not show" not in sentence("rim_level", seen)


def test_four_places_say_what_they_would_miss_and_eight_claim_all_round():
    praise = checks()["rim_level"].praise
    four_places, eight = (facts_of("rim_level", rim(95, n=n)) for n in (4, 8))
    assert "would not show two highs between them" in sentence("rim_level", four_places)
    assert praise(four_places).endswith("wherever it was read.")
    assert "would not show" not in sentence("rim_level", eight)
    assert praise(eight).endswith("all the way round.")


def test_a_rim_is_level_within_what_the_readings_tell():
    # Two heights of u 0.25: 2 × 0.25 √2 = 0.71.
    facts = facts_of("rim_level", rim(95))
    assert phrase("rim_level", facts) == f"level, within 0.7{HARD}mm"


def test_a_wall_read_at_places_nobody_noted_is_not_praised_all_round():
    praise = checks()["wall_evenness"].praise
    readings = four(5.5, 5.6, 5.7, 5.6)
    assert "all the way round" in praise(facts_of("wall_evenness", readings))
    bare = [type(r)(r.quantity, r.stage, r.value, r.u) for r in readings]
    assert praise(facts_of("wall_evenness", bare)).endswith("wherever it was read.")


def test_a_wall_that_is_thin_all_over_has_no_thin_place():
    facts = facts_of("wall_evenness", wall(2, stage=LEATHER))
    assert phrase("wall_evenness", facts) == f"only 2.0{HARD}mm thick"
    thin = next(each for each in facts["judged"] if each["figure"] == "too_thin_mm")
    assert "too thin all over" in checks()["wall_evenness"].advise(facts, thin).soft
    one = facts_of("wall_evenness", NAMED["a place of 2 mm"].readings)
    assert one["stage"] == GLAZED
    assert phrase("wall_evenness", one).endswith("on the left")
