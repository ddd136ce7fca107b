"""Publishing: what is refused, what is frozen, and what a later change leaves behind."""

import json
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rubrics.judging.batch import load_batch
from rubrics.judging.last_look import look_over
from rubrics.judging.marking import (
    GradingError,
    ReasonWanted,
    WhyWanted,
    clear_mark,
    excuse,
    give_reason,
    open_assessment,
    set_level,
    set_words,
)
from rubrics.models import Assessment, Mark, MarkChange
from rubrics.publishing.publish import PublishRefused, freeze, publish
from rubrics.rubric.versions import choose_rubric
from studio.models import GradeBand, Project, Reading
from tests.factories import make_photo, make_piece, read_wall


def shown_of(piece) -> dict:
    return Assessment.objects.get(piece=piece).shown


def criterion(shown, letter) -> dict:
    return next(each for each in shown["criteria"] if each["letter"] == letter)


def test_only_what_is_ready_is_published(finished):
    done = publish(finished.project, finished.teacher)
    assert done.pieces == (finished.piece,)
    assessment = Assessment.objects.get(piece=finished.piece)
    assert (assessment.published_by, assessment.published_at is None) == (finished.teacher, False)


def test_an_unfinished_piece_is_refused_by_name_and_nothing_is_published(finished):
    set_level(finished.other_piece, finished.c["A"], 3, finished.teacher, expected_version=0)
    both = [finished.piece, finished.other_piece]
    with pytest.raises(PublishRefused, match="K3-02 lacks B Wall, C Joins: seam, darts and base"):
        publish(finished.project, finished.teacher, both)
    assert not Assessment.objects.published().exists()


def test_a_missing_reason_is_refused_by_name(finished):
    read_wall(finished.piece, 6.0, 6.1, 6.0, 6.0)
    set_level(finished.piece, finished.c["B"], 2, finished.teacher, expected_version=9)
    with pytest.raises(PublishRefused, match="K3-01 lacks a reason at B Wall"):
        publish(finished.project, finished.teacher, [finished.piece])
    give_reason(
        finished.piece, finished.c["B"], finished.teacher, expected_version=10, reason="seen"
    )
    publish(finished.project, finished.teacher, [finished.piece])
    assert criterion(shown_of(finished.piece), "B")["reason"] == (
        "Seen on the piece, not in the readings"
    )


def test_publishing_twice_passes_over_what_is_published(finished):
    publish(finished.project, finished.teacher)
    again = publish(finished.project, finished.teacher, [finished.piece])
    assert (again.pieces, again.already) == ((), (finished.piece,))


def test_a_published_assessment_keeps_the_figures_it_showed(finished):
    read_wall(finished.piece, 6.0, 7.5, 6.0, 6.0)
    publish(finished.project, finished.teacher)
    before = shown_of(finished.piece)
    Reading.objects.filter(value=7.5).update(value=12)
    GradeBand.objects.all().delete()
    assert shown_of(finished.piece) == before
    assert before["checks"]["wall_evenness"]["facts"]["spread_mm"] == pytest.approx(1.5)
    assert (before["percent"], before["grade"], before["weight_counted"]) == ("85", "B", "100")
    assert json.loads(json.dumps(before)) == before


def test_without_a_next_step_of_the_teachers_what_cost_most_proposes_one(finished):
    read_wall(finished.piece, 6.0, 9.9, 6.0, 6.0)
    shown = freeze(load_batch(finished.project), finished.piece)
    # Every level is 3 and nothing heavier was measured: the heaviest criterion is aimed at.
    (step,) = shown["next_steps"]
    heaviest = max(shown["criteria"], key=lambda each: float(each["weight"]))
    assert shown["step"] == {"kind": "criterion", "name": heaviest["letter"]}
    assert step.endswith(heaviest["above"])
    set_level(finished.piece, finished.c["B"], 1, finished.teacher, expected_version=7)
    shown = freeze(load_batch(finished.project), finished.piece)
    assert shown["next_steps"] == [shown["checks"]["wall_evenness"]["next_step"]]
    assert shown["step"]["name"].startswith("wall_evenness.")


