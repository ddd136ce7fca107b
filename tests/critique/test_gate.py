"""The gate, the maker's answer, what is taken over, and the counts beside the habits."""

import json

import pytest

from rubrics.critique import answering, doors, gate, taking_over, writing
from rubrics.critique.answering import Answered
from rubrics.critique.counts import habits_said, remarks_said
from rubrics.critique.errors import CritiqueError
from rubrics.exports import record
from rubrics.judging import marking
from rubrics.judging.batch import load_batch
from rubrics.models import Mark, Remark
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.critique.conftest import GOOD


def seen(remark):
    return [(remark.pk, remark.version)]


def test_nothing_reaches_a_maker_before_the_gate(sent):
    assert list(doors.remarks_on(sent.school.piece)) == []
    gate.let_through(sent.critique, seen(sent.remark), sent.school.teacher)
    assert [each.text for each in doors.remarks_on(sent.school.piece)] == [GOOD]


def test_words_that_changed_since_the_list_was_shown_stay_at_the_gate(sent):
    assert gate.let_through(sent.critique, [(sent.remark.pk, 0)], sent.school.teacher) == 0
    assert gate.give_back(sent.critique, [(sent.remark.pk, 0)], sent.school.teacher, words="W") == 0
    sent.remark.refresh_from_db()
    assert sent.remark.state == "waiting"


def test_flagged_ones_stand_first(sent):
    look = sent.look
    writing.save_box(look, Remark.Box.SEE, writing.Written("ugly"), version=0)
    writing.send(look)
    rows = gate.at_the_gate(sent.critique)
    assert [bool(row.flags) for row in rows] == [True, False]


def test_given_back_it_can_be_written_again_and_sent(sent):
    teacher = sent.school.teacher
    with pytest.raises(CritiqueError, match="sentence"):
        gate.give_back(sent.critique, seen(sent.remark), teacher, words="  ")
    assert gate.give_back(sent.critique, seen(sent.remark), teacher, words="Where?") == 1
    back = Remark.objects.get(pk=sent.remark.pk)
    assert (back.state, back.back_words) == ("back", "Where?")
    better = writing.Written("Try a wider foot at the left, because it rocks.")
    writing.save_box(sent.look, back.box, better, version=back.version)
    writing.send(sent.look)
    assert Remark.objects.get(pk=back.pk).state == "waiting"


def test_one_that_passed_comes_back_only_while_nobody_answered(passed):
    teacher, maker = passed.school.teacher, passed.school.student
    answering.answer(passed.remark, maker, Answered("kept"))
    assert gate.give_back(passed.critique, seen(passed.remark), teacher, words="Wait.") == 0


def test_another_critiques_remark_is_not_ruled(sent, five):
    from rubrics.critique import opening
    from rubrics.models import Critique

    other = opening.open_critique(
        Critique(project=five.project, readers=2), five.teacher, five.pieces, seed=2
    )
    assert gate.let_through(other, seen(sent.remark), five.teacher) == 0


def test_the_maker_answers_and_says_what_helped(passed):
    maker = passed.school.student
    kept = answering.answer(passed.remark, maker, Answered("not", " It is meant. ", helped=True))
    assert (kept.answer, kept.why, kept.helped) == ("not", "It is meant.", True)
    again = answering.answer(passed.remark, maker, Answered("kept"))
    assert (again.answer, again.why, again.helped) == ("kept", "", False)


def test_an_answer_is_the_makers_and_says_why_not(passed):
    with pytest.raises(CritiqueError, match="Only who made"):
        answering.answer(passed.remark, passed.school.other_student, Answered("kept"))
    with pytest.raises(CritiqueError, match="why"):
        answering.answer(passed.remark, passed.school.student, Answered("not"))
    with pytest.raises(CritiqueError, match="Choose one"):
        answering.answer(passed.remark, passed.school.student, Answered("maybe"))


def test_what_has_not_passed_is_not_answered(sent):
    with pytest.raises(CritiqueError, match="taken this remark back"):
        answering.answer(sent.remark, sent.school.student, Answered("kept"))


def test_counts_stand_beside_the_habits_and_move_no_level(passed):
    project = passed.school.project
    choose_rubric(project, ensure_starter_rubric())
    own = passed.reader.pieces.get(project=project)
    assert remarks_said(passed.school.piece) == ""
    before = load_batch(project).progress()
    said = "Wrote 1 remark in critiques; none helped yet, as its maker says."
    assert remarks_said(own) == habits_said(own) == said
    answering.answer(passed.remark, passed.school.student, Answered("changed", helped=True))
    assert remarks_said(own) == "Wrote 1 remark in critiques; 1 helped, as its maker says."
    assert load_batch(project).progress() == before
    assert not Mark.objects.exists()


def test_a_remark_goes_into_the_words_without_a_name(passed):
    school = passed.school
    choose_rubric(school.project, ensure_starter_rubric())
    marking.set_words(
        school.piece,
        school.teacher,
        words="A calm wall.",
        next_step="",
        seen_words="",
        seen_next_step="",
    )
    taking_over.take_over(passed.remark, school.teacher, kind="words")
    taking_over.take_over(passed.remark, school.teacher, kind="step")
    found = school.piece.assessments.get(kind="teacher")
    assert found.words == f"A calm wall.\n{GOOD}"
    assert [step.text for step in found.next_steps.all()] == [GOOD]
    assert passed.reader.name not in found.words


def test_a_next_step_that_stands_is_not_pushed_aside(passed):
    school = passed.school
    choose_rubric(school.project, ensure_starter_rubric())
    marking.set_words(
        school.piece,
        school.teacher,
        words="",
        next_step="Level the rim.",
        seen_words="",
        seen_next_step="",
    )
    with pytest.raises(CritiqueError, match="Level the rim"):
        taking_over.take_over(passed.remark, school.teacher, kind="step")


def test_without_a_rubric_nothing_can_be_taken_over(passed):
    with pytest.raises(CritiqueError, match="rubric"):
        taking_over.take_over(passed.remark, passed.school.teacher, kind="words")


def test_the_students_record_holds_what_came_and_what_was_written_without_names(passed):
    def told(student):
        pieces = list(record.whole(student.pieces.all()))
        parts = dict(record.parts(student, pieces))
        return parts["record.json"].decode()

    maker, reader = passed.school.amara, passed.reader
    waiting = writing.Written("Not through the gate yet, as it waits.")
    writing.save_box(passed.look, Remark.Box.SEE, waiting, version=0)
    writing.send(passed.look)
    came, written = json.loads(told(maker)), json.loads(told(reader))
    (piece,) = came["pieces"]
    assert [each["text"] for each in piece["remarks"]] == [GOOD]
    assert reader.name not in told(maker)
    assert {each["text"] for each in written["remarks_written"]} == {GOOD, waiting.text}
    assert maker.name not in told(reader)
