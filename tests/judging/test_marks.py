"""Marks: saved at once, never lost, never overwritten silently, taken back in order."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rubrics.judging.batch import NoRubric, load_batch, progress
from rubrics.judging.marking import (
    GradingError,
    Stale,
    clear_mark,
    excuse,
    give_reason,
    keep_rest,
    set_level,
    set_words,
    undo,
)
from rubrics.models import Assessment, Mark, MarkChange, Rubric
from rubrics.publishing.publish import publish
from rubrics.rubric.versions import choose_rubric, copy_rubric
from studio.models import Membership, Piece, Project, Reading
from tests.factories import make_piece, make_student, make_user, read_wall


def mark_of(piece, criterion) -> Mark:
    return Mark.objects.get(assessment__piece=piece, criterion=criterion)


def level_of(piece, criterion):
    level = mark_of(piece, criterion).level
    return level.number if level else None


@pytest.fixture
def partner(judged):
    """A second teacher of the same section."""
    user = make_user("partner", first_name="Pat", last_name="Partner")
    Membership.objects.create(user=user, section=judged.section, role="teacher")
    return user


def test_a_level_is_saved_with_the_suggestion_as_it_stood(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    mark = set_level(judged.piece, judged.c["B"], 3, judged.teacher, expected_version=0)
    saved = mark_of(judged.piece, judged.c["B"])
    assert (saved.level.number, saved.suggested, saved.wants_reason) == (3, 3, False)
    assert saved.suggested_because.startswith(
        "Wall: thickest minus thinnest, on the scale of 12 readings 2.4"
    )
    assert mark.assessment.version == 1


def test_a_level_that_leaves_the_suggestion_is_saved_and_then_asked_about(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    mark = set_level(judged.piece, judged.c["B"], 2, judged.teacher, expected_version=0)
    assert mark_of(judged.piece, judged.c["B"]).wants_reason is True
    give_reason(
        judged.piece,
        judged.c["B"],
        judged.teacher,
        expected_version=mark.assessment.version,
        reason="seen",
        reason_text="A thin place by the seam.",
    )
    saved = mark_of(judged.piece, judged.c["B"])
    assert (saved.reason, saved.wants_reason) == ("seen", False)


def test_a_reason_stays_on_its_side_of_the_suggestion_and_goes_with_it(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    by = {"by": judged.teacher, "expected_version": 99}
    set_level(judged.piece, judged.c["B"], 2, reason="seen", **by)
    set_level(judged.piece, judged.c["B"], 1, **by)
    assert mark_of(judged.piece, judged.c["B"]).reason == "seen"
    set_level(judged.piece, judged.c["B"], 4, **by)
    assert mark_of(judged.piece, judged.c["B"]).reason == ""


def test_the_first_mark_freezes_the_rubric(judged):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    assert Rubric.objects.get(pk=judged.rubric.pk).frozen_at is not None


def test_without_a_rubric_nothing_is_judged(school):
    with pytest.raises(NoRubric, match="“Slab cup” has no rubric yet"):
        load_batch(school.project)


@pytest.mark.parametrize("number", [0, 5, -1])
def test_a_level_that_is_none_of_the_four_is_refused(judged, number):
    with pytest.raises(GradingError, match="it has 1 to 4"):
        set_level(judged.piece, judged.c["A"], number, judged.teacher, expected_version=0)


def test_a_criterion_of_another_rubric_is_refused(judged):
    other = copy_rubric(judged.rubric, judged.teacher).criteria.first()
    with pytest.raises(GradingError, match="not of the rubric"):
        set_level(judged.piece, other, 4, judged.teacher, expected_version=0)
    assert not Assessment.objects.exists()


def test_a_reason_of_nobodys_list_is_refused(judged):
    with pytest.raises(GradingError, match="choose one of the list"):
        excuse(judged.piece, judged.c["A"], judged.teacher, expected_version=0, reason="fun")


def test_two_windows_on_one_mark_never_overwrite_each_other_silently(judged, partner):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    set_level(judged.piece, judged.c["A"], 2, partner, expected_version=1)
    with pytest.raises(Stale) as stale:
        set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=1)
    assert level_of(judged.piece, judged.c["A"]) == 2
    assert (stale.value.theirs["level"], stale.value.mine["level"]) == (2, 3)
    assert (stale.value.who, stale.value.version) == ("Pat Partner", 2)
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=2)
    assert level_of(judged.piece, judged.c["A"]) == 3


def test_two_windows_on_two_criteria_do_not_quarrel(judged, partner):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    set_level(judged.piece, judged.c["F"], 2, partner, expected_version=0)
    assert level_of(judged.piece, judged.c["A"]) == 4
    assert level_of(judged.piece, judged.c["F"]) == 2


def test_the_same_key_sent_twice_is_one_change(judged):
    for _ in range(2):
        set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    assert MarkChange.objects.count() == 1


def test_a_window_that_slept_through_an_undo_is_told(judged):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    set_level(judged.piece, judged.c["A"], 2, judged.teacher, expected_version=1)
    undo(judged.project, judged.teacher)
    with pytest.raises(Stale):
        set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=2)


def test_an_excuse_has_no_level_and_wants_a_reason(judged):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    mark = excuse(judged.piece, judged.c["A"], judged.teacher, expected_version=1)
    assert (mark.level, mark.excused, mark.wants_reason) == (None, True, True)
    mark = excuse(judged.piece, judged.c["A"], judged.teacher, expected_version=2, reason="kiln")
    assert mark.wants_reason is False


def test_clearing_keeps_the_note(judged):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0, note="Good.")
    clear_mark(judged.piece, judged.c["A"], judged.teacher, expected_version=1)
    saved = mark_of(judged.piece, judged.c["A"])
    assert (saved.decided, saved.note) == (False, "Good.")


# -- undo ------------------------------------------------------------------------------------


def test_undo_walks_back_one_change_after_the_other(judged):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    set_level(judged.piece, judged.c["A"], 2, judged.teacher, expected_version=1)
    assert undo(judged.project, judged.teacher).sentence == (
        "K3-01 A Intent, revision and critique: level 2 taken back, now level 4."
    )
    assert level_of(judged.piece, judged.c["A"]) == 4
    undo(judged.project, judged.teacher)
    assert level_of(judged.piece, judged.c["A"]) is None
    assert undo(judged.project, judged.teacher) is None


def test_undo_is_ones_own(judged, partner):
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0)
    assert undo(judged.project, partner) is None
    assert level_of(judged.piece, judged.c["A"]) == 4


def test_undo_does_not_take_back_what_somebody_changed_since(judged, partner):
    set_level(judged.piece, judged.c["F"], 3, judged.teacher, expected_version=0)
    set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=1)
    set_level(judged.piece, judged.c["A"], 2, partner, expected_version=2)
    undo(judged.project, judged.teacher)
    assert level_of(judged.piece, judged.c["A"]) == 2
    assert level_of(judged.piece, judged.c["F"]) is None


def test_undo_leaves_published_marks_alone(finished):
    publish(finished.project, finished.teacher)
    assert undo(finished.project, finished.teacher) is None


# -- keep the rest ---------------------------------------------------------------------------


def test_keep_rest_accepts_what_is_suggested_and_unmarked(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    read_wall(judged.other_piece, 6.0, 6.1, 6.0, 6.0)
    bare = make_piece(judged.project, judged.bao, "K3-03")
    set_level(judged.piece, judged.c["B"], 1, judged.teacher, expected_version=0)
    kept = keep_rest(judged.project, judged.c["B"], judged.teacher)
    assert kept.pieces == (judged.other_piece,)
    assert level_of(judged.piece, judged.c["B"]) == 1
    saved = mark_of(judged.other_piece, judged.c["B"])
    assert (saved.level.number, saved.suggested) == (4, 4)
    assert not Assessment.objects.filter(piece=bare).exists()


def test_keep_rest_leaves_a_questioned_reading_to_the_teacher(judged):
    read_wall(judged.piece, 6.0, 6.0, 6.0, 60)
    Reading.objects.filter(value=60).update(doubt="60? Did you mean 6.0?")
    kept = keep_rest(judged.project, judged.c["B"], judged.teacher)
    assert (kept.pieces, kept.in_question) == ((), (judged.piece,))


def test_one_undo_takes_back_all_that_one_key_kept(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    read_wall(judged.other_piece, 6.0, 6.1, 6.0, 6.0)
    keep_rest(judged.project, judged.c["B"], judged.teacher)
    undone = undo(judged.project, judged.teacher)
    assert undone.sentence == "B Wall: 2 kept levels taken back."
    assert level_of(judged.piece, judged.c["B"]) is None
    assert level_of(judged.other_piece, judged.c["B"]) is None
    keep_rest(judged.project, judged.c["B"], judged.teacher)
    assert level_of(judged.piece, judged.c["B"]) == 3


def test_keep_rest_and_undo_ask_as_much_for_30_pieces_as_for_3(judged):
    # The first mark freezes the rubric once.
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=0)
    counts = []
    for size in (3, 30):
        project = Project.objects.create(section=judged.section, title=f"P{size}", number=size + 10)
        choose_rubric(project, judged.rubric)
        for number in range(size):
            student = make_student(judged.section, f"S{size}-{number}")
            read_wall(make_piece(project, student, f"P{size}-{number}"), 6.0, 7.5, 6.0, 6.0)
        project = Project.objects.get(pk=project.pk)
        with CaptureQueriesContext(connection) as kept:
            keep_rest(project, judged.c["B"], judged.teacher)
        with CaptureQueriesContext(connection) as undone:
            undo(project, judged.teacher)
        counts.append((len(kept), len(undone)))
    assert counts[0] == counts[1]


# -- progress and words ----------------------------------------------------------------------


def test_progress_counts_every_piece_that_is_not_lost(judged):
    make_piece(judged.project, judged.bao, "K3-09", state=Piece.State.LOST)
    version = 0
    for criterion in judged.c.values():
        mark = set_level(judged.piece, criterion, 3, judged.teacher, expected_version=version)
        version = mark.assessment.version
    set_level(judged.other_piece, judged.c["A"], 3, judged.teacher, expected_version=0)
    now = progress(judged.project)
    assert (now.pieces, now.finished, now.ready, now.published) == (2, 1, 1, 0)
    assert [now.done[each.pk] for each in judged.c.values()] == [2, *[1] * 8]
    assert load_batch(judged.project).progress() == now


def test_progress_knows_which_reasons_are_missing(judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.0)
    by = {"by": judged.teacher, "expected_version": 99}
    for criterion in judged.c.values():
        set_level(judged.piece, criterion, 3, **by)
    excuse(judged.piece, judged.c["G"], **by)
    for letter, ready in (("B", 0), ("G", 1)):
        now = progress(judged.project)
        assert (now.finished, now.ready) == (1, 0)
        give_reason(judged.piece, judged.c[letter], reason_text="Seen.", **by)
        now = progress(judged.project)
        assert (now.finished, now.ready) == (1, ready)
        assert load_batch(judged.project).progress() == now


def test_words_and_one_next_step_are_kept(judged):
    seen = {"seen_words": "", "seen_next_step": ""}
    set_words(
        judged.piece, judged.teacher, words="A calm rim.", next_step="Bevel both ends.", **seen
    )
    assessment = Assessment.objects.get(piece=judged.piece)
    assert assessment.words == "A calm rim."
    assert [step.text for step in assessment.next_steps.all()] == ["Bevel both ends."]


def test_words_of_two_windows_do_not_overwrite_each_other(judged, partner):
    seen = {"seen_words": "", "seen_next_step": ""}
    set_words(judged.piece, partner, words="First.", next_step="", **seen)
    with pytest.raises(Stale) as stale:
        set_words(judged.piece, judged.teacher, words="Second.", next_step="", **seen)
    assert (stale.value.theirs["words"], stale.value.mine["words"]) == ("First.", "Second.")
    assert Assessment.objects.get(piece=judged.piece).words == "First."


def test_words_longer_than_their_field_are_told(judged):
    criterion = next(iter(judged.c.values()))
    with pytest.raises(GradingError, match="A note fits in 1000 characters"):
        set_level(judged.piece, criterion, 3, judged.teacher, expected_version=0, note="m" * 1001)
    with pytest.raises(GradingError, match="What you wrote fits in 4000 characters"):
        set_words(
            judged.piece,
            judged.teacher,
            words="m" * 4001,
            next_step="",
            seen_words="",
            seen_next_step="",
        )
