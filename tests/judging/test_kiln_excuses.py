"""A kiln's doing: judged from the last good stage, or proposed to be excused; never by itself."""

import pytest

from rubrics.evidence.collect import evidence
from rubrics.evidence.kiln_effects import touched_by
from rubrics.judging import marking
from rubrics.judging.batch import load_batch
from rubrics.judging.kiln_excuses import advice, proposals
from rubrics.models import Mark
from studio.models import Outcome
from studio.ware.outcomes import DEFECTS
from tests.factories import read_rim, read_wall


@pytest.fixture
def cup(judged):
    """Level at leather-hard (1 mm), bent by the glaze fire (9 mm)."""
    read_rim(judged.piece, 95, 95, 96, 95, stage="leather-hard")
    read_rim(judged.piece, 84, 93, 84, 88, stage="glazed")
    return judged.piece


def note(piece, kind="warp", doing="kiln", severity=2, stage="glazed"):
    return Outcome.objects.create(
        piece=piece, stage=stage, kind=kind, doing=doing, severity=severity
    )


def letters(found):
    return {each.criterion.letter for each in found.values()}


def rim(judged, piece):
    return evidence(judged.project, pieces=[piece]).of(piece)["rim_level"]


def test_without_a_ruling_the_latest_stage_counts(judged, cup):
    note(cup, doing="unclear")
    assert rim(judged, cup).stage == "glazed"
    assert proposals(load_batch(judged.project, pieces=[cup]), cup) == {}


def test_what_the_kiln_bent_is_judged_from_the_last_good_stage(judged, cup):
    note(cup)
    found = evidence(judged.project, pieces=[cup])
    assert found.of(cup)["rim_level"].stage == "leather-hard"
    assert found.fallen_back[cup.pk] == {"rim_level"}
    batch = load_batch(judged.project, pieces=[cup])
    told = next(each for each in proposals(batch, cup).values() if each.criterion.letter == "D")
    assert (told.excuse, told.sentence) == (
        False,
        "Warp, the kiln's doing: judged from leather-hard, the last stage before it.",
    )


def test_the_spoiled_stage_can_still_be_looked_at(judged, cup):
    note(cup)
    shown = evidence(judged.project, pieces=[cup], stage="glazed")
    assert shown.of(cup)["rim_level"].stage == "glazed"


def test_what_the_kiln_did_not_touch_stays(judged, cup):
    read_wall(cup, 5, 6, 7, 6, stage="glazed")
    read_wall(cup, 6, 6, 6, 6, stage="leather-hard")
    note(cup)
    assert evidence(judged.project, pieces=[cup]).of(cup)["wall_evenness"].stage == "glazed"


def test_without_an_earlier_reading_an_excuse_is_proposed_and_not_applied(judged):
    piece = judged.piece
    read_rim(piece, 84, 93, 84, 88, stage="glazed")
    note(piece)
    batch = load_batch(judged.project, pieces=[piece])
    told = next(each for each in proposals(batch, piece).values() if each.criterion.letter == "D")
    assert told.excuse
    assert told.sentence.startswith("Proposed: excuse it. Warp, the kiln's doing")
    assert not Mark.objects.exists()
    # Its level is still suggested: the teacher sees both.
    assert batch.suggested(piece, told.criterion) is not None
    mark = marking.excuse(
        piece, told.criterion, judged.teacher, expected_version=0, reason=Mark.Reason.KILN
    )
    assert (mark.excused, mark.wants_reason) == (True, False)


def test_a_neighbours_glaze_touches_what_the_eye_judges_of_glaze(judged, cup):
    note(cup, kind="neighbour's glaze", severity=1)
    batch = load_batch(judged.project, pieces=[cup])
    assert letters(proposals(batch, cup)) == {"F"}


def test_a_piece_lost_to_the_kiln_keeps_what_was_read_before(judged):
    read_rim(judged.piece, 95, 95, 96, 95, stage="leather-hard")
    note(judged.piece, kind="blow-out", severity=3, stage="bisque")
    batch = load_batch(judged.project, pieces=[judged.piece])
    found = {each.criterion.letter: each.excuse for each in proposals(batch, judged.piece).values()}
    # D was read while it was whole; B, C, E and I never were; F is glaze that never came.
    assert found == {"B": True, "C": True, "D": False, "E": True, "F": True, "I": True}


def test_the_makers_own_doing_proposes_no_excuse_but_advice(judged, cup):
    note(cup, kind="seam crack", doing="craft")
    note(cup, kind="neighbour's glaze", doing="kiln")
    batch = load_batch(judged.project, pieces=[cup])
    assert letters(proposals(batch, cup)) == {"F"}
    assert [(each.kind, each.text) for each in advice(cup.outcomes.all())] == [
        ("seam crack", DEFECTS["seam crack"].next_time)
    ]


def test_every_defect_that_can_be_the_kilns_touches_something():
    untouched = {word for word in DEFECTS if not touched_by(word)}
    assert untouched == {"sound", "rough foot"}