def test_nothing_private_is_shown(finished):
    excuse(
        finished.piece,
        finished.c["G"],
        finished.teacher,
        expected_version=7,
        reason="access",
        reason_text="A helper held the slab.",
    )
    publish(finished.project, finished.teacher)
    text = json.dumps(shown_of(finished.piece))
    assert "PRIVATE-NOTE" not in text
    assert "accommodation" not in text
    assert "helper" not in text
    assert criterion(shown_of(finished.piece), "G")["excused"] is True


def test_a_late_change_needs_a_why(finished):
    publish(finished.project, finished.teacher)
    with pytest.raises(WhyWanted, match="say in a few words why"):
        set_level(finished.piece, finished.c["A"], 4, finished.teacher, expected_version=8)
    assert criterion(shown_of(finished.piece), "A")["level"] == 3


def test_a_late_change_is_recorded_and_shown(finished):
    publish(finished.project, finished.teacher)
    before = shown_of(finished.piece)
    set_level(
        finished.piece,
        finished.c["A"],
        4,
        finished.teacher,
        expected_version=8,
        why="A third sketch turned up.",
    )
    change = MarkChange.objects.get(after_publishing=True)
    assert (change.who, change.why) == (finished.teacher, "A third sketch turned up.")
    assert (change.before["level"], change.after["level"]) == (3, 4)
    assert change.before["shown"] == before
    # 85 on 90 and 100 on 10 of 100: 86.5, half up.
    shown = shown_of(finished.piece)
    assert (criterion(shown, "A")["level"], shown["percent"]) == (4, "87")


def test_a_late_change_renews_only_the_figures_it_leans_on(finished):
    read_wall(finished.piece, 6.0, 7.5, 6.0, 6.0)
    publish(finished.project, finished.teacher)
    Reading.objects.filter(value=7.5).update(value=8.5)

    def spread():
        return shown_of(finished.piece)["checks"]["wall_evenness"]["facts"]["spread_mm"]

    late = {"by": finished.teacher, "expected_version": 99, "why": "Read again."}
    set_level(finished.piece, finished.c["A"], 4, **late)
    assert spread() == pytest.approx(1.5)
    set_level(finished.piece, finished.c["B"], 2, **late)
    assert spread() == pytest.approx(2.5)


def test_date_and_photos_stay_as_published_after_a_late_change(finished):
    first = make_photo(finished.piece, stage="glazed")
    publish(finished.project, finished.teacher)
    day = timezone.now() - timedelta(days=40)
    assessment = Assessment.objects.get(piece=finished.piece)
    assessment.published_at = day
    assessment.shown["date"] = timezone.localdate(day).isoformat()
    assessment.save()
    make_photo(finished.piece, stage="glazed")
    late = {"by": finished.teacher, "expected_version": 99, "why": "Looked again."}
    set_level(finished.piece, finished.c["A"], 4, **late)
    shown = shown_of(finished.piece)
    assert criterion(shown, "A")["level"] == 4
    assert shown["date"] == timezone.localdate(day).isoformat()
    assert shown["photos"] == [first.pk]


def test_the_finished_piece_is_shown_first_and_from_the_side(finished):
    wet = make_photo(finished.piece, stage="wet")
    top = make_photo(finished.piece, stage="glazed", view="top")
    side = make_photo(finished.piece, stage="glazed", view="side")
    publish(finished.project, finished.teacher)
    assert shown_of(finished.piece)["photos"] == [side.pk, top.pk, wet.pk]


def test_many_unready_pieces_are_counted_and_five_named(judged):
    pieces = [make_piece(judged.project, judged.amara, f"P-{place}") for place in range(7)]
    with pytest.raises(PublishRefused) as refused:
        publish(judged.project, judged.teacher, pieces)
    assert all(f"P-{place} lacks" in str(refused.value) for place in range(5))
    assert "P-5" not in str(refused.value)
    assert "; and 2 more. Finish these" in str(refused.value)


def test_a_late_level_that_leaves_the_suggestion_needs_its_reason_along(finished):
    read_wall(finished.piece, 6.0, 6.1, 6.0, 6.0)
    give = {"by": finished.teacher, "expected_version": 99}
    set_level(finished.piece, finished.c["B"], 4, **give)
    publish(finished.project, finished.teacher)
    with pytest.raises(ReasonWanted):
        set_level(finished.piece, finished.c["B"], 3, why="Looked again.", **give)
    set_level(finished.piece, finished.c["B"], 3, why="Looked again.", reason="seen", **give)
    assert criterion(shown_of(finished.piece), "B")["level"] == 3


def test_a_published_mark_is_not_cleared(finished):
    publish(finished.project, finished.teacher)
    with pytest.raises(GradingError, match="not taken away"):
        clear_mark(finished.piece, finished.c["A"], finished.teacher, expected_version=8, why="x")


def test_late_words_are_recorded_too(finished):
    publish(finished.project, finished.teacher)
    (proposed,) = shown_of(finished.piece)["next_steps"]
    new = {"words": "A calm rim.", "next_step": "Bevel.", "seen_words": ""}
    new["seen_next_step"] = proposed
    with pytest.raises(WhyWanted):
        set_words(finished.piece, finished.teacher, **new)
    set_words(finished.piece, finished.teacher, why="Forgot them.", **new)
    shown = shown_of(finished.piece)
    assert (shown["words"], shown["next_steps"]) == ("A calm rim.", ["Bevel."])
    change = MarkChange.objects.get(after_publishing=True)
    assert (change.mark, change.before["words"], change.after["words"]) == (None, "", "A calm rim.")


def test_the_look_over_tells_spread_gaps_and_disagreements(finished):
    read_wall(finished.piece, 6.0, 6.1, 6.0, 6.0)
    set_level(finished.piece, finished.c["B"], 2, finished.teacher, expected_version=7)
    set_level(finished.other_piece, finished.c["A"], 3, finished.teacher, expected_version=0)
    look = look_over(load_batch(finished.project))
    assert [piece for piece, _missing in look.unfinished] == [finished.other_piece]
    assert [(each.piece, each.criterion.letter) for each in look.disagreements] == [
        (finished.piece, "B")
    ]
    assert [each.criterion.letter for each in look.reasons_missing] == ["B"]
    # 85 on 85 and 70 on 15 of 100: 82.75, a B.
    assert look.spread == [("A", 0), ("B", 1), ("C", 0), ("D", 0), ("E", 0)]
    assert look.levels[finished.c["A"].pk] == {3: 2}
    assert look.ready == []


def test_a_suggestion_that_moved_after_the_mark_is_pointed_out(finished):
    assert look_over(load_batch(finished.project)).moved == []
    read_wall(finished.piece, 6.0, 9.9, 6.0, 6.0)
    look = look_over(load_batch(finished.project))
    assert [(each.criterion.letter, each.suggested.level) for each in look.moved] == [("B", 1)]


def test_publishing_asks_as_much_for_30_pieces_as_for_3(judged):
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=0)
    counts = []
    for size in (3, 30):
        project = Project.objects.create(section=judged.section, title=f"P{size}", number=size + 10)
        choose_rubric(project, judged.rubric)
        for number in range(size):
            piece = make_piece(project, judged.amara, f"P{size}-{number}")
            read_wall(piece, 6.0, 6.1, 6.0, 6.0)
            assessment = open_assessment(piece, judged.teacher)
            levels = [each.levels.get(number=4) for each in judged.c.values()]
            Mark.objects.bulk_create(
                Mark(assessment=assessment, criterion=level.criterion, level=level)
                for level in levels
            )
        project = Project.objects.get(pk=project.pk)
        with CaptureQueriesContext(connection) as asked:
            assert len(publish(project, judged.teacher).pieces) == size
        counts.append(len(asked))
    assert counts[0] == counts[1]
